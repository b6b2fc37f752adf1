"""Whether the picture stands upright: falls against the card's arrow, and lifts that pass for falls in a picture on its head.

A picture on its head shows the fly being lifted out as a fall, and its fall as something that rises. The card has an up;
without one only the way in which things move tells.
"""

from __future__ import annotations

import numpy as np

from flybench.bench.fit.response_number import NUMBERS, response_profile
from flybench.bench.track.drop import Drop

_LEAST_NUMBER, _MOST_NUMBER = 0.9, 20.0
"""Response numbers of a body that comes to its speed freely [-]: 1.1 for bare tungsten, 12 for a fly that hardly sinks, with
room for what the law leaves open; a hand starts sooner or later (judgement)."""
_FITS = -2.0
"""Log likelihood below the best down to which a response number fits [-]: two standard deviations."""
_ALIKE = 2.0
"""How many times larger and plainer, or smaller and fainter, a thing may be and still be the same fly [-] (judgement:
bubbles, hands and specks differ by more)."""
_AGREEING = 0.03
"""Difference of the speeds of falls over their mean that a hand does not keep to [-]: free falls of one fly repeat within
1 to 3 %, two lifts within 6 % once in twenty (by simulation of hands)."""


def rising_alike(drops: list[Drop], rising: list[Drop]) -> list[Drop]:
    """Return what rises, seen as falls in the picture turned over, and looks like what falls.

    What falls several times as fast is smeared in each picture, and so as many times fainter at the most.
    """
    if not drops:
        return rising
    length, strength = (
        float(np.median([getattr(drop, name) for drop in drops])) for name in ("length", "strength")
    )
    speed = float(np.median([_speed(drop) for drop in drops]))
    return [
        one
        for one in rising
        if 1 / _ALIKE < one.length / length < _ALIKE
        and 1 / _ALIKE < one.strength / strength < _ALIKE * max(1.0, speed / _speed(one))
    ]


def _speed(drop: Drop) -> float:
    """Return the speed of a track, as a straight line has it [m/s]."""
    return float(np.polyfit(drop.times, drop.places[:, 1], 1)[0])


def falls_freely(drop: Drop, least_noise: float) -> bool:
    """Tell whether a track was seen coming to its speed as a body in water does; ``least_noise`` [m] as in the profile."""
    profile = response_profile(drop.times, drop.places[:, 1], least_noise)
    fitting = NUMBERS[profile.log_likelihood > _FITS]
    return profile.approach_seen and fitting[0] > _LEAST_NUMBER and float(fitting[-1]) < _MOST_NUMBER


def against_the_card(drops: list[Drop], rising: list[Drop], least_noise: float) -> bool:
    """Tell whether falls before a card on its head may be lifts: the same fly rises too, or they show no free fall.

    A card that was put in upside down is borne where two falls and more agree, or one is seen to start freely.
    """
    if rising_alike(drops, rising):
        return True
    speeds = np.array([_speed(drop) for drop in drops])
    agreeing = len(drops) > 1 and float(np.ptp(speeds)) < _AGREEING * float(np.mean(speeds))
    return not agreeing and not any(falls_freely(drop, least_noise) for drop in drops)


def on_its_head(drops: list[Drop], rising: list[Drop], least_noise: float) -> bool:
    """Tell whether what rises falls freely and what falls does not, in a picture without a card."""
    alike = rising_alike(drops, rising)
    return any(falls_freely(one, least_noise) for one in alike) and not any(
        falls_freely(drop, least_noise) for drop in drops
    )
