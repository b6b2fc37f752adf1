"""Drag of the catalog's measured flies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flybench.catalog.store.open import Catalog
from flybench.errors import FlybenchError
from flybench.jobs.sink.measured_flies import sunk_flies
from flybench.shop.measured_flies import Remarks
from flybench.sinking.drag.area import Drag, drag_of
from flybench.sinking.drag.tied_fly import Sunk


@dataclass(frozen=True)
class FlyDrag:
    """A measured fly in one water and its drag, None where its weight is not known."""

    sunk: Sunk
    drag: Drag | None


@dataclass(frozen=True)
class Drags:
    """Flies from the least drag to the most, those without last, and remarks on weights."""

    flies: list[FlyDrag]
    remarks: list[str]


def drags(catalog: Catalog, query: Sequence[str] = ()) -> Drags:
    """Return the drag of the measured flies that a query finds; raises FlybenchError where there is none."""
    remarks = Remarks()
    with catalog.reading() as session:
        found = [FlyDrag(one, drag_of(one)) for one in sunk_flies(session, query, remarks)]
    if not found:
        raise FlybenchError("No measured flies found. Measure one: flybench bench measure CLIP --fly CODE")
    found.sort(key=lambda one: (one.drag is None, one.drag.area.value if one.drag else 0.0, one.sunk.fly))
    lines = [line for told in remarks.told.values() for line in told]
    lines += [
        f"{one.sunk.fly}: drags less than its bare bead. Check its weight, its speed and the bead's size."
        for one in found
        if one.drag is not None and one.drag.below_bare_bead
    ]
    return Drags(found, list(dict.fromkeys(lines)))
