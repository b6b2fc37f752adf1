"""What tank, card and a slant common to all drops add to the uncertainty."""

from __future__ import annotations

import math

import numpy as np
import pytest

from flybench.bench.sheet.read import read_sheet
from flybench.bench.sheet.settings import Settings
from flybench.bench.verdict.budget import slant_doubt
from flybench.bench.verdict.free_water import MOST_WALL_DOUBT, free_water
from flybench.bench.verdict.result import FreeWater
from flybench.hydraulics.walls import factor_limits, plane_wall_factor


def _settings(size: tuple[str, str], gap: str | None, weight: str | None = None) -> Settings:
    scale = {"card": "in water"} if gap is None else {"card": "in water", "gap": gap}
    return read_sheet(
        {
            "water": {"temperature": "18 degC +- 0 degC"},
            "tank": {"width": size[0], "depth": size[1]},
            "camera": {"distance": "500 mm"},
            "scale": scale,
            "fly": {} if weight is None else {"mass_in_water": weight},
        }
    )


def _free(
    size: tuple[str, str], gap: str | None, weight: str | None = None, width: float = 0.004
) -> FreeWater:
    found = free_water(_settings(size, gap, weight), 0.30, 0.0, width)
    assert found is not None
    return found


@pytest.mark.parametrize("distance", [10.0, 20.0, 40.0])
def test_a_plane_wall_is_doubted_by_a_share_of_what_it_takes_in_creeping_flow(distance: float) -> None:
    """Faxén (1922): 1 - 9/16 radius / distance, as in Happel & Brenner (1965), from memory; half of it, over root 3."""
    factor = plane_wall_factor(1.0, distance, 1e-3)
    slow = 9 / 16 * 0.5 / distance
    assert factor.value == 1.0
    assert factor.standard_uncertainty == pytest.approx(slow / 2 / 3**0.5, rel=0.1)


@pytest.mark.parametrize("reynolds", [100.0, 1000.0, 4000.0])
def test_a_plane_wall_is_doubted_by_less_than_a_tube_as_near_takes(reynolds: float) -> None:
    tube = 1 - float(factor_limits(5 / 24, reynolds)[0])
    factor = plane_wall_factor(0.005, 0.012, reynolds)
    assert 0 < factor.standard_uncertainty < 0.3 * tube


def test_the_card_is_a_doubt_behind_the_fly() -> None:
    roomy = ("200 mm", "140 mm")
    alone, near, far = _free(roomy, None), _free(roomy, "12 mm"), _free(roomy, "40 mm")
    assert near.wall_factor == far.wall_factor == alone.wall_factor
    assert near.uncertainty > far.uncertainty > alone.uncertainty
    # By hand: at r = 4 / 24 the lowest of the formulas for a tube is nearly 1 - 1.6 r^1.6.
    most = 1.6 * (4 / 24) ** 1.6 * 9 / 16 / 2.105
    card = (near.uncertainty**2 - alone.uncertainty**2) ** 0.5 / near.speed
    assert card == pytest.approx(most / 2 / 3**0.5, rel=0.35)


def test_the_ball_with_the_flys_drag_may_be_wider_than_its_silhouette() -> None:
    """A fly of 0.2 g in water at 0.30 m/s has a drag area of 2 x 1.96 mN / (998.6 x 0.09) = 43.7 mm2: a ball of 12 mm."""
    narrow, roomy = ("90 mm", "70 mm"), ("300 mm", "300 mm")
    seen, weighed = _free(narrow, None), _free(narrow, None, "0.2 g")
    assert weighed.wall_factor < seen.wall_factor
    low, high = factor_limits(np.array([4 / 70, 12 / 70]), np.array([1200.0, 3600.0]))
    middles = (low + high) / 2
    assert weighed.wall_factor == pytest.approx(float(np.mean(middles)), abs=0.003)
    assert weighed.tank_doubt > abs(float(middles[1] - middles[0])) / 2
    assert weighed.tank_doubt > MOST_WALL_DOUBT > _free(roomy, None, "0.2 g").tank_doubt


def test_a_slant_common_to_all_drops_is_carried_unless_card_or_phone_slants_alike() -> None:
    """A rectangle from 0 to 1 - cos 8 degrees: its root mean square is that over the root of three (JCGM 100:2008, 4.3.7)."""
    upright, leaning = np.array([0.0, 1.0]), np.array([math.sin(math.radians(8)), math.cos(math.radians(8))])
    assert slant_doubt(leaning, [upright, upright]) == pytest.approx(
        (1 - math.cos(math.radians(8))) / math.sqrt(3)
    )
    assert slant_doubt(leaning, [upright, leaning]) == pytest.approx(0.0, abs=1e-12)
    assert slant_doubt(upright, [upright, leaning]) == 0.0
