"""Does an earlier hit nearby matter? Fair shots against those that were not fair."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, CantUse, Reason, because
from proofyard.statistics.comparing import CouldShow, ShareDifference, difference_of_shares, most_these_could_show
from proofyard.statistics.heads_by_curve import CurveWithTerms, fit_with_terms
from proofyard.statistics.odds_within_levels import Odds, odds_within_levels

CAVEAT = because("nobody_drew_lots_for_near_hits")


@dataclass(frozen=True, eq=False)
class Wear:
    """Not fair less fair, as shares and at like energy, with what so few could show and the caveat. p_value: mid-P, both sides."""

    difference: ShareDifference
    p_value: float
    could_show: CouldShow
    at_like_energy: CurveWithTerms | CantTell
    not_known: int
    caveat: Reason = CAVEAT


def wear(
    through: Sequence[int], fair: Sequence[bool | None], *, energies_j: Sequence[float | None], level: float = 0.95
) -> Wear | CantTell:
    """How much oftener shots got through where an earlier hit was near than where none was.

    share of not fair - share of fair; and at like energy: ln(p/(1-p)) = b0 + b ln E + c (not fair)

    Takes
        through     0 or 1 a shot
        fair        True, False or None a shot  by what was so before it hit; None where that is not known
        energies_j  array, J, above 0, or None  at the panel
        level       scalar, 0.5 up to 1
    Gives
        Wear; at_like_energy is CantTell with its reason where the shots don't carry it.
        CantTell when no shot was fair, or none was not
    Refuses
        CantUse  not as many outcomes, marks and energies; what difference_of_shares and fit_with_terms refuse
    Holds while
        fair rests only on what was so before the arrow hit, never on how it turned out
    Weak when
        always: which shots hit near an earlier one was not drawn by lot. caveat says so on the page
    Source
        as difference_of_shares, odds_within_levels and fit_with_terms. Checked in tests/statistics/test_statistics_wear.py
    >>> found = wear([1, 1, 1, 0, 0, 0, 1, 0], [False] * 4 + [True] * 4, energies_j=[45] * 8)
    >>> found.difference.difference, found.could_show.reason.code
    (0.5, 'only_all_against_none_could_tell')
    """
    if not len(through) == len(fair) == len(energies_j):
        raise CantUse("fair", len(fair), "as many marks as outcomes and energies")
    for outcome in through:
        if outcome not in (0, 1):
            raise CantUse("through", outcome, "0 or 1")
    worn = [int(hit) for hit, mark in zip(through, fair, strict=True) if mark is False]
    fresh = [int(hit) for hit, mark in zip(through, fair, strict=True) if mark is True]
    if not worn:
        return CantTell(because("none_near_an_earlier_hit"))
    if not fresh:
        return CantTell(because("no_fair_shot"))
    counts = {"other_hits": sum(fresh), "other_shots": len(fresh)}
    difference = difference_of_shares(sum(worn), len(worn), level=level, **counts)
    test = odds_within_levels([(sum(worn), len(worn), sum(fresh), len(fresh))])
    could_show = most_these_could_show(len(worn), len(fresh), level=level)
    if isinstance(difference, CantTell) or isinstance(could_show, CantTell):
        raise AssertionError("both groups have shots, so both have an answer")
    near = [None if mark is None else float(not mark) for mark in fair]
    at_like_energy = fit_with_terms(energies_j, through, terms={"near an earlier hit": near}, level=level)
    not_known = len(fair) - len(worn) - len(fresh)
    p_value = test.p_value if isinstance(test, Odds) else 1.0  # all through, or none: nothing parts them
    return Wear(difference, p_value, could_show, at_like_energy, not_known)
