"""What the first page of results shows: heads by energy band as squares before and behind the rear face, and the plain counts."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from proofyard.answers.results.page import HeadGroup, Results
from proofyard.quantities.reason import because
from proofyard.records.shot import BY_A_GAP
from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import OUTCOME_WORDS
from proofyard.shots.loosed import LoosedShot
from proofyard.views.cells import Cell, CountedShot, Tally, deep, row_keys, rows_of
from proofyard.views.counted import SPOILT_ENTRIES, Sorted
from proofyard.views.settings import FIRST_BEHIND, ViewSettings, all_through_bounds
from proofyard.wording.counts import PLAIN_COUNTS, bow_label, counted, listed
from proofyard.wording.reasons.said import said

MOST_HELD, MOST_THROUGH = 6, 4  # as many squares stand one by one on either side; more become a square a level with its count
BAR = 108.0  # how long a share of all is
MOST_OF_A_BAND = 2 / 3  # a band is called by the bow that shot so much of it
GAPS = BY_A_GAP.difference(SPOILT_ENTRIES)  # none of them is the armour itself
LACED = frozenset({"lamellar", "scale", "brigandine", "coat_of_plates", "mail"})  # made with gaps, so that none hit is said too
OPENED = 3
MOST_PANELS = 4  # as many are named in a heading


@dataclass(frozen=True)
class Square:
    """One shot, or all of one level: `level` 0 to 5, or "open"; `count` where it stands for several."""

    text: str
    level: str
    count: int = 0


@dataclass(frozen=True)
class Bar:
    """A share through in the middle of its interval, none at 2 and all at 110; two `ticks` where some may be either."""

    reach: tuple[float, float] | None
    ticks: tuple[float, ...]


@dataclass(frozen=True)
class GridCell:
    """One head in one band. `words`: what the squares are, for who can't see them; `count` is a link where there is one."""

    id: str
    band: str
    count: str
    label: str
    href: str
    interval: str
    percent: str
    held: tuple[Square, ...]
    through: tuple[Square, ...]
    words: str
    bar: Bar | None


@dataclass(frozen=True)
class GridBand:
    words: str
    bows: str


@dataclass(frozen=True)
class GridRow:
    words: str
    glyph: str
    cells: tuple[GridCell, ...]


@dataclass(frozen=True)
class PlainRow:
    """One bow's shots with one head, counted. Each count as it is written and where its shots are listed, if there are any."""

    bow: str
    counts: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class PlainCount:
    """Every shot of the view but sighters, fair or not, measured or not. `panels`: "P5 and P6"; `columns`: after the bow's."""

    shots: int
    sighters: bool
    panels: str
    columns: tuple[str, ...]
    heads: tuple[tuple[str, str, tuple[PlainRow, ...]], ...]
    gaps: bool


@dataclass(frozen=True)
class FirstPage:
    """`past`: how a count goes on, "through"; `many`: some squares stand for several shots."""

    past: str
    bands: tuple[GridBand, ...]
    rows: tuple[GridRow, ...]
    many: bool
    plain: PlainCount


def first_page_of(results: Results) -> FirstPage:
    """The grid and the counts above it."""
    bands, settings, hidden = [band.with_unit for band in results.bands], results.settings, results.hidden
    past, seen = settings.through.past, _seen(results.shots, settings)
    weights = {one.shot.fact.bow_id: one.shot.fact.marked_weight_n for one in seen}
    labels = {bow: bow_label(weight, "") for bow, weight in weights.items()}
    bows = _bows_by_band(results.groups, len(bands), labels)
    squares = [_row(group, bands, past=past, hidden=hidden) for group in results.groups]
    return FirstPage(
        past=past,
        bands=tuple([GridBand(band, some) for band, some in zip(bands, bows, strict=True)]),
        rows=tuple(squares),
        many=any(one.count for row in squares for cell in row.cells for one in (*cell.held, *cell.through)),
        plain=_plain_count(results, seen, labels, past=past),
    )


def _bows_by_band(groups: Sequence[HeadGroup], bands: int, labels: Mapping[str, str]) -> list[str]:
    """The bows behind each band: an archer thinks "the 145 lb bow", not "105 to 130 J"."""
    facts = [[one.shot.fact for group in groups for one in group.cells[n].shots] for n in range(bands)]
    words = {
        fact.bow_id: f"{label}\N{NO-BREAK SPACE}lb bow" if (label := labels[fact.bow_id]) else fact.bow_name for fact in sum(facts, [])
    }
    return [_bows_words(Counter([words[fact.bow_id] for fact in some])) for some in facts]


def _bows_words(shots: Counter[str]) -> str:
    if not shots:
        return ""
    (most, count), *others = shots.most_common()
    if not others:
        return f"the {most}"
    if count >= MOST_OF_A_BAND * sum(shots.values()):
        return f"mostly the {most}"
    return said(because("several_bows", bows=len(shots), most=most))


def _row(group: HeadGroup, bands: Sequence[str], *, past: str, hidden: bool) -> GridRow:
    pairs = enumerate(zip(group.cells, bands, strict=True), 1)
    return GridRow(
        group.words, group.glyph, tuple([_cell(cell, f"{group.id}-{n}", band, past, hidden=hidden) for n, (cell, band) in pairs])
    )


def _cell(cell: Cell, id: str, band: str, past: str, *, hidden: bool) -> GridCell:
    shots = cell.tally.shots
    if not shots:
        count, href = ("none fair", cell.href) if cell.not_known else ("no shots", "")
        return GridCell(id, band, count, f"{count}, {cell.who}, {band}", href, "", "", (), (), "", None)
    count = counted(shots) if hidden else cell.tally.words
    held = _squares([one for one in cell.shots if not one.through_low], most=MOST_HELD)
    through = _squares([one for one in cell.shots if one.through_low], most=MOST_THROUGH)
    interval = "" if hidden else f"{cell.tally.interval_words}\N{NO-BREAK SPACE}%"
    return GridCell(
        id=id,
        band=band,
        count=count,
        label=f"{count} {past}, {cell.who}, {band}",
        href=cell.href,
        interval=interval,
        percent="" if hidden else cell.tally.percent,
        held=held,
        through=through,
        words=_said(cell.shots),
        bar=None if hidden else _bar(cell.tally),
    )


def _levels(shots: Iterable[CountedShot]) -> list[tuple[int, int]]:
    """The levels of each, what is open last on the side of the rear face."""
    levels = [(one.shot.fact.outcome_low or 0, one.shot.fact.outcome_high or 0) for one in shots]
    return sorted(levels, key=lambda pair: (pair[0] != pair[1], pair))


def _squares(shots: Sequence[CountedShot], *, most: int) -> tuple[Square, ...]:
    levels = Counter(_levels(shots))
    each = [((str(low), str(low)) if low == high else (f"{low}/{high}", "open"), count) for (low, high), count in levels.items()]
    if len(shots) > most:
        return tuple(Square(*square, count) for square, count in each)
    return tuple(Square(*square) for square, count in each for _ in range(count))


def _said(shots: Iterable[CountedShot]) -> str:
    """ "2 dented (2), 1 opened or point through (3 or 4)"."""
    said = []
    for (low, high), count in Counter(_levels(shots)).items():
        name = OUTCOME_WORDS[low].lower() if low == high else f"{OUTCOME_WORDS[low]} or {OUTCOME_WORDS[high]}".lower()
        said.append(f"{count} {name} ({low if low == high else f'{low} or {high}'})")
    return ", ".join(said)


def _bar(tally: Tally) -> Bar:
    ends = (tally.interval_low, tally.interval_high)
    reach = None if ends[0] is None or ends[1] is None else (round(2 + BAR * ends[0], 1), round(BAR * (ends[1] - ends[0]), 1))
    return Bar(reach, tuple(round(2 + BAR * hits / tally.shots, 1) for hits in sorted({tally.hits_low, tally.hits_high})))


@dataclass(frozen=True)
class Seen:
    """One shot of the plain count: its row, its bow, and what through says of it."""

    row: str
    shot: LoosedShot
    low: bool
    high: bool

    @property
    def on_panel(self) -> bool:
        return self.shot.fact.hit == "on_panel"

    @property
    def by_gap(self) -> bool:
        return self.on_panel and self.shot.fact.entry in GAPS


def _plain_count(results: Results, seen: Sequence[Seen], labels: Mapping[str, str], *, past: str) -> PlainCount:
    """Head by bow on the view's panels, for any number of shots: nothing is left out but what was not shot at the panel."""
    gaps = any(one.by_gap or one.shot.fact.construction in LACED for one in seen)
    unit = "in" if results.reader == "archery" else "mm"
    bows, lists = _bow_labels(seen, labels), results.lists
    heads = []
    for row in rows_of({one.row for one in seen}, results.settings):
        mine: dict[str, list[Seen]] = {bow: [] for bow in bows}
        for one in seen:
            if one.row == row.key:
                mine[one.shot.fact.bow_id].append(one)
        href = f"{lists}&plain={row.key}:"
        rows = tuple(_plain_row(label, shots, f"{href}{bow}:", unit=unit, gaps=gaps) for bow, label in bows.items() if (shots := mine[bow]))
        heads.append((row.words, row.glyph, rows))
    columns = ("On panel", "Opened", past[0].upper() + past[1:], f"Deepest {unit}", *(("Gaps",) if gaps else ()))
    panels = listed(sorted({one.shot.fact.panel_name for one in seen}), most=MOST_PANELS)
    return PlainCount(len(seen), len(seen) < results.loosed, panels, columns, tuple(heads), gaps)


def _bow_labels(seen: Sequence[Seen], weights: Mapping[str, str]) -> dict[str, str]:
    """Bow -> "145 lb", weakest first; its name where two are alike or no weight is marked."""
    facts = {one.shot.fact.bow_id: one.shot.fact for one in seen}
    shared = Counter(weights.values())
    order = sorted(facts.values(), key=lambda fact: (fact.marked_weight_n or math.inf, fact.bow_name))
    known = {bow: f"{label}\N{NO-BREAK SPACE}lb" for bow, label in weights.items() if label and shared[label] == 1}
    return {fact.bow_id: known.get(fact.bow_id, fact.bow_name) for fact in order}


def plain_shots(shots: Sorted, settings: ViewSettings, which: str) -> tuple[LoosedShot, ...]:
    """The shots of one number: "needle:‹bow›:through"."""
    row, bow, what = (which.split(":") + ["", ""])[:3]
    return tuple(one.shot for one in _seen(shots, settings) if one.row == row and one.shot.fact.bow_id == bow and what in _is(one))


def _seen(shots: Sorted, settings: ViewSettings) -> list[Seen]:
    found = [shot for shot in shots.in_order if shot.fact.purpose == "counted"]
    bounds = all_through_bounds(found, settings.through)
    return [Seen(row, shot, *ends) for row, shot, ends in zip(row_keys(found, settings), found, bounds, strict=True)]


def _is(one: Seen) -> tuple[str, ...]:
    """The columns that a shot may stand in. A hit by a gap stands in no other than its own and that of hits."""
    if not one.on_panel:
        return ("all",)
    if one.by_gap:
        return ("all", "on_panel", "gaps")
    fact = one.shot.fact
    opened = fact.outcome_low is not None and fact.outcome_low <= OPENED <= (fact.outcome_high or 0) and not one.low
    return ("all", "on_panel", *(("through",) if one.high else ()), *(("opened",) if opened else ()))


def _plain_row(label: str, shots: Sequence[Seen], href: str, *, unit: str, gaps: bool) -> PlainRow:
    by = {what: [one for one in shots if what in _is(one)] for what in PLAIN_COUNTS}
    through = (sum(one.low for one in by["through"]), len(by["through"]))
    opened = (sum(one.shot.fact.outcome_low == one.shot.fact.outcome_high for one in by["opened"]), len(by["opened"]))
    counts = [
        (f"{len(by['on_panel'])} of {len(shots)}", href + "all"),
        (_between(*opened), href + "opened" if by["opened"] else ""),
        (_between(*through), href + "through" if by["through"] else ""),
        (_deepest([one.shot.fact for one in shots if one.on_panel and not one.by_gap], unit), ""),
    ]
    if gaps:
        counts.append((str(len(by["gaps"])), href + "gaps" if by["gaps"] else ""))
    return PlainRow(label, tuple(counts))


def _between(low: int, high: int) -> str:
    return str(low) if low == high else f"{low} {'or' if high - low == 1 else 'to'} {high}"


def _deepest(facts: Sequence[ShotFact], unit: str) -> str:
    """How far the deepest tip stood past the rear face; empty where none did, or nobody measured."""
    found = [(fact.depth_m, fact.depth_bound == "at_least") for fact in facts if fact.depth_m and (fact.outcome_high or 0) >= FIRST_BEHIND]
    if not found:
        return ""
    most, at_least = max(found)
    return f"≥ {deep(most, unit)}" if at_least else deep(most, unit)
