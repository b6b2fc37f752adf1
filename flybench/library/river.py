"""At the river: one drift, rigs side by side, and the flies to choose from the box."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from flybench.charts.side_view import drift_picture
from flybench.errors import FlybenchError
from flybench.jobs.river import rigs
from flybench.jobs.river.box import OpenCatalog
from flybench.library.result import Record, Result
from flybench.library.shop import Shop, open_catalog
from flybench.library.typed import PathText, Quantity, path_of, text_of
from flybench.rig.odds.drift import DRAWS
from flybench.shop.river.rig_texts import RigTexts
from flybench.telling.numbers import percent
from flybench.telling.river import choice as choices
from flybench.telling.river import compared_rigs
from flybench.telling.river import drift as drifts

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_PLAIN = ("touches", "in_time", "bed_cost", "point_worth", "dropper_worth")
"""What is a plain number, or a text that holds one."""
SHOWN = 8
"""Rigs of a choice that are shown, as the command does (judgement)."""


class Drift(Result):
    """One rig's drift: where each fly is in time, in SI units, and a side view."""

    def __init__(self, found: rigs.RigDrift) -> None:
        """Take what came of the drift."""
        self._found = found
        record = drifts.record(found)
        share = record["share_in_band"]
        super().__init__(record, drifts.lines(found), f"<drift: {percent(share)} of it at the fish's level>")

    @property
    def flags(self) -> list[str]:
        """Return the names of what makes the drift doubtful."""
        return list(self.record["flags"])

    def rows(self) -> list[Record]:
        """Return one row a moment: time [s], and for each fly its way downstream and its depth [m]."""
        flies = self.record["flies"]
        return [
            {"time_s": moment}
            | {f"{fly['name']}_{what}": fly[what][place] for fly in flies for what in ("x_m", "depth_m")}
            for place, moment in enumerate(self.record["time_s"])
        ]

    def _drawing(self) -> Callable[[], Figure]:
        found = self._found
        return drift_picture(found.drift, found.goal.level, found.current, found.rig.tackle).figure


class Choice(Result):
    """Rigs of a box, the best first, with their odds."""

    def rows(self) -> list[Record]:
        """Return one row a rig, the best first."""
        return list(self.record["ranked"])


def drift(
    point: str,
    dropper: str | Sequence[str] = (),
    *,
    seconds: float | None = None,
    draws: int = DRAWS,
    seed: int = 1,
    turbulence: bool = True,
    catalog: Shop | None = None,
    **water_and_tackle: Quantity,
) -> Drift:
    """Show where the flies of one rig go, as ``flybench rig drift`` does.

    A fly is a code of the catalog, or typed as "30 cm/s, 2.0 mN": sink speed, weight in water. ``depth``,
    ``surface_speed``, ``bed``, ``leader_diameter`` and so on are named as the command's options. Raises FlybenchError with
    the command's message for what is missing or cannot be, TypeError for an unknown argument.
    """
    texts = _texts("drift", RigTexts, water_and_tackle)
    found = rigs.drift_rig(
        _catalog(catalog), texts, point, _droppers(dropper), seconds, draws, seed, turbulence
    )
    return Drift(found)


def compare(
    point: str,
    dropper: str | Sequence[str] = (),
    *,
    changes: Sequence[Mapping[str, str]],
    seconds: float | None = None,
    seed: int = 1,
    catalog: Shop | None = None,
    **water_and_tackle: Quantity,
) -> Result:
    """Set one rig beside others that differ from it, as ``flybench rig compare`` does.

    ``changes`` holds one mapping for each other rig, by option: ``[{"leader-diameter": "0.10 mm"}, {"entry": "flat"}]``.
    """
    texts = _texts("compare", RigTexts, water_and_tackle)
    found = rigs.compare_rigs(_catalog(catalog), texts, point, _droppers(dropper), changes, seconds, seed)
    return Result(
        compared_rigs.record(found), compared_rigs.lines(found), f"<{len(found.names)} rigs compared>"
    )


def choose(
    *box: str,
    box_csv: PathText | None = None,
    droppers: int = 1,
    seed: int = 1,
    top: int = SHOWN,
    catalog: Shop | None = None,
    **wishes: Any,
) -> Choice:
    """Choose point and dropper for the water in front of you, as ``flybench rig choose`` does.

    ``box`` are queries of flies in the catalog (none: all measured ones); ``box_csv`` is a file with the columns name, speed,
    weight instead. Water, tackle and what the flies are to do are named as the command's options.
    """
    from flybench.jobs.river.box import box_from_catalog, box_from_csv
    from flybench.shop.river.rig_texts import current_from

    if box and box_csv is not None:
        raise FlybenchError("box and box_csv: give the one or the other.")
    texts = _texts("choose", RigTexts, wishes)
    water = current_from(texts).water
    flies = (
        box_from_catalog(_catalog(catalog), box, water) if box_csv is None else box_from_csv(path_of(box_csv))
    )
    found = rigs.choose_rig(flies, texts, droppers, seed)
    best = " + ".join(found.choice.advised.names)
    return Choice(choices.record(found, top, None), choices.lines(found, top), f"<choice: {best}>")


def _catalog(shop: Shop | None) -> OpenCatalog:
    """Return what opens the catalog to look flies up in: the one given, else the usual one, only if it is needed."""
    return (lambda: open_catalog().catalog) if shop is None else (lambda: shop.catalog)


def _droppers(dropper: str | Sequence[str]) -> tuple[str, ...]:
    return (dropper,) if isinstance(dropper, str) else tuple(dropper)


def _texts(function: str, kind: type[Any], given: Mapping[str, Any]) -> Any:
    """Return texts as ``kind`` holds them."""
    known = {one.name: one for one in fields(kind)}
    for name in given:
        if name not in known:
            raise TypeError(f"{function}() has no argument {name!r}. It takes: {', '.join(sorted(known))}")
    return kind(**{name: _text(value, name) for name, value in given.items() if value is not None})


def _text(value: Any, name: str) -> Any:
    if isinstance(value, int | float) and name in _PLAIN:
        return f"{value:g}"
    if name == "float_times":
        return tuple(text_of(one, name) for one in value)
    return text_of(value, name)
