"""Heads at one sort of panel against each other, through the curve: how many times the energy of the first one each needs."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.half.point import HalfPoint, as_printed
from server.findings.row_groups import RowGroup
from server.statistics.heads_by_curve import EnergyRatio, compare_heads_by_curve
from server.statistics.refusals import CantTell


@dataclass(frozen=True)
class HeadsCompared:
    """`against`: inside a sentence. Rows: head, how many times the energy, may be. `why_not` instead, where they can't be compared."""

    against: str
    rows: tuple[tuple[str, ...], ...]
    words: str
    why_not: str


def compare_heads(points: Sequence[tuple[RowGroup, HalfPoint]]) -> HeadsCompared:
    """The head with the most shots is the one that the others are measured against; one without a shot is left out."""
    shot = sorted((pair for pair in points if pair[1].settled), key=lambda pair: -pair[1].shots)
    energies = [energy for _, found in shot for energy in found.energies_j]
    through = [did for _, found in shot for did in found.through]
    heads = [row.who for row, found in shot for _ in found.settled]
    found = compare_heads_by_curve(energies, through, heads=heads)
    if isinstance(found, CantTell):
        return HeadsCompared("", (), "", as_printed(found.reason))
    names = {row.who: row.words for row, _ in shot}
    first = found.heads[0]
    rows = [(names[one.head], f"{one.ratio:.2f}", ratio_words(one)) for one in found.ratios]
    return HeadsCompared(first, tuple(rows), as_printed(found.words), "")


def ratio_words(one: EnergyRatio) -> str:
    """ "1.04 to 1.98", "1.04 or more", "0.98 or less"; and whether that leaves the two alike."""
    if one.low is None and one.high is None:
        return "can’t be told"
    if one.low is None:
        ends = f"{one.high:.2f} or less"
    else:
        ends = f"{one.low:.2f} or more" if one.high is None else f"{one.low:.2f} to {one.high:.2f}"
    apart = (one.low is not None and one.low > 1) or (one.high is not None and one.high < 1)
    return ends if apart else f"{ends}: may be alike"
