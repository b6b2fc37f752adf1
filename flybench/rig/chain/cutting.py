"""A line cut into pieces, with an end at every fly."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from flybench.quantity import Floats
from flybench.rig.chain.batch import ChainLayout


def cut(ups: Sequence[float], pieces: int) -> ChainLayout:
    """Return a line in so many pieces of about the same length; ``ups`` are its upper end and its flies above the point [m],
    from the top down to 0."""
    spans = -np.diff(ups)
    counts = _shared_out(spans, pieces)
    lengths = np.concatenate(
        [np.full(count, span / count) for span, count in zip(spans, counts, strict=True)]
    )
    return ChainLayout(lengths, tuple(int(node) for node in np.cumsum(counts)))


def _shared_out(spans: Floats, pieces: int) -> list[int]:
    """Return how many pieces each span gets, one at least, the pieces about equally long."""
    counts = [1] * len(spans)
    while sum(counts) < pieces:
        longest = int(np.argmax([span / count for span, count in zip(spans, counts, strict=True)]))
        counts[longest] += 1
    return counts
