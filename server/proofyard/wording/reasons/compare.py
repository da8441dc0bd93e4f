"""What the page of comparisons says beside its pairs (pairs.py): its finding, ranks, earlier hits nearby.

Nothing here ranks two groups whose mean energies differ, and a difference that isn't shown is never called none. Groups come by
their names in a sentence ("the long needle bodkin", "shots at P3").
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import hand_length
from proofyard.wording.counts import all_listed, capital, hits_of, number
from proofyard.wording.counts import counted as so_many
from proofyard.wording.energies import energies_between


def _points(points: int) -> str:
    if points == 0:
        return "no difference"
    return f"{so_many(abs(points), 'percentage point')} {'more' if points > 0 else 'less'}"


def _from_to(low: int, high: int) -> str:
    """ "12 percentage points less to 61 percentage points more", "4 to 61 percentage points more"."""
    if low < 0 < high:
        return f"{_points(low)} to {_points(high)}"
    near, far = sorted((abs(low), abs(high)))
    return f"{near} to {far} percentage points {'more' if high > 0 else 'less'}"


def gap_size(*, low: float, high: float, difference: float) -> str:
    """The difference in points of a hundred with its range, first less second."""
    return f"{_points(round(100 * difference))}; 95\N{NO-BREAK SPACE}% interval {_from_to(round(100 * low), round(100 * high))}"


def p_value(p: float) -> str:
    """Two figures, "under 0.0001" below that.

    >>> p_value(0.0312), p_value(1.0), p_value(0.00002)
    ('0.031', '1', 'under 0.0001')
    """
    return "under 0.0001" if p < 0.0001 else f"{p:.2g}"


def _deeper(metres: float, reader: str) -> str:
    return f"{hand_length(abs(metres), reader)} {'deeper' if metres >= 0 else 'less deep'}"


def _ranks(*, who: str, kind: str, higher: float, pairs: int, p: float, shifts: tuple[str, ...]) -> str:
    """A pair that can't be parted counts half."""
    what = {"depth": "went deeper", "outcomes": "reached a higher outcome level"}[kind]
    more = "".join(f" {one}" for one in shifts)
    count = round(2 * higher) / 2
    of = f"{count:g} of {so_many(pairs, 'pair')} of shots at like energy, a tie counted half"
    return f"{_RANKED[kind]}, exploratory: {who} {what} in {of} (p = {p_value(p)}, uncorrected).{more}"


def _shift(*, at_low_j: float, at_high_j: float, first: str, second: str, shift_m: float, low_m: float, high_m: float, reader: str) -> str:
    at = energies_between(at_low_j, at_high_j, reader)
    return f"At {at} {first} went {_deeper(shift_m, reader)} than {second}; interval {_deeper(low_m, reader)} to {_deeper(high_m, reader)}."


def _at_equal_energy(*, times: float, low: float | None, high: float | None, shots: int) -> str:
    ends = [f"{end:.2f}" if end is not None else "no bound" for end in (low, high)]
    return (
        f"Near an earlier hit, the 50\N{NO-BREAK SPACE}% energy is {times:.2f} times that of fair hits, "
        f"95\N{NO-BREAK SPACE}% interval {ends[0]} to {ends[1]} ({shots} shots)."
    )


def _group_counted(*, counted: int, loosed: int, apart: tuple[str, ...]) -> str:
    """Of a group that has none, the reasons are all there is to say."""
    said = f"{counted or 'none'} of {so_many(loosed)} {'is' if counted == 1 else 'are'} counted"
    return said + (f"; {', '.join(apart)}" if apart else "")


_RANKED = {"depth": "Depth past the rear face", "outcomes": "Outcome level"}

SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "hits_of": hits_of,
        "gap_size": gap_size,
        # the finding
        "nothing_to_compare": "Nothing to compare: {why}",
        "no_group_counted": "none of these has a counted shot",
        "only_one_group_counted": "only {group} has counted shots",
        "no_level_of_like_energy": "no energy level holds both at like energy",
        "no_point_through_in_either": "no point was through in either, so there is no depth to compare",
        "no_depth_measured": "no depth past the rear face was measured",
        "not_every_point_measured": "not every point was through and measured",
        "group_counted": _group_counted,
        "group_and_counts": "{name}: {counts}.",
        "not_at_equal_energy": "These cannot be compared at equal energy",
        "too_few_whatever_their_outcomes": "Too few shots to show a difference, whatever their outcomes",
        "no_difference_between": "No difference shown between {first} and {second}",
        "no_difference_in_pairs": lambda *, pairs: f"No difference shown in {number(pairs)} comparisons",
        # what it leaves open
        "no_two_at_one_level": "Their energies do not meet, so a difference could be due to the energy.",
        "pairs_that_show": lambda *, shown, pairs: (
            f"{capital(number(shown))} of {pairs} comparisons {'shows' if shown == 1 else 'show'} a difference; the others are still open."
            if pairs > 1
            else "It is the one comparison here."
        ),
        "a_difference_may_exist": "A difference may still exist: the intervals below say how large it can be.",
        "small_numbers": lambda *, least: (
            f"Few shots, down to {so_many(least)} of one group: the intervals are wide, and a single shot changes them."
        ),
        # pair by pair
        "ranks_told": _ranks,
        "ranks_not_told": lambda *, kind, why: f"{_RANKED[kind]}: {why}.",
        "depth_shift": _shift,
        "confounded": lambda *, first, second, shared: (
            f"{capital(first)} and {second} share no {all_listed(shared, 'and no')} here, so a difference could be due to that."
        ),
        # earlier hits nearby
        "near_name": "Near an earlier hit",
        "near_who": "those near an earlier hit",
        "fresh_name": "Fair",
        "fresh_who": "the fair ones",
        "none_shot": "none shot",
        "count_with_interval": "{counted} ({interval}\N{NO-BREAK SPACE}%)",
        "no_answer_yet": "No answer yet: {why}",
        "too_few_near": "Too few shots to show whether an earlier hit nearby matters",
        "no_effect_of_near_shown": "No effect of an earlier hit nearby is shown",
        "near_differs": lambda *, more: (
            f"Near an earlier hit, shots got through {'more' if more else 'less'} often; this does not show why"
        ),
        "two_kinds_needed": (
            "Two kinds of shot are needed: fair hits, and hits near an earlier one. Pick other panels, or change the settings."
        ),
        "near_against_fair": "Near an earlier hit against fair, {could}.",
        "totals_hidden": "Totals over all energies are hidden, because they mean nothing then; look at one energy level at a time.",
        "near_and_fair_counts": ("Near an earlier hit: {near} of {of_near} {past}; fair hits: {fair} of {of_fair}. That is {size}."),
        "near_by_chance": lambda *, p: (
            f"Without any effect, chance alone gives such a difference or a larger one with p = {p_value(p)} (mid-P, two-sided). "
            "A large p does not show that an earlier hit has no effect."
        ),
        "near_energies_not_measured": "The energies of one of the two groups are not measured, so a difference could be due to the energy.",
        "near_energies_alike": "The mean energies of the two groups are alike.",
        "near_energies_unlike": lambda *, gap: (
            f"The mean energies of the two groups differ by {100 * abs(gap):.2g}\N{NO-BREAK SPACE}%, so a difference could be due "
            "to the energy."
        ),
        "near_no_curve": "At equal energy: no answer yet, {why}.",
        "near_at_equal_energy": _at_equal_energy,
        "near_mixes_types": lambda *, types: (
            f"This mixes {len(types)} panel types ({', '.join(types)}), and an earlier hit may matter on one and not on another. Pick one."
        ),
        "near_mixes_forms": (
            "This mixes {forms} head forms: if the later shots had other heads than the earlier ones, a "
            "difference could be due to the head."
        ),
        "p_value": lambda *, p: p_value(p),
    }
)
