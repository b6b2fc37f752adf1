"""One rig's drift, rigs side by side, and the flies to choose from a box: what reads flies and runs the model."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flybench.errors import BadValueError
from flybench.jobs.river.box import CatalogFlies, Flies, FlyBox, OpenCatalog
from flybench.quantity import inside
from flybench.rig.advice.choosing import Candidate, Choice, choose
from flybench.rig.advice.missing import STEP, MissingFly, missing_fly
from flybench.rig.advice.tuning import tune
from flybench.rig.odds.drift import DRAWS, MOST_DRAWS, Drift, drift
from flybench.rig.odds.goal import LONGEST_DRIFT, SHORTEST_DRIFT, Goal
from flybench.rig.tackle.flies import RigFly
from flybench.rig.tackle.leader import Rig, Tackle
from flybench.rig.water.current import Current
from flybench.shop.river.goal_texts import goal_from
from flybench.shop.river.rig_texts import RigTexts, current_from
from flybench.shop.river.tackle_texts import refuse_lone_dropper_options, tackle_from

NAME_IT = "Name its fly with --dropper FLY, or leave it out."
"""What to do about something that is typed of a dropper which no rig has."""


@dataclass(frozen=True)
class RigDrift:
    """A rig's drift: the rig, its water, what is wanted, and what came of it."""

    rig: Rig
    current: Current
    goal: Goal
    drift: Drift


def drift_rig(
    open_it: OpenCatalog,
    texts: RigTexts,
    point: str,
    droppers: Sequence[str],
    seconds: float | None = None,
    draws: int = DRAWS,
    seed: int = 1,
    turbulence: bool = True,
) -> RigDrift:
    """Return the drift of one rig; flies are codes of the catalog, or "30 cm/s, 2.0 mN".

    Parameters: droppers, the upper first; seconds of drift [s], None for as long as the water wants it; draws, 0 for the
    best estimate alone; seed, fixes them.
    Raises BadValueError or FlybenchError naming what is missing or cannot be.
    """
    refuse_lone_dropper_options(texts, len(droppers), NAME_IT)
    return _drift_rig(CatalogFlies(open_it), texts, point, droppers, seconds, draws, seed, turbulence)


def _drift_rig(
    flies: CatalogFlies,
    texts: RigTexts,
    point: str,
    droppers: Sequence[str],
    seconds: float | None,
    draws: int,
    seed: int,
    turbulence: bool,
) -> RigDrift:
    if seconds is not None:
        check_seconds(seconds)
    cure = "Give a number such as 200: a share is then good to about 0.03 (k = 1)."
    inside("--draws", draws, 0, MOST_DRAWS, "", cure)
    current = current_from(texts)
    goal = goal_from(texts, current, seconds)
    rig = rig_of(flies, texts, point, droppers, current)
    return RigDrift(rig, current, goal, drift(rig, current, None, draws, seed, goal, turbulence))


def check_seconds(seconds: float) -> None:
    """Refuse, by BadValueError, a drift that is too short or too long [s]."""
    cure = "Give the length of a drift in seconds, such as 8."
    inside("--seconds", seconds, SHORTEST_DRIFT, LONGEST_DRIFT, "s", cure)


def rig_of(flies: Flies, texts: RigTexts, point: str, droppers: Sequence[str], current: Current) -> Rig:
    """Return the rig of flies by name, or typed, in this water; raises as ``Flies.fly`` and the tackle do."""
    tackle = tackle_from(texts, len(droppers))
    tied = [flies.fly(text, current.water, "dropper") for text in droppers]
    tied.append(flies.fly(point, current.water, "point"))
    return Rig(tackle, tuple(tied))


@dataclass(frozen=True)
class RigComparison:
    """Rigs over the same draws: the names of what was changed, and each drift; the first as asked."""

    names: list[str]
    drifts: list[RigDrift]


def compare_rigs(
    open_it: OpenCatalog,
    texts: RigTexts,
    point: str,
    droppers: Sequence[str],
    others: Sequence[Mapping[str, str]],
    seconds: float | None = None,
    seed: int = 1,
) -> RigComparison:
    """Return one rig and others that differ from it in some options (or in "point" or "dropper"), same draws.

    Raises BadValueError where nothing is changed, an option is not known, or one is about a dropper that is not there.
    """
    if not others:
        cure = 'Say what to change, such as --with "leader-diameter=0.13 mm".'
        raise BadValueError("--with", "is missing, so there is nothing to compare", cure)
    asked = [(texts, point, droppers)]
    for changes in others:
        rest = {name: text for name, text in changes.items() if name not in ("point", "dropper")}
        tied = [changes["dropper"]] if "dropper" in changes else droppers
        refuse_lone_dropper_options(RigTexts().changed(rest), len(tied), NAME_IT)
        asked.append((texts.changed(rest), changes.get("point", point), tied))
    refuse_lone_dropper_options(texts, max(len(tied) for _, _, tied in asked), NAME_IT)
    flies = CatalogFlies(open_it)
    names = ["as asked", *(", ".join(f"{name} {text}" for name, text in one.items()) for one in others)]
    found = [_drift_rig(flies, *one, seconds, DRAWS, seed, True) for one in asked]
    return RigComparison(names, found)


@dataclass(frozen=True)
class RigChoice:
    """Ranked sets of flies for this water, the best ways to land and lead them where asked for, and the box; missing, the
    point that the box lacks, and alike, flies of the catalog outside the box that are like it."""

    box: FlyBox
    current: Current
    tackle: Tackle
    goal: Goal
    choice: Choice
    tuned: tuple[Candidate, ...]
    missing: MissingFly | None = None
    alike: tuple[str, ...] = ()


def choose_rig(
    box: FlyBox,
    texts: RigTexts,
    droppers: int = 1,
    seed: int = 1,
    tuning: bool = False,
) -> RigChoice:
    """Return points, pairs or threes of flies from a box, ranked by how well they do what is wanted in this water.

    Parameters: droppers above the point; tuning, whether to try other slack and lead speeds for the best.
    Raises BadValueError naming the option that cannot be.
    """
    refuse_lone_dropper_options(texts, droppers, "Leave it out, or ask for --droppers 1.")
    current = current_from(texts)
    tackle = tackle_from(texts, droppers)
    wanted = goal_from(texts, current)
    flies: Sequence[RigFly] = box.flies
    found = choose(flies, current, tackle, wanted, seed)
    tuned = tune(flies, current, tackle, wanted, found, seed) if tuning else ()
    lacks = missing_fly(flies, current, found.advised, wanted, seed)
    alike = tuple(
        one.name
        for one in box.others
        if lacks is not None and 1 / STEP < one.speed.value / lacks.speed < STEP
    )
    return RigChoice(box, current, tackle, wanted, found, tuned, lacks, alike)


def drift_of_choice(chosen: RigChoice, names: Sequence[str]) -> RigDrift:
    """Return the drift of one set of flies of the box, the point last, over the draws that were chosen by.

    Raises BadValueError for a fly that is not in the box.
    """
    by_name = {fly.name.lower(): number for number, fly in enumerate(chosen.box.flies)}
    flies = []
    for name in names:
        if name.strip().lower() not in by_name:
            problem = f'"{name.strip()}" is not in the box'
            raise BadValueError(
                "--why", problem, "Name flies of the box, the point last, with commas between."
            )
        flies.append(by_name[name.strip().lower()])
    places = len(chosen.tackle.gaps) + 1
    if len(flies) != places:
        problem = f"names as many flies as {len(flies)}, and the leader has places for {places}"
        raise BadValueError("--why", problem, "Name the droppers from the top, then the point.")
    rig = Rig(chosen.tackle, tuple(chosen.box.flies[number] for number in flies))
    taken = chosen.choice.draws.of_flies(flies)
    return RigDrift(
        rig, chosen.current, chosen.goal, drift(rig, chosen.current, goal=chosen.goal, taken=taken)
    )
