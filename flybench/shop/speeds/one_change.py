"""What one change does: measured variants of one pattern that differ in a single thing, and the mean over them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from flybench.catalog.shelf.needed import Needed, needed_for
from flybench.catalog.tables.patterns import Variant
from flybench.catalog.tables.vocabulary import Part
from flybench.shop.speeds.compared_flies import ComparedFlies, Pair, pair_of
from flybench.sinking.weight.parts import PartMetal, density_of
from flybench.statistics.pooling import paule_mandel
from flybench.statistics.student import widened

CHANGES = {
    "bead": (Part.BEAD,),
    "hackle": (Part.HACKLE, Part.COLLAR),
    "resin": (Part.COATING,),
    "hook": (Part.HOOK,),
}
"""What may be changed, and the parts of the recipe that it is."""
EXPECTED_FREEDOM = 4.0
"""Degrees of freedom of the expected spread between patterns: known to a third or so (judgement; JCGM 100:2008, G.4.2)."""
EFFECT_SPREAD = 0.03
"""Expected standard deviation of one change's effect from pattern to pattern, as a share of speed (judgement)."""

Thing = tuple[tuple[str, str, float | None, str], ...]
"""What a recipe has of one thing: part, material, amount and unit of each step, in the order of tying."""
Couple = tuple[Variant, Variant]
"""Two variants that differ in one thing, the one with less of it first."""


@dataclass(frozen=True)
class Changed:
    """Two variants of one pattern that differ in one thing: it was ``before``, it became ``after``.

    pair, the one with more of it against the one with less: bigger or heavier bead, more hackle, coated, bigger hook.
    """

    pattern: str
    before: str
    after: str
    pair: Pair

    @property
    def change(self) -> str:
        """Return the change as "before → after"."""
        return f"{self.before} → {self.after}"


@dataclass(frozen=True)
class MeanEffect:
    """Mean ratio of speeds over pairs, its standard uncertainty, and the spread between pairs (none found: 0).

    of, the change as in "A → B"; empty over all pairs.
    """

    of: str
    pairs: int
    ratio: float
    uncertainty: float
    spread: float


@dataclass(frozen=True)
class OneChange:
    """All pairs that differ in one thing, and the mean over all where there are two or more.

    means, of each change that several pairs have in common, where not all have the same.
    """

    what: str
    pairs: list[Changed]
    means: list[MeanEffect]
    mean: MeanEffect | None
    flies: ComparedFlies


def one_change_of(what: str, couples: Sequence[Couple], flies: ComparedFlies) -> OneChange:
    """Return what a change did in each couple, and in the mean; ``flies`` holds a side for each variant."""
    pairs = [_changed(flies, less, more, what) for less, more in couples]
    return OneChange(what, pairs, _means(pairs), mean_effect(pairs), flies)


def _means(pairs: Sequence[Changed]) -> list[MeanEffect]:
    changes = dict.fromkeys(one.change for one in pairs)
    if len(changes) < 2:
        return []
    each = (mean_effect([one for one in pairs if one.change == change], change) for change in changes)
    return [mean for mean in each if mean is not None]


def mean_effect(pairs: Sequence[Changed], of: str = "") -> MeanEffect | None:
    """Return the mean ratio over pairs as random effects in its logarithm; None for fewer than two.

    s^2 = max(s_PM^2, ((n - 1) s_PM^2 + s_0^2) / n), s_PM from Paule and Mandel, s_0 the expected spread.
    Reference: Paule & Mandel as in ``statistics.pooling``; that the expected spread counts as one degree of freedom is
    a judgement.
    """
    if len(pairs) < 2:
        return None
    found = [one.pair.found for one in pairs]
    logs = np.log([one.ratio for one in found])
    own = np.array([one.ratio_uncertainty / one.ratio for one in found])
    count, between = len(pairs), paule_mandel(logs, own)
    spread = max(between, float(np.sqrt(((count - 1) * between**2 + EFFECT_SPREAD**2) / count)))
    weights = 1 / (own**2 + spread**2)
    weights /= weights.sum()
    terms = [(float(np.linalg.norm(weights * own)), np.inf)]
    terms.append((spread * float(np.linalg.norm(weights)), _blend_freedom(count)))
    ratio = float(np.exp(weights @ logs))
    return MeanEffect(of, count, ratio, ratio * widened(terms), between)


def _blend_freedom(count: int) -> float:
    """Return degrees of freedom of a spread that blends the one found among ``count`` with an expected one.

    s^2 = ((n - 1) s_found^2 + s_expected^2) / n; Welch and Satterthwaite of that sum.
    """
    return count**2 / (count - 1 + 1 / EXPECTED_FREEDOM)


def couples_of(variants: Sequence[Variant], what: str) -> Iterator[Couple]:
    """Yield neighbours, the one with less of it first, among variants alike in all else."""
    alike: dict[tuple[str, Thing], dict[Thing, Variant]] = {}
    for variant in variants:
        needs = needed_for(variant)
        rest = _thing(needs, [part for part in Part if part not in CHANGES[what]])
        levels = alike.setdefault((variant.pattern.code, rest), {})
        levels.setdefault(_thing(needs, CHANGES[what]), variant)
    for levels in alike.values():
        ordered = sorted(levels.items(), key=lambda level: _ORDERS[what](*level))
        for (_, less), (_, more) in pairwise(ordered):
            yield less, more


def _thing(needs: Sequence[Needed], parts: Sequence[Part]) -> Thing:
    return tuple(
        (need.part.value, need.material.code, need.amount, "" if need.unit is None else need.unit.value)
        for need in needs
        if need.part in parts
    )


def _bead_order(thing: Thing, variant: Variant) -> tuple[float | str, ...]:
    bead = variant.bead
    if bead is None:
        return 0.0, ""
    heft = density_of(PartMetal(bead.metal.value)).value * bead.diameter_m**3
    return heft, bead.material.code


def _amount_order(thing: Thing, variant: Variant) -> tuple[float | str, ...]:
    return float(len(thing) > 0), sum(amount or 0.0 for _, _, amount, _ in thing), str(thing)


def _hook_order(thing: Thing, variant: Variant) -> tuple[float | str, ...]:
    return -float(variant.hook.size), variant.hook.material.code


_ORDERS: dict[str, Callable[[Thing, Variant], tuple[float | str, ...]]] = {
    "bead": _bead_order,
    "hackle": _amount_order,
    "resin": _amount_order,
    "hook": _hook_order,
}
"""How variants are ordered by each thing, from less of it to more."""


def _changed(flies: ComparedFlies, less: Variant, more: Variant, what: str) -> Changed:
    pair = pair_of(flies, flies.sides[more.code], flies.sides[less.code], as_given=True)
    before, after = (_in_codes(_thing(needed_for(one), CHANGES[what]), what) for one in (less, more))
    return Changed(less.pattern.code, before, after, pair)


def _in_codes(thing: Thing, what: str) -> str:
    """Return a thing as codes, with amounts where they say something."""
    if what in ("bead", "hook"):
        return thing[0][1] if thing else f"no {what}"
    said = [f"{code} {amount:g} {unit}".strip() if amount else code for _, code, amount, unit in thing]
    return ", ".join(said) or f"no {what}"
