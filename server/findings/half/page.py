"""The energy at which half get through, head by head and sort of panel by sort, with all that can be asked of its curve."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.charts.curve_by_energy import CurveByEnergy, CurveMark, draw_curve_by_energy
from server.findings.caveats.caveat import Caveat
from server.findings.caveats.chosen_energies import energies_chosen
from server.findings.caveats.collected import caveats_of
from server.findings.caveats.of_shots import view_of_shots
from server.findings.cells import counted_shot
from server.findings.half.asides import Aside, doubt_words, mind_words, tails_told, terms_told
from server.findings.half.averaging import averaging_found
from server.findings.half.compared import HeadsCompared, compare_heads
from server.findings.half.limit import LimitTold, limit_told
from server.findings.half.nearest_hit import nearest_earlier_m
from server.findings.half.point import (
    HalfPoint,
    as_printed,
    ends_words,
    energy_words,
    half_point,
    outside_words,
    point_words,
    range_words,
    shape_of,
)
from server.findings.half.settings import HalfAsked, half_asked
from server.findings.half.terms import terms_found
from server.findings.left_out import OFF_AXIS
from server.findings.loosed import Loosed, LoosedShot, load_loosed
from server.findings.results import Sorted, setting_names, sort_shots
from server.findings.row_groups import RowGroup, row_key, rows_of
from server.findings.sentences import settings_words
from server.findings.view_settings import Choices, Query, sort_of, wants_pool
from server.quantities import unit_for_reader
from server.records.caveat_facts import NO_FACTS, CaveatFacts, caveat_facts
from server.storage import Storage


@dataclass(frozen=True)
class Cells:
    """How many got through (only how many were shot, where energies were chosen by the outcomes), the point, and its range,
    or the reason why there is none."""

    counts: str
    point: str
    range: str


@dataclass(frozen=True)
class HeadHalf:
    """One head at one sort of panel. `lead`: the one sentence; `notes`: what to mind in reading it; `cells`: the same in a
    row of the list."""

    id: str
    words: str
    glyph: str
    found: HalfPoint
    lead: str
    cells: Cells
    notes: tuple[str, ...]
    doubt: tuple[str, ...]
    picture: CurveByEnergy | None
    tails: Aside
    terms: Aside
    limit: LimitTold


@dataclass(frozen=True)
class SortPart:
    """One sort of panel: its heads, each alone, and then against each other."""

    id: str
    words: str
    heads: tuple[HeadHalf, ...]
    compared: HeadsCompared


@dataclass(frozen=True)
class HalfThrough:
    """All that the page shows. `arrows`: id -> tag, to pick one projectile of."""

    asked: HalfAsked
    choices: Choices
    arrows: Mapping[str, str]
    showing: str
    title: str
    parts: tuple[SortPart, ...]
    counted: int
    loosed: int
    unit: str
    to_mind: tuple[Caveat, ...]

    @property
    def results_href(self) -> str:
        """The same shots on the results page, with its own settings as they came along."""
        return self.asked.back


def read_half(book: Storage, query: Query, *, reader: str, only_trial: str | None = None) -> HalfThrough:
    """The curves of a book as an address asks for them. `only_trial`: all that this viewer may see."""
    with book.read() as session:
        loosed = load_loosed(session, pool=wants_pool(query))
        facts = caveat_facts(session)
    # Earlier hits count per panel build across trials, also those that this viewer may not see.
    nearest = nearest_earlier_m([shot.fact for shot in loosed.shots]) if "near" in query.get("term", ()) else {}
    return half_through(loosed.of_trial(only_trial), query, reader=reader, nearest_m=nearest, facts=facts)


def half_through(
    loosed: Loosed, query: Query, *, reader: str, nearest_m: Mapping[str, float | None] | None = None, facts: CaveatFacts = NO_FACTS
) -> HalfThrough:
    """The curves of these shots. `facts`: what caveats ask for beside them."""
    tags = {shot.fact.arrow_id: shot.fact.arrow_tag for shot in loosed.shots}
    arrows = dict(sorted(tags.items(), key=lambda pair: pair[1]))
    choices, asked = half_asked(loosed, query, arrows=arrows)
    found = sort_shots(loosed, asked.view)
    view = view_of_shots(found.counted, facts, around=loosed.shots, trials=loosed.trials, through=asked.view.through, place=asked.view.place)
    work = _Work(asked, reader, nearest_m or {}, _energies(found, asked), energies_chosen(view))
    parts = tuple(_sort_part(value, words, found, work) for value, words in _sorts(found))
    return HalfThrough(
        asked=asked,
        choices=choices,
        arrows=arrows,
        showing=settings_words(asked.view, setting_names(asked.view, choices)).partition(" Ranges: ")[0],
        title=_title(parts, found, reader),
        parts=parts,
        counted=len(found.counted),
        loosed=found.loosed,
        unit=unit_for_reader("energy", reader),
        to_mind=caveats_of(view),
    )


@dataclass(frozen=True)
class _Work:
    """What every head of one page is worked out with. `range_j`: one axis for all pictures, None without an energy.
    `totals_hidden`: energies were chosen by the outcomes, so how many got through over all of them means nothing."""

    asked: HalfAsked
    reader: str
    nearest_m: Mapping[str, float | None]
    range_j: tuple[float, float] | None
    totals_hidden: bool


def _energies(found: Sorted, asked: HalfAsked) -> tuple[float, float] | None:
    energies = [one.value for shot in found.counted if (one := shot.impact.energy_at(asked.view.place)) is not None]
    return (min(energies), max(energies)) if energies else None


def _unmeasured(found: Sorted) -> list[LoosedShot]:
    return [shot for key in OFF_AXIS for shot in found.apart.get(key, ())]


def _sorts(found: Sorted) -> list[tuple[str, str]]:
    """The sorts of panel that were shot, the most shot first."""
    counts: dict[tuple[str, str], int] = {}
    for shot in (*found.counted, *_unmeasured(found)):
        counts[sort_of(shot.fact)] = counts.get(sort_of(shot.fact), 0) + 1
    return sorted(counts, key=lambda sort: (-counts[sort], sort))


def _sort_part(value: str, words: str, found: Sorted, work: _Work) -> SortPart:
    view = work.asked.view
    mine = [counted_shot(shot, view, edges=()) for shot in found.counted if sort_of(shot.fact)[0] == value]
    without = [row_key(shot, view) for shot in _unmeasured(found) if sort_of(shot.fact)[0] == value]
    rows = rows_of([*(one.row for one in mine), *without], view)
    points = [(row, half_point([one for one in mine if one.row == row.key], unmeasured=without.count(row.key))) for row in rows]
    return SortPart(
        id=f"on-{value.replace('.', '_')}",
        words=words,
        heads=tuple(_head(row, point, value, words, work=work) for row, point in points),
        compared=compare_heads(points),
    )


def _head(row: RowGroup, found: HalfPoint, sort: str, on: str, *, work: _Work) -> HeadHalf:
    reader, asked = work.reader, work.asked
    at = f"{row.key}-{sort}".replace(".", "_")
    lead = _lead(row, found, on, reader=reader)
    averaging = averaging_found(found.settled, asked)
    terms = terms_found(found.settled, asked.terms, nearest_m=work.nearest_m) if asked.terms else None
    return HeadHalf(
        id=at,
        words=row.words,
        glyph=row.glyph,
        found=found,
        lead=lead,
        cells=_cells(found, work),
        notes=mind_words(found, reader=reader),
        doubt=doubt_words(found, place=asked.view.place, reader=reader),
        picture=_picture(row.words, found, lead, work=work),
        tails=tails_told(found, asked.tails, reader=reader),
        terms=terms_told(terms),
        limit=limit_told(averaging, found, reader=reader),
    )


def _lead(row: RowGroup, found: HalfPoint, on: str, *, reader: str) -> str:
    """The one sentence on a head."""
    if found.point is None:
        return f"The energy at which half get through {on} with {row.who} is {point_words(found, reader=reader)}."
    more = " ".join(part for part in (outside_words(found.point, reader=reader), _open_end(found)) if part)
    return f"Half get through {on} with {row.who} at {point_words(found, reader=reader)}. {more}".rstrip()


def _cells(found: HalfPoint, work: _Work) -> Cells:
    reader = work.reader
    counts = f"{found.shots} shots" if work.totals_hidden else f"{found.hits} of {found.shots}" if found.shots else "none"
    if found.point is None:
        return Cells(counts, "not placed", f"{found.why_not[:1].upper()}{found.why_not[1:]}.")
    guess = "" if not found.point.outside else "; outside the energies shot"
    ends = f"May be {ends_words(found.point, reader=reader)}, 95\N{NO-BREAK SPACE}%{guess}"
    return Cells(counts, f"half at {energy_words(found.point.energy_j, reader)}", ends)


def _open_end(found: HalfPoint) -> str:
    assert found.point is not None
    why = as_printed(found.point.unbounded)
    return f"{why[:1].upper()}{why[1:]}." if why else ""


def _picture(name: str, found: HalfPoint, lead: str, *, work: _Work) -> CurveByEnergy | None:
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


def _title(parts: Sequence[SortPart], found: Sorted, reader: str) -> str:
    """The page's one finding: the point that is best known."""
    placed = [(part, head) for part in parts for head in part.heads if head.found.point is not None]
    if not placed:
        return "No shots here yet" if found.loosed == 0 else "Energy to get through: not placed yet with any head"
    part, head = min(placed, key=lambda pair: (_width(pair[1].found), -pair[1].found.shots))
    point = head.found.point
    assert point is not None
    ends = range_words(point.low_j, point.high_j, reader=reader)
    return f"{head.words}: half get through {part.words} at {energy_words(point.energy_j, reader)}, may be {ends}"


def _width(found: HalfPoint) -> float:
    """High end over low end; without end where a side is not bounded."""
    point = found.point
    return point.high_j / point.low_j if point and point.low_j and point.high_j else math.inf
