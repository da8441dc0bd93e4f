"""The 50 % energy (ballistic limit V50, as an energy), for each head and panel type, with all that can be asked of its curve."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from proofyard.answers.fifty_percent.averaging import averaging_found
from proofyard.answers.fifty_percent.settings import FiftyPercentAsked, fifty_percent_asked
from proofyard.answers.fifty_percent.terms import nearest_earlier_m, terms_told
from proofyard.answers.fifty_percent.told import Facts, HeadsCompared, cautions, compare_heads, limit_told, tails_told, uncertainty_told
from proofyard.caveats.caveat import Caveat
from proofyard.caveats.collected import caveats_of
from proofyard.caveats.of_shots import view_of_shots
from proofyard.caveats.over_time import energies_chosen
from proofyard.charts.curves import CurveMark, draw_curve_by_energy
from proofyard.charts.figure import Figure
from proofyard.how_far import part_by_part
from proofyard.quantities import unit_for_reader
from proofyard.quantities.reason import Reason, because
from proofyard.records.caveat_facts import NO_FACTS, CaveatFacts, caveat_facts
from proofyard.shots.loosed import Loosed, load_loosed
from proofyard.storage import Storage
from proofyard.views.address import Query
from proofyard.views.cells import RowGroup, counted_shot, row_key, rows_of
from proofyard.views.counted import Sorted, setting_names, settings_words, sort_shots
from proofyard.views.curve import FiftyPercent, energy_of, estimate_of, fifty_percent_of, outside_of, shape_of, told_of
from proofyard.views.pair_comparison import PairFamily, pair_families
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import asked_trial, wants_pool
from proofyard.wording.reasons.said import said


@dataclass(frozen=True)
class HeadFiftyPercent:
    """One head at one panel type. `key`: of its row; `lead`: the one sentence; `notes`: what to check in reading it.

    counts, point, range  the same in a row of the list: how many got through (only how many were shot, where energies were
                          chosen by the outcomes), the point, and its range or the reason why there is none
    """

    id: str
    key: str
    words: str
    who: str
    glyph: str
    found: FiftyPercent
    lead: Reason
    counts: Reason
    point: Reason
    range: Reason
    notes: tuple[Reason, ...]
    drawing: Figure | None
    tails: Facts
    terms: tuple[Reason, ...]
    limit: Facts


@dataclass(frozen=True)
class PanelTypePart:
    """One panel type: its heads, each alone, and then against each other. `key`: as addresses have it."""

    id: str
    key: str
    words: str
    heads: tuple[HeadFiftyPercent, ...]
    compared: HeadsCompared
    compare_href: str


@dataclass(frozen=True)
class FiftyPercentAnswer:
    """All that the page shows."""

    asked: FiftyPercentAsked
    showing: str
    finding: Reason
    parts: tuple[PanelTypePart, ...]
    counted: int
    loosed: int
    reader: str
    to_check: tuple[Caveat, ...]

    limit_label: ClassVar[Reason] = because("averaging_limit_is_borrowed")


def read_fifty_percent(book: Storage, query: Query, *, reader: str, only_trial: str | None = None) -> FiftyPercentAnswer:
    """The curves of a book as an address asks for them. `only_trial`: all that this viewer may see."""
    with book.read() as session:
        loosed = load_loosed(session, pool=wants_pool(query), trial_id=asked_trial(query, only_trial))
        facts = caveat_facts(session, loosed.facts)
    # Earlier hits count per panel build across trials, also those that this viewer may not see.
    nearest = nearest_earlier_m([shot.fact for shot in loosed.shots]) if "near" in query.get("term", ()) else {}
    return fifty_percent(loosed.of_trial(only_trial), query, reader=reader, nearest_m=nearest, facts=facts)


def fifty_percent(
    loosed: Loosed, query: Query, *, reader: str, nearest_m: Mapping[str, float | None] | None = None, facts: CaveatFacts = NO_FACTS
) -> FiftyPercentAnswer:
    """The curves of these shots. `facts`: what caveats ask for beside them."""
    tags = {shot.fact.arrow_id: shot.fact.arrow_tag for shot in loosed.shots}
    arrows = dict(sorted(tags.items(), key=lambda pair: pair[1]))
    asked = fifty_percent_asked(loosed, query, arrows=arrows, reader=reader)
    found = sort_shots(loosed, asked.view)
    view = view_of_shots(
        found.counted, facts, around=loosed.shots, trials=loosed.trials, through=asked.view.through, place=asked.view.place
    )
    work = _Work(asked, reader, nearest_m or {}, _energies(found, asked), energies_chosen(view))
    families = {one.key: one for one in pair_families(loosed, asked.view)}
    parts = tuple(
        _panel_type_part(value, words, found, work, families.get(value))
        for value, words in part_by_part(_panel_types(found), "panel types")
    )
    return FiftyPercentAnswer(
        asked=asked,
        showing=settings_words(asked.view, setting_names(asked.view, asked)).partition(" Ranges: ")[0],
        finding=_finding(parts, found),
        parts=parts,
        counted=len(found.counted),
        loosed=found.loosed,
        reader=reader,
        to_check=caveats_of(view),
    )


@dataclass(frozen=True)
class _Work:
    """What every head of one page is worked out with. `range_j`: one axis for all drawings, None without an energy.
    `totals_hidden`: energies were chosen by the outcomes, so how many got through over all of them means nothing."""

    asked: FiftyPercentAsked
    reader: str
    nearest_m: Mapping[str, float | None]
    range_j: tuple[float, float] | None
    totals_hidden: bool


def _energies(found: Sorted, asked: FiftyPercentAsked) -> tuple[float, float] | None:
    energies = [one.value for shot in found.counted if (one := shot.energy_at(asked.view.place)) is not None]
    return (min(energies), max(energies)) if energies else None


def _panel_types(found: Sorted) -> list[tuple[str, str]]:
    """The panel types that were shot, the most shot first."""
    counts: dict[tuple[str, str], int] = {}
    for shot in (*found.counted, *found.off_axis):
        counts[panel_type_of(shot.fact)] = counts.get(panel_type_of(shot.fact), 0) + 1
    return sorted(counts, key=lambda sort: (-counts[sort], sort))


def _panel_type_part(value: str, words: str, found: Sorted, work: _Work, family: PairFamily | None) -> PanelTypePart:
    view = work.asked.view
    mine = [counted_shot(shot, view, edges=()) for shot in found.counted if panel_type_of(shot.fact)[0] == value]
    without = [row_key(shot, view) for shot in found.off_axis if panel_type_of(shot.fact)[0] == value]
    rows = rows_of([*(one.row for one in mine), *without], view)
    points = [(row, fifty_percent_of([one for one in mine if one.row == row.key], unmeasured=without.count(row.key))) for row in rows]
    return PanelTypePart(
        id=f"on-{value.replace('.', '_')}",
        key=value,
        words=words,
        heads=tuple(_head(row, point, value, words, work=work) for row, point in points),
        compared=compare_heads(family),
        compare_href=replace(work.asked.view, only={**work.asked.view.only, "panel_type": value}).address("/compare"),
    )


def _head(row: RowGroup, found: FiftyPercent, panel_type: str, on: str, *, work: _Work) -> HeadFiftyPercent:
    asked, point = work.asked, found.point
    lead = _lead(row, found, on)
    counts = because("so_many_shots", shots=found.shots)
    return HeadFiftyPercent(
        id=f"{row.key}-{panel_type}".replace(".", "_"),
        key=row.key,
        words=row.words,
        who=row.who,
        glyph=row.glyph,
        found=found,
        lead=lead,
        counts=counts if work.totals_hidden else because("through_of_shots", hits=found.hits, shots=found.shots),
        point=energy_of(point) if point else because("point_not_found"),
        range=because("range_of_point", low_j=point.low_j, high_j=point.high_j, outside=bool(point.outside))
        if point
        else because("sentence_of_its_own", why=found.why_not),
        notes=(*cautions(found), *uncertainty_told(found, place=asked.view.place)),
        drawing=_drawing(row.words, found, said(lead, work.reader), work=work),
        tails=tails_told(found, asked.tails),
        terms=terms_told(found.settled, asked.terms, nearest_m=work.nearest_m),
        limit=limit_told(averaging_found(found.settled, asked), found),
    )


def _lead(row: RowGroup, found: FiftyPercent, on: str) -> Reason:
    """The one sentence on a head."""
    if found.point is None:
        return because("lead_not_found", who=row.who, on=on, why=found.why_not)
    open_end = because("sentence_of_its_own", why=found.point.unbounded) if found.point.unbounded else None
    more = tuple(one for one in (outside_of(found.point), open_end) if one)
    return because("lead_found", who=row.who, on=on, estimate=told_of(found), more=more)


def _drawing(name: str, found: FiftyPercent, lead: str, *, work: _Work) -> Figure | None:
    if work.range_j is None or found.point is None:
        return None
    marks = [
        CurveMark(one.shot.fact.label, f"/shots/{one.shot.fact.shot_id}", one.energy.value, one.through_low)
        for one in found.settled
        if one.energy is not None
    ]
    least, most = work.range_j
    air = 0.15 * (most - least) or 0.1 * most
    ends = (max(least - air, 0.0), most + air)
    shape = shape_of(found, within=ends)
    return draw_curve_by_energy(name, marks, shape, unit=unit_for_reader("energy", work.reader), curve_words=lead, range_j=ends)


def _finding(parts: Sequence[PanelTypePart], found: Sorted) -> Reason:
    """The page's one finding: the 50 % energy that is best known."""
    placed = [(part, head) for part in parts for head in part.heads if head.found.point is not None]
    if not placed:
        return because("no_estimate_with_any_head") if found.loosed else because("no_shots_for_a_curve")
    part, head = min(placed, key=lambda pair: (_width(pair[1].found), -pair[1].found.shots))
    assert head.found.point is not None
    return because("lead_found", who=head.who, on=part.words, estimate=estimate_of(head.found.point), more=())


def _width(found: FiftyPercent) -> float:
    """High end over low end; without end where a side is not bounded."""
    point = found.point
    return point.high_j / point.low_j if point and point.low_j and point.high_j else math.inf
