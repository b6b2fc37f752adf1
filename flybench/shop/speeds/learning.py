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


@dataclass(frozen=True)
class Learned:
    """A fitted shop, the measured flies it was fitted to, and every measured one.

    doubtful, flies not learned from, as they would drag less than their bare bead: their weight or speed is wrong.
    """

    shop: ShopFit
    measured: list[MeasuredFly]
    every: list[MeasuredFly]

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


def learned_from(every: list[MeasuredFly], more: Sequence[Build] = ()) -> Learned:
    """Fit the drag model to measured flies, without those that would drag less than their bare bead."""
    measured = [one for one in every if (drag := drag_of(one)) is None or not drag.below_bare_bead]
    return Learned(fit_shop(measured, more), measured, every)


def water_asked(
    measured: Sequence[MeasuredFly], temperature: float | None, salinity: float
) -> tuple[Water, str]:
    """Return the water asked about and how it was come by: as given, else as the flies were measured in.

    Parameters: temperature [K] and salinity [kg/kg]. Raises BadValueError for water that is none.
    """
    if temperature is not None:
        return Water(temperature, salinity), "as given"
    if measured:
        return Water(
            float(np.mean([one.temperature for one in measured])), salinity
        ), "as the flies were measured in"
    return Water(USUAL_TEMPERATURE, salinity), "assumed"
