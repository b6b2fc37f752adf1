"""One rig's drift, two rigs side by side, and the flies to choose from a box."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from flybench.catalog.store.open import Catalog
from flybench.errors import BadValueError
from flybench.jobs.river.asked import Asked, band_of_text, current_of, tackle_of
from flybench.jobs.river.box import Box, Known
from flybench.rig.chain.record import Band
from flybench.rig.odds.aim import Aim
from flybench.rig.odds.choosing import Candidate, Choice, choose
from flybench.rig.odds.drift import Drift, drift
from flybench.rig.odds.tuning import tune
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Rig, Tackle
from flybench.rig.water.current import Current

DRAWS = 200
"""Draws of one rig's drift, where nothing else is said."""


@dataclass(frozen=True)
class Drifted:
    """A rig's drift: the rig, its water, the band of the fish."""

    rig: Rig
    current: Current
    band: Band
    drift: Drift


def drift_rig(
    catalog: Catalog,
    asked: Asked,
    point: str,
    droppers: Sequence[str],
    seconds: float,
    draws: int = DRAWS,
    seed: int = 1,
    turbulence: bool = True,
) -> Drifted:
    """Return the drift of one rig; flies are codes of the catalog, or "30 cm/s, 2.0 mN".

    Parameters: droppers, the upper first; seconds of drift; draws, 0 for the best estimate alone.
    Raises BadValueError or FlybenchError naming what is missing or cannot be.
    """
    return _drifted(Known(catalog), asked, point, droppers, seconds, draws, seed, turbulence)


def _drifted(
    known: Known,
    asked: Asked,
    point: str,
    droppers: Sequence[str],
    seconds: float,
    draws: int,
    seed: int,
    turbulence: bool,
) -> Drifted:
    current = current_of(asked)
    band = band_of_text(asked.band, current)
    rig = rig_of(known, asked, point, droppers, current)
    return Drifted(rig, current, band, drift(rig, current, seconds, draws, seed, band, turbulence))


def rig_of(known: Known, asked: Asked, point: str, droppers: Sequence[str], current: Current) -> Rig:
    """Return the rig of flies by code, or typed, in this water; raises as ``Known.fly`` and the tackle do."""
    tackle = tackle_of(asked, len(droppers))
    flies = [known.fly(text, current.water, "dropper") for text in droppers]
    flies.append(known.fly(point, current.water, "point"))
    return Rig(tackle, tuple(flies))


@dataclass(frozen=True)
class SideBySide:
    """Rigs over the same draws: the names of what was changed, and each drift; the first as asked."""

    names: list[str]
    drifts: list[Drifted]


def compare_rigs(
    catalog: Catalog,
    asked: Asked,
    point: str,
    droppers: Sequence[str],
    others: Sequence[Mapping[str, str]],
    seconds: float,
    seed: int = 1,
) -> SideBySide:
    """Return one rig and others that differ from it in some options (or in "point" or "dropper"), same draws.

    Raises BadValueError where nothing is changed or an option is not known.
    """
    if not others:
        raise BadValueError(
            "with", "nothing is changed", 'Say what, such as --with "leader-diameter=0.13 mm"'
        )
    known = Known(catalog)
    names, found = ["as asked"], [_drifted(known, asked, point, droppers, seconds, DRAWS, seed, True)]
    for changes in others:
        rest = {name: text for name, text in changes.items() if name not in ("point", "dropper")}
        other = [changes["dropper"]] if "dropper" in changes else droppers
        tip = changes.get("point", point)
        names.append(", ".join(f"{name} {text}" for name, text in changes.items()))
        found.append(_drifted(known, asked.changed(rest), tip, other, seconds, DRAWS, seed, True))
    return SideBySide(names, found)


@dataclass(frozen=True)
class Chosen:
    """Ranked sets of flies for this water, best ways to land and lead them where asked for, and the box."""

    box: Box
    current: Current
    tackle: Tackle
    aim: Aim
    choice: Choice
    tuned: tuple[Candidate, ...]


def choose_rig(
    box: Box, asked: Asked, aim: Aim, droppers: int = 1, seed: int = 1, tuning: bool = False
) -> Chosen:
    """Return point and dropper pairs (or points, or threes) ranked for the aim in this water.

    Parameters: aim, whose band is replaced by the asked one; tuning, whether to try other landing distances and lead
    speeds for the best.
    Raises BadValueError as the model does.
    """
    current = current_of(asked)
    tackle = tackle_of(asked, droppers)
    wanted = replace(aim, band=band_of_text(asked.band, current))
    flies: Sequence[RigFly] = box.flies
    found = choose(flies, current, tackle, wanted, seed)
    tuned = tune(flies, current, tackle, wanted, found, seed) if tuning else ()
    return Chosen(box, current, tackle, wanted, found, tuned)


def why(chosen: Chosen, names: Sequence[str], seconds: float, seed: int = 1) -> Drifted:
    """Return the drift of one set of flies of the box, the point last; raises BadValueError for a fly not in it."""
    by_name = {fly.name.lower(): fly for fly in chosen.box.flies}
    flies = []
    for name in names:
        if name.strip().lower() not in by_name:
            raise BadValueError(
                "why", f'"{name}" is not in the box', "Name flies of the box, the point last."
            )
        flies.append(by_name[name.strip().lower()])
    rig = Rig(chosen.tackle, tuple(flies))
    return Drifted(
        rig,
        chosen.current,
        chosen.aim.band,
        drift(rig, chosen.current, seconds, seed=seed, band=chosen.aim.band),
    )
