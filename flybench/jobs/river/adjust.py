"""What the river said over a session, and what to tie on next: reads the session, the flies and their patterns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.river.box import CatalogFlies, Flies
from flybench.jobs.river.rigs import check_seconds, rig_of
from flybench.jobs.river.session import read_session, write_session
from flybench.rig.advice.choosing import Candidate
from flybench.rig.advice.next_point import NextPoint, Reported, next_point
from flybench.rig.advice.takes import Takes
from flybench.rig.odds.doubts import rig_flags
from flybench.rig.odds.goal import Goal
from flybench.rig.tackle.leader import Rig
from flybench.rig.water.current import Current
from flybench.shop.river.goal_texts import goal_from
from flybench.shop.river.rig_session import ReportedDrifts, RigSession
from flybench.shop.river.rig_texts import WATER, RigTexts, current_from
from flybench.shop.river.typed_flies import is_typed_fly


@dataclass(frozen=True)
class Adjustment:
    """What the drifts of a session say: the next rig for this water, and what takes tell of point and dropper.

    same_pattern, the fly of the dropper's pattern for the point, where takes favour the dropper; flags, what makes the rig
    that was fished last doubtful, words of flags.FLAGS.
    """

    session: RigSession
    current: Current
    goal: Goal
    next: NextPoint
    takes: Takes
    same_pattern: Candidate | None
    flags: tuple[str, ...] = ()


def report_drifts(
    flies: Flies,
    path: Path,
    typed: Mapping[str, str | tuple[str, ...]],
    report: ReportedDrifts,
    query: Sequence[str],
) -> Adjustment:
    """Return what drifts say, those of the session in a file and one report more; keeps the report in the file.

    Parameters: path of the session's file; typed, what was typed now of water, tackle and goal, by the names of RigTexts,
    which begins a session, and in a later call changes its tackle or goal from then on; query of the box. Raises
    BadValueError where water is typed for a session that has it, or the length of drifts was never said, and as
    ``adjust`` does; then the file is left as it was.
    """
    kept = read_session(path)
    if kept is None:
        kept = RigSession(RigTexts(**typed), _length(report))  # type: ignore[arg-type]
    else:
        report = replace(report, changes=_changes(typed, path))
    session = kept.with_report(report)
    found = adjust(flies, session, query)
    write_session(path, session)
    return found


def _length(report: ReportedDrifts) -> float:
    """Return how long the first drifts of a session lasted [s]."""
    if report.seconds is None:
        cure = "Count the seconds from where the flies land to where you lift them off, such as --seconds 6."
        raise BadValueError(
            "--seconds", "is missing: how often flies touch depends on how long they drift", cure
        )
    return report.seconds


def _changes(typed: Mapping[str, str | tuple[str, ...]], path: Path) -> dict[str, str]:
    """Return what is changed of tackle and goal; raises BadValueError for water, which a session keeps."""
    changes = {}
    for name, text in typed.items():
        option = name.replace("_", "-")
        if name in WATER or isinstance(text, tuple):
            option = option.removesuffix("s") if isinstance(text, tuple) else option
            problem = f"holds the water of this session already, so --{option} cannot be given again"
            raise BadValueError(str(path), problem, "Leave it out; at a new run, name another --session.")
        changes[option] = text
    return changes


def undo_report(flies: Flies, path: Path, query: Sequence[str]) -> tuple[int, Adjustment | None]:
    """Take the last report out of the session in a file; return how many are left, and what these say.

    Raises FlybenchError where there is no report.
    """
    session = (read_session(path) or RigSession(RigTexts(), 0.0)).undone()
    write_session(path, session)
    left = len(session.reports)
    return left, adjust(flies, session, query) if left else None


def adjust(flies: Flies, session: RigSession, query: Sequence[str] = ()) -> Adjustment:
    """Return what the drifts of a session say, and what to tie on next from the box that a query finds.

    Raises FlybenchError where no drifts were reported, BadValueError as flies and water do.
    """
    if not session.reports:
        raise FlybenchError(
            "No drifts were reported yet. Say what happened: --point FLY --drifts 6 --touched never"
        )
    current = current_from(session.texts)
    drifts = []
    for one, texts, seconds in session.rigs():
        check_seconds(seconds)
        drifts.append(Reported(_named_rig(flies, texts, one, current), one.touches, seconds))
    goal = goal_from(texts, current)
    box = flies.box(query, current.water)
    found = next_point(drifts, box.flies, current, goal)
    takes = session.takes
    offer = None
    if takes.dropper_more > 0.5 and isinstance(flies, CatalogFlies):
        offer = _same_pattern(flies, session.reports[-1].dropper, found.looked_at)
    doubts = rig_flags(drifts[-1].rig, current, goal)
    return Adjustment(session, current, goal, found, takes, offer, doubts)


def _named_rig(flies: Flies, texts: RigTexts, one: ReportedDrifts, current: Current) -> Rig:
    """Return the rig of a report; typed flies bear what was typed as their name."""
    droppers = [] if one.dropper is None else [one.dropper]
    rig = rig_of(flies, texts, one.point, droppers, current)
    said = [*droppers, one.point]
    named = [
        replace(fly, name=text.strip()) if is_typed_fly(text) else fly
        for fly, text in zip(rig.flies, said, strict=True)
    ]
    return Rig(rig.tackle, tuple(named))


def _same_pattern(flies: CatalogFlies, dropper: str | None, looked: Sequence[Candidate]) -> Candidate | None:
    """Return the fly of the dropper's pattern that is worth most on the point."""
    if dropper is None:
        return None
    patterns = flies.measured.patterns
    wanted = patterns.get(dropper.strip().lower())
    alike = [one for one in looked if wanted is not None and patterns.get(one.names[-1].lower()) == wanted]
    return max(alike, key=lambda one: one.worth, default=None)
