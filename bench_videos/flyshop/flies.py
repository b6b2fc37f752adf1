"""The invented flies of the shop: what each is tied from, how it turned out, on which evenings it fell, and what is in stock.

Codes, names, packets, hands and numbers exist nowhere else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from flyshop.drag import widths
from flyshop.fall import TrueFly
from flyshop.recipes import Tying, tying


@dataclass(frozen=True)
class ShopFly:
    """A fly of the shop: its variant, how full its dressing turned out [-], its evenings, and whether it was weighed."""

    variant: str
    hand: float = 1.0
    evenings: tuple[str, ...] = ("kitchen",)
    weighed: bool = True

    def true(self) -> TrueFly:
        """Return what is true of it."""
        made = tying(self.variant)
        return TrueFly(made, packet_of(made), self.hand)


_TWICE, _COLD = ("kitchen", "kitchen-again"), ("kitchen", "garage")
FLIES: Mapping[str, ShopFly] = {
    "F01": ShopFly("cinder-ladder-12", 1.02, _COLD),
    "F02": ShopFly("cinder-ladder-14", 1.03, _TWICE),
    "F03": ShopFly("cinder-ladder-14", 0.96, ("kitchen-again",)),
    "F04": ShopFly("latchlight-slip-12h", 0.98),
    "F05": ShopFly("latchlight-slip-14", 1.01, _TWICE),
    "F06": ShopFly("clerks-coil-14", 0.99, ("kitchen-again",), False),
    "F07": ShopFly("clerks-coil-16", 1.04),
    "F08": ShopFly("tallow-needle-14", 1.0, _TWICE),
    "F09": ShopFly("tallow-needle-16", 0.97, _COLD),
    "F10": ShopFly("toll-rung-14t", 1.02, ("kitchen-again",), False),
    "F11": ShopFly("dunnage-grub-12", 1.0, ("kitchen", "kitchen-again", "garage")),
    "F12": ShopFly("dunnage-grub-12", 1.06, ("kitchen-again",)),
    "F13": ShopFly("felt-ferryman-12", 1.05),
    "F14": ShopFly("felt-ferryman-14", 0.97, _COLD),
    "F15": ShopFly("turnstile-skirt-14", 0.95, _TWICE),
    "F16": ShopFly("turnstile-skirt-14s", 1.04, _COLD),
    "F17": ShopFly("gatepost-whisker-12", 1.0, ("kitchen-again",), False),
    "F18": ShopFly("slow-curtain-14t", 0.96, _COLD),
    "F19": ShopFly("wet-errand-12", 1.03, _TWICE),
    "F20": ShopFly("barge-lump-12", 1.0, ("kitchen-again",)),
    "F21": ShopFly("thimble-drift-14", 1.02, ("kitchen",), False),
}
"""The flies whose runs are simulated; three more are those of the rendered clips."""

_PACKETS = {"bd-tu-sl-28": 1.012, "bd-tu-sl-33": 0.988, "bd-tu-cs-28": 1.008, "bd-br-cs-30": 0.985}
"""How much heavier the beads of a packet are than they should be [-]."""

STOCK: Mapping[str, int] = {
    "barge-lump-12": 14,
    "cinder-ladder-12": 24,
    "cinder-ladder-14": 36,
    "clerks-coil-14": 18,
    "clerks-coil-16": 30,
    "dunnage-grub-12": 42,
    "felt-ferryman-12": 12,
    "felt-ferryman-14": 24,
    "gatepost-whisker-12": 9,
    "latchlight-slip-12h": 12,
    "latchlight-slip-14": 30,
    "moss-hackle-12": 20,
    "reed-slip-12": 16,
    "slate-plump-10": 11,
    "slow-curtain-14t": 15,
    "tallow-needle-14": 24,
    "tallow-needle-16": 18,
    "thimble-drift-14": 8,
    "toll-rung-14t": 21,
    "turnstile-skirt-14": 27,
    "turnstile-skirt-14s": 6,
    "wet-errand-12": 13,
}
"""Finished flies in the drawers."""

MATERIALS: Mapping[str, float] = {
    "hk-jig-12": 50,
    "hk-jig-14": 75,
    "hk-jig-16": 25,
    "hk-str-12": 50,
    "hk-str-14": 60,
    "hk-str-16": 25,
    "bd-tu-sl-25": 25,
    "bd-tu-sl-28": 40,
    "bd-tu-sl-30": 30,
    "bd-tu-sl-33": 20,
    "bd-br-cs-28": 25,
    "bd-br-cs-33": 25,
    "bd-tu-cs-25": 30,
    "bd-tu-cs-28": 12,
    "th-char": 45_000,
    "th-moss": 48_000,
    "wi-cop-10": 600,
    "ta-coq": 220,
    "du-olive": 1_500,
    "du-peat": 1_800,
    "ha-stiff": 120,
    "re-thin": 150,
    "ti-sil": 300,
}
"""Materials on the shelf, in the units of the catalog."""


_TAIL = 3e-3
"""How far a tail stands out behind the bend [m] (invented)."""


def packet_of(made: Tying) -> float:
    """Return how much heavier the beads of a tying's packet are than they should be [-]."""
    return 1.0 if made.bead is None else _PACKETS.get(str(made.bead.material["code"]), 1.0)


def look(made: Tying) -> dict[str, float]:
    """Return what is to be seen of a fly before the tank's card: lengths [m], as the renderer calls them."""
    bead = 0.0 if made.bead is None else made.bead.size("diameter") or 0.0
    thick, reach = widths(made)
    return {
        "bead_diameter": bead or thick,
        "length": (made.hook.size("shank") or 0.0) + bead + _TAIL,
        "body_width": thick,
        "hackle": reach,
        "tilt_deg": 8.0,
    }
