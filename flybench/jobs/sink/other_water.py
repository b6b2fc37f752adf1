"""Sink speeds of measured flies in other water."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from flybench.catalog.store.open import Catalog
from flybench.errors import FlybenchError
from flybench.hydraulics.water import Water
from flybench.jobs.sink.drags import NONE_MEASURED
from flybench.jobs.sink.in_water import sides_in, speed_there
from flybench.jobs.sink.learn import law_of_water, learn, measured_codes, records
from flybench.shop.speeds.learning import Learned
from flybench.sinking.model.other_water import SpeedInOtherWater
from flybench.sinking.model.viscosity import sinks_in


@dataclass(frozen=True)
class OtherWater:
    """Measured flies taken to one water, and the codes of those that would float there; what all measured flies teach, where
    it was asked for."""

    flies: list[SpeedInOtherWater]
    water: Water
    floating: tuple[str, ...] = ()
    learned: Learned | None = None


def in_other_water(
    catalog: Catalog, query: Sequence[str], temperature: float, salinity: float = 0.0, rests_on: bool = False
) -> OtherWater:
    """Return the speed in other water of the measured flies that a query finds, from slowest to fastest.

    There is a line for each water that a fly was measured in; its speed there is one, that of all its runs, as the ladder
    has it for that water. The drag law is learned from all measured flies of the catalog, retired or not.
    Parameters: temperature [K], salinity [kg/kg]; rests_on, whether it is wanted too what all measured flies teach.
    Raises FlybenchError where nothing measured is found, BadValueError for water that is no river's.
    """
    water = Water(temperature, salinity)
    with catalog.reading() as session:
        codes = measured_codes(session, query)
        wanted = records(session, codes)
        if not wanted:
            raise FlybenchError(NONE_MEASURED)
        sinking = [one for one in wanted if sinks_in(one, water)]
        law, sides = law_of_water(session), sides_in(session, water, sorted(codes))
        # Where none sinks, the first is asked for all the same: its error says why.
        found = [speed_there(law, one, water, sides) for one in sinking or wanted]
        learned = learn(session) if rests_on else None
    floating = sorted({one.fly for one in wanted if one not in sinking})
    ordered = sorted(found, key=lambda one: (one.speed, one.measured.fly))
    return OtherWater(ordered, water, tuple(floating), learned)
