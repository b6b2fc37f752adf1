"""The day of filming, from tags as phones and programs write them.

The forms of the tags are those of public phone clips: universal time in ``creation_time``, and on some phones the hour of
the place in ``com.apple.quicktime.creationdate`` (listed in a decoder's test data, github google/ExoPlayer, 243e6c29).
"""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone

import pytest

from flybench.bench.clip.filmed import filmed_on

HERE = timezone(timedelta(hours=10))
NOW = datetime(2026, 3, 1, 12, tzinfo=HERE)
LOCAL = "com.apple.quicktime.creationdate"


@pytest.mark.parametrize(
    ("tags", "day"),
    [
        ({"creation_time": "2025-04-19T15:25:38.000000Z"}, date(2025, 4, 20)),
        ({"creation_time": "2025-04-19T15:25:38"}, date(2025, 4, 20)),
        ({LOCAL: "2021-05-25T23:21:51-0700", "creation_time": "2021-05-26T06:21:51Z"}, date(2021, 5, 25)),
        ({LOCAL: "yesterday", "creation_time": "2021-05-26T06:21:51Z"}, date(2021, 5, 26)),
        ({"creation_time": "1904-01-01T00:00:00.000000Z"}, None),
        ({"creation_time": "1970-01-01T00:00:00.000000Z"}, None),
        ({"creation_time": "2026-03-01T02:00:01.000000Z"}, None),
        ({"creation_time": "2026-03-01T01:59:59.000000Z"}, date(2026, 3, 1)),
        ({"creation_time": ""}, None),
        ({}, None),
    ],
)
def test_day_of_filming(tags: dict[str, str], day: date | None) -> None:
    assert filmed_on(tags, NOW) == day
