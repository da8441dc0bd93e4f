"""A claim about a share, "at most 1 in 10 gets through", answered at any number of shots: no, yes as far as asked, not yet.

An interval for a number of shots set beforehand refutes wrongly in one case of five if somebody looks at it after each of
200 shots. So a claim is judged by e-values, which hold however often one looks.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantUse, as_count, as_one_or_more, as_width
from proofyard.statistics.clustered_shares import design_effect

# Weight of "it never gets through" in the e-value for yes; the rest is spread evenly over the smaller shares. None through
# then takes 1 to 3 shots more than a number set beforehand would; with half the weight it takes 2 to 9 more.
WEIGHT_OF_NEVER = 0.8
ALIKE_BY_DEFAULT = 0.2  # correlation of shots of one arrow or one panel that "for the type" states
# A claim at an energy: by how many standard uncertainties of what all shots share a shot must lie on its side. One does for 60
# shots; in 200, all measured at the limit itself, 7 % would then be wrong (tests/bench/claim_error_rates.py).
SHARED_MARGIN = 1.645
_SMALLEST = 1e-250  # below it the beta integral loses its figures, and its series takes over


@dataclass(frozen=True)
class EValues:
    """How strongly the counts speak against "at most 1 in k" (no) and against "at least 1 in k" (yes), as logarithms."""

    through: float
    shots: float
    one_in: float
    log_no: float
    log_yes: float

    @property
    def no(self) -> float:
        return _exp(self.log_no)

    @property
    def yes(self) -> float:
        return _exp(self.log_yes)


@dataclass(frozen=True)
class AnyTimeBounds:
    """The shares that the counts leave open, each end by itself wrong at most in `alpha` of all cases, however often one looks."""

    low: float
    high: float
    alpha: float
    through: float
    shots: float


@dataclass(frozen=True)
class Counts:
    """Through among counted shots, and how the shots fall on arrows and on panels (for what is said of the type)."""

    through: int
    shots: int
    by_arrow: tuple[int, ...] = ()
    by_panel: tuple[int, ...] = ()


def e_values(through: float, shots: float, *, one_in: float) -> EValues:
    """How many times likelier the counts are under a share above 1/k, or below it, than under 1/k itself, averaged over such shares.

    L(p) = p^x (1-p)^(n-x), p0 = 1/k, B the beta function, I = I_p0(x+1, n-x+1) its regularised incomplete integral;
    e_no = B(x+1, n-x+1) (1 - I) / ((1-p0) L(p0));  e_yes = 0.8 [x = 0]/L(p0) + 0.2 B(x+1, n-x+1) I / (p0 L(p0))

    Takes
        through  scalar, 0 up to shots  counted shots that got through; a part of one where counts are divided by a design effect
        shots    scalar, 0 or more      all counted shots, likewise
        one_in   scalar, above 1        k: the claim is that at most one shot in so many gets through
    Gives
        EValues; both 1 without shots. At 20 a claim is decided at 95 %, at 10 at 90 %
    Refuses
        CantUse  counts negative or not finite, more through than shots, k not above 1
    Holds while
        each shot's chance is on the one side of 1/k whatever came before: then no rule of stopping errs more often than stated
    Weak when
        shots share one arrow or one panel and you speak of the type: see judged_for_type
    Source
        Ville's inequality; Robbins, Annals of Mathematical Statistics 1970 41:1397 (from memory); Howard, Ramdas, McAuliffe and
        Sekhon, Annals of Statistics 2021 49:1055. Checked in tests/published/test_claims.py
    >>> round(e_values(4, 4, one_in=10).no), round(e_values(0, 30, one_in=10).yes, 2)
    (2222, 20.34)
    """
    x, n = _worth(through, shots)
    p = 1 / _above_one(one_in)
    rest = math.log(1 - WEIGHT_OF_NEVER) + _log_mean_ratio(x, n, p)
    never = math.log(WEIGHT_OF_NEVER) - n * math.log1p(-p) if x == 0 else -math.inf
    return EValues(x, n, float(one_in), _log_mean_ratio(n - x, n, 1 - p), _log_sum(never, rest))


def any_time_bounds(through: float, shots: float, *, alpha: float = 0.05) -> AnyTimeBounds:
    """The shares that can't be ruled out, whenever and however often one looks: the verdict of a claim is read off them.

    low: e_no(p) = 1/alpha;  high: e_yes(p) = 1/alpha;  p = 1/k, by halving

    Takes
        through  scalar, 0 up to shots     counted shots that got through, or their part after a design effect
        shots    scalar, 0 or more         all counted shots, likewise
        alpha    scalar, above 0 to 0.5    how often each end by itself may be wrong
    Gives
        AnyTimeBounds; 0 to 1 without shots
    Refuses
        CantUse  what e_values refuses; alpha outside its range
    Holds while
        as e_values
    Weak when
        read as one interval of 95 %: each end is wrong in up to alpha, both together in up to twice that
    Source
        as e_values. Checked in tests/published/test_claims.py
    >>> round(any_time_bounds(4, 4).low, 4), round(any_time_bounds(0, 12).high, 4)
    (0.352, 0.2303)
    """
    x, n = _worth(through, shots)
    needed = math.log(1 / _as_alpha(alpha))
    share = x / n if n else 0.0
    low = 0.0 if x == 0 else _halved(0.0, share, lambda p: _log_mean_ratio(n - x, n, 1 - p) < needed)
    high = 1.0 if x == n else _halved(share, 1.0, lambda p: e_values(x, n, one_in=1 / p).log_yes >= needed)
    return AnyTimeBounds(low, high, alpha, x, n)


def bound_of_one_look(through: int, shots: int, *, alpha: float = 0.05) -> float:
    """The greatest share that is not ruled out by so few through, looked at once, after a number of shots set beforehand.

    high = B(1-alpha; x+1, n-x), B the beta quantile

    Takes
        through  whole number, 0 up to shots  counted shots that got through
        shots    whole number, 0 or more      all counted shots: as many as were set beforehand
        alpha    scalar, above 0 to 0.5       how often it may lie below the true share
    Gives
        scalar, 0 to 1; 1 without shots or if all got through
    Refuses
        CantUse  counts negative, not whole, more through than shots; alpha outside its range
    Holds while
        the number of shots was set before the first one and it is looked at once
    Weak when
        it is looked at after each shot: of a share of exactly 1 in 10 it then says in 16 % of cases within 200 shots that it is less
    Source
        Clopper and Pearson, Biometrika 1934 26:404. Checked in tests/published/test_claims.py
    >>> round(bound_of_one_look(0, 12), 4)
    0.2209
    """
    x, n = as_count("through", through), as_count("shots", shots)
    _worth(x, n)
    level = 1 - _as_alpha(alpha)
    if x == n:
        return 1.0
    from scipy.special import betaincinv

    return float(betaincinv(x + 1, n - x, level))


def side_of_energy(energy_j: float, limit_j: float, *, shared_u_j: float) -> tuple[bool, bool]:
    """Whether a shot counts for a no, and whether for a yes, of a claim about the limit: the rest is too near to count.

    no: E + 1.645 u <= limit;  yes: E - 1.645 u >= limit

    Takes
        energy_j    scalar, J, 0 or more  of the shot, at the target
        limit_j     scalar, J, 0 or more  that the claim is about
        shared_u_j  scalar, J, 0 or more  standard uncertainty that all the shots share: the instrument's, the combination's mean
    Gives
        (for a no, for a yes); (False, False) where it is too near
    Refuses
        CantUse  any of the three below 0 or not finite
    Holds while
        more energy never gets through less often: then a shot on its side speaks all the more
    Weak when
        that uncertainty is large: few shots count
    Source
        worst case by enumeration: tests/bench/claim_error_rates.py. Checked in tests/statistics/test_statistics_claims.py
    >>> side_of_energy(90.0, 100.0, shared_u_j=2.0), side_of_energy(98.0, 100.0, shared_u_j=2.0)
    ((True, False), (False, False))
    """
    given = (("energy_j", energy_j), ("limit_j", limit_j), ("shared_u_j", SHARED_MARGIN * shared_u_j))
    energy, limit, apart = (as_width(name, value) for name, value in given)
    return energy + apart <= limit, energy - apart >= limit


def verdict_of(for_no: Counts, for_yes: Counts, *, one_in: float, alpha: float = 0.05, heads: int = 1, set_shots: int | None = None) -> str:
    """What the counts say of "at most 1 in k gets through", of these arrows on these panels.

    no: e_no >= heads/alpha;  yes: e_yes >= 1/alpha, or with a number set beforehand the bound of one look <= 1/k

    Takes
        for_no     Counts                  that can refute: with everything undecided taken as the claim would have it
        for_yes    Counts                  that can support: with everything undecided taken against the claim; with a number set
                                           beforehand of the first so many shots only
        one_in     scalar, above 1         k
        alpha      scalar, above 0 to 0.5  how often a wrong no, and a wrong yes, may be said
        heads      whole number, 1 or more  heads that the claim is about: any of them can refute it, so each pays for all
        set_shots  whole number or None    shots set before the first one: yes is then judged once, after them
    Gives
        "no", "yes" or "not_yet"; no goes first
    Refuses
        CantUse  what e_values refuses; heads or set_shots not whole, heads or set_shots below 1
    Holds while
        as e_values; a number counts as set beforehand only if it was written down before the first shot
    Weak when
        one arrow or one panel made all the counts: the answer is of that arrow and that panel
    Source
        as e_values and bound_of_one_look. Checked in tests/published/test_claims.py
    >>> verdict_of(Counts(4, 4), Counts(4, 4), one_in=10, heads=4), verdict_of(Counts(2, 4), Counts(2, 4), one_in=10, heads=4)
    ('no', 'not_yet')
    """
    needed, many = math.log(1 / _as_alpha(alpha)), as_one_or_more("heads", heads)
    if e_values(for_no.through, for_no.shots, one_in=one_in).log_no >= needed + math.log(many):
        return "no"
    if set_shots is not None:
        done = for_yes.shots >= as_one_or_more("set_shots", set_shots)
        return "yes" if done and bound_of_one_look(for_yes.through, for_yes.shots, alpha=alpha) <= 1 / _above_one(one_in) else "not_yet"
    return "yes" if e_values(for_yes.through, for_yes.shots, one_in=one_in).log_yes >= needed else "not_yet"


def larger_design_effect(counts: Counts, *, intraclass_correlation: float = ALIKE_BY_DEFAULT) -> tuple[float, str]:
    """How many times too many the shots are for a word about the type, and whether arrows or panels are what is few.

    D = max over arrows, panels of 1 + (sum m^2/sum m - 1) r

    Takes
        counts                  Counts          with how its shots fall on arrows and on panels
        intraclass_correlation  scalar, 0 to 1  as stated, never estimated from so few
    Gives
        the larger D, 1 or more, and "arrow" or "panel"
    Refuses
        CantUse  what design_effect refuses
    Holds while
        as design_effect
    Weak when
        arrows and panels change together: the larger of the two stands for both
    Source
        as design_effect. Checked in tests/statistics/test_statistics_claims.py
    >>> larger_design_effect(Counts(0, 10, by_arrow=(5, 5), by_panel=(10,)))
    (2.8, 'panel')
    """
    arrows, panels = (design_effect(sizes, intraclass_correlation=intraclass_correlation) for sizes in (counts.by_arrow, counts.by_panel))
    return (panels, "panel") if panels >= arrows else (arrows, "arrow")


def verdict_for_type(
    for_no: Counts, for_yes: Counts, *, one_in: float, alpha: float = 0.05, heads: int = 1, intraclass_correlation: float = ALIKE_BY_DEFAULT
) -> str:
    """The same of arrows and panels of the type: each count is worth as many shots as independent ones would be.

    verdict by e_no and e_yes of x/D and n/D, D of larger_design_effect

    Takes
        for_no                  Counts                   as verdict_of, with how its shots fall on arrows and on panels
        for_yes                 Counts                   likewise
        one_in                  scalar, above 1          k
        alpha                   scalar, above 0 to 0.5
        heads                   whole number, 1 or more
        intraclass_correlation  scalar, 0 to 1           as stated
    Gives
        "no", "yes" or "not_yet"
    Refuses
        CantUse  what e_values and design_effect refuse
    Holds while
        arrows and panels are a fair sample of their type, and shots of one correlate no more than stated
    Weak when
        they correlate twice as much: then a wrong no is said in up to 9 % of cases (10,000 simulated, 60 shots)
    Source
        as e_values and design_effect; effective counts as Korn and Graubard, Survey Methodology 1998 24:193.
        Checked in tests/statistics/test_statistics_claims.py
    >>> one_arrow = Counts(2, 2, by_arrow=(2,), by_panel=(1, 1))
    >>> verdict_for_type(one_arrow, one_arrow, one_in=10)
    'not_yet'
    """
    needed, many = math.log(1 / _as_alpha(alpha)), as_one_or_more("heads", heads)
    effects = [larger_design_effect(one, intraclass_correlation=intraclass_correlation)[0] for one in (for_no, for_yes)]
    found = [e_values(one.through / d, one.shots / d, one_in=one_in) for one, d in zip((for_no, for_yes), effects, strict=True)]
    if found[0].log_no >= needed + math.log(many):
        return "no"
    return "yes" if found[1].log_yes >= needed else "not_yet"


def joint_verdict(verdicts: Sequence[str]) -> str:
    """One answer about several heads: refuted by any of them, supported only if every one is.

    no if any is no; yes if all are yes; not_yet else

    Takes
        verdicts  "no", "yes" or "not_yet" of each head, each found with the number of heads
    Gives
        "no", "yes" or "not_yet"; "not_yet" of no heads
    Refuses
        CantUse  any other word
    Holds while
        each head was judged by itself; heads are never added up for a yes
    Weak when
        one head was hardly shot: the answer waits for it
    Source
        "no" pays for all heads by Bonferroni's inequality; "yes" of all needs no correction (intersection-union: Berger,
        Technometrics 1982 24:295, from memory). Checked in tests/statistics/test_statistics_claims.py
    >>> joint_verdict(["yes", "not_yet"]), joint_verdict(["yes", "no"])
    ('not_yet', 'no')
    """
    for one in verdicts:
        if one not in ("no", "yes", "not_yet"):
            raise CantUse("verdicts", one, "no, yes or not_yet")
    if "no" in verdicts:
        return "no"
    return "yes" if verdicts and all(one == "yes" for one in verdicts) else "not_yet"


def _log_mean_ratio(x: float, n: float, p: float) -> float:
    """ln of L(q)/L(p), averaged over q from 0 to p: B(x+1, n-x+1) I_p(x+1, n-x+1) / (p L(p))."""
    from scipy.special import betainc, betaln

    # Halving comes so near to the ends that 1 - p is 1; there the mean is known.
    if p <= 0:
        return -math.log(x + 1)
    if p >= 1:
        return -math.log(n + 1) if x == n else math.inf
    whole = float(betainc(x + 1, n - x + 1, p))
    if whole > _SMALLEST:
        seen = (x * math.log(p) if x else 0.0) + ((n - x) * math.log1p(-p) if n > x else 0.0)
        return float(betaln(x + 1, n - x + 1)) + math.log(whole) - math.log(p) - seen
    # I = p^a (1-p)^b / (a B) * sum of (a+b)_j/(a+1)_j p^j: all terms positive, and shrinking where the integral is so small.
    term, total, j = 1.0, 1.0, 0
    while term > 1e-17 * total:
        term *= (n + 2 + j) / (x + 2 + j) * p
        total, j = total + term, j + 1
    return math.log1p(-p) - math.log(x + 1) + math.log(total)


def _log_sum(one: float, other: float) -> float:
    most = max(one, other)
    return most + math.log(math.exp(one - most) + math.exp(other - most))


def _halved(low: float, high: float, holds: Callable[[float], bool]) -> float:
    """Where a property begins to hold that holds at `high` and not at `low`."""
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle <= low or middle >= high:
            break
        low, high = (low, middle) if holds(middle) else (middle, high)
    return 0.5 * (low + high)


def _exp(log: float) -> float:
    return math.exp(log) if log < 700 else math.inf


def _worth(through: float, shots: float) -> tuple[float, float]:
    for name, value in (("through", through), ("shots", shots)):
        if not (math.isfinite(value) and value >= 0):
            raise CantUse(name, value, "finite, 0 or more")
    if through > shots:
        raise CantUse("through", through, f"no more than shots, {shots}")
    return float(through), float(shots)


def _above_one(one_in: float) -> float:
    if not (math.isfinite(one_in) and one_in > 1):
        raise CantUse("one_in", one_in, "above 1 and finite")
    return float(one_in)


def _as_alpha(alpha: float) -> float:
    if not 0 < alpha <= 0.5:
        raise CantUse("alpha", alpha, "above 0, up to 0.5")
    return float(alpha)
