"""Energies that were chosen by the outcomes so far: down after a shot that got through, up after one that was stopped.

The rule itself brings shares over all energies near a half, whatever was shot: such totals mean nothing, and intervals hold too seldom
unless they are widened for it.
"""

import math
from collections.abc import Callable, Sequence

from proofyard.shots.loosed import LoosedShot
from proofyard.statistics.up_and_down import UpAndDown, up_and_down
from proofyard.views.cells import CountedShot
from proofyard.views.panel_type import panel_types_of
from proofyard.views.settings import form_of

FEWEST_MOVES = 6
FOLLOWED = 0.85
# Two energies nearer than this were meant for one: a bow's speed scatters by a hundredth or two.
ONE_LEVEL = 0.05
# Shots at an energy that saw both outcomes: only there does following the outcome differ from following a list.
FEWEST_TELLING = 4

EnergyOf = Callable[[LoosedShot], float | None]
BoundsOf = Callable[[LoosedShot], tuple[bool, bool]]


def rule_chooses(next_shot_rule: str | None) -> bool:
    """Whether a trial itself says that its next energy follows from the outcomes."""
    return next_shot_rule not in (None, "", "none")


def chosen_among(shots: Sequence[CountedShot]) -> bool:
    """Whether the energies of these shots were chosen by the outcomes: their trial says so, or their order shows it."""
    if any(rule_chooses(one.shot.fact.next_shot_rule) for one in shots):
        return True
    told = {one.shot.fact.shot_id: one for one in shots}

    def energy_of(shot: LoosedShot) -> float | None:
        energy = told[shot.fact.shot_id].energy
        return None if energy is None or energy.value <= 0 else energy.value

    def bounds_of(shot: LoosedShot) -> tuple[bool, bool]:
        one = told[shot.fact.shot_id]
        return one.through_low, one.through_high

    mine = [one.shot for one in shots]
    return bool(chosen_runs(mine, mine, energy_of=energy_of, bounds_of=bounds_of))


def chosen_runs(
    shots: Sequence[LoosedShot], loosed: Sequence[LoosedShot], *, energy_of: EnergyOf, bounds_of: BoundsOf
) -> list[list[LoosedShot]]:
    """Runs among `loosed`, in order, that follow the outcomes and hold at least one of `shots`."""
    return [run for run in _runs(shots, loosed, energy_of, bounds_of) if _chosen(run, energy_of, bounds_of)]


def _runs(shots: Sequence[LoosedShot], loosed: Sequence[LoosedShot], energy_of: EnergyOf, bounds_of: BoundsOf) -> list[list[LoosedShot]]:
    """Shots of one form at one panel type on one day, in order, broken where two flew in one end or the outcome is open.

    Within an end nobody knows the outcome before the next is loosed, so nothing there can have been chosen by it. Hits that
    are not fair are among them: whoever chose the next energy saw those too.
    """
    if len(loosed) <= FEWEST_MOVES:
        return []
    counted = {shot.fact.shot_id for shot in shots}
    asked = set(_kinds_of_runs(shots))  # no other holds a shot of this view, so its energies needn't be worked out
    days = {day for day, _, _ in asked}
    near = [
        shot for shot in loosed if shot.fact.session_id in days and shot.fact.purpose == "counted" and shot.fact.outcome_low is not None
    ]
    found: dict[tuple[str, str, str], list[list[LoosedShot]]] = {}
    for shot, kind in zip(near, _kinds_of_runs(near), strict=True):
        fact = shot.fact
        if kind not in asked or energy_of(shot) is None:
            continue
        runs = found.setdefault(kind, [[]])
        sure, maybe = bounds_of(shot)
        open_outcome = sure != maybe
        if open_outcome or (runs[-1] and runs[-1][-1].fact.shooting_end_id == fact.shooting_end_id):
            runs.append([])
        if not open_outcome:
            runs[-1].append(shot)
    every = [run for runs in found.values() for run in runs if len(run) > FEWEST_MOVES]
    return [run for run in every if any(shot.fact.shot_id in counted for shot in run)]


def _kinds_of_runs(shots: Sequence[LoosedShot]) -> list[tuple[str, str, str]]:
    return [(shot.fact.session_id, form_of(shot.fact), key) for shot, (key, _) in zip(shots, panel_types_of(shots), strict=True)]


def _chosen(run: Sequence[LoosedShot], energy_of: EnergyOf, bounds_of: BoundsOf) -> bool:
    levels = levels_meant([energy for shot in run if (energy := energy_of(shot)) is not None])
    through = [int(bounds_of(shot)[0]) for shot in run]
    found = up_and_down(levels, through)
    if not isinstance(found, UpAndDown) or found.followed_share < FOLLOWED:
        return False
    broken = {one.after_shot - 1 for one in found.breaks}
    both = {level for level in set(levels) if {hit for at, hit in zip(levels, through, strict=True) if at == level} == {0, 1}}
    telling = [at for at in range(found.moves) if levels[at] in both]
    kept = [at for at in telling if at not in broken]
    return len(kept) >= FEWEST_TELLING and {through[at] for at in kept} == {0, 1} and len(telling) - len(kept) <= len(telling) // 5


def levels_meant(energies: Sequence[float]) -> list[float]:
    """Each energy as the level that it was meant for: neighbours in size belong together."""
    level_of: dict[float, float] = {}
    last = -math.inf
    for energy in sorted(energies):
        if not level_of or energy > last * (1 + ONE_LEVEL):
            last = energy
        level_of[energy] = last
    return [level_of[energy] for energy in energies]
