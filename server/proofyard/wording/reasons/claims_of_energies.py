"""What is said of a claim about 50 % energies: the claim itself, its answer with the interval that decides, what would settle it."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import from_si, unit_for_reader, with_unit, written
from proofyard.wording.counts import capital, counted, listed
from proofyard.wording.energies import decimals_carried, energy_words
from proofyard.wording.reasons.claims import panels_words

PERCENT = "\N{NO-BREAK SPACE}%"
ALL_LEVEL = 0.95
_ANSWERS = {"yes": "Yes, as far as asked", "no": "No", "not_yet": "Not yet"}


def _level(level: float) -> str:
    return f"{100 * level:.3g}{PERCENT}" if level < 0.995 else f"{100 * level:.4g}{PERCENT}"


def _more(least: float) -> str:
    return f"{100 * least:.3g}{PERCENT} more energy"


def _fifty_percent_above(*, head: str, energy_j: float, armour: str, reader: str) -> str:
    return f"Half of the shots with the {head} get through {armour} only above {written(energy_j, unit_for_reader('energy', reader))}."


def _difference(*, head: str, one: str, other: str, least: float) -> str:
    return f"{capital(one)} needs at least {_more(least)} than {other} for half of the shots with the {head} to get through."


def _answer(verdict: str, scope: str) -> str:
    return f"{_ANSWERS[verdict]}{f', {scope}' if scope and verdict != 'not_yet' else ''}"


def _of_pair(*, verdict: str, scope: str, told: str, least: float | None, settles: str) -> str:
    claimed = "" if least is None else f"; at least {1 + least:.3g} times was claimed"
    return f"{_answer(verdict, scope)}. {told}{claimed}.{f' {settles}' if settles else ''}"


def _of_point(
    *,
    verdict: str,
    scope: str,
    energy_j: float,
    low_j: float | None,
    high_j: float | None,
    level: float,
    raw_low_j: float | None,
    raw_high_j: float | None,
    looks: str,
    limit_j: float,
    settles: str,
    reader: str,
) -> str:
    unit = unit_for_reader("energy", reader)
    found = energy_words(energy_j, reader, low_j=raw_low_j, high_j=raw_high_j)
    alone = f"{_between(raw_low_j, raw_high_j, unit)} at {_at(raw_low_j, raw_high_j, ALL_LEVEL)}"
    look = {"before": "so far", "not set": "looked at along the way"}.get(looks)
    ends = alone if look is None else f"{_between(low_j, high_j, unit)} at {_at(low_j, high_j, level)}, {look}; {alone} by itself"
    said = f"The 50{PERCENT} energy is {found} ({ends}); above {written(limit_j, unit)} was claimed."
    return f"{_answer(verdict, scope)}. {said}{f' {settles}' if settles else ''}"


def _at(low: float | None, high: float | None, level: float) -> str:
    """An interval that one end bounds stands at half the error of both."""
    return _level(level) if low is not None and high is not None else f"one-sided {_level((1 + level) / 2)}"


def _between(low: float | None, high: float | None, unit: str) -> str:
    if low is None and high is None:
        return "not bounded"
    decimals = decimals_carried(low, high, unit)
    ends = [None if end is None else f"{from_si(end, unit):.{decimals}f}" for end in (low, high)]
    if ends[0] is None:
        return with_unit(f"not more than {ends[1]}", unit)
    return with_unit(f"not less than {ends[0]}" if ends[1] is None else f"{ends[0]} to {ends[1]}", unit)


def _each(shots: int, groups: int) -> str:
    return counted(shots, "more shot") + (" each" if groups > 1 else "")


def _would_settle(*, shots: int, groups: int) -> str:
    evenly = f", {-(-shots // groups)} each," if groups > 1 else ""
    return (
        f"About {counted(shots, 'more shot')}{evenly} at the same energies would settle it with an even chance, if they go as those so far."
    )


def _stands_alike(*, others: bool) -> str:
    if others:
        return "other stands with the garment and the backing of one of the two were shot at too, and count as the same armour"
    return "the two stands have one garment and one backing, as far as they are recorded: record the layers of each on its own page"


def _type_lacks(*, few: str, count: int) -> str:
    had = counted(count, few)
    return f"For the type: {had} can lie together on one side by luck. It takes four, or their spread stated in the claim."


_HALF_ABOVE = (
    f"Where the 50{PERCENT} energy truly is a fifth above what is claimed, “yes” is said in about 4 of 10 trials with 20 shots, "
    "in 8 with 40."
)
_LESS = (
    "With 12 shots each, a head that needs 1.4 times the energy of the other is shown to in about 3 of 10 trials, with 20 in half; "
    "with 8 or fewer hardly any difference is."
)
_TENTH = (
    "A difference of a tenth can hardly be ruled out, even with 40 shots each: where there is none, “no” is said in about one trial of "
    f"five. Where it truly is 30{PERCENT}, “yes” is said in about 1 of 6 with 12 shots each, in nearly half with 40."
)


def _needs(*, form: str, least: float | None, set_shots: int | None) -> str:
    """By simulation at a usual slope, 8: tests/bench/energy_claim_rates.py and pair_error_rates.py."""
    each = "" if form == "fifty_percent_above" else " each"
    told = {"fifty_percent_above": _HALF_ABOVE, "needs_less": _LESS}.get(form, _TENTH)
    return told + (f" Set beforehand: {set_shots}{each}." if set_shots else "")


def _rule(*, pair: bool, level: float | None, looks: str, late: bool) -> str:
    shown = "Heads compared" if pair else "50\N{NO-BREAK SPACE}% energies"
    words = f"Judged by the one interval that “{shown}” shows too"
    if level is not None:
        words += f", here at {_level(level)}"
    pays = {
        "set": ": the number of shots set beforehand is reached.",
        "before": ": the number of shots set beforehand is not reached, so each look on the way is judged more strictly.",
        "not set": ": no number of shots was set beforehand, so looks on the way are paid for.",
    }[looks]
    return f"{words}{pays}" + ("" if late else f" Each wrong answer is then said in at most 5{PERCENT} of such trials.")


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "claim_needs_less": "The {head} needs less energy than the {than} to get through {armour}.",
        "claim_fifty_percent_above": _fifty_percent_above,
        "claim_difference": _difference,
        "claim_armour": lambda *, construction, thickness_m: panels_words(construction, thickness_m),
        "claim_panel": "{panel}",
        "claim_on_stand": lambda *, construction, thickness_m, stand: f"{panels_words(construction, thickness_m)} on {stand}",
        "claim_stands_alike": _stands_alike,
        "claim_of_pair": _of_pair,
        "claim_of_point": _of_point,
        "claim_cant_tell": lambda *, why, settles: f"Not yet: {why}.{f' {settles}' if settles else ''}",
        "claim_not_both_shot": "no shot counts with one of the two",
        "claim_several_types": lambda *, types: f"these shots mix {listed(types)}: say in the claim which of them it is about",
        "claim_needs_a_curve": "without a curve only odds can be compared, which say nothing of how many times the energy",
        "claim_up_to_the_number": lambda *, shots, groups: f"{capital(_each(shots, groups))} to the number set beforehand.",
        "claim_would_settle": _would_settle,
        "claim_type_lacks": _type_lacks,
        "claim_group_told": lambda *, rests_on: f"{capital(rests_on)}." if rests_on else "",
        "claim_energies_unsure": (
            "The shots alone would decide it. The uncertainty of the energies, which their interval leaves out, leaves it open."
        ),
        "claim_at_the_chronograph": "Energies are those at the chronograph: at the target they can’t be told for most shots.",
        "claim_energy_rule": _rule,
        "claim_energy_needs": _needs,
        "claim_spread_stated": lambda *, spread: (
            f"For the type: wider by arrows and panels that differ by {100 * spread:.3g}{PERCENT} among themselves, as the claim states."
        ),
        "claim_type_of_energies": (
            "For the type: the same, of four arrows and four panels or more in each group. What both groups share cancels."
        ),
    }
)
