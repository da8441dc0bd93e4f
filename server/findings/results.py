"""Outcomes by head form and energy band: the results page, put together. The download works from the same shots."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from server.charts.outcome_by_energy import OutcomeByEnergy, draw_outcome_by_energy
from server.charts.outcome_words import BandShare, ShotMark
from server.findings.axes import AXES, ROWS, Axis, on_axis
from server.findings.bands import Band, bands_of, default_edges, edges_text, round_edges
from server.findings.caveats.caveat import Caveat
from server.findings.caveats.chosen_energies import energies_chosen
from server.findings.caveats.collected import caveats_of as caveats_found
from server.findings.caveats.collected import notes_by_group
from server.findings.caveats.of_results import view_of_results
from server.findings.cells import Cell, CountedShot, Tally, counted_shot, make_cell, tally_of
from server.findings.left_out import OFF_AXIS, SET_APART, LeftOut, left_out_rows, standing
from server.findings.loosed import Loosed, LoosedShot, load_loosed
from server.findings.row_groups import RowGroup, group_of, rows_of, settled
from server.findings.sentences import NO_TOTALS, Finding, caveats_of, finding_of, head_note, settings_words
from server.findings.view_settings import (
    METHOD_WORDS,
    Asked,
    Choices,
    Query,
    ViewSettings,
    asked_of,
    choices_of,
    form_words,
    sort_of,
    wants_pool,
)
from server.records.caveat_facts import NO_FACTS, CaveatFacts, caveat_facts
from server.records.trial import RUNG_WORDS
from server.storage import Storage

if TYPE_CHECKING:
    from server.findings.half.shown import HalfShown


@dataclass(frozen=True)
class HeadGroup:
    """One row of heads: its cells from the lowest band up, its picture, and its shots that stand nowhere on the axis.

    form  the row's key; `id` the same for an element
    half  the energy at which half get through, in words, or why it isn't placed; "" where nothing is counted
    """

    form: str
    words: str
    glyph: str
    cells: tuple[Cell, ...]
    picture: OutcomeByEnergy
    note: str
    half: str
    unmeasured: tuple[CountedShot, ...]
    unmeasured_tally: Tally
    unmeasured_href: str

    @property
    def id(self) -> str:
        return self.form.replace(".", "_")

    @property
    def shots(self) -> int:
        return sum(cell.tally.shots for cell in self.cells)


@dataclass(frozen=True)
class Alone:
    """The sort of panel that the finding speaks of, where the table mixes several; and the view of it alone."""

    words: str
    sorts: int
    href: str


@dataclass(frozen=True)
class Results:
    """All that the page shows. counted + the counts of left_out = loosed; struck shots are in neither.

    to_mind        what the tool found that these counts can't carry, those that weigh most first
    totals_hidden  energies were chosen by the outcomes: what is counted over all energies means nothing
    """

    asked: Asked
    choices: Choices
    showing: str
    method: str
    bands: tuple[Band, ...]
    edges: tuple[float, ...]
    groups: tuple[HeadGroup, ...]
    finding: Finding
    alone: Alone | None
    caveats: tuple[str, ...]
    left_out: tuple[LeftOut, ...]
    counted: int
    loosed: int
    struck: int
    struck_href: str
    everything: Tally | None
    to_mind: tuple[Caveat, ...]
    totals_hidden: bool

    @property
    def notes(self) -> Mapping[str, tuple[str, ...]]:
        """What stands beside a cell's count."""
        return notes_by_group(self.to_mind)

    @property
    def settings(self) -> ViewSettings:
        return self.asked.settings

    @property
    def axis(self) -> Axis:
        return AXES[self.settings.axis]

    @property
    def off_axis_words(self) -> str:
        """What is said of shots that stand nowhere on the axis."""
        keys = {row.key for row in self.left_out} & set(OFF_AXIS)
        return "not measured" if keys <= {"not_measured"} else "can’t be told"

    @property
    def half_href(self) -> str:
        """The same shots on the page of the curve."""
        return self.settings.address("/half", edges=self.edges)

    @property
    def row_edges_words(self) -> str:
        return edges_text(self.settings.row_edges or ())

    @property
    def row_unit(self) -> str:
        return ROWS[self.settings.rows].shown_unit

    @property
    def left_out_count(self) -> int:
        return self.loosed - self.counted

    @property
    def edges_words(self) -> str:
        return edges_text(self.edges)


@dataclass(frozen=True)
class Sorted:
    """The shots of a view by what becomes of them: counted in a band, or left out under a reason."""

    counted: tuple[LoosedShot, ...]
    apart: Mapping[str, tuple[LoosedShot, ...]]
    struck: tuple[LoosedShot, ...]

    @property
    def loosed(self) -> int:
        return len(self.counted) + sum(map(len, self.apart.values()))


def sort_shots(loosed: Loosed, settings: ViewSettings) -> Sorted:
    """Each loose that this view is about under exactly one heading."""
    counted: list[LoosedShot] = []
    apart: dict[str, list[LoosedShot]] = {}
    for shot in loosed.shots:
        if settings.takes(shot.fact):
            reason = standing(shot, settings)
            (counted if reason is None else apart.setdefault(reason, [])).append(shot)
    return Sorted(
        counted=tuple(counted),
        apart={key: tuple(shots) for key, shots in apart.items()},
        struck=tuple(shot for shot in loosed.struck if settings.takes(shot.fact)),
    )


def read_results(book: Storage, query: Query, *, only_trial: str | None = None) -> Results:
    """The results of a book as an address asks for them. `only_trial`: all that this viewer may see."""
    with book.read() as session:
        loosed = load_loosed(session, pool=wants_pool(query))
        facts = caveat_facts(session)
    return results_of(loosed.of_trial(only_trial), query, facts=facts)


def results_of(loosed: Loosed, query: Query, *, facts: CaveatFacts = NO_FACTS) -> Results:
    """The results of these shots. `facts`: what caveats ask for beside them."""
    choices, asked = ask(loosed, query)
    settings = asked.settings
    sorted_shots = sort_shots(loosed, settings)
    not_known = sorted_shots.apart.get("not_known", ())
    edges = settings.edges or suggested_edges(settings, sorted_shots.counted, not_known)
    counted = [counted_shot(shot, settings, edges=edges) for shot in sorted_shots.counted]
    unsure = [counted_shot(shot, settings, edges=edges) for shot in not_known]
    placed = [one.energy.value for one in (*counted, *unsure) if one.energy is not None]
    bands = bands_of(edges, placed, unit=AXES[settings.axis].unit)
    unmeasured = [counted_shot(shot, settings, edges=edges) for key in OFF_AXIS for shot in sorted_shots.apart.get(key, ())]
    hidden = energies_chosen(view_of_results(loosed, counted, facts=facts, settings=settings))
    groups = tuple(
        _group(row, bands, settings, edges=edges, counted=counted, unsure=unsure, unmeasured=unmeasured, hidden=hidden)
        for row in rows_of((one.row for one in (*counted, *unsure, *unmeasured)), settings)
    )
    cells = [cell for group in groups for cell in group.cells]
    finding, alone = _finding(cells, settings, counted=counted, unsure=unsure, loosed=sorted_shots.loosed, edges=edges)
    if hidden and len(bands) < 2:
        finding, alone = NO_TOTALS, None
    return Results(
        asked=asked,
        choices=choices,
        showing=settings_words(settings, setting_names(settings, choices)),
        method=METHOD_WORDS[settings.method],
        bands=bands,
        edges=tuple(edges),
        groups=groups,
        finding=finding,
        alone=alone,
        caveats=tuple(caveats_of(cells, counted, settings=settings)),
        left_out=left_out_rows(sorted_shots.apart, settings, edges=edges),
        counted=len(counted),
        loosed=sorted_shots.loosed,
        struck=len(sorted_shots.struck),
        struck_href=settings.address("/results/shots", edges=edges, out="struck"),
        everything=tally_of(counted, settings.method, open_shots=len(unsure)) if unsure and not hidden else None,
        to_mind=caveats_found(view_of_results(loosed, counted, cells=cells, facts=facts, settings=settings)),
        totals_hidden=hidden,
    )


def ask(loosed: Loosed, query: Query) -> tuple[Choices, Asked]:
    """What the data offers, and what this address asks of it."""
    choices = choices_of(loosed)
    own = {trial.id: trial.through for trial in loosed.trials.values()}
    asked = asked_of(query, choices, through_of_trial=own)
    return choices, replace(asked, settings=settled(asked.settings, loosed.shots))


def _finding(
    cells: Sequence[Cell],
    settings: ViewSettings,
    *,
    counted: Sequence[CountedShot],
    unsure: Sequence[CountedShot],
    loosed: int,
    edges: Sequence[float],
) -> tuple[Finding, Alone | None]:
    """The finding. Where sorts of panel are mixed, that of the sort which says most: a share of a mixture says little."""
    sorts = dict(sort_of(one.shot.fact) for one in counted)
    if len(sorts) < 2:
        return finding_of(cells, settings.through, loosed=loosed, counted=len(counted)), None
    found = []
    for value, words in sorted(sorts.items()):
        mine, mine_unsure = ([one for one in some if sort_of(one.shot.fact)[0] == value] for some in (counted, unsure))
        of_sort = [
            make_cell(
                group_of(form, settings), band, counted=_of_row(mine, form), not_known=_of_row(mine_unsure, form), method=settings.method, href=""
            )
            for form, band in dict.fromkeys((cell.form, cell.band) for cell in cells)
        ]
        href = replace(settings, only={**settings.only, "sort": value}).address(edges=edges)
        found.append((finding_of(of_sort, settings.through, loosed=loosed, counted=len(mine)), Alone(words, len(sorts), href)))
    return max(found, key=lambda one: one[0].weight)


def _of_row(shots: Sequence[CountedShot], row: str) -> list[CountedShot]:
    return [one for one in shots if one.row == row]


def suggested_edges(settings: ViewSettings, *groups: Sequence[LoosedShot]) -> tuple[float, ...]:
    """Round edges of bands that suit these shots, where nobody typed any."""
    axis = AXES[settings.axis]
    found = [on_axis(shot, axis, place=settings.place) for group in groups for shot in group]
    known = [one for one in found if one is not None]
    return default_edges(known) if axis.unit == "J" else round_edges([one.value for one in known])


def _group(
    row: RowGroup,
    bands: Sequence[Band],
    settings: ViewSettings,
    *,
    edges: Sequence[float],
    counted: Sequence[CountedShot],
    unsure: Sequence[CountedShot],
    unmeasured: Sequence[CountedShot],
    hidden: bool,
) -> HeadGroup:
    from server.findings.half.shown import half_shown  # late: the start need not wait for fits

    mine, mine_unsure, without = (tuple(_of_row(some, row.key)) for some in (counted, unsure, unmeasured))
    half = half_shown(mine, unmeasured=len(without), axis=settings.axis)
    cells = tuple(
        make_cell(
            row, band, counted=mine, not_known=mine_unsure, method=settings.method,
            href=settings.address("/results/shots", edges=edges, cell=f"{row.key}:{band.value}"),
        )
        for band in bands
    )  # fmt: skip
    return HeadGroup(
        form=row.key,
        words=row.words,
        glyph=row.glyph,
        cells=cells,
        picture=_picture(row.words, mine, cells, settings=settings, half=half, shares=not hidden or len(bands) > 1),
        note=head_note(cells, totals=not hidden),
        half=half.words,
        unmeasured=without,
        unmeasured_tally=tally_of(without, settings.method),
        unmeasured_href=settings.address("/results/shots", edges=edges, cell=f"{row.key}:not_measured"),
    )


def _picture(
    name: str, shots: Sequence[CountedShot], cells: Sequence[Cell], *, settings: ViewSettings, half: "HalfShown", shares: bool
) -> OutcomeByEnergy:
    marks = [_mark(one, AXES[settings.axis].unit) for one in shots]
    of_bands = [
        BandShare(
            cell.band.low_j, cell.band.high_j, cell.tally.hits_low, cell.tally.hits_high, cell.tally.shots,
            cell.tally.interval_low, cell.tally.interval_high,
        )
        for cell in cells
    ]  # fmt: skip
    # One axis for all heads: pictures that are compared must not each have a scale of their own.
    return draw_outcome_by_energy(
        name,
        marks,
        of_bands if shares else [],
        rung_words=RUNG_WORDS,
        through_words=settings.through.past,
        energy_range_j=_axis([cell.band for cell in cells]),
        axis_words=AXES[settings.axis].words,
        unit=AXES[settings.axis].unit,
        curve=half.curve,
    )


def _axis(bands: Sequence[Band]) -> tuple[float, float] | None:
    edges = sorted({edge for band in bands for edge in (band.low_j, band.high_j) if math.isfinite(edge)})
    if not edges:
        return None
    width = (edges[-1] - edges[0]) / max(1, len(edges) - 1) or edges[0] / 4 or 20.0
    low = edges[0] - (width if any(math.isinf(band.low_j) for band in bands) else 0.0)
    high = edges[-1] + (width if any(math.isinf(band.high_j) for band in bands) else 0.0)
    return max(0.0, low), high


def _mark(one: CountedShot, unit: str) -> ShotMark:
    fact, energy = one.shot.fact, one.energy
    assert energy is not None and fact.outcome_low is not None and fact.outcome_high is not None
    return ShotMark(
        label=fact.label,
        href=f"/shots/{fact.shot_id}",
        energy_j=energy.value,
        energy_u_j=energy.standard_uncertainty,
        rung_low=fact.outcome_low,
        rung_high=fact.outcome_high,
        note="" if one.near_edge_j is None else f"may lie on the other side of {one.near_edge_j:g} {unit}",
    )


def setting_names(settings: ViewSettings, choices: Choices) -> dict[str, str]:
    """What is narrowed to, by filter, in words."""
    names = {name: choices[name][value] for name, value in settings.only.items()}
    names |= {"head": " and ".join(form_words(head).lower() for head in settings.heads)} if settings.heads else {}
    return names | {"way": choices["way"].get(settings.way, settings.way).lower()}


__all__ = [
    "SET_APART", "Asked", "HeadGroup", "Results", "Sorted", "ask", "read_results", "results_of", "setting_names", "sort_shots",
    "suggested_edges",
]  # fmt: skip
