"""The drag model learned from a catalog's measured flies, and the water asked about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from flybench.hydraulics.water import Water
from flybench.sinking.drag.steady_fall import drag_of
from flybench.sinking.drag.tied_fly import Build, MeasuredFly
from flybench.sinking.model.fit import USUAL_TEMPERATURE
from flybench.sinking.model.known_weights import Packet
from flybench.sinking.model.leave_one_out import LeftOut, leave_one_out
from flybench.sinking.model.shop_fit import ShopFit, fit_shop
from flybench.sinking.model.viscosity import ViscosityLaw, learn_viscosity


@dataclass(frozen=True)
class Contradicted:
    """A fly whose weighing contradicts its parts: its weight in water as weighed and by its parts [N], and how likely the
    weighing is wrong altogether [-]."""

    fly: str
    weighed: float
    by_parts: float
    wrong: float

    @property
    def believed(self) -> bool:
        """Tell whether the weighing is more likely right than wrong."""
        return self.wrong < 0.5


@dataclass(frozen=True)
class Learned:
    """What is learned from measured flies, each part of it when it is first asked for: the measured flies it is learned from,
    and every measured one.

    doubtful, flies not learned from, as they would drag less than their bare bead: their weight or speed is wrong;
    remarks, in words, on readings of scales that look wrong; more, builds that will be asked about.
    """

    measured: list[MeasuredFly]
    every: list[MeasuredFly]
    remarks: tuple[str, ...] = ()
    more: tuple[Build, ...] = ()

    @cached_property
    def shop(self) -> ShopFit:
        """Return the drag model fitted to them."""
        return fit_shop(self.measured, self.more)

    @cached_property
    def viscosity(self) -> ViscosityLaw:
        """Return how their drag goes with viscosity, which takes no fit."""
        return learn_viscosity(self.measured)

    @cached_property
    def left_out(self) -> LeftOut | None:
        """Return how well it predicts flies left out; None with too few."""
        return leave_one_out(self.shop)

    @cached_property
    def packets(self) -> list[Packet]:
        """Return what weighed flies tell of the beads that they are tied on."""
        data = self.shop.data
        return data.weights.packets(data.measured)

    @cached_property
    def contradicted(self) -> list[Contradicted]:
        """Return the flies whose weighing contradicts their parts, each once."""
        wrong = self.shop.data.weights.wrong
        found = {one.fly: one.weight for one in self.shop.data.measured if one.fly in wrong}
        return [
            Contradicted(fly, weight.weight.value, weight.by_parts.weight, wrong[fly])
            for fly, weight in sorted(found.items())
            if weight is not None and weight.by_parts is not None
        ]

    @cached_property
    def doubtful(self) -> list[str]:
        """Return the codes of the flies not learned from."""
        return sorted({one.fly for one in self.every if one not in self.measured})

    @property
    def variants(self) -> int:
        """Return of how many variants those flies are."""
        return len({one.build.code for one in self.shop.data.measured})

    @property
    def flies(self) -> int:
        """Return how many flies with a known weight it stands on."""
        return len({one.fly for one in self.shop.data.measured})


def learned_from(
    every: list[MeasuredFly], more: Sequence[Build] = (), remarks: Sequence[str] = ()
) -> Learned:
    """Learn from measured flies, without those that would drag less than their bare bead."""
    return Learned(believable(every), every, tuple(remarks), tuple(more))


def believable(flies: Sequence[MeasuredFly]) -> list[MeasuredFly]:
    """Return measured flies without those that would drag less than their bare bead: their weight or speed is wrong."""
    return [one for one in flies if (drag := drag_of(one)) is None or not drag.below_bare_bead]


def water_asked(
    measured: Sequence[MeasuredFly], temperature: float | None, salinity: float | None
) -> tuple[Water, str]:
    """Return the water asked about and how it was come by: as given, else as the flies were measured in.

    Parameters: temperature [K] and salinity [kg/kg], None where not given: with a temperature there is then no salt.
    Raises BadValueError for water that is none.
    """
    if temperature is not None:
        return Water(temperature, salinity or 0.0), "as given"
    if measured:
        kelvin, salt = np.mean([(one.temperature, one.salinity) for one in measured], axis=0).tolist()
        return Water(kelvin, salt if salinity is None else salinity), "as the flies were measured in"
    return Water(USUAL_TEMPERATURE, salinity or 0.0), "assumed"
