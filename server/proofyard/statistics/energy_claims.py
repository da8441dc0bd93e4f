"""A claim about 50 % energies, answered by the one interval that every page shows: above a limit, below it, or not yet told.

"Half of the shots get through only above 80 J" asks of one 50 % energy, "the leaf needs more than the needle" and "2 mm needs a tenth
more than 1.6 mm" ask of a ratio of two. Each is above its limit or not, so one rule answers all three.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from proofyard.quantities.reason import CantTell, CantUse, as_level, as_one_or_more, as_width, because
from proofyard.statistics.claim_shots import MOST_SHOTS
from proofyard.statistics.one_comparison import SAME_AS_ONE
from proofyard.statistics.penalised_logistic import chi_square

# So many arrows, and so many panels, before shots say anything of a type whose spread nobody has stated: two or three can lie
# together on one side by luck.
FEWEST_OF_A_TYPE = 4
TwoEnds = tuple[float | None, float | None]
_LEAST_LEVEL = 0.5


def verdict_above(low: float | None, high: float | None, *, limit: float) -> str:
    """Whether an interval says that what it holds is above a limit.

    yes: low > limit;  no: high < limit;  not_yet else

    Takes
        low    scalar above 0, or None   low end of a 50 % energy or of a ratio of two; None: not bounded on that side
        high   scalar above 0, or None   its high end
        limit  scalar, above 0           what is claimed: an energy, or 1 + d for "at least d more"
    Gives
        "yes", "no" or "not_yet"; an end at the limit itself decides nothing
    Refuses
        CantUse  a limit or an end not above 0, or not finite
    Holds while
        the interval holds: its level pays for every look and for every other question
    Weak when
        the limit lies near the truth: no number of shots then tells them apart soon
    Source
        the interval's own, see compare_two and fifty_percent_point; each wrong answer by simulation: tests/bench/energy_claim_rates.py.
        Checked in tests/published/test_energy_claims.py
    >>> verdict_above(1.15, 2.05, limit=1.1), verdict_above(0.98, 1.08, limit=1.1), verdict_above(1.02, None, limit=1.1)
    ('yes', 'no', 'not_yet')
    """
    for name, value in (("limit", limit), ("low", low), ("high", high)):
        if value is not None and not (math.isfinite(value) and value > 0):
            raise CantUse(name, value, "above 0 and finite")
    if low is not None and low > limit * (1 + SAME_AS_ONE):
        return "yes"
    return "no" if high is not None and high < limit * (1 - SAME_AS_ONE) else "not_yet"


def ends_for_type(
    low: float | None, high: float | None, *, estimate: float, spread: float, units: tuple[int, ...], level: float
) -> TwoEnds:
    """The same interval of arrows, or panels, of the type: wider by how much those differ among themselves.

    ends = ln q -+ sqrt(gap^2 + z^2 s^2 sum 1/n), gap the distance of the end from ln q, z of the level

    Takes
        low       scalar above 0, or None
        high      scalar above 0, or None
        estimate  scalar, above 0              q: the 50 % energy, or the ratio of two
        spread    scalar, 0 or more            s: standard deviation of 50 % energies within a type, relative, as stated
        units     whole numbers, 1 or more     arrows (or panels, whichever are fewer) of each group that is its own
        level     scalar, 0.5 up to 1          of the interval
    Gives
        (low, high); an open end stays open
    Refuses
        CantUse  ends, estimate or spread outside their range, a unit count below 1, a level outside its range
    Holds while
        arrows and panels are a fair sample of their type, and differ by a factor of energy
    Weak when
        the spread was guessed: two arrows a head that differ by 15 % and are taken for alike err in up to a quarter of comparisons
    Source
        JCGM 100:2008 (GUM), 5.1.2, in ln(energy). Checked in tests/published/test_energy_claims.py
    >>> low, high = ends_for_type(1.02, 2.05, estimate=1.39, spread=0.08, units=(2, 2), level=0.95)
    >>> round(low, 2), round(high, 2)
    (0.98, 2.11)
    """
    own = as_width("spread", spread) * math.sqrt(math.fsum(1 / as_one_or_more("shots or units", one) for one in units))
    wide = _normal(as_level(level)) * own
    middle = _log("estimate", estimate)
    found = []
    for name, end in (("low", low), ("high", high)):
        gap = None if end is None else _log(name, end) - middle
        found.append(None if gap is None else math.exp(middle + math.copysign(math.hypot(gap, wide), -1 if name == "low" else 1)))
    return found[0], found[1]


def more_shots_to_settle(
    ends_at: Callable[[float], TwoEnds], *, estimate: float, limit: float, level: float, shots: int, own_relative: float = 0.0
) -> int | CantTell:
    """How many more shots would settle a claim, if they go as those so far.

    n' = n chi2(1; level) / chi2(1; L), L the level at which the interval's end reaches the limit; for own uncertainties the limit comes
    nearer: gap' = sqrt(gap^2 - z^2 u^2), which more shots don't shrink

    Takes
        ends_at       function of a level     the interval from the shots alone, without own_relative
        estimate      scalar, above 0         the 50 % energy, or the ratio of two
        limit         scalar, above 0         what is claimed
        level         scalar, 0.5 up to 1     at which it is judged
        shots         whole number, 1 or more  so far, all groups together
        own_relative  scalar, 0 or more       standard uncertainty that more shots don't lessen
    Gives
        whole number, 0 if it is settled; CantTell above 5,000, where the estimate is too near the limit, or the energies are too unsure
    Refuses
        CantUse  estimate, limit or own_relative outside their range, fewer than one shot, a level outside its range
    Holds while
        the next shots are spread over the same energies, and the truth is where the estimate is
    Weak when
        taken for a promise: if the truth is where the estimate is, it settles about half of such trials
    Source
        the profile's fall grows in proportion to the shots: Wilks, Annals of Mathematical Statistics 1938 9:60 (from memory); how often
        it settles: tests/bench/energy_claim_rates.py. Checked in tests/statistics/test_statistics_energy_claims.py
    >>> more_shots_to_settle(lambda level: (0.98, 2.26), estimate=1.34, limit=1.0, level=0.95, shots=24).reason.code
    'estimate_too_near_the_limit'
    """
    level, so_far = as_level(level), as_one_or_more("shots or units", shots)
    gap = _log("estimate", estimate) - _log("limit", limit)
    left = gap * gap - (_normal(level) * as_width("own_relative", own_relative)) ** 2
    if left <= 0:
        return CantTell(because("energies_too_unsure_to_settle") if own_relative and gap else because("estimate_too_near_the_limit"))
    target = estimate * math.exp(-math.copysign(math.sqrt(left), gap))

    def clear(at: float) -> bool:
        end = ends_at(at)[0 if gap > 0 else 1]
        return end is not None and (end > target if gap > 0 else end < target)

    if clear(level):
        return 0
    if not clear(_LEAST_LEVEL):
        return CantTell(because("estimate_too_near_the_limit"))
    low, high = _LEAST_LEVEL, level
    for _ in range(30):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if clear(middle) else (low, middle)
    more = math.ceil(so_far * (chi_square(level) / chi_square(low) - 1))
    return more if more <= MOST_SHOTS else CantTell(because("more_shots_than_any_yard", most=MOST_SHOTS))


def _log(name: str, value: float) -> float:
    if not (math.isfinite(value) and value > 0):
        raise CantUse(name, value, "above 0 and finite")
    return math.log(value)


def _normal(level: float) -> float:
    from scipy.special import ndtri

    return float(ndtri((1 + level) / 2))
