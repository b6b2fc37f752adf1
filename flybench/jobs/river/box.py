"""Where the flies of a rig come from: a catalog, loaded only where one of its flies is asked for, a CSV file, or typed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.water import Water
from flybench.jobs.csv_lines import read_lines
from flybench.rig.tackle.flies import RigFly
from flybench.shop.river.typed_flies import fly_of_texts, is_typed_fly, typed_fly

if TYPE_CHECKING:
    from flybench.catalog.store.open import Catalog
    from flybench.jobs.river.measured_flies import MeasuredFlies

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


OpenCatalog = Callable[[], "Catalog"]
"""What opens the catalog, when it is needed."""


class Flies(Protocol):
    """Where flies come from: a box to choose from, and single ones by name or typed."""

    def box(self, query: Sequence[str], water: Water) -> FlyBox:
        """Return the box."""

    def fly(self, text: str, water: Water, role: str) -> RigFly:
        """Return one fly."""


class CatalogFlies:
    """The measured flies of a catalog, which is loaded and opened when one of them is first asked for."""

    def __init__(self, open_it: OpenCatalog) -> None:
        """Take what opens the catalog."""
        self._open = open_it

    @cached_property
    def measured(self) -> MeasuredFlies:
        """Return the flies of the catalog itself."""
        from flybench.jobs.river.measured_flies import MeasuredFlies  # loads the database's library

        return MeasuredFlies(self._open())

    def box(self, query: Sequence[str], water: Water) -> FlyBox:
        """Return the flies that a query finds; see ``MeasuredFlies.box``."""
        return self.measured.box(query, water)

    def fly(self, text: str, water: Water, role: str) -> RigFly:
        """Return the fly of a code, or one typed as "30 cm/s, 2.0 mN", for which nothing is read.

        Raises BadValueError, named by the option of its ``role``, for a typed fly that cannot be, and as
        ``MeasuredFlies.fly`` does.
        """
        if is_typed_fly(text):
            return typed_fly(text, f"--{role}", role)
        return self.measured.fly(text, water, role)


def box_from_catalog(open_it: OpenCatalog, query: Sequence[str], water: Water) -> FlyBox:
    """Return the box of a query alone; see ``CatalogFlies.box``."""
    return CatalogFlies(open_it).box(query, water)


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
