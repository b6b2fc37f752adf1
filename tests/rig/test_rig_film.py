"""A leader in the water's skin: half its drag and none of its weight, until it is pulled under."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from rigging import STILL, Law, chain, line, settled

from flybench.errors import BadValueError
from flybench.quantity import Measured
from flybench.rig.chain.batch import Batch
from flybench.rig.chain.film import SKIN, WETTED, carried, film_drag, floating
from flybench.rig.chain.state import landed
from flybench.rig.odds.draws import best_estimate, drawn, rigs_of_draws
from flybench.rig.odds.drift import drift
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Entry, Hold, Rig, Tackle
from flybench.rig.water.bed import bed_named
from flybench.rig.water.current import Current

FLY = RigFly("fly", Measured(0.3, 0.0), Measured(2e-3, 0.0))
WATER = Current(Measured(1.2, 0.0), Measured(0.6, 0.0), 283.15, bed_named("cobble"))
FLOATS = Tackle(0.15e-3, 2.4, floats=True)


def lying(film: float | None) -> Batch:
    """Return a heavy line without flies that lies along the surface of still water."""
    tied = line(0.3e-3, 1780.0, Law(lambda u: 0 * u + 0.05, lambda u: 0 * u + 0.01))
    rigs = chain([0.5, 0.5], [], tied, STILL, [], [], [], lead=None)
    return replace(rigs, film=None if film is None else np.array([film]))


def test_pieces_with_both_ends_in_the_skin_float() -> None:
    rigs = lying(0.5)
    state = landed(rigs)
    state.place[1, :, 0] = [0.0, SKIN / 2, 2 * SKIN]
    np.testing.assert_array_equal(floating(state)[:, 0], [True, False])
    np.testing.assert_allclose(np.asarray(film_drag(rigs, state))[:, 0], [0.5, 1.0])
    np.testing.assert_allclose(np.asarray(carried(rigs, state))[:, 0], [0.25 * rigs.line.weight, 0.0])
    assert (film_drag(lying(None), state), carried(lying(None), state)) == (1.0, 0.0)


def test_line_in_the_skin_stays_there_and_another_sinks() -> None:
    assert settled(lying(0.5), 2.0).place[1].max() == 0.0
    assert settled(lying(None), 2.0).place[1].min() > 0.01


def test_drag_in_the_skin_is_half_and_known_to_a_factor_of_two() -> None:
    best, _ = rigs_of_draws(WATER, FLOATS, [FLY], [(0,)], best_estimate(1))
    assert best.film == pytest.approx([WETTED])
    many, _ = rigs_of_draws(WATER, FLOATS, [FLY], [(0,)], drawn(2000, 1, 1, 1))
    assert many.film is not None
    assert np.std(np.log(many.film)) == pytest.approx(np.log(2), rel=0.02)
    assert (
        rigs_of_draws(WATER, replace(FLOATS, floats=False), [FLY], [(0,)], best_estimate(1))[0].film is None
    )


def test_floating_leader_is_flagged_and_lets_a_straight_one_down_sooner() -> None:
    # Laid flat and led, so that it is drawn along the surface; a loose leader hardly drags there.
    led = replace(FLOATS, hold=Hold.LED, lead_speed=0.48, entry=Entry.FLAT)
    floats, sinks = (
        drift(Rig(replace(led, floats=one), (FLY,)), WATER, seconds=4.0, draws=0) for one in (True, False)
    )
    assert "film-drag" in floats.flags
    assert "film-drag" not in sinks.flags
    assert 0.01 < floats.flies[-1].depth[-1] - sinks.flies[-1].depth[-1] < 0.2


def test_tight_line_does_not_float() -> None:
    with pytest.raises(BadValueError) as refused:
        Tackle(0.15e-3, 3.2, hold=Hold.TIGHT, lead_speed=0.5, tip_height=1.5, floats=True)
    assert str(refused.value) == "leader: floats, but the line is held tight. A tight line does not lie down."
