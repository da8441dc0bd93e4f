"""Energies that were chosen by the outcomes so far: down after one that got through, up after one that was stopped.

The rule itself brings shares over all energies near a half, whatever was shot: such totals mean nothing.
"""

import math
from collections.abc import Sequence

from server.findings.caveats.caveat import Caveat, rests_on, some
from server.findings.caveats.view import View
from server.findings.loosed import LoosedShot
from server.findings.planning.kept_rule import rule_sentence
from server.findings.through import may_be_through
from server.findings.view_settings import form_of, form_words, sort_of
from server.records.trial import Trial
from server.statistics.up_and_down import UpAndDown, up_and_down

FEWEST_MOVES = 6
FOLLOWED = 0.85
# Two energies nearer than this were meant for one: a bow's speed scatters by a hundredth or two.
ONE_LEVEL = 0.05
# Shots at an energy that saw both outcomes: only there does following the outcome differ from following a list.
FEWEST_TELLING = 4


def declared(trial: Trial | None) -> bool:
    """Whether a trial itself says that its next energy follows from the outcomes."""
    return getattr(trial, "next_shot_rule", None) not in (None, "", "none")


def energies_chosen(view: View) -> bool:
    """Whether totals over energies of this view mean nothing."""
    return bool(chosen_energies(view))


def chosen_energies(view: View) -> list[Caveat]:
    """One caveat: trials that say so, and runs of shots that show it by their order."""
    said = [shot for shot in view.shots if declared(view.trials.get(shot.fact.trial_id))]
    seen = [run for run in _runs(view) if _chosen(run, view)]
    if not said and not seen:
        return []
    how = [f"Its trial says that each next energy was chosen by the outcomes so far ({some(len(said), 'shot')})."] if said else []
    if seen:
        fact = seen[0][0].fact
        more = f", and {len(seen) - 1} more such run{'s' if len(seen) > 2 else ''}" if len(seen) > 1 else ""
        how.append(
            f"The order shows it: down after a shot that got through, up after one that was stopped, {len(seen[0])} shots of "
            f"the {form_words(form_of(fact)).lower()} at {fact.panel_name}{more}."
        )
    how += dict.fromkeys(words for shot in said if (words := rule_sentence(view.trials[shot.fact.trial_id])))
    how.append("Counts over several energies then mean nothing, and the results hide them; those within one band lean to a half. The energy at which half get through can still be told.")
    shots = dict.fromkeys([*said, *(shot for run in seen for shot in run)])
    return [Caveat("chosen_energies", " ".join(how), "every total over energies", rests_on(shots))]


def _runs(view: View) -> list[list[LoosedShot]]:
    """Shots of one form at one sort of panel on one day, in order, broken where two flew in one walk or the outcome is open.

    Within a walk nobody knows the outcome before the next is loosed, so nothing there can have been chosen by it. Hits that
    are not fair are among them: whoever chose the next energy saw those too.
    """
    counted = {shot.fact.shot_id for shot in view.shots}
    found: dict[tuple[str, str, str], list[list[LoosedShot]]] = {}
    for shot in view.loosed:
        fact = shot.fact
        if fact.purpose != "counted" or fact.outcome_low is None or shot.impact.energy_at(view.place) is None:
            continue
        runs = found.setdefault((fact.session_id, form_of(fact), sort_of(fact)[0]), [[]])
        open_outcome = len(set(may_be_through(fact, view.through))) > 1
        if open_outcome or (runs[-1] and runs[-1][-1].fact.walk_id == fact.walk_id):
            runs.append([])
        if not open_outcome:
            runs[-1].append(shot)
    every = [run for runs in found.values() for run in runs if len(run) > FEWEST_MOVES]
    return [run for run in every if any(shot.fact.shot_id in counted for shot in run)]


def _chosen(run: Sequence[LoosedShot], view: View) -> bool:
    levels = _levels([energy.value for shot in run if (energy := shot.impact.energy_at(view.place)) is not None])
    through = [int(may_be_through(shot.fact, view.through)[0]) for shot in run]
    found = up_and_down(levels, through)
    if not isinstance(found, UpAndDown) or found.followed_share < FOLLOWED:
        return False
    broken = {one.after_shot - 1 for one in found.breaks}
    both = {level for level in set(levels) if {hit for at, hit in zip(levels, through, strict=True) if at == level} == {0, 1}}
    telling = [at for at in range(found.moves) if levels[at] in both]
    kept = [at for at in telling if at not in broken]
    return len(kept) >= FEWEST_TELLING and {through[at] for at in kept} == {0, 1} and len(telling) - len(kept) <= len(telling) // 5


def _levels(energies: Sequence[float]) -> list[float]:
    """Each energy as the level that it was meant for: neighbours in size belong together."""
    level_of: dict[float, float] = {}
    last = -math.inf
    for energy in sorted(energies):
        if not level_of or energy > last * (1 + ONE_LEVEL):
            last = energy
        level_of[energy] = last
    return [level_of[energy] for energy in energies]
