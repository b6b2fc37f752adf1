"""Arguments that are photos of labels: scan:PHOTO stands for the codes that the labels on it carry."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from flybench.cli.lazy import LazyGroup
from flybench.errors import FlybenchError

SCAN = "scan:"
"""What stands before the name of a photo in the place of a code."""
_OF_ONE = ("material", "pattern", "variant", "fly")
"""Groups whose commands take one code."""
_AMOUNT = re.compile(r"(?P<photo>.+)(?P<amount>=[0-9][^=]*)")


class ScanningGroup(LazyGroup):
    """The group of all commands, in whose arguments scan:PHOTO stands for the codes on a photo of labels."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Put what the labels hold in the place of their photos, then read the arguments as usual."""
        return super().parse_args(ctx, list(_read(args)))


def _read(args: Sequence[str]) -> Iterator[str]:
    for place, word in enumerate(args):
        if not word.startswith(SCAN):
            yield word
            continue
        found, taker = _codes(word.removeprefix(SCAN)), _takes_one(args[:place])
        if len(found) > 1 and taker:
            raise FlybenchError(
                f"{word}: the photo shows {len(found)} labels, and {taker} takes one. Take a photo of one label."
            )
        yield from found


def _takes_one(before: Sequence[str]) -> str:
    """Return the option or the command that takes one code and no more, "" where several may stand."""
    if before and before[-1].startswith("-"):
        return before[-1]
    return f"flybench {' '.join(before[:2])}" if before[:1] and before[0] in _OF_ONE else ""


def _codes(named: str) -> list[str]:
    """Return what the labels of a photo hold; an amount behind its name, as in label.jpg=3, goes with each of them."""
    from flybench.jobs.photos.scanning import every_code  # loads cv2

    if not named:
        raise FlybenchError(f"{SCAN} names no photo. Write the name of one behind it, as in {SCAN}label.jpg")
    both = _AMOUNT.fullmatch(named)
    if both is None or Path(named).exists():
        return every_code(Path(named))
    return [f"{text}{both['amount']}" for text in every_code(Path(both["photo"]))]
