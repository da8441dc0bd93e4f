"""What is said of two groups compared, the same on every page: how many times the energy or the odds, between what, and what that comes to.

Groups come by their names in a sentence ("the long needle bodkin", "shots at P3"). Raw and corrected interval stand side by side; the
corrected one is the verdict. A difference that isn't shown is never called none.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.wording.counts import capital, counted, number
from proofyard.wording.energies import energies_between

ALL_LEVEL = 0.95
PERCENT = "\N{NO-BREAK SPACE}%"


def _times(value: float) -> str:
    """Two decimals, more where the first two would say 1 and it isn't; three figures from 10 on.

    >>> _times(1.3908), _times(1.0018), _times(0.9996), _times(64.37), _times(349.7)
    ('1.39', '1.002', '0.9996', '64.4', '350')
    """
    if value >= 100:
        return f"{value:.3g}" if value < 1e6 else "a million"
    if value >= 10:
        return f"{value:.1f}"
    for decimals in (2, 3, 4, 5):
        words = f"{value:.{decimals}f}"
        if float(words) != 1 and float(words) != 0:
            break
    return words


def _between(low: float | None, high: float | None) -> str:
    if low is None and high is None:
        return "not bounded"
    if low is None:
        return f"{_times(high or 0)} or less"
    return f"{_times(low)} or more" if high is None else f"{_times(low)} to {_times(high)}"


def _level(level: float) -> str:
    """ "95 %", "98.3 %", "99.95 %"."""
    return f"{100 * level:.3g}{PERCENT}" if level < 0.995 else f"{100 * level:.4g}{PERCENT}"


def _at(low: float | None, high: float | None, level: float) -> str:
    """One that only one end bounds stands at a level of its own, half the error of both: "one-sided 99.2 %"."""
    return _level(level) if (low is None) == (high is None) else f"one-sided {_level((1 + level) / 2)}"


def _ends(*, low: float | None, high: float | None, level: float, way: str) -> str:
    """An interval in a table. One that only one end bounds says its own level, half the error of both."""
    if way == "apart" or (low is None and high is None):
        return "not bounded"
    if low is None or high is None:
        return f"{_between(low, high)} (one-sided, {_level((1 + level) / 2)})"
    return f"{_between(low, high)} ({_level(level)})"


def _ratio(*, way: str, ratio: float | None) -> str:
    if way == "apart":
        return "not compared"
    if ratio is None:
        return "no estimate"
    return f"{_times(ratio)} times the {'energy' if way == 'curve' else 'odds'}"


def _need(who: str) -> str:
    return "need" if who.startswith(("shots", "heads")) else "needs"


def _size(way: str, ratio: float | None, *, first: str, second: str, low: float | None, high: float | None) -> str:
    """ "The leaf needs 1.39 times the energy of the long needle"."""
    if ratio is None:
        end = _times(low) if low is not None else _times(high or 0)
        much = f"at {'least' if low is not None else 'most'} {end}"
    else:
        much = _times(ratio)
    if way == "curve":
        return f"{capital(second)} {_need(second)} {much} times the energy of {first}"
    return f"At like energies the odds of {first} to get through are {much} times those of {second}"


def _asked(questions: int, *, named: bool, looks: str) -> str:
    of = (
        "named in advance"
        if named and questions > 1
        else f"as one of {number(questions)} questions"
        if questions > 1
        else "as the one question"
    )
    look = {"before": ", so far", "not set": ", looked at along the way"}.get(looks, "")
    return of + look


def pair_told(
    *,
    way: str,
    first: str,
    second: str,
    ratio: float | None,
    raw_low: float | None,
    raw_high: float | None,
    low: float | None,
    high: float | None,
    level: float,
    questions: int,
    named: bool,
    looks: str,
    verdict: str,
    smallest_p: float,
    why: str,
) -> str:
    """The one sentence on two groups, without its stop.

    >>> ends = {"raw_low": 1.2, "raw_high": 1.9, "low": 1.1, "high": 2.1, "level": 0.9833, "questions": 3, "named": False, "looks": "set"}
    >>> pair = {"way": "curve", "first": "the needle", "second": "the leaf", "ratio": 1.4, "verdict": "first"}
    >>> said = pair_told(**pair, **ends, smallest_p=0.001, why="").replace(PERCENT, " %")
    >>> said.partition(" (")[0]
    'The leaf needs 1.40 times the energy of the needle'
    >>> said.partition(" (")[2]
    '1.10 to 2.10 at 98.3 %, as one of three questions; 1.20 to 1.90 at 95 % by itself): shown'
    """
    if verdict == "apart":
        return f"{capital(first)} and {second} are not compared: {why or 'nothing tells them from the energy'}"
    if verdict == "too_few":
        return f"Too few shots to show a difference between {first} and {second}{f' ({why})' if why else ''}: {_smallest(smallest_p)}"
    if way == "a_fortiori":
        easier, other = (first, second) if verdict == "first" else (second, first)
        return f"{capital(easier)} had less energy than {other} and still got through more often, more than chance explains: shown"
    size = _size(way, ratio, first=first, second=second, low=low if low is not None else raw_low, high=high)
    asked = f"{_between(low, high)} at {_at(low, high, level)}, {_asked(questions, named=named, looks=looks)}"
    alone = "" if level == ALL_LEVEL else f"; {_between(raw_low, raw_high)} at {_at(raw_low, raw_high, ALL_LEVEL)} by itself"
    comes_to = "shown" if verdict in ("first", "second") else "not shown, and not shown to be alike"
    return f"{size} ({asked}{alone}): {comes_to}"


def _smallest(smallest_p: float) -> str:
    """Where the numbers would have done, it is these outcomes that bound nothing."""
    if smallest_p < 0.001:
        return "these outcomes bound neither side"
    return f"with these numbers and energies no outcome could give a smaller p than {smallest_p:.2g}"


def _verdict(*, verdict: str, first: str, second: str, alone: bool, smallest_p: float, why: str) -> str:
    more = {
        "apart": f": {why or 'nothing tells them from the energy'}",
        "too_few": f": {_smallest(smallest_p)}",
        "not_shown": " (it would be as the only question: shoot it again as that)" if alone else "",
    }
    return _in_short(verdict=verdict, first=first, second=second) + more.get(verdict, "")


def _in_short(*, verdict: str, first: str, second: str) -> str:
    easier = first if verdict == "first" else second
    said = {"apart": "Not compared", "too_few": "Too few shots to show a difference", "not_shown": "Not shown, and not shown to be alike"}
    return said.get(verdict) or f"Shown: {easier} {_get(easier)} through more easily"


def _get(who: str) -> str:
    return "get" if who.startswith(("shots", "heads")) else "gets"


def _reference(*, who: str, shots: int, named: bool, pairs: int, looks: str) -> str:
    why = f"of the pair named in advance, shot most ({counted(shots)})" if named else f"shot most ({counted(shots)})"
    pays = {
        "set": "",
        "before": f" The number of shots set beforehand is not reached, so each look on the way is judged at 99.7{PERCENT}.",
        "not set": f" No number of shots was set beforehand, so looks on the way are paid for: 98.4{PERCENT} instead of 95{PERCENT}.",
    }[looks]
    shared = f" {capital(number(pairs))} questions share one correction." if pairs > 1 else ""
    return f"Measured against {who}: {why}.{shared}{pays}"


def _level_counts(
    *,
    low_j: float,
    high_j: float,
    first: str,
    first_counts: str,
    past: str,
    second: str,
    second_counts: str,
    alike: str,
    gap: float,
    own: float | None,
    reader: str,
) -> str:
    """The counts of one level, and why they rank nothing where the two mean energies differ."""
    said = f"At {energies_between(low_j, high_j, reader)}: {first} {first_counts} {past}, {second} {second_counts}."
    if alike == "alike":
        return said
    if alike == "not_known":
        known = "is not recorded" if own is None else f"is {100 * own:.2g}{PERCENT}"
        return f"{said} The uncertainty of the difference of their mean energies {known}, so nothing says that they are alike."
    less, more = (first, second) if alike == "first_less" else (second, first)
    much = f"{100 * abs(gap):.2g}{PERCENT}"
    return f"{said} {capital(more)} had {much} more energy than {less}, so only {less} could be shown to get through more easily here."


def _arrows(*, first: int, second: int) -> str:
    if min(first, second) >= 4:
        return f"It speaks of these arrows, {first} against {second}; another arrow of the same form may differ."
    return f"It speaks of these arrows only, {first} against {second}: with fewer than four a head one odd arrow can make a difference."


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "pair_told": pair_told,
        "pair_ratio": _ratio,
        "pair_ends": _ends,
        "pair_no_ends": "none",
        "pair_verdict": _verdict,
        "pair_in_short": _in_short,
        "pair_reference": _reference,
        "pair_of_chosen_energies": (
            "The energies were chosen by the outcomes so far, so the interval is widened for that; slow curves may still be missed."
        ),
        "pair_undecided": lambda *, shots: (
            f"{counted(shots)} undecided {'is' if shots == 1 else 'are'} left out until checked from behind."
        ),
        "pair_of_these_arrows": _arrows,
        "pair_level": _level_counts,
        # which pair was named beforehand
        "of_several_trials": "These shots are from {trials} trials, and no trial named one pair in advance.",
        "no_trial_named_it": "No trial named one pair in advance.",
        "trial_does_not_say": "The trial does not record what it varies, so no pair was named in advance.",
        "trial_varies_other": "The trial varies “{varied}”, not {kind}, so no pair was named in advance.",
        "trial_names_no_two": "The trial varies “{varied}”, but does not name two of these {kind}, so no pair was named in advance.",
        "trial_claims_these": "The trial’s claim compares these two, so that pair is judged first.",
        "trial_names_these": "The trial varies “{varied}” and names these two, so that pair is judged first.",
        "trial_shot_these": "The trial varies “{varied}” and was shot with these two only, so that pair is the one question.",
    }
)
