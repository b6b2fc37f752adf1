"""The flies of a box as the rig's model takes them: from the measured flies of a catalog, or from a CSV file."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Protocol

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.shelf.rows import named
from flybench.catalog.store.open import Catalog
from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.water import Water
from flybench.jobs.csv_lines import read_lines
from flybench.jobs.sink.in_water import sides_in, speed_there
from flybench.jobs.sink.learn import learn, measured_codes
from flybench.quantity import Measured
from flybench.rig.tackle.flies import RigFly
from flybench.shop.river.typed_flies import fly_of_texts, is_typed_fly, typed_fly
from flybench.shop.speeds.learning import Learned
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.statistics.comparing import Side

_COLUMNS = ("name", "speed", "weight")
_LARGEST_FILE = 1_000_000
"""Most bytes of a CSV file of flies (judgement: tens of thousands of flies)."""


@dataclass(frozen=True)
class FlyBox:
    """Flies for the rig, and remarks on those that were left out; others, measured flies of the catalog that the query left
    out."""

    flies: list[RigFly]
    remarks: list[str]
    others: tuple[RigFly, ...] = ()


OpenCatalog = Callable[[], Catalog]
"""What opens the catalog, when it is needed."""


class Flies(Protocol):
    """Where flies come from: a box to choose from, and single ones by name or typed."""

    def box(self, query: Sequence[str], water: Water) -> FlyBox:
        """Return the box."""

    def fly(self, text: str, water: Water, role: str) -> RigFly:
        """Return one fly."""


class CatalogFlies:
    """The measured flies of a catalog, read and learned from once, when first asked for."""

    def __init__(self, open_it: OpenCatalog) -> None:
        """Take what opens the catalog; nothing is opened before a fly of it is asked for."""
        self._open = open_it

    @cached_property
    def catalog(self) -> Catalog:
        """Return the catalog, opened when first asked for: typed flies need none."""
        return self._open()

    @cached_property
    def _learned(self) -> Learned:
        with self.catalog.reading() as session:
            return learn(session)

    def box(self, query: Sequence[str], water: Water) -> FlyBox:
        """Return the flies that a query finds, in this water; those without a weight are left out and named.

        Raises FlybenchError where none is left.
        """
        with self.catalog.reading() as session:
            codes = measured_codes(session, query)
            all_codes = measured_codes(session, []) if query else codes
            sides = sides_in(session, water, all_codes)
        flies, remarks, others = [], [], []
        for one in _one_each([one for one in self._learned.every if one.fly in all_codes], water):
            if one.fly not in codes:
                if one.weight is not None:
                    others.append(_in_water(self._learned, one, water, sides))
            elif one.weight is None:
                remarks.append(
                    f"{one.fly} is left out, because its weight in water is not known: flybench fly weigh {one.fly}"
                )
            else:
                flies.append(_in_water(self._learned, one, water, sides))
        if not flies:
            raise FlybenchError(
                "No fly in the box is measured and has a known weight. Measure some with flybench bench measure CLIP "
                "--fly CODE, and weigh them with flybench fly weigh CODE."
            )
        return FlyBox(flies, remarks, tuple(others))

    def fly(self, text: str, water: Water, role: str) -> RigFly:
        """Return the fly of a code, or one typed as "30 cm/s, 2.0 mN", for which nothing is read.

        Raises BadValueError, named by the option of its ``role`` ("point" or "dropper"), for an unknown code or a typed
        fly that cannot be; FlybenchError for one that was never measured.
        """
        if is_typed_fly(text):
            return typed_fly(text, f"--{role}", role)
        code = self._code(text.strip(), role)
        found = _one_each([one for one in self._learned.every if one.fly == code], water)
        if not found:
            raise FlybenchError(
                f"{code}: this fly was never measured. Measure it with flybench bench measure CLIP --fly {code}"
            )
        if found[0].weight is None:
            raise FlybenchError(
                f"{code}: the weight of this fly in water is not known. Weigh it with flybench fly weigh {code}"
            )
        with self.catalog.reading() as session:
            sides = sides_in(session, water, [code])
        return _in_water(self._learned, found[0], water, sides)

    def _code(self, text: str, role: str) -> str:
        """Return the code of a fly as the catalog spells it."""
        with self.catalog.reading() as session:
            fly = named(session, NOUNS["fly"].model, text)
            if fly is None:
                cure = (
                    "Add it with flybench fly add, give a code that flybench fly list shows, or type the fly's sink speed "
                    'and weight in water, as "30 cm/s, 2.0 mN".'
                )
                raise BadValueError(f"--{role}", f'there is no fly "{text}" in the catalog', cure)
            return str(fly.code)


def box_from_catalog(open_it: OpenCatalog, query: Sequence[str], water: Water) -> FlyBox:
    """Return the box of a query alone; see ``CatalogFlies.box``."""
    return CatalogFlies(open_it).box(query, water)


def _in_water(learned: Learned, one: MeasuredFly, water: Water, sides: Mapping[str, Side]) -> RigFly:
    """Return a measured fly for the rig, its speed [m/s] that of all its runs brought to this water."""
    assert one.weight is not None
    there = speed_there(learned, one, water, sides)
    weight = one.weight.in_water(water)
    return RigFly(one.fly, Measured(there.speed, there.uncertainty), weight.weight, weight.mass.value)


def _one_each(found: Sequence[MeasuredFly], water: Water) -> list[MeasuredFly]:
    """Return one record a fly, that of the water nearest in temperature: its weight is what is taken from it."""
    nearest: dict[str, MeasuredFly] = {}
    for one in sorted(found, key=lambda one: abs(one.temperature - water.temperature), reverse=True):
        nearest[one.fly] = one
    return [nearest[fly] for fly in sorted(nearest)]


class ListedFlies:
    """The flies of a CSV file, by name."""

    def __init__(self, path: Path) -> None:
        """Read the file; raises BadValueError as ``box_from_csv`` does."""
        self._path, self._box = path, box_from_csv(path)

    def box(self, query: Sequence[str], water: Water) -> FlyBox:
        """Return all flies of the file, whatever the query and the water."""
        return self._box

    def fly(self, text: str, water: Water, role: str) -> RigFly:
        """Return the fly of a name, or one typed; raises BadValueError, named by its ``role``, for one that is not there."""
        for one in self._box.flies:
            if one.name.casefold() == text.strip().casefold():
                return one
        if is_typed_fly(text):
            return typed_fly(text, f"--{role}", role)
        cure = 'Give a name of that file, or type the fly as "30 cm/s, 2.0 mN".'
        raise BadValueError(f"--{role}", f'there is no fly "{text}" in {self._path}', cure)


def box_from_csv(path: Path) -> FlyBox:
    """Return the flies of a CSV file with the columns name, speed and weight, such as M1, 30 cm/s +- 1 cm/s, 2 mN.

    Speeds and weights count as those of the water asked about. Raises BadValueError with the line where one is wrong, or
    has the name of another fly.
    """
    header, *rows = read_lines(path, _LARGEST_FILE)
    missing = [name for name in _COLUMNS if name not in header]
    if missing:
        raise BadValueError(
            str(path), f"lacks the column {missing[0]}", f"Let its first line be {','.join(_COLUMNS)}."
        )
    places = [header.index(name) for name in _COLUMNS]
    flies: list[RigFly] = []
    lines: dict[str, int] = {}
    for number, row in enumerate(rows, 2):
        name, speed, weight = (row[place].strip() if place < len(row) else "" for place in places)
        key = f"{path}, line {number}"
        before = lines.setdefault((name or key).casefold(), number)
        if before != number:
            raise BadValueError(
                key, f'"{name}" is the name of the fly in line {before} too', "Give each its own name."
            )
        flies.append(fly_of_texts(name or key, speed, weight, key))
    if not flies:
        raise FlybenchError(f"{path}: holds no flies. Add a line for each fly.")
    return FlyBox(flies, [])
