"""The flies of a box as the rig knows them: sink speed in the water asked about, weight there, each with its doubt."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import named
from flybench.catalog.store.open import Catalog
from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.water import Water
from flybench.jobs.shelf.spreadsheet import read_lines
from flybench.jobs.sink.learn import learn
from flybench.jobs.sink.measured_flies import measured_codes
from flybench.quantity import Measured, parse_with_uncertainty
from flybench.rig.tackle.flies import RigFly
from flybench.shop.learning import Learned
from flybench.sinking.drag.tied_fly import Sunk
from flybench.sinking.model.other_water import elsewhere
from flybench.sinking.model.shop_fit import ShopFit

_TYPED_SPEED, _TYPED_WEIGHT = 0.05, 0.05
"""Relative standard uncertainty of a typed speed or weight that comes without its ± (judgement)."""
_COLUMNS = ("name", "speed", "weight")
_LARGEST_FILE = 1_000_000


@dataclass(frozen=True)
class Box:
    """Flies for the rig, and what should be known of them."""

    flies: list[RigFly]
    remarks: list[str]


class Known:
    """The measured flies of a catalog, read and learned from once, when first asked for."""

    def __init__(self, catalog: Catalog) -> None:
        """Take the catalog; nothing is read yet."""
        self.catalog = catalog

    @cached_property
    def _learned(self) -> Learned:
        with self.catalog.reading() as session:
            return learn(session)

    def box(self, query: Sequence[str], water: Water) -> Box:
        """Return the flies that a query finds, in this water; those without a weight are left out and named.

        Raises FlybenchError where none is left.
        """
        with self.catalog.reading() as session:
            codes = set(measured_codes(session, query))
        flies, remarks = [], []
        for one in _one_each([one for one in self._learned.every if one.fly in codes], water):
            if one.weight is None:
                remarks.append(
                    f"{one.fly}: its weight in water is not known, so it is left out: flybench fly weigh {one.fly}"
                )
            else:
                flies.append(in_water(self._learned.shop, one, water))
        if not flies:
            raise FlybenchError(
                "No measured fly with a known weight in the box. Measure some: flybench bench measure CLIP --fly CODE, and "
                "weigh them: flybench fly weigh CODE"
            )
        return Box(flies, remarks)

    def fly(self, text: str, water: Water, role: str) -> RigFly:
        """Return the fly of a code, or one typed as "30 cm/s, 2.0 mN", for which nothing is read.

        Raises BadValueError for an unknown code or a typed fly that cannot be, FlybenchError for one never measured.
        """
        if re.match(r"\s*[0-9.+-]", text) and "," in text:
            speed, _, weight = text.partition(",")
            return _typed(role, speed.strip(), weight.strip(), role)
        code = self._code(text.strip(), role)
        found = _one_each([one for one in self._learned.every if one.fly == code], water)
        if not found:
            raise FlybenchError(
                f"fly {code}: was never measured. Measure it: flybench bench measure CLIP --fly {code}"
            )
        if found[0].weight is None:
            raise FlybenchError(
                f"fly {code}: its weight in water is not known. Weigh it: flybench fly weigh {code}"
            )
        return in_water(self._learned.shop, found[0], water)

    def _code(self, text: str, role: str) -> str:
        with self.catalog.reading() as session:
            fly = named(session, NOUNS["fly"].model, text)
            if fly is None:
                cure = 'Give a code of flybench fly list, or a fly as "30 cm/s, 2.0 mN"'
                raise BadValueError(role, f'there is no fly "{text}"', cure)
            return str(fly.code)


def box_of(catalog: Catalog, query: Sequence[str], water: Water) -> Box:
    """Return the box of a query alone; see ``Known.box``."""
    return Known(catalog).box(query, water)


def in_water(shop: ShopFit, one: Sunk, water: Water) -> RigFly:
    """Return a measured fly for the rig, its speed taken to this water by its drag law."""
    assert one.weight is not None
    there = elsewhere(shop, one, water)
    weight = one.weight.in_water(water)
    return RigFly(one.fly, Measured(there.speed, there.uncertainty), weight.weight, weight.mass.value)


def _one_each(found: Sequence[Sunk], water: Water) -> list[Sunk]:
    """Return one record a fly, that of the water nearest in temperature."""
    nearest: dict[str, Sunk] = {}
    for one in sorted(found, key=lambda one: abs(one.temperature - water.temperature), reverse=True):
        nearest[one.fly] = one
    return [nearest[fly] for fly in sorted(nearest)]


def box_from_csv(path: Path) -> Box:
    """Return the flies of a CSV file with the columns name, speed and weight, such as M1, 30 cm/s +- 1 cm/s, 2 mN.

    Speeds and weights count as those of the water asked about. Raises BadValueError with the line where one is wrong.
    """
    header, *rows = read_lines(path, _LARGEST_FILE)
    missing = [name for name in _COLUMNS if name not in header]
    if missing:
        raise BadValueError(
            str(path), f"lacks the column {missing[0]}", f"Its first line is {','.join(_COLUMNS)}."
        )
    places = [header.index(name) for name in _COLUMNS]
    flies = []
    for number, row in enumerate(rows, 2):
        name, speed, weight = (row[place].strip() if place < len(row) else "" for place in places)
        flies.append(_typed(name, speed, weight, f"{path}, line {number}"))
    if not flies:
        raise FlybenchError(f"{path}: holds no flies. Add a line a fly.")
    return Box(flies, [])


def _typed(name: str, speed: str, weight: str, key: str) -> RigFly:
    found = []
    for what, text, unit, usual in (
        ("speed", speed, "m/s", _TYPED_SPEED),
        ("weight", weight, "N", _TYPED_WEIGHT),
    ):
        value, doubt = parse_with_uncertainty(text, unit, f"{key} {what}")
        found.append(Measured(value, usual * abs(value) if doubt is None else doubt))
    return RigFly(name.strip() or key, found[0], found[1])
