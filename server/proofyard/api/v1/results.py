"""Results: outcomes by head form and energy band at one panel type, as on the page."""

from typing import Any

from fastapi import Request, Response
from pydantic import Field

from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.answers.results.page import HeadGroup, Results, read_results
from proofyard.api.v1.asked import must_be_usable, query_of
from proofyard.api.v1.documented import routes, told
from proofyard.api.v1.findings import CaveatTold, CountedTold, FindingTold, ShareTold, counts, finding, share, to_check
from proofyard.api.v1.shapes import Shape
from proofyard.api.v1.told import answered, number
from proofyard.views.cells import Cell
from proofyard.views.settings import ALIKE, AT, AXIS, DEPTH, EDGES, ENTRY, FAIR, FILTERS, GROUP_BY, HEADS, METHOD, POOL, ROW_EDGES, THROUGH

router = routes("results")

# What a view of counted shots is asked, on the page of results and on those that stand beside it.
VIEW = (*FILTERS, HEADS, ENTRY, FAIR, THROUGH, DEPTH, POOL, AT)
OF_RESULTS = (*VIEW, METHOD, ALIKE, AXIS, EDGES, GROUP_BY, ROW_EDGES)


class CellTold(ShareTold):
    """The shots of one row in one band."""

    band_low: float | None = Field(description="The band begins here, in axis_unit; null: it has no lower end")
    band_high: float | None = Field(description="And ends before this; null: it has no upper end")
    fairness_undecided: int = Field(description="Shots beside, of which nobody knows whether they are fair hits: in no count")
    with_undecided: ShareTold | None = Field(description="The widest that fits, with those counted; null without any")
    mean: float | None = Field(description="Where its shots stand on the axis, their mean, in axis_unit")
    mean_u: float | None = Field(description="Standard uncertainty of that (GUM): what is off for one shot may be off for all")
    least: float | None = Field(description="The least of them, in axis_unit")
    most: float | None = Field(description="The most of them, in axis_unit")
    depth_median_m: float | None = Field(description="How far tips stood past the rear face, of those measured: the median")
    depth_least_m: float | None
    depth_most_m: float | None
    depth_measured: int = Field(description="How many depths were measured")
    depth_at_least: bool = Field(description="The median can only be more: some depths were read as “at least”")


class HeadTold(Shape):
    """One row of heads, from the lowest band up."""

    row: str = Field(description="The head form, or the band of a measure")
    words: str
    cells: list[CellTold]
    unmeasured: ShareTold = Field(description="Its shots that stand nowhere on the axis")


class PanelTypeTold(Shape):
    panel_type_key: str
    panel_type: str = Field(description="The panel type, in words")


class ResultsTold(CountedTold):
    """Heads by energy band at one panel type."""

    panel_type_key: str | None = Field(description="The panel type that is shown; ask for others by panel_type")
    panel_types: list[PanelTypeTold] = Field(description="All that could be shown")
    axis: str
    axis_unit: str
    band_edges: list[float] = Field(description="The limits of the bands, in axis_unit")
    finding: FindingTold
    totals_hidden: bool = Field(description="Energies were chosen by the outcomes: counts over all energies mean nothing")
    heads: list[HeadTold]
    to_check: list[CaveatTold] = Field(description="What to check before these counts are trusted, those that weigh most first")


@router.get("/results", **told(ResultsTold, filters=OF_RESULTS, listed=False))
def results(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Response:
    """Results: heads by energy band

    At one panel type, the one that was hit most unless another is asked for; with the finding, what was left out and what to check.
    """

    def make() -> dict[str, Any]:
        query = query_of(request, known=OF_RESULTS, paged=False)
        found = read_results(book, query, only_trial=seat.trial_id)
        must_be_usable(found.asked)
        return _told(found)

    return answered(request, seat, book, make)


def _told(found: Results) -> dict[str, Any]:
    return counts(found) | {
        "panel_type_key": found.settings.only.get("panel_type"),
        "panel_types": [{"panel_type_key": key, "panel_type": words} for key, words in found.types.items()],
        "axis": found.settings.axis,
        "axis_unit": found.axis.unit,
        "band_edges": list(found.edges),
        "finding": finding(found.finding),
        "totals_hidden": found.totals_hidden,
        "heads": [_head(one) for one in found.groups],
        "to_check": to_check(found.to_check),
    }


def _head(group: HeadGroup) -> dict[str, Any]:
    cells = [_cell(one) for one in group.cells]
    return {"row": group.form, "words": group.words, "cells": cells, "unmeasured": share(group.unmeasured_tally)}


def _cell(cell: Cell) -> dict[str, Any]:
    energy, depths = cell.energy, cell.depths
    return share(cell.tally) | {
        "band_low": number(cell.band.low_j),
        "band_high": number(cell.band.high_j),
        "fairness_undecided": len(cell.not_known),
        "with_undecided": share(cell.bounds) if cell.bounds else None,
        "mean": number(energy.mean.value) if energy else None,
        "mean_u": number(energy.mean.standard_uncertainty) if energy else None,
        "least": number(energy.least_j) if energy else None,
        "most": number(energy.most_j) if energy else None,
        "depth_median_m": depths.median_m if depths else None,
        "depth_least_m": depths.least_m if depths else None,
        "depth_most_m": depths.most_m if depths else None,
        "depth_measured": depths.given if depths else 0,
        "depth_at_least": depths.at_least if depths else False,
    }
