"""Drag of the catalog's measured flies."""

from __future__ import annotations

from collections.abc import Sequence

from flybench.catalog.store.open import Catalog
from flybench.errors import FlybenchError
from flybench.jobs.sink.learn import measured_flies
from flybench.shop.speeds.measured_flies import Drags, Remarks, drags_of

NONE_MEASURED = (
    "No measured fly was found. Add the fly, film it falling and measure it: flybench fly add CODE --variant VARIANT, "
    "then flybench bench measure CLIP --fly CODE"
)
"""What is said where a query finds no measured fly."""


def drags(catalog: Catalog, query: Sequence[str] = ()) -> Drags:
    """Return the drag of the measured flies that a query finds; raises FlybenchError where there is none."""
    remarks = Remarks()
    with catalog.reading() as session:
        flies = measured_flies(session, query, remarks)
    if not flies:
        raise FlybenchError(NONE_MEASURED)
    return drags_of(flies, remarks)
