"""Does an earlier hit nearby matter? Fair shots against those that were not fair."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from server.statistics.comparing import (
    CouldShow,
    ExactTest,
    ShareDifference,
    difference_of_shares,
    exact_test,
    most_these_could_show,
)
from server.statistics.heads_by_curve import CurveWithTerms, fit_with_terms
from server.statistics.refusals import CantTell, CantUse

CAVEAT = (
    "Nobody drew lots for which shots would strike near an earlier hit. Close groups, easy spots, the later hours and "
    "the heads shot last end there more often, and each of those may matter by itself. So this shows what went "
    "together, not what an earlier hit does. To learn that, shoot at marks set beforehand, some of them near a hit."
)


@dataclass(frozen=True, eq=False)
class Wear:
    """Not fair less fair, as shares and at like energy, with what so few could show and the caveat."""

    difference: ShareDifference
    test: ExactTest
    could_show: CouldShow
    at_like_energy: CurveWithTerms | CantTell
    not_known: int
    caveat: str = CAVEAT


def wear(
    through: Sequence[int], fair: Sequence[bool | None], *, energies_j: Sequence[float | None], level: float = 0.95
) -> Wear | CantTell:
    """How much oftener shots got through where an earlier hit was near than where none was.

    share of not fair - share of fair; and at like energy: ln(p/(1-p)) = b0 + b ln E + c (not fair)

    Takes
        through     0 or 1 a shot
        fair        True, False or None a shot  by what was so before it struck; None where that is not known
        energies_j  array, J, above 0, or None  at the panel
        level       scalar, 0.5 up to 1
    Gives
        Wear; at_like_energy is CantTell with its reason where the shots don't carry it.
        CantTell when no shot was fair, or none was not
    Refuses
        CantUse  not as many outcomes, marks and energies; what difference_of_shares and fit_with_terms refuse
    Holds while
        fair rests only on what was so before the arrow struck, never on how it turned out
    Weak when
        always: who struck near an earlier hit was not drawn by lot. caveat says so on the page
    Source
        as difference_of_shares, exact_test and fit_with_terms. Checked in tests/statistics/test_statistics_wear.py
    >>> found = wear([1, 1, 1, 0, 0, 0, 1, 0], [False] * 4 + [True] * 4, energies_j=[45] * 8)
    >>> found.difference.difference, found.could_show.words
    (0.5, '4 against 4: only all against none could tell')
    """
    if not len(through) == len(fair) == len(energies_j):
        raise CantUse("fair", len(fair), "as many marks as outcomes and energies")
    for outcome in through:
        if outcome not in (0, 1):
            raise CantUse("through", outcome, "0 or 1")
    worn = [int(hit) for hit, mark in zip(through, fair, strict=True) if mark is False]
    fresh = [int(hit) for hit, mark in zip(through, fair, strict=True) if mark is True]
    if not worn:
        return CantTell("no shot struck near an earlier hit")
    if not fresh:
        return CantTell("no fair shot to compare with")
    counts = {"other_hits": sum(fresh), "other_shots": len(fresh)}
    difference = difference_of_shares(sum(worn), len(worn), level=level, **counts)
    test = exact_test(sum(worn), len(worn), **counts)
    could_show = most_these_could_show(len(worn), len(fresh), level=level)
    if isinstance(difference, CantTell) or isinstance(test, CantTell) or isinstance(could_show, CantTell):
        raise AssertionError("both groups have shots, so each of the three has an answer")
    near = [None if mark is None else float(not mark) for mark in fair]
    at_like_energy = fit_with_terms(energies_j, through, terms={"near an earlier hit": near}, level=level)
    not_known = len(fair) - len(worn) - len(fresh)
    return Wear(difference, test, could_show, at_like_energy, not_known)
