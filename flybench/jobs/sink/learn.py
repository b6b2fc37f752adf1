"""The drag model learned from the catalog."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy.orm import Session

from flybench.jobs.sink.measured_flies import sunk_flies
from flybench.shop.learning import Learned, learned_from
from flybench.sinking.drag.tied_fly import Build


def learn(session: Session, query: Sequence[str] = (), more: Sequence[Build] = ()) -> Learned:
    """Fit the drag model to the measured flies that a query finds; ``more`` builds will be asked about."""
    return learned_from(sunk_flies(session, query), more)
