"""The results of a view as pictures besides that of outcomes by energy: shares, the ladder, depths.

Heads stand together under one band: over all bands at once, whoever was shot hardest looks best.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.depth_by_energy import DepthByEnergy, DepthGroup, DepthMark, depth_by_energy
from server.charts.ladder_stack import LadderRow, LadderStack, ladder_stack
from server.charts.share_forest import ShareForest, ShareRow, share_forest
from server.findings.cells import Cell, CountedShot
from server.findings.results import HeadGroup, Results
from server.quantities import unit_for_reader
from server.records.trial import RUNG_WORDS

KIND = "Heads"


@dataclass(frozen=True)
class DrawingsOfResults:
    """`notes`: what was counted and how, for a picture that is taken along."""

    shares: ShareForest
    ladder: LadderStack
    depth: DepthByEnergy
    notes: tuple[str, ...]


def drawings_of(results: Results, *, reader: str) -> DrawingsOfResults | None:
    """None where no shot is counted."""
    shot = [(band, _with_shots(results, n)) for n, band in enumerate(results.bands)]
    if not any(cells for _, cells in shot):
        return None
    axis = results.axis
    rows = [(band.with_unit, group, cell) for band, cells in shot for group, cell in cells]
    return DrawingsOfResults(
        shares=share_forest(KIND, [_share(where, group, cell) for where, group, cell in rows], through_words=results.settings.through.past),
        ladder=ladder_stack(KIND, [_ladder(where, group, cell) for where, group, cell in rows], rung_words=RUNG_WORDS),
        depth=depth_by_energy(
            KIND, [_depths(group) for group in results.groups if group.shots], rung_words=RUNG_WORDS, edges=results.edges,
            axis_words=axis.words, unit=axis.unit, depth_unit=unit_for_reader("thickness", reader),
        ),
        notes=(results.showing, f"Counted: {results.counted} of {results.loosed} loosed."),
    )  # fmt: skip


def _with_shots(results: Results, band: int) -> list[tuple[HeadGroup, Cell]]:
    return [(group, group.cells[band]) for group in results.groups if group.cells[band].shots]


def _share(where: str, group: HeadGroup, cell: Cell) -> ShareRow:
    tally = cell.tally
    return ShareRow(
        group.words, tally.hits_low, tally.hits_high, tally.shots, tally.interval_low, tally.interval_high, heading=where,
        glyph=group.glyph, href=cell.href,
    )  # fmt: skip


def _ladder(where: str, group: HeadGroup, cell: Cell) -> LadderRow:
    return LadderRow(group.words, _rungs(cell.shots), heading=where, glyph=group.glyph, href=cell.href)


def _rungs(shots: Sequence[CountedShot]) -> list[tuple[int, int]]:
    facts = [one.shot.fact for one in shots]
    return [(f.outcome_low, f.outcome_high) for f in facts if f.outcome_low is not None and f.outcome_high is not None]


def _depths(group: HeadGroup) -> DepthGroup:
    return DepthGroup(group.words, [mark for cell in group.cells for one in cell.shots if (mark := _mark(one))], glyph=group.glyph)


def _mark(one: CountedShot) -> DepthMark | None:
    fact = one.shot.fact
    if one.energy is None or fact.outcome_low is None or fact.outcome_high is None:
        return None
    return DepthMark(
        fact.label, f"/shots/{fact.shot_id}", one.energy.value, fact.depth_m or None, fact.depth_bound == "at_least",
        fact.outcome_low, fact.outcome_high,
    )  # fmt: skip
