"""Caveats of what changed while the shooting went on: the next energy, a speed, a draw, the room on a panel."""

import math
from collections.abc import Sequence
from datetime import datetime
from functools import partial

from proofyard.caveats.caveat import Caveat, View, by, rests_on
from proofyard.quantities.reason import Reason, because
from proofyard.records.caveat_facts import BowChecked
from proofyard.records.trial import Trial, parts_of_rule
from proofyard.shots.bow_days import SAME_DRAW_M, weight_change
from proofyard.shots.loosed import LoosedShot
from proofyard.statistics.drift import CommonSlope, common_slope
from proofyard.views.chosen_energies import chosen_runs, rule_chooses
from proofyard.views.settings import form_of, form_words, through_bounds_of


def rule_kept(trial: Trial) -> Reason | None:
    """Its rule, when it was to stop and why it stopped, as they were written down; None where nothing was."""
    rule, shots, percent, stopped = parts_of_rule(trial)
    if not (rule or shots or percent or stopped):
        return None
    return because("rule_kept", rule=rule, stop_shots=shots, stop_percent=percent, stopped_because=stopped)


def energies_chosen(view: View) -> bool:
    """Whether totals over energies of this view mean nothing."""
    return bool(chosen_energies(view))


def chosen_energies(view: View) -> list[Caveat]:
    """One caveat: trials that say so, and runs of shots that show it by their order."""
    said = [shot for shot in view.shots if (trial := view.trials.get(shot.fact.trial_id)) and rule_chooses(trial.next_shot_rule)]
    seen = chosen_runs(view.shots, view.loosed, energy_of=partial(_energy_of, view), bounds_of=partial(_bounds_of, view))
    if not said and not seen:
        return []
    how = [because("trial_chose_energies", shots=len(said))] if said else []
    if seen:
        fact = seen[0][0].fact
        form, more = form_words(form_of(fact)), len(seen) - 1
        how.append(because("order_shows_chosen_energies", shots=len(seen[0]), form=form, panel=fact.panel_name, more_runs=more))
    rules = [rule_kept(view.trials[trial_id]) for trial_id in dict.fromkeys(shot.fact.trial_id for shot in said)]
    how += dict.fromkeys(rule for rule in rules if rule)
    how.append(because("totals_mean_nothing"))
    shots = [*said, *(shot for run in seen for shot in run)]
    return [Caveat("chosen_energies", tuple(how), because("affects_totals"), rests_on(shots))]


def _energy_of(view: View, shot: LoosedShot) -> float | None:
    energy = shot.energy_at(view.place)
    return None if energy is None else energy.value


def _bounds_of(view: View, shot: LoosedShot) -> tuple[bool, bool]:
    return through_bounds_of(shot.fact, view.through)


# Speeds that crept up or down through a day with one bow in one archer's hands.

LEVEL = 0.99  # many bows and days are looked at: at 95 in 100 one would be called out every other day for nothing
LEAST_SPEED_CHANGE = 0.01  # of the speed: about a fiftieth of the energy, what a chronograph may be off
FEWEST_SPEEDS = 6


def speed_drift(view: View) -> list[Caveat]:
    """One caveat for each day, bow and archer whose own speeds surely crept, by more than a hundredth."""
    found = []
    counted = {shot.fact.shot_id for shot in view.shots}
    days = {shot.fact.session_id for shot in view.shots}
    for day, shots in by([shot for shot in view.loosed if shot.fact.session_id in days], "session_id").items():
        pairs: dict[tuple[str, str], list[LoosedShot]] = {}
        for shot in shots:
            pairs.setdefault((shot.fact.bow_build_id, shot.fact.archer_id), []).append(shot)
        for mine in pairs.values():
            own = [shot for shot in mine if shot.basis == "own" and shot.speed_m_s is not None and not shot.fact.short_draw]
            if len(own) >= FEWEST_SPEEDS and any(shot.fact.shot_id in counted for shot in mine):
                found += _speeds_of(mine, own, {shot.fact.shot_id: n for n, shot in enumerate(shots, 1)}, day=day)
    return found


def _speeds_of(shots: Sequence[LoosedShot], own: Sequence[LoosedShot], order: dict[str, int], *, day: str) -> list[Caveat]:
    """own: those of them with a speed of their own, at a full draw"""
    # Each arrow flies at a speed of its own: only what changes about that is the bow's or the archer's.
    groups = [[(order[shot.fact.shot_id], _log_speed(shot)) for shot in alike] for alike in by(own, "combination_id").values()]
    line = common_slope(groups, level=LEVEL)
    if not isinstance(line, CommonSlope) or not line.sure or abs(line.change) < LEAST_SPEED_CHANGE:
        return []
    fact = own[0].fact
    reach = line.to_x - line.from_x
    low, high = sorted(abs(math.expm1(end * reach)) for end in (line.low, line.high))
    said = [
        because(
            "speeds_drifted",
            day=fact.day,
            bow=fact.bow_name,
            archer=fact.archer,
            change=math.expm1(line.change),
            readings=len(own),
            low=low,
            high=high,
        )
    ]
    by_mean = [shot for shot in shots if shot.basis in ("combination", "pooled")]
    if by_mean:
        said.append(because("mean_in_a_drift", shots=len(by_mean), falling=line.change < 0))
    return [Caveat("speed_drift", tuple(said), because("affects_bow_that_day", bow=fact.bow_name), rests_on(own))]


def _log_speed(shot: LoosedShot) -> float:
    assert shot.speed_m_s is not None
    return math.log(shot.speed_m_s)


# A bow that grew weaker or stronger, or a draw that changed, between the checks of the days that are shown.

LEAST_WEIGHT_CHANGE = 0.01  # of the weight: what a bow scale may be off


def draw_drift(view: View) -> list[Caveat]:
    """One caveat for each bow and archer whose checks on these days differ."""
    found = []
    pairs: dict[tuple[str, str], list[LoosedShot]] = {}
    for shot in view.shots:
        pairs.setdefault((shot.fact.bow_build_id, shot.fact.archer_id), []).append(shot)
    for pair, shots in pairs.items():
        days = {shot.fact.day for shot in shots}
        checks = [
            one for one in view.facts.checks if (one.bow_build_id, one.archer_id) == pair and one.at is not None and _day(one) in days
        ]
        found += _checks_of(sorted(checks, key=lambda one: one.at or 0), shots)
    return found


def _day(check: BowChecked) -> str:
    """Its session's day. By this computer's clock alone, which may stand in another time zone, an evening is another day."""
    return check.day or datetime.fromtimestamp((check.at or 0) / 1000).date().isoformat()


def _checks_of(checks: Sequence[BowChecked], shots: Sequence[LoosedShot]) -> list[Caveat]:
    fact = shots[0].fact
    draws = [one for one in checks if one.draw_m is not None]
    said: list[Reason] = []
    if len(draws) > 1 and abs((draws[-1].draw_m or 0.0) - (draws[0].draw_m or 0.0)) > SAME_DRAW_M:
        first, last = _when(draws, checks)
        was, came = draws[0].draw_m or 0.0, draws[-1].draw_m or 0.0
        said.append(because("draw_changed", archer=fact.archer, bow=fact.bow_name, first_m=was, last_m=came, first=first, last=last))
    else:
        weighed = [one for one in checks if one.weight_n]
        change = weight_change(weighed[0], weighed[-1])[0] or 0.0 if len(weighed) > 1 else 0.0
        if abs(change) >= LEAST_WEIGHT_CHANGE:
            first, last = _when(weighed, checks)
            said.append(because("weight_changed", archer=fact.archer, bow=fact.bow_name, change=change, first=first, last=last))
    if not said:
        return []
    by_mean = [shot for shot in shots if shot.basis in ("combination", "pooled")]
    if by_mean:
        said.append(because("mean_as_if_unchanged", shots=len(by_mean)))
    return [Caveat("draw_drift", tuple(said), because("affects_bow", bow=fact.bow_name), rests_on(by_mean or shots))]


def _when(pair: Sequence[BowChecked], checks: Sequence[BowChecked]) -> tuple[Reason, Reason]:
    """Which two checks: on a day with several, the first and the last differ, so a day alone would say too little."""
    days = [_day(one) for one in (pair[0], pair[-1])]
    if days[0] == days[1]:
        return because("at_its_start"), because("at_the_end_of", day=days[0])
    several = [sum(_day(one) == day for one in checks) > 1 for day in days]
    first = because("at_the_start_of", day=days[0]) if several[0] else because("on_day", day=days[0])
    return first, because("at_the_end_of", day=days[1]) if several[1] else because("on_day", day=days[1])


# A panel with little room left: ever more hits on it are not fair.

LAST = 6  # hits looked at as the latest
MOST_NOT_FAIR = 0.5  # of those
GROWTH = 0.25  # more than before
FEW_FREE = 0.25  # of the aim spots
MOST_LINES = 3


def used_up(view: View) -> list[Caveat]:
    """One caveat for all panel builds with few free spots, or whose latest hits are mostly not fair, and more than before."""
    said: dict[str, list[Reason]] = {}
    rests: list[LoosedShot] = []
    builds = dict.fromkeys(shot.fact.panel_build_id for shot in view.shots)
    at_build = by([shot for shot in view.loosed if shot.fact.panel_build_id in builds], "panel_build_id")
    for build in builds:
        hits = [shot for shot in at_build.get(build, ()) if shot.fair_answer is not None and shot.fair_sort != "overruled"]
        words = [*_few_spots(view, build, hits), *_turned(hits)]
        if words:
            said[_panel_called(hits[0])] = words
            rests += hits[-LAST:]
    if not said:
        return []
    lines = list(said.values())
    more = [because("same_of_more_panels", panels=len(lines) - MOST_LINES)] if len(lines) > MOST_LINES else []
    reasons = (*(one for line in lines[:MOST_LINES] for one in line), *more, because("use_a_fresh_panel"))
    return [Caveat("used_up", reasons, because("affects_panels", panels=tuple(said)), rests_on(rests))]


def _panel_called(shot: LoosedShot) -> str:
    fact = shot.fact
    return fact.panel_name if (fact.panel_build_number or 1) == 1 else f"{fact.panel_name}, build {fact.panel_build_number}"


def _few_spots(view: View, build: str, hits: Sequence[LoosedShot]) -> list[Reason]:
    free, spots = view.free_spots.get(build, (0, 0))
    if not hits or spots < 4 or free > FEW_FREE * spots:
        return []
    return [because("few_spots_left", free=free, spots=spots, panel=_panel_called(hits[0]))]


def _turned(hits: Sequence[LoosedShot]) -> list[Reason]:
    late, before = hits[-LAST:], hits[:-LAST]
    now, then = _not_fair(late), _not_fair(before)
    if len(before) < LAST or now < MOST_NOT_FAIR * len(late) or now / len(late) - then / len(before) < GROWTH:
        return []
    return [because("hits_turned_unfair", panel=_panel_called(hits[0]), now=now, last=len(late), then=then, before=len(before))]


def _not_fair(shots: Sequence[LoosedShot]) -> int:
    return sum(shot.fair_answer == "not_fair" for shot in shots)
