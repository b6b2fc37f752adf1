"""What the flies are to do, as the angler types it, turned into the aim of the rig's model."""

from __future__ import annotations

from dataclasses import dataclass

from flybench.quantity import inside, parse_inside
from flybench.rig.advice import aim as aims
from flybench.rig.advice.aim import Aim
from flybench.rig.water.current import Current
from flybench.rig.water.level import FishLevel
from flybench.shop.river.rig_texts import level_from


@dataclass(frozen=True)
class AimTexts:
    """What the flies are to do, as typed, each named as its option; shares and weights are plain numbers [-]."""

    target: str = "2.5 m"
    drift_length: str = "4 m"
    bed_cost: float = 1.0
    in_time: float = 0.8
    dropper_level: str | None = None
    dropper_weight: float = 0.5


def aim_from(texts: AimTexts, level: FishLevel, current: Current, seconds: float | None = None) -> Aim:
    """Return what the flies are to do; raises BadValueError naming the option that cannot be."""
    cure = "Give the way from where the flies land to where they are lifted off."
    limits = (aims.SHORTEST_DRIFT, aims.LONGEST_DRIFT)
    length = parse_inside(texts.drift_length, "m", "--drift-length", *limits, cure, example="4 m")
    cure = f"The whole drift is {texts.drift_length.strip()} long: give a way within it, or a longer --drift-length."
    target = parse_inside(texts.target, "m", "--target", aims.NEAREST_TARGET, length, cure, example="2.5 m")
    cure = "Give 1 to 2, more where the bed holds snags, 0 where lying on it does no harm."
    inside("--bed-cost", texts.bed_cost, 0.0, aims.HIGHEST_COST, "", cure)
    inside("--in-time", texts.in_time, 0.0, 1.0, "", "Give a share, such as 0.8 for four drifts of five.")
    cure = "Give 1 where the dropper counts as much as the point."
    inside("--dropper-weight", texts.dropper_weight, 0.0, aims.HIGHEST_COST, "", cure)
    above = None
    if texts.dropper_level is not None:
        above = level_from(texts.dropper_level, current, "--dropper-level")
    return Aim(
        level=level,
        target=target,
        length=length,
        seconds=Aim.seconds if seconds is None else seconds,
        bed_cost=texts.bed_cost,
        wanted_in_time=texts.in_time,
        dropper_level=above,
        dropper_weight=0.0 if above is None else texts.dropper_weight,
    )
