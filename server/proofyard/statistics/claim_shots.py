"""How many shots a claim about a share takes: to be supported with so many through, to be refuted, to go on from where it stands."""

from __future__ import annotations

import math
from collections.abc import Callable

from proofyard.quantities.reason import CantTell, CantUse, as_count, because
from proofyard.statistics.claims import ALIKE_BY_DEFAULT, Counts, bound_of_one_look, e_values

MOST_SHOTS = 5000  # more than any yard shoots at one question


def shots_to_support(*, one_in: float, alpha: float = 0.05, through: int = 0, set_beforehand: bool = False) -> int | CantTell:
    """How many shots with so many through support "at most 1 in k gets through".

    least n with e_yes(x, n) >= 1/alpha;  set beforehand: least n with the bound of one look <= 1/k

    Takes
        one_in          scalar, above 1         k
        alpha           scalar, above 0 to 0.5  how often a wrong yes may be said
        through         whole number, 0 or more  how many of them get through
        set_beforehand  True or False           looked at once, after that number; else whenever one likes
    Gives
        whole number of shots; CantTell above 5,000
    Refuses
        CantUse  counts negative or not whole, what e_values and bound_of_one_look refuse
    Holds while
        as e_values or bound_of_one_look
    Weak when
        shots share arrows or panels and you speak of the type: more_for_type
    Source
        as e_values and bound_of_one_look. Checked in tests/published/test_claims.py
    >>> shots_to_support(one_in=10), shots_to_support(one_in=10, set_beforehand=True), shots_to_support(one_in=10, through=1)
    (30, 29, 86)
    """
    x = as_count("through", through)
    return _with(more_shots(x, x, one_in=one_in, alpha=alpha, set_beforehand=set_beforehand), x)


def more_shots(through: int, shots: int, *, one_in: float, alpha: float = 0.05, set_beforehand: bool = False) -> int | CantTell:
    """How many more shots, none of them through, would support the claim from where it stands.

    least m with e_yes(x, n + m) >= 1/alpha;  set beforehand: with the bound of one look <= 1/k

    Takes
        through         whole number, 0 up to shots
        shots           whole number, 0 or more
        one_in          scalar, above 1          k
        alpha           scalar, above 0 to 0.5
        set_beforehand  True or False            as if n + m had been set beforehand
    Gives
        whole number, 0 if it is supported already; CantTell above 5,000
    Refuses
        CantUse  what e_values and bound_of_one_look refuse
    Holds while
        as e_values
    Weak when
        one of them gets through: then it takes many more
    Source
        as e_values and bound_of_one_look. Checked in tests/published/test_claims.py
    >>> more_shots(0, 12, one_in=10), more_shots(1, 12, one_in=10)
    (18, 74)
    """
    x, n = as_count("through", through), as_count("shots", shots)

    def supports(more: int) -> bool:
        if set_beforehand:
            return bound_of_one_look(x, n + more, alpha=alpha) <= 1 / one_in
        return e_values(x, n + more, one_in=one_in).log_yes >= _needed(alpha)

    return _least(supports)


def more_for_type(
    counts: Counts, *, one_in: float, alpha: float = 0.05, intraclass_correlation: float = ALIKE_BY_DEFAULT
) -> int | CantTell:
    """How many more shots, none through and spread evenly over these arrows and these panels, would support it of the type.

    least m with e_yes(x/D, (n+m)/D) >= 1/alpha, D of the larger of arrows and panels after m more, filled up from the fewest

    Takes
        counts                  Counts          with how its shots fall on arrows and on panels
        one_in                  scalar, above 1  k
        alpha                   scalar, above 0 to 0.5
        intraclass_correlation  scalar, 0 to 1  as stated
    Gives
        whole number, 0 if it is supported already; CantTell where no number of shots with so few arrows or panels would do
    Refuses
        CantUse  what e_values and design_effect refuse
    Holds while
        as verdict_for_type
    Weak when
        another arrow or panel could be had: with it fewer do
    Source
        as e_values and design_effect. Checked in tests/statistics/test_statistics_claims.py
    >>> more_for_type(Counts(0, 2, by_arrow=(1, 1), by_panel=(1, 1)), one_in=10)
    CantTell(reason=Reason(code='more_of_the_type_needed', items=(('arrows', 2), ('panels', 2))))
    """
    arrows, panels = len(counts.by_arrow), len(counts.by_panel)

    def supports(more: int) -> bool:
        effect = max(_effect(sizes, more, intraclass_correlation) for sizes in (counts.by_arrow, counts.by_panel))
        return e_values(counts.through / effect, (counts.shots + more) / effect, one_in=one_in).log_yes >= _needed(alpha)

    found = _least(supports)
    return CantTell(because("more_of_the_type_needed", arrows=arrows, panels=panels)) if isinstance(found, CantTell) else found


def most_shots_to_refute(through: int, *, one_in: float, alpha: float = 0.05, heads: int = 1) -> int | CantTell:
    """Among how many shots at most so many through refute "at most 1 in k gets through".

    greatest n with e_no(x, n) >= heads/alpha

    Takes
        through  whole number, 0 or more  how many got through
        one_in   scalar, above 1          k
        alpha    scalar, above 0 to 0.5   how often a wrong no may be said
        heads    whole number, 1 or more  heads that the claim is about
    Gives
        whole number of shots; CantTell where so few through refute it among none
    Refuses
        CantUse  what e_values refuses
    Holds while
        as e_values
    Weak when
        shots share arrows or panels and you speak of the type
    Source
        as e_values. Checked in tests/published/test_claims.py
    >>> most_shots_to_refute(2, one_in=10), most_shots_to_refute(3, one_in=10)
    (2, 5)
    """
    x = as_count("through", through)
    needed = _needed(alpha) + math.log(as_count("heads", heads))

    def refutes(shots: int) -> bool:
        return e_values(x, shots, one_in=one_in).log_no >= needed

    if not refutes(x):
        return CantTell(because("so_few_refute_nothing", through=x, one_in=float(one_in)))
    left = _least(lambda more: not refutes(x + more))
    return left if isinstance(left, CantTell) else x + left - 1


def _needed(alpha: float) -> float:
    if not 0 < alpha <= 0.5:
        raise CantUse("alpha", alpha, "above 0, up to 0.5")
    return math.log(1 / alpha)


def _with(more: int | CantTell, shots: int) -> int | CantTell:
    return more if isinstance(more, CantTell) else shots + more


def _effect(sizes: tuple[int, ...], more: int, alike: float) -> float:
    """The design effect after so many more shots, each given to whoever has fewest."""
    filled, left = sorted(sizes), more
    total = sum(filled) + more
    if not filled or not total:
        return 1.0
    at = 0
    # The fewest are raised together to a common level, shot by shot.
    while at < len(filled) - 1 and left >= (filled[at + 1] - filled[at]) * (at + 1):
        left -= (filled[at + 1] - filled[at]) * (at + 1)
        at += 1
    level, over = divmod(left, at + 1)
    squares = sum(size * size for size in filled[at + 1 :])
    squares += over * (filled[at] + level + 1) ** 2 + (at + 1 - over) * (filled[at] + level) ** 2
    return 1 + (squares / total - 1) * alike


def _least(holds: Callable[[int], bool]) -> int | CantTell:
    """The least number of shots with which it holds: where more shots without a through can only help."""
    if holds(0):
        return 0
    low, high = 0, 1
    while not holds(high):
        if high >= MOST_SHOTS:
            return CantTell(because("more_shots_than_any_yard", most=MOST_SHOTS))
        low, high = high, min(2 * high, MOST_SHOTS)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high
