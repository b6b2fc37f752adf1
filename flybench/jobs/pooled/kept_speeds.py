"""Pooled speeds kept in step with the runs: after a change only those are worked out again that rest on what changed.

What a fly's numbers rest on, besides its own variant's runs: how much runs and flies of the shop differ, in steps; the water
that speeds are shown for, where runs were made in another; and how drag goes with viscosity, in steps. These are found from
the newest runs of the shop; of each variant a short text of them is kept, and it is pooled again where that text is another.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from typing import TypeVar

from sqlalchemy.orm import Session

from flybench.catalog.shelf.counted_runs import (
    count_again,
    counted_of,
    is_counted,
    put_steps,
    resting,
    set_counted,
    variants_where,
)
from flybench.catalog.shelf.counting import counting_runs, keep_pooled
from flybench.catalog.shelf.run_records import Pool
from flybench.jobs.pooled.rules import RULES
from flybench.jobs.pooled.shop_wide import (
    a_build,
    as_made,
    far_from,
    kept_law,
    newest_runs,
    records_as_made,
    shown,
)
from flybench.shop.speeds.one_water import brought_to
from flybench.shop.speeds.pooling import pool_shop
from flybench.shop.speeds.run_parts import RunParts, counted_parts, counted_record, parts_of_run
from flybench.shop.speeds.shop_spreads import ShopSpreads, spreads_of
from flybench.sinking.model.viscosity import ViscosityLaw
from flybench.statistics.spread import Spread

_AT_ONCE = 40
"""Variants pooled at a time [-]: their runs fit into some megabytes (judgement)."""
_LETTERS = 12
"""Letters of a text that stands for what numbers rest on [-]: one change in 10^14 would go unnoticed."""


_NO_STEP = "-"
"""What the steps of a variant rest on where none of its runs is brought to other water."""
_T = TypeVar("_T")


@dataclass(frozen=True)
class _Variant:
    """A variant: number, code, pattern, style, and what its kept numbers rest on: spreads before any step to other water,
    that water and step, spreads behind it; "" where nothing is kept."""

    number: int
    code: str
    pattern: str
    style: str
    rests_on: tuple[str, str, str]


def keeping(session: Session) -> Pool:
    """Return the way in which the pooled speeds of a catalog are kept in step."""
    return partial(keep_in_step, session)


def keep_in_step(session: Session, changed: Collection[int] = (), all_steps: bool = False) -> None:
    """Bring kept speeds in step with the runs after runs of the variants with these numbers changed.

    Parameters: all_steps, whether masses or parts of flies changed, which alter the step to other water. Where the rules are
    others than those by which speeds were kept, all are worked out again.
    """
    known = [
        _Variant(number, code, pattern, style.value, _three(rests_on))
        for number, code, pattern, style, rests_on in resting(session)
    ]
    whole = not is_counted(session, RULES)
    again = {one.number for one in known if whole or one.number in changed}
    for some in _chunks(sorted(again)):
        count_again(
            session, some, (counted_record(parts_of_run(run)) for run in counting_runs(session, some))
        )
    if whole:
        set_counted(session, RULES)
    _Step(session, known, again, set(changed), all_steps).take()
    session.flush()


class _Step:
    """One step from a change of runs to kept speeds that are true again."""

    def __init__(
        self, session: Session, known: Sequence[_Variant], again: set[int], emptied: set[int], all_steps: bool
    ) -> None:
        """Take all variants, those to be pooled again in any case, and those that may have lost their last run."""
        self.session, self.known, self.again, self.emptied, self.all_steps = (
            session,
            known,
            again,
            emptied,
            all_steps,
        )
        self.water, _ = shown(session)
        self.steeper: dict[str, list[float]] = {}

    def take(self) -> None:
        """Bring runs to the shown water where their step is another now, then pool what rests on what changed."""
        newest = newest_runs(self.session)
        unmoved = spreads_of([as_made(run) for run in newest])
        away = {} if self.water is None else variants_where(self.session, far_from(self.water))
        runs_of = {one.code: _of_spread(unmoved.expected_runs(one.code)) for one in self.known}
        law = self._law(unmoved, runs_of) if away else ViscosityLaw(())
        steps_of = {one.code: self._rests_on_step(one, away.get(one.code, ()), law) for one in self.known}
        moved = [one for one in self.known if self._to_bring(one, away, runs_of, steps_of)]
        for some in _chunks(moved):
            self._bring(some, away, unmoved, law)
        if moved:
            newest = newest_runs(self.session)
        spreads = spreads_of(newest) if away else unmoved
        rests_on = {
            one.code: " ".join(
                (
                    runs_of[one.code],
                    steps_of[one.code],
                    _of_spread(spreads.expected_runs(one.code), spreads.expected_flies(one.code)),
                )
            )
            for one in self.known
        }
        self._pool([one for one in self.known if self._to_pool(one, rests_on[one.code])], spreads, rests_on)

    def _to_bring(
        self,
        one: _Variant,
        away: Mapping[str, Sequence[str]],
        runs_of: Mapping[str, str],
        steps_of: Mapping[str, str],
    ) -> bool:
        """Tell whether the steps of a variant's runs are to be worked out again, or taken off."""
        if one.code not in away:
            return one.number not in self.again and one.rests_on[1] not in ("", _NO_STEP)
        now = runs_of[one.code], steps_of[one.code]
        return self.all_steps or one.number in self.again or one.rests_on[:2] != now

    def _to_pool(self, one: _Variant, rests_on: str) -> bool:
        kept = one.rests_on != ("", "", "")
        weighed = self.all_steps and _three(rests_on)[1] != _NO_STEP
        return one.number in self.again or (kept and (weighed or one.rests_on != _three(rests_on)))

    def _rests_on_step(self, one: _Variant, flies: Sequence[str], law: ViscosityLaw) -> str:
        """Return what stands for the steps of a variant's runs: the water and how drag goes with viscosity."""
        if not flies or self.water is None:
            return _NO_STEP
        build, taught = a_build(one.pattern, one.style), {seen.fly for seen in law.seen}
        own = [(fly, law.of(fly, build)) for fly in flies if fly in taught]
        return _text(self.water, law.of("", build), own)

    def _law(self, spreads: ShopSpreads, runs_of: Mapping[str, str]) -> ViscosityLaw:
        """Return how drag goes with viscosity; of flies that are kept no more as they are, it is worked out again."""
        kept = {one.code: one for one in self.known}

        def is_stale(variant: str) -> bool:
            one = kept[variant]
            return self.all_steps or one.number in self.again or one.rests_on[0] != runs_of[variant]

        law, self.steeper = kept_law(self.session, spreads, is_stale)
        return law

    def _bring(
        self,
        some: Sequence[_Variant],
        away: Mapping[str, Sequence[str]],
        spreads: ShopSpreads,
        law: ViscosityLaw,
    ) -> None:
        """Work out the steps of the runs of some variants to the shown water, and keep them."""
        before = [counted_parts(one) for one in counted_of(self.session, [one.number for one in some])]
        after = [as_made(run) for run in before]
        if self.water is not None:
            flies = [fly for one in some for fly in away.get(one.code, ())]
            after = brought_to(after, records_as_made(self.session, flies, spreads), law, self.water)
        put_steps(self.session, [_step(new) for old, new in zip(before, after, strict=True) if old != new])

    def _pool(self, stale: Sequence[_Variant], spreads: ShopSpreads, rests_on: Mapping[str, str]) -> None:
        for some in _chunks(stale):
            numbers = [one.number for one in some]
            runs = [counted_parts(one) for one in counted_of(self.session, numbers)]
            emptied = self.emptied.intersection(numbers)
            keep_pooled(self.session, pool_shop(runs, spreads), numbers, rests_on, self.steeper, emptied)


def _step(run: RunParts) -> dict[str, object]:
    return {
        "number": run.number,
        "correction": run.correction,
        "correction_doubt": run.correction_doubt,
        "brought_to_k": run.brought_to,
    }


@lru_cache
def _of_spread(*spreads: Spread) -> str:
    """Return a short text that stands for spreads; most variants of a shop have the same."""
    return _text(*spreads)


def _text(*what: object) -> str:
    """Return a short text that stands for values, to the last digit."""
    return hashlib.blake2b(repr(what).encode(), digest_size=_LETTERS // 2).hexdigest()


def _three(rests_on: str | None) -> tuple[str, str, str]:
    first, second, third = (rests_on or "  ").split(" ")
    return first, second, third


def _chunks(values: Sequence[_T]) -> Iterator[Sequence[_T]]:
    for start in range(0, len(values), _AT_ONCE):
        yield values[start : start + _AT_ONCE]
