"""The day on which a clip was filmed, as its own file says it, where what it says can be."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime

_LOCAL, _UNIVERSAL = "com.apple.quicktime.creationdate", "creation_time"
"""Tags of the moment of filming: one with the hour of the place, and one in universal time [text, ISO 8601]."""
_FIRST = date(2000, 1, 1)
"""First day that is believed: clocks that were never set begin in 1904, 1970 or 1980 (judgement)."""


def filmed_on(tags: Mapping[str, str], now: datetime) -> date | None:
    """Return the day on which a clip was filmed, by the clock of its place; None where its file does not say, or says one
    that cannot be: before 2000, or after ``now`` (with its zone of time)."""
    for name in (_LOCAL, _UNIVERSAL):
        moment = _moment(tags.get(name, ""))
        if moment is None or moment > now:
            continue
        day = moment.date() if name == _LOCAL else moment.astimezone(now.tzinfo).date()
        if day >= _FIRST:
            return day
    return None


def _moment(text: str) -> datetime | None:
    """Return the moment that a tag holds, None where it is none; without a zone it is universal time."""
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError:
        return None
    return moment if moment.tzinfo is not None else moment.replace(tzinfo=UTC)
