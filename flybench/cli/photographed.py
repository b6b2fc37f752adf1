"""Arguments that are photos of labels: scan:PHOTO stands for the codes that the labels on it carry."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from flybench.cli.lazy import LazyGroup
from flybench.cli.options.shown import show
from flybench.errors import FlybenchError

SCAN = "scan:"
"""What stands before the name of a photo in the place of a code."""
_AMOUNT = re.compile(r"(?P<photo>.+)(?P<amount>=[0-9][^=]*)")
_PRICE_ALONE = re.compile(r"(?P<photo>[^=]+)(?P<price>@[0-9][0-9.,]*)")


class ScanningGroup(LazyGroup):
    """The group of all commands, in whose arguments scan:PHOTO stands for the codes on a photo of labels."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Put what the labels hold in the place of their photos, then read the arguments as usual."""
        return super().parse_args(ctx, list(self._read(ctx, args)))

    def _read(self, ctx: click.Context, args: Sequence[str]) -> Iterator[str]:
        for place, word in enumerate(args):
            if not word.startswith(SCAN):
                yield word
                continue
            found = _codes(word.removeprefix(SCAN))
            taker = _takes_one(self, ctx, args[:place]) if len(found) > 1 else ""
            if taker:
                raise FlybenchError(
                    f"{word}: the photo shows {len(found)} labels, and {taker} takes one. Take a photo of one label."
                )
            if len(found) > 1:
                from flybench.telling.photos.scanned import to_be_counted  # loads cv2

                show([], [to_be_counted(word.removeprefix(SCAN), len(found))])
            yield from found


def _takes_one(command: click.Command, ctx: click.Context, before: Sequence[str]) -> str:
    """Return the option or the command that takes one code and no more, "" where several may stand.

    A query takes one too: it would find what has all codes at once, which is nothing.
    """
    names = ["flybench"]
    for word in before:
        inner = command.get_command(ctx, word) if isinstance(command, click.Group) else None
        if inner is None:
            break
        command, names = inner, [*names, word]
    for one in command.params:
        if isinstance(one, click.Option) and before[-1] in one.opts and not one.is_flag:
            return before[-1]
    several = any(one.nargs == -1 and one.name != "query" for one in command.params)
    return "" if several else " ".join(names)


def _codes(named: str) -> list[str]:
    """Return what the labels of a photo hold; an amount behind its name, as in label.jpg=3, goes with each of them."""
    from flybench.jobs.photos.scanning import every_code  # loads cv2

    if not named:
        raise FlybenchError(f"{SCAN} names no photo. Write the name of one behind it, as in {SCAN}label.jpg")
    both = _AMOUNT.fullmatch(named)
    if both is None or Path(named).exists():
        _refuse_price_alone(named)
        return every_code(Path(named))
    return [f"{text}{both['amount']}" for text in every_code(Path(both["photo"]))]


def _refuse_price_alone(named: str) -> None:
    """Refuse a price behind the name of a photo without the amount that it stands behind."""
    both = _PRICE_ALONE.fullmatch(named)
    if both is not None and not Path(named).exists():
        raise FlybenchError(
            f"{SCAN}{named}: a price stands behind an amount. For one of each label write "
            f"{SCAN}{both['photo']}=1{both['price']}"
        )
