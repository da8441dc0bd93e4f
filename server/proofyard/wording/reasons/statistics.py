"""What the reasons of `statistics` say."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import in_readers

NO_BREAK = "\N{NO-BREAK SPACE}"
MOST_PROJECTILES_NAMED = 12


def _percent(share: float) -> str:
    return f"{100 * share:.3g}\N{NO-BREAK SPACE}%"


def _shot_scatter_flattens(*, share: float) -> str:
    percent = round(100 * share)
    much = f"about {percent}" if percent >= 1 else "less than 1"
    return f"The scatter of single shots about their combination’s energy flattens the curve by {much}\N{NO-BREAK SPACE}%."


def _too_few_for_a_tail(*, shots: int, needed: int, share: float) -> str:
    return f"{shots} shots say too little about the tails: it takes {needed} to ask where {_percent(share)} get through"


def _energy(energy_j: float, reader: str) -> str:
    return in_readers(energy_j, "energy", reader, figures=3)


def _speed(speed_m_s: float, reader: str) -> str:
    return in_readers(speed_m_s, "speed", reader, figures=3)


def _tail_outside(*, share: float, low_j: float, high_j: float, reader: str) -> str:
    ends = f"{_energy(low_j, reader).rpartition(NO_BREAK)[0]} to {_energy(high_j, reader)}"
    return f"the curve puts where {_percent(share)} get through outside the energies shot, {ends}"


def _too_few_for_terms(*, needed: int, terms: int, rarer: int) -> str:
    things = "thing" if terms == 1 else "things"
    return f"it takes {needed} shots of the rarer outcome to ask about {terms} more {things} beside the energy: there are {rarer}"


def _throughout(*, shots: int, through: bool) -> str:
    return f"{'all' if through else 'none'} of {shots} shots got through, with every head"


def _next(through: bool) -> str:
    return "it got through, so the next should have less" if through else "it was stopped, so the next should have more"


def _same_energy_again(*, through: bool, energy_j: float, reader: str) -> str:
    way = "down" if through else "up"
    return f"{_next(through)}, but no energy at hand lies further {way}, so it is {_energy(energy_j, reader)} again"


def _less_than_a_step(*, through: bool, energy_j: float, reader: str) -> str:
    way = "down" if through else "up"
    return f"{_next(through)}, but no energy at hand lies a whole step further {way}: {_energy(energy_j, reader)} is the nearest to one"


def _wrong_side(*, through: bool, last_j: float, nearest_j: float, reader: str) -> str:
    has = "more" if through else "less"
    return (
        f"{_next(through)} than {_energy(last_j, reader)}, but all that is at hand has {has}: {_energy(nearest_j, reader)} is the nearest"
    )


def _wider_than_wanted(*, times: float | None, wanted_times: float, left: str | None) -> str:
    how = "the 50\N{NO-BREAK SPACE}% energy is not bounded yet" if times is None else f"the high end is {times:.3g} times the low end"
    return f"{how}, and {wanted_times:.3g} times is wanted" + (f"; {left}" if left else "")


def _projectiles(*, projectiles: tuple[str, ...]) -> str:
    named, more = projectiles[:MOST_PROJECTILES_NAMED], len(projectiles) - MOST_PROJECTILES_NAMED
    others = f" and {more} more" if more > 0 else ""
    return f"the rule is for one projectile, and here are {len(projectiles)}: {', '.join(named)}{others}"


def _more_of_the_type(*, arrows: int, panels: int) -> str:
    few = "arrows" if arrows <= panels else "panels"
    with_these = f"{arrows} arrow{'' if arrows == 1 else 's'} on {panels} panel{'' if panels == 1 else 's'}"
    return f"no number of shots with {with_these} would settle it for the type: it takes more {few}"


def _too_few_heads(*, heads: int, measures: int, needed: int) -> str:
    asked = "one measure" if measures == 1 else f"{measures} measures"
    return (
        f"this can’t be told from so few heads: luck alone often puts {heads} in order by the best of {asked}, and it takes {needed} heads "
        "that all have been measured"
    )


def _not_known_well_enough(*, own: float | None) -> str:
    if own is None:
        return "the uncertainty of their energies is not known, so nothing says that they are alike"
    return f"their energies are not known well enough to call them alike (± {_percent(own)})"


_FLAT = "your shots don’t yet show that more energy gets through more often"
_LEANING = "This takes it that more energy helps every head alike."

SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        # the share at an energy
        "no_shot_bounds_that_energy": "no shot at less energy got through, and none at more was stopped",
        # shares and groups
        "no_shots": "no shots",
        "no_readings": "no readings",
        "scatter_of_readings": "scatter of the readings",
        "scatter_within_a_series": "scatter within a series",
        "series_lie_apart": "series lie apart",
        "one_reading_has_no_scatter": "one reading tells nothing about scatter",
        "one_has_no_shots": "one of the two has no shots",
        "one_has_no_depths": "one of the two has no depths",
        "no_result_could_tell": "{shots} against {other_shots}: no result could tell",
        "only_all_against_none_could_tell": "{shots} against {other_shots}: only all against none could tell",
        "these_could_tell": "{shots} against {other_shots}: it takes at least {needed_hits} of {shots} against none to tell",
        "depths_open_above": "some depths are only known to be at least so much",
        "too_few_depths_for_a_shift": lambda *, depths, other_depths, level: (
            f"{depths} against {other_depths} depths can’t bound the shift at {_percent(level)}"
        ),
        "one_head_only": "only one head was shot, so there is nothing to compare it with",
        "no_energy_level_of_both_heads": "no energy level was shot with both heads, so nothing tells the head from the energy",
        "each_level_alike_throughout": "at each energy level all shots got through, or none did",
        "estimate_too_near_the_limit": (
            "the estimate lies so near what is claimed that nobody can say how many more shots would settle it"
        ),
        "energies_too_unsure_to_settle": "more shots alone would not settle it: the energies themselves are not known well enough",
        "energies_do_not_meet": "their energies do not meet, so nothing tells them from the energy",
        "energies_not_known_well_enough": _not_known_well_enough,
        "energies_chosen_and_no_curve": "their energies were chosen by the outcomes, and these shots carry no curve",
        "too_few_readings_for_a_creep": "{readings} readings in {groups} groups leave no room to tell a creep from scatter",
        "no_group_read_at_two_places": "no group was read at two places",
        "nothing_read_twice": "nothing was read twice",
        "both_gave_one_answer": "both gave one and the same answer to all",
        "none_near_an_earlier_hit": "no shot hit near an earlier hit",
        "no_fair_shot": "no fair shot to compare with",
        "nobody_drew_lots_for_near_hits": (
            "Nobody drew lots for which shots would hit near an earlier hit. Close groups, easy spots, the later hours and "
            "the heads shot last end there more often, and each of those may matter by itself. So this shows what went "
            "together, not what an earlier hit does. To learn that, shoot at marks set beforehand, some of them near a hit."
        ),
        # the curve and its 50 % energy
        "more_energy_not_yet_more_often": _FLAT,
        "more_energy_no_more_often": (
            "in your shots, those with more energy got through no more often than those with less, so no curve can rise "
            "through half: look for what else changed with the energy"
        ),
        "open_below": f"{_FLAT}, so it may lie any way below",
        "open_above": f"{_FLAT}, so it may lie any way above",
        "no_measured_energy": "none of the {shots} shots has a measured energy",
        "all_got_through": "all {shots} shots got through, so half lies below the energies shot: try less",
        "none_got_through": "none of {shots} shots got through, so half lies above the energies shot: try more",
        "one_energy_only": "all shots had one energy, so they can’t show how the chance changes with it",
        "too_few_with_chosen_energies": (
            "{shots} shots at energies chosen by the outcomes so far: under {needed}, the interval of such a point can’t be trusted"
        ),
        "too_few_for_a_tail": _too_few_for_a_tail,
        "tail_outside_the_energies_shot": _tail_outside,
        "two_terms_say_the_same": "in these shots two of the terms say the same thing, so neither can be told from the other",
        "one_value_parts_them": "one value parts all shots that got through from all that did not",
        "shot_scatter_unknown": "The scatter of single shots about their combination’s energy is not known, so it is left out.",
        "shot_scatter_alone_as_flat": "The scatter of single shots about their combination’s energy alone could make a curve this flat.",
        "shot_scatter_flattens": _shot_scatter_flattens,
        # heads and terms by one curve
        "heads_slopes_differ": f"{_LEANING} Your shots speak against that: read it as a mean over the energies shot.",
        "heads_slopes_taken_alike": f"{_LEANING} Your shots don’t speak against that, though so few could hardly do so.",
        "heads_at_one_energy": "all shots had one energy: compare the shares instead",
        "each_head_at_its_own_energy": "every head was shot at one energy of its own, so nothing tells the head from the energy",
        "only_this_head": "only {head} was shot, so there is nothing to compare it with",
        "every_head_alike_throughout": _throughout,
        "too_few_for_terms": _too_few_for_terms,
        "terms_at_one_energy": "all shots had one energy: leave the energy out and compare the shares",
        "term_never_changed": "{term} was the same at every shot, so its part can’t be told",
        # the averaging limit
        "more_than_one_projectile": _projectiles,
        "no_rule_is_met": lambda *, rules: "; ".join(rules),
        "rule_lacks_stopped": lambda *, each_side, stopped: f"{each_side} and {each_side}: {stopped or 'none'} stopped",
        "rule_lacks_through": lambda *, each_side, through: f"{each_side} and {each_side}: {through or 'none'} got through",
        "rule_spread_too_wide": lambda *, each_side, spread_m_s, most_m_s, reader: (
            f"{each_side} and {each_side}: they lie {_speed(spread_m_s, reader)} apart, {_speed(most_m_s, reader)} at most"
        ),
        "rules_contradict": lambda *, more, more_within_m_s, fewer, fewer_within_m_s, reader: (
            f"the settings contradict each other: {more} and {more} within {_speed(more_within_m_s, reader)} can never "
            f"decide beside {fewer} and {fewer} within {_speed(fewer_within_m_s, reader)}"
        ),
        # the next shot, and when it is enough
        "one_shot_follows_nothing": "it takes two shots to see whether the second followed from the first",
        "nothing_at_hand_has_an_energy": "no arrow at hand has a known energy",
        "less_after_through": _next(through=True),
        "more_after_held": _next(through=False),
        "same_energy_again": _same_energy_again,
        "less_than_a_step": _less_than_a_step,
        "all_on_the_wrong_side": _wrong_side,
        "all_planned_are_shot": "all {planned} planned shots are shot",
        "planned_shots_left": "{left} of the {planned} planned shots are left",
        "no_rule_to_stop": "no rule says when to stop",
        "as_narrow_as_wanted": "the high end is {times:.3g} times the low end, and {wanted_times:.3g} was wanted",
        "wider_than_wanted": _wider_than_wanted,
        # protection for weight
        "both_energies_not_closed": "one of the two 50\N{NO-BREAK SPACE}% energies is not bounded on both sides yet",
        "weights_too_alike": (
            "the two weigh alike as far as can be told: they differ by {extra_kg_m2:.2g} kg/m², and that difference is known to "
            "{within_kg_m2:.2g} kg/m²"
        ),
        # over several groups
        "too_few_groups": "it takes {needed} groups to see how far groups lie apart, and only {groups} can be counted here",
        "too_many_groups_open": "{open_groups} of {groups} groups are not bounded on both sides yet, so too few are left to speak for all",
        # which measure explains
        "no_two_heads_differ_at_a_level": "no two heads were shot at one level of energy with different outcomes",
        "no_head_has_a_fifty_percent_energy": "no head has a 50\N{NO-BREAK SPACE}% energy yet",
        "too_few_heads_for_measures": _too_few_heads,
        # how many shots
        "too_many_for_a_width": lambda *, most, width: f"it takes more than {most} shots for an interval {100 * width:.3g} points wide",
        "shares_are_the_same": "no number of shots can show a difference between two shares that are the same",
        "every_result_of_the_interval": "{method} interval, every result counted",
        # claims
        "more_of_the_type_needed": _more_of_the_type,
        "more_shots_than_any_yard": lambda *, most: f"it would take more than {most:,} shots",
        "so_few_refute_nothing": lambda *, through, one_in: f"{through} through can’t refute 1 in {one_in:g}",
        "every_result_of_the_mid_p_test": "mid-P test, every result counted",
        "by_a_normal_curve": "by a normal curve with its correction: more shots than can be counted out",
    }
)
