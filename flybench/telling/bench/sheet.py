"""The sheet of a clip in words: what to fill in, and what to say of its clock."""

from __future__ import annotations

from flybench.bench.sheet.keys import argument_name
from flybench.telling.table import paragraph
from flybench.telling.wording import listed


def rate_question(rate: float | None) -> list[str]:
    """Return the question for the capture rate of a clip that plays at a rate [Hz]; None: it is known, 0: it has no times."""
    if rate is None:
        return []
    if rate == 0.0:
        return [
            paragraph(
                "The clip holds pictures without times. Write the rate at which it was filmed as capture_rate."
            )
        ]
    return [
        paragraph(
            f"The clip plays at {rate:.4g} frames a second and does not say how fast it was filmed. Was it slow motion? "
            f'Write the rate at which the camera filmed as capture_rate, or capture_rate = "{rate:.4g} Hz" if it was not.'
        )
    ]


def not_kept_lines(keys: list[str]) -> list[str]:
    """Return what a set-up does not keep of the keys that were given; nothing where it keeps all."""
    if not keys:
        return []
    named = listed([f"--{argument_name(key).replace('_', '-')}" for key in keys])
    return [paragraph(f"Not kept: {named}. What belongs to a single clip is given with that clip.")]
