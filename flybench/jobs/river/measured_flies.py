"""The measured flies of a catalog as the rig's model takes them: a box of them, single ones, and their patterns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

from flybench.catalog.search.nouns import NOUNS
from flybench.catalog.search.select import select_rows
from flybench.catalog.shelf.rows import named
from flybench.catalog.store.open import Catalog
from flybench.errors import BadValueError, FlybenchError
from flybench.hydraulics.water import Water
from flybench.jobs.river.box import FlyBox
from flybench.jobs.sink.in_water import sides_in, speed_there
from flybench.jobs.sink.learn import law_of_water, measured_codes, records
from flybench.quantity import Measured
from flybench.rig.tackle.flies import RigFly
from flybench.sinking.drag.tied_fly import MeasuredFly
from flybench.sinking.model.viscosity import ViscosityLaw
from flybench.statistics.comparing import Side


class MeasuredFlies:
    """The measured flies of a catalog, read when they are asked for; how drag goes with viscosity is learned once."""

    def __init__(self, catalog: Catalog) -> None:
        """Take the catalog; nothing is read of it before a fly is asked for."""
        self._catalog = catalog

    @cached_property
    def _law(self) -> ViscosityLaw:
        with self._catalog.reading() as session:
            return law_of_water(session)

    def box(self, query: Sequence[str], water: Water) -> FlyBox:
        """Return the flies that a query finds, in this water; those without a weight are left out and named.

        Raises FlybenchError where none is left, BadValueError where the query finds no fly at all.
        """
        with self._catalog.reading() as session:
            codes = measured_codes(session, query)
            all_codes = measured_codes(session, []) if query else codes
            sides = sides_in(session, water, all_codes)
            every = records(session, all_codes)
        flies, remarks, others = [], [], []
        for one in _one_each(every, water):
            if one.fly not in codes:
                if one.weight is not None:
                    others.append(_in_water(self._law, one, water, sides))
            elif one.weight is None:
                remarks.append(
                    f"{one.fly} is left out, because its weight in water is not known: flybench fly weigh {one.fly}"
                )
            else:
                flies.append(_in_water(self._law, one, water, sides))
        if not flies:
            self._refuse_idle_query(query)
            raise FlybenchError(
                "No fly in the box is measured and has a known weight. Measure some with flybench bench measure CLIP "
                "--fly CODE, and weigh them with flybench fly weigh CODE."
            )
        return FlyBox(flies, remarks, tuple(others))

    def _refuse_idle_query(self, query: Sequence[str]) -> None:
        """Refuse, by BadValueError, a query that finds no fly of the catalog at all, measured or not."""
        with self._catalog.reading() as session:
            if not query or select_rows(session, NOUNS["fly"], query, "code", 1, ("code",)):
                return
        words = " ".join(query)
        cure = "Look what is there with flybench fly list, and how to ask with flybench fly list --help."
        raise BadValueError("--box", f'no fly of the catalog fits "{words}"', cure)

    def fly(self, text: str, water: Water, role: str) -> RigFly:
        """Return the fly of a code.

        Raises BadValueError, named by the option of its ``role`` ("point" or "dropper"), for an unknown code;
        FlybenchError for one that was never measured.
        """
        code = self._code(text.strip(), role)
        with self._catalog.reading() as session:
            found, sides = _one_each(records(session, [code]), water), sides_in(session, water, [code])
        if not found:
            raise FlybenchError(
                f"{code}: this fly was never measured. Measure it with flybench bench measure CLIP --fly {code}"
            )
        if found[0].weight is None:
            raise FlybenchError(
                f"{code}: the weight of this fly in water is not known. Weigh it with flybench fly weigh {code}"
            )
        return _in_water(self._law, found[0], water, sides)

    @property
    def patterns(self) -> dict[str, str]:
        """Return the pattern of every fly by its code, in small letters."""
        with self._catalog.reading() as session:
            rows = select_rows(session, NOUNS["fly"], [], "code", 0, ("code", "pattern"))
        return {row["code"].lower(): row["pattern"] for row in rows}

    def _code(self, text: str, role: str) -> str:
        """Return the code of a fly as the catalog spells it."""
        with self._catalog.reading() as session:
            fly = named(session, NOUNS["fly"].model, text)
            if fly is None:
                cure = (
                    "Add it with flybench fly add, give a code that flybench fly list shows, or type the fly's sink speed "
                    'and weight in water, as "30 cm/s, 2.0 mN".'
                )
                raise BadValueError(f"--{role}", f'there is no fly "{text}" in the catalog', cure)
            return str(fly.code)


def _in_water(law: ViscosityLaw, one: MeasuredFly, water: Water, sides: Mapping[str, Side]) -> RigFly:
    """Return a measured fly for the rig, its speed [m/s] that of all its runs brought to this water."""
    assert one.weight is not None
    there = speed_there(law, one, water, sides)
    weight = one.weight.in_water(water)
    return RigFly(one.fly, Measured(there.speed, there.uncertainty), weight.weight, weight.mass.value)


def _one_each(found: Sequence[MeasuredFly], water: Water) -> list[MeasuredFly]:
    """Return one record a fly, that of the water nearest in temperature: its weight is what is taken from it."""
    nearest: dict[str, MeasuredFly] = {}
    for one in sorted(found, key=lambda one: abs(one.temperature - water.temperature), reverse=True):
        nearest[one.fly] = one
    return [nearest[fly] for fly in sorted(nearest)]
