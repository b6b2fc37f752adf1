"""The drag model learned from a catalog's measured flies, and the water asked about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from flybench.hydraulics.water import Water
from flybench.sinking.drag.area import drag_of
from flybench.sinking.drag.tied_fly import Build, Sunk
from flybench.sinking.model.leave_one_out import LeftOut, leave_one_out
from flybench.sinking.model.shop_fit import ShopFit, fit_shop

USUAL_TEMPERATURE = 288.15
"""Water where nothing is said and nothing was measured [K]."""


@dataclass(frozen=True)
class Learned:
    """A fitted shop, the flies it was fitted to, and all measured ones.

    doubtful, flies not learned from, as they would drag less than their bare bead: their weight or speed is wrong.
    """

    shop: ShopFit
    sunk: list[Sunk]
    every: list[Sunk]

    @cached_property
    def left_out(self) -> LeftOut | None:
        """Return how well it predicts flies left out; None with too few."""
        return leave_one_out(self.shop)

    @cached_property
    def doubtful(self) -> list[str]:
        """Return the codes of the flies not learned from."""
        return sorted({one.fly for one in self.every if one not in self.sunk})

    @property
    def flies(self) -> int:
        """Return how many flies with a known weight it stands on."""
        return len({one.fly for one in self.shop.data.sunk})

    def basis(self) -> list[str]:
        """Return what predictions stand on, in words."""
        told = [
            f"{fly}: drags less than its bare bead, so not learned from: weigh it again."
            for fly in self.doubtful
        ]
        return [*self._stands_on(), *told]

    def _stands_on(self) -> list[str]:
        if self.flies == 0:
            return [
                "Learned from no fly: physics and usual dressings alone (judgement). Measure some, and weigh them."
            ]
        variants = len({one.build.code for one in self.shop.data.sunk})
        lines = [f"Learned from {self.flies} measured and weighed flies of {variants} variants."]
        if self.left_out is None:
            return [*lines, "Too few variants to tell how far such predictions go astray: at least four."]
        found = self.left_out
        return [
            *lines,
            f"Each of {found.variants} variants predicted from the others: off by {found.rms:.0%} (r.m.s.), "
            f"{found.inside:.0%} of flies inside their 95 % interval.",
        ]

    def record(self) -> dict[str, object]:
        """Return the same as machine form."""
        found = self.left_out
        return {
            "flies": self.flies,
            "not_learned_from": self.doubtful,
            "left_out": None
            if found is None
            else {"variants": found.variants, "rms": found.rms, "bias": found.bias, "inside": found.inside},
        }


def learned_from(every: list[Sunk], more: Sequence[Build] = ()) -> Learned:
    """Fit the drag model to measured flies, without those that would drag less than their bare bead."""
    sunk = [one for one in every if (drag := drag_of(one)) is None or not drag.below_bare_bead]
    return Learned(fit_shop(sunk, more), sunk, every)


def water_asked(sunk: Sequence[Sunk], temperature: float | None, salinity: float) -> tuple[Water, str]:
    """Return the water asked about and how it was come by: as given, else as the flies were measured in."""
    if temperature is not None:
        return Water(temperature, salinity), "as given"
    if sunk:
        return Water(
            float(np.mean([one.temperature for one in sunk])), salinity
        ), "as the flies were measured in"
    return Water(USUAL_TEMPERATURE, salinity), "assumed"
