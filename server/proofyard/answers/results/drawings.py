"""The results of a view as drawings: every shot by energy, shares, the outcome, depths.

Heads stand together under one band: over all bands at once, whoever was shot hardest looks best.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from proofyard.answers.results.finding import head_note
from proofyard.answers.results.page import HeadGroup, Results
from proofyard.charts.curves import CurveShape
from proofyard.charts.depth_by_energy import DepthGroup, depth_by_energy
from proofyard.charts.figure import Figure
from proofyard.charts.group_rows import GroupRow
from proofyard.charts.outcome_by_energy import draw_outcome_by_energy
from proofyard.charts.outcome_stack import outcome_stack
from proofyard.charts.outcome_words import BandShare, ShotMark
from proofyard.charts.share_forest import share_forest
from proofyard.quantities import from_si, unit_for_reader
from proofyard.quantities.reason import Reason, because
from proofyard.records.trial import OUTCOME_WORDS
from proofyard.views.axes import Band
from proofyard.views.cells import Cell, CountedShot
from proofyard.views.curve import fifty_percent_of, outside_of, shape_of, told_of
from proofyard.views.panel_type import panel_type_of
from proofyard.wording.reasons.said import said

KIND = "Heads"


@dataclass(frozen=True)
class DrawnHead:
    """One head's shots by energy, the line under it, and its 50 % energy, or why there is no estimate; None where nothing is counted."""

    group: HeadGroup
    drawing: Figure
    note: Reason
    fifty_percent: Reason | None


@dataclass(frozen=True)
class DrawingsOfResults:
    """Heads beside each other."""

    shares: Figure
    outcomes: Figure
    depth: Figure


def drawings_of(results: Results) -> DrawingsOfResults | None:
    """None where no shot is counted."""
    cells = [(band.with_unit, group, group.cells[n]) for n, band in enumerate(results.bands) for group in results.groups]
    rows = [_row(where, group, cell) for where, group, cell in cells if cell.shots]
    if not rows:
        return None
    depths = [
        DepthGroup(group.words, [shot_mark(one, results) for cell in group.cells for one in cell.shots], glyph=group.glyph)
        for group in results.groups
        if group.shots
    ]
    return DrawingsOfResults(
        shares=share_forest(KIND, rows, through_words=results.settings.through.past),
        outcomes=outcome_stack(KIND, rows, outcome_words=OUTCOME_WORDS),
        depth=depth_by_energy(
            KIND,
            depths,
            outcome_words=OUTCOME_WORDS,
            edges=tuple(_told(edge, results) for edge in results.edges),
            axis_words=results.axis.words,
            unit=results.unit,
            depth_unit=unit_for_reader("length", results.reader),
        ),
    )


def notes_of(results: Results) -> tuple[str, ...]:
    """What was counted, for a drawing that leaves the page."""
    return (results.showing, said(because("counted_in_a_file", counted=results.counted, loosed=results.loosed)))


def _row(where: str, group: HeadGroup, cell: Cell) -> GroupRow:
    facts = [one.shot.fact for one in cell.shots]
    levels = [(f.outcome_low, f.outcome_high) for f in facts if f.outcome_low is not None and f.outcome_high is not None]
    return GroupRow(group.words, cell.tally, levels, heading=where, glyph=group.glyph, href=cell.href)


def drawn_heads(results: Results) -> tuple[DrawnHead, ...]:
    """Every head's shots by energy, in the order of the rows."""
    return tuple(_drawn(group, results) for group in results.groups)


def _drawn(group: HeadGroup, results: Results) -> DrawnHead:
    mine = [one for one in results.counted_shots if one.row == group.form]
    curve, fifty_percent = _curve(mine, unmeasured=len(group.unmeasured), results=results)
    shares = not results.totals_hidden or len(results.bands) > 1
    # One axis for all heads: drawings that are compared must not each have a scale of their own.
    drawing = draw_outcome_by_energy(
        group.words,
        [shot_mark(one, results) for one in mine],
        [_band_share(cell, results) for cell in group.cells] if shares else [],
        outcome_words=OUTCOME_WORDS,
        through_words=results.settings.through.past,
        energy_range_j=_axis(results.bands, results),
        axis_words=results.axis.words,
        unit=results.unit,
        curve=curve,
    )
    return DrawnHead(group, drawing, head_note(group.cells, totals=not results.totals_hidden), fifty_percent)


def _told(value: float, results: Results) -> float:
    """A figure of the axis in the reader's unit."""
    return value if results.unit == results.axis.unit or math.isinf(value) else from_si(value, results.unit)


def _band_share(cell: Cell, results: Results) -> BandShare:
    return BandShare(_told(cell.band.low_j, results), _told(cell.band.high_j, results), cell.tally)


def _curve(shots: Sequence[CountedShot], *, unmeasured: int, results: Results) -> tuple[CurveShape | None, Reason | None]:
    """Of one head's counted shots, against the energy alone. One curve is of one panel type: where they mix, none is drawn."""
    if not shots or results.axis.key != "energy":
        return None, None
    types = {panel_type_of(one.shot.fact)[0] for one in shots}
    if len(types) > 1:
        return None, because("curve_of_mixed_types", types=len(types))
    found = fifty_percent_of(shots, unmeasured=unmeasured)
    if found.point is None:
        return None, because("fifty_percent_not_found", why=found.why_not)
    told = because("fifty_percent_found", estimate=told_of(found), more=outside_of(found.point))
    curve = shape_of(found)
    return (_in_unit(replace(curve, words=said(told, results.reader)), results) if curve else None), told


def _in_unit(curve: CurveShape, results: Results) -> CurveShape:
    low, high = curve.ends_j
    return replace(
        curve,
        energies_j=tuple(_told(one, results) for one in curve.energies_j),
        shot_j=(_told(curve.shot_j[0], results), _told(curve.shot_j[1], results)),
        middle_j=_told(curve.middle_j, results),
        ends_j=(None if low is None else _told(low, results), None if high is None else _told(high, results)),
    )


def _axis(bands: Sequence[Band], results: Results) -> tuple[float, float] | None:
    edges = sorted({edge for band in bands for edge in (band.low_j, band.high_j) if math.isfinite(edge)})
    if not edges:
        return None
    width = (edges[-1] - edges[0]) / max(1, len(edges) - 1) or edges[0] / 4 or 20.0
    low = edges[0] - (width if any(math.isinf(band.low_j) for band in bands) else 0.0)
    high = edges[-1] + (width if any(math.isinf(band.high_j) for band in bands) else 0.0)
    return _told(max(0.0, low), results), _told(high, results)


def shot_mark(one: CountedShot, results: Results) -> ShotMark:
    """A counted shot that has an energy, as charts take it."""
    fact, energy = one.shot.fact, one.energy
    assert energy is not None and fact.outcome_low is not None and fact.outcome_high is not None
    uncertainty, near = energy.standard_uncertainty, one.near_edge_j
    return ShotMark(
        label=fact.label,
        href=f"/shots/{fact.shot_id}",
        energy_j=_told(energy.value, results),
        energy_u_j=None if uncertainty is None else _told(uncertainty, results),
        outcome_low=fact.outcome_low,
        outcome_high=fact.outcome_high,
        note="" if near is None else said(because("perhaps_next_band", limit=f"{_told(near, results):.3g} {results.unit}")),
        depth_m=fact.depth_m or None,
        at_least=fact.depth_bound == "at_least",
    )
