"""Whether the lengths that a file states agree: movie, track, edit list, and the times of its pictures.

They are counted in ticks of their own, so that a wrong scale of ticks in one of them shows. An edit list that leaves
pictures out is a trimmed clip; it looks like a movie whose ticks are too long, and what else there is has to tell.
"""

from __future__ import annotations

from dataclasses import dataclass

from flybench.bench.clip.header import Edit, Lengths

SLACK = 0.003
"""By how much two lengths may differ, over them [-]: writers round differently, and damage that matters to a speed is larger
(judgement)."""
ROUNDING = 0.02
"""The same in absolute terms [s]: sound ends up to a block of 1024 samples after the pictures, 21 ms at 48 kHz."""
_SPARE = 4.5
"""Pictures that may be left out at either end without being missed [-]: programs that trim leave those that the last ones
shown are coded from, and coding delays the first by as many; up to four (common practice, no source)."""
_DELAYED = 2.2
"""Pictures by which a track may last longer than what is shown of it, with nothing left out [-]: programs that copy a clip
count the delay of coding in (libavformat, read off its files)."""
_CARRIED = 0.95
"""Least ratio of lengths that is carried as an uncertainty and asks nobody for the rate [-] (``clock``)."""
_USUAL_RATES = (24.0, 25.0, 30.0, 48.0, 50.0, 60.0, 90.0, 100.0, 120.0, 240.0)
"""Frames a second that cameras are set to [Hz] (common practice, no source)."""
_NEAR = 0.005
"""How near a rate has to be to another to be the same, relative [-]: 29.97 stands for 30, and phones keep their rates to a
few thousandths (common practice, no source)."""
MOST_CODED = 1000.0
"""Most frames a second that coded pictures are believed to state [Hz]: some programs write the ticks of their clock there
(libx264, read off its clips), and the fastest phones film 960."""
_FAR = 1.5
"""Coded rate over the clip's own, or the other way, from which they contradict each other [-]: in poor light a phone takes
fewer pictures than it is set to, by less than that (judgement)."""
_USUAL_TICKS = (
    600,
    1000,
    1200,
    2400,
    10_000,
    24_000,
    25_000,
    30_000,
    44_100,
    48_000,
    50_000,
    60_000,
    90_000,
    1_000_000,
)
"""Ticks a second in which programs count movies [Hz] (common practice, no source)."""


@dataclass(frozen=True)
class Pictures:
    """What is known of the pictures besides their track's stated length."""

    count: int
    """Pictures that the track holds [-]."""
    gap: float
    """Usual time between those that are shown [s]."""
    coded_rate: float | None
    """Frames a second that stand in the coded pictures themselves [Hz]; phones write none, programs do."""
    others_end: float
    """When the last other track ends [s]."""


def header_ratio(told: Lengths, pictures: Pictures) -> float:
    """Return the length that the file's header states over that of its pictures [-], 1 where they agree.

    A track of sound may make the movie longer than the pictures last. An edit that is longer than the track it plays is
    a contradiction; one that is shorter trims the clip, unless ``_wrong_scale`` finds otherwise.
    """
    slack = SLACK * told.track + max(told.track / pictures.count, ROUNDING)
    played = sum(edit.length for edit in told.edits) if told.edits else told.track
    if not played - slack <= told.movie <= max(played, pictures.others_end) + slack:
        return told.movie / max(played, 1e-9)
    shown = [edit for edit in told.edits if edit.start is not None and edit.length > 0]
    ratios = [_edit_ratio(edit, told, pictures, slack) for edit in shown]
    return max(ratios, key=lambda ratio: abs(ratio - 1.0), default=1.0)


def plays_at(told: Lengths) -> float:
    """Return the speed at which the edit list has the pictures played [-], 1 where it leaves them as they are."""
    rates = [edit.rate for edit in told.edits if edit.start is not None and edit.length > 0]
    return next((rate for rate in rates if rate != 1.0), 1.0)


def leaves_out(told: Lengths, pictures: Pictures) -> bool:
    """Tell whether the edit list leaves out more pictures than coding delays them by."""
    shown = sum(edit.length * edit.rate for edit in told.edits if edit.start is not None)
    return bool(told.edits) and shown < told.track * (1.0 - _SPARE / pictures.count)


def _edit_ratio(edit: Edit, told: Lengths, pictures: Pictures, slack: float) -> float:
    """Return the length of an edit over that of what it plays, 1 where they agree."""
    spare = _SPARE * told.track / pictures.count
    start = edit.start or 0.0
    begun = start > spare
    there = max(told.track - start + spare, 1e-9) if begun else told.track
    length = edit.length * edit.rate
    if length > there + slack:
        return length / there
    delay = _DELAYED * told.track / pictures.count
    if len(told.edits) > 1 or there - length <= max(slack, delay):
        return 1.0
    return _wrong_scale(length / there, there - length > spare, begun, told, pictures)


def _wrong_scale(ratio: float, much: bool, begun: bool, told: Lengths, pictures: Pictures) -> float:
    """Return 1 for an edit that trims the clip, and for one that rather shows a wrong scale of ticks by how much.

    The rate in the coded pictures tells it where there is one. Else it is one where something is missing at the end alone
    from a clip of no usual rate or a movie that is counted in no usual ticks: much, or so little that the result can bear it.
    """
    if pictures.coded_rate is not None:
        rate = pictures.coded_rate * pictures.gap
        if not _same(rate, 1.0) and _same(rate * ratio, 1.0):
            return ratio
        if begun and max(rate, 1.0 / rate) > _FAR:
            return 1.0 / rate
    usual = any(_same(rate * pictures.gap, 1.0) for rate in _USUAL_RATES) and told.movie_ticks in _USUAL_TICKS
    if begun or usual:
        return 1.0
    return ratio if much or ratio > _CARRIED else 1.0


def _same(one: float, other: float) -> bool:
    return abs(one / other - 1.0) <= _NEAR
