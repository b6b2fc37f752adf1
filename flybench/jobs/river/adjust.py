"""What the river said over a session, and what to tie on next: reads the session, the flies and their patterns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import select_rows
from flybench.catalog.store.open import Catalog
from flybench.errors import BadValueError, FlybenchError
from flybench.jobs.river.box import CatalogFlies, OpenCatalog
from flybench.jobs.river.rigs import check_seconds, rig_of
from flybench.jobs.river.session import read_session, write_session
from flybench.rig.advice.next_point import NextPoint, Offer, next_point
from flybench.rig.advice.takes import Takes
from flybench.rig.advice.touches import WANTED
from flybench.shop.river.rig_session import ReportedDrifts, RigSession
from flybench.shop.river.rig_texts import RigTexts, current_from


@dataclass(frozen=True)
class Adjustment:
    """What the drifts of a session say: the next fly for the point, and what takes tell of point and dropper.

    same_pattern, the fly of the dropper's pattern for the point, where takes favour the dropper.
    """

    session: RigSession
    next: NextPoint
    takes: Takes
    same_pattern: Offer | None


def report_drifts(
    open_it: OpenCatalog, path: Path, begun: RigSession | None, report: ReportedDrifts, query: Sequence[str]
) -> Adjustment:
    """Return what drifts say, those of the session in a file and one report more; keeps the report in the file.

    Parameters: path of the session's file; begun, water and tackle as typed now, None where nothing was typed of them;
    query of the box. Raises BadValueError where water is typed for a session that has it, and as ``adjust`` does; then
    the file is left as it was.
    """
    kept = read_session(path)
    if kept is not None and begun is not None:
        problem = "holds the water and tackle of this session already"
        raise BadValueError(
            str(path), problem, "Leave those options out; at a new run, name another --session."
        )
    session = (kept or begun or RigSession(RigTexts(), 0.0)).with_report(report)
    found = adjust(CatalogFlies(open_it), session, query)
    write_session(path, session)
    return found


def undo_report(open_it: OpenCatalog, path: Path, query: Sequence[str]) -> tuple[int, Adjustment | None]:
    """Take the last report out of the session in a file; return how many are left, and what these say.

    Raises FlybenchError where there is no report.
    """
    session = (read_session(path) or RigSession(RigTexts(), 0.0)).undone()
    write_session(path, session)
    left = len(session.reports)
    return left, adjust(CatalogFlies(open_it), session, query) if left else None


def adjust(flies: CatalogFlies, session: RigSession, query: Sequence[str] = ()) -> Adjustment:
    """Return what the drifts of a session say, and what to tie on next from the box that a query finds.

    Raises FlybenchError where no drifts were reported, BadValueError as flies and water do.
    """
    if not session.reports:
        raise FlybenchError(
            "No drifts were reported yet. Say what happened: --point FLY --drifts 6 --touched never"
        )
    current = current_from(session.texts)
    check_seconds(session.seconds)
    box = flies.box(query, current.water)
    drifts = []
    for one in session.reports:
        droppers = [] if one.dropper is None else [one.dropper]
        drifts.append((rig_of(flies, session.texts, one.point, droppers, current), one.touches))
    found = next_point(drifts, box.flies, current, session.seconds)
    takes, last = session.takes, session.reports[-1]
    offer = None
    if takes.dropper_more > 0.5:
        offer = _same_pattern(flies.catalog, last.dropper, found.looked_at)
    return Adjustment(session, found, takes, offer)


def _same_pattern(catalog: Catalog, dropper: str | None, looked: Sequence[Offer]) -> Offer | None:
    """Return the fly of the dropper's pattern whose chance of touching on the point is nearest to what is wanted."""
    if dropper is None:
        return None
    with catalog.reading() as session:
        rows = select_rows(session, NOUNS["fly"], [], "code", 0, ("code", "pattern"))
    patterns = {row["code"].lower(): row["pattern"] for row in rows}
    wanted = patterns.get(dropper.strip().lower())
    alike = [one for one in looked if wanted is not None and patterns.get(one.name.lower()) == wanted]
    return min(alike, key=lambda one: abs(one.chance - WANTED)) if alike else None
