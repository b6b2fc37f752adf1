"""Simulate the runs of the demo shop again: ``python bench_videos/simulate.py [--out DIR]``.

Writes ``shop.toml`` (flies, weights, sheets and stock as the shop has written them down), ``truth.json`` (what is true
of every fly), one saved run for every evening on which a fly fell, and a drawing of each. All of it is invented; nothing
was filmed or photographed.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

import numpy as np
from flyshop.evenings import EVENINGS, scene, sheet
from flyshop.fall import fall
from flyshop.flies import FLIES, MATERIALS, STOCK, ShopFly, look
from flyshop.pictures import picture
from flyshop.recipes import FOLDER, tying
from flyshop.spots import saved_run
from flyshop.truth import truths
from flyshop.weight import G, mass, solids

SHOP = Path(__file__).parent / "shop"
PICTURES = "pictures"
"""Folder of the drawn flies, one of each variant in stock."""
_ABOUT = (
    "Invented for the demo: no such shop, fly or tank exists. The runs are simulated by equations, not filmed"
)
_STEP, _SHAKE = 1e-6, 0.6e-6
"""Last digit of the shop's scale, and how its readings scatter [kg]."""


def main() -> None:
    """Simulate the whole shop."""
    parser = argparse.ArgumentParser(description="Simulate the runs of the demo shop.")
    parser.add_argument("--out", type=Path, default=SHOP, help="directory to write into")
    out: Path = parser.parse_args().out
    out.mkdir(parents=True, exist_ok=True)
    blocks = [f"about = {json.dumps(_ABOUT)}\n"]
    blocks += [_table("[money]", {"currency": "EUR"}), *(_evening(name) for name in EVENINGS)]
    for number, (code, fly) in enumerate(FLIES.items()):
        blocks.append(_table("[[fly]]", _written_down(code, fly, np.random.default_rng([number, 5]))))
        for place, evening in enumerate(fly.evenings, 1):
            name = f"{code}-{place}"
            made = scene(fly.true(), EVENINGS[evening], 1000 + 10 * number + place, look(tying(fly.variant)))
            data, _ = saved_run(made, f"{name} (simulated, not filmed)")
            (out / f"{name}.run").write_bytes(data)
            blocks.append(_table("[[run]]", {"fly": code, "file": f"{name}.run", "evening": evening}))
    (out / PICTURES).mkdir(exist_ok=True)
    for number, variant in enumerate(STOCK):
        picture(tying(variant), out / PICTURES / f"{variant}.jpg", number)
    blocks += [_table("[stock]", STOCK), _table("[materials]", MATERIALS)]
    (out / "shop.toml").write_text("\n".join(blocks), encoding="utf-8")
    (out / "truth.json").write_text(json.dumps(truths(FOLDER), indent=1) + "\n", encoding="utf-8")
    print(f"{out}: {sum(len(fly.evenings) for fly in FLIES.values())} runs of {len(FLIES)} flies")


def _written_down(code: str, fly: ShopFly, rng: np.random.Generator) -> dict[str, Any]:
    """Return a fly as the shop wrote it down, with what its scale showed, dry once and in water twice."""
    told: dict[str, Any] = {"code": code, "variant": fly.variant}
    if fly.weighed:
        true = fly.true()
        dry = mass(solids(true.variant, true.packet))
        wet = fall(true, EVENINGS["kitchen"].stream).weight / G
        told |= {"dry": _shown(dry, rng), "in_water": [_shown(wet, rng), _shown(wet, rng)]}
    return told


def _shown(true: float, rng: np.random.Generator) -> str:
    """Return what the scale shows of a mass [kg], in grams."""
    return f"{1e3 * _STEP * round((true + rng.normal(0, _SHAKE)) / _STEP):.3f} g"


def _evening(name: str) -> str:
    evening = EVENINGS[name]
    head = _table(f"[evening.{name}]", {"day": evening.day})
    tables = (
        _table(f"[evening.{name}.sheet.{key}]", values) for key, values in sheet(evening).items() if values
    )
    return "\n".join([head, *tables])


def _table(head: str, values: Any) -> str:
    """Return a table as TOML; its texts and lists are written alike in JSON."""
    return "\n".join([head, *(f"{key} = {json.dumps(value)}" for key, value in values.items())]) + "\n"


if __name__ == "__main__":
    main()
