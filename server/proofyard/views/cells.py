"""The table of outcomes: its rows, heads of one form or of one band of a measure, and its cells, the shots of a row in one band."""

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from statistics import median

from proofyard.charts.outcome_words import Share
from proofyard.quantities import Uncertain, from_si, written_with_uncertainty
from proofyard.quantities.reason import CantTell, because
from proofyard.records.arrow import FORMS
from proofyard.shots.loosed import LoosedShot
from proofyard.statistics.shares import bounded_share, share_interval
from proofyard.views.axes import (
    AXES,
    ROWS,
    Band,
    all_near_an_edge,
    all_on_axis,
    band_from,
    band_numbers,
    default_place,
    near_an_edge,
    on_axis,
    round_edges,
    row_value,
)
from proofyard.views.panel_type import NOT_RECORDED
from proofyard.views.settings import FIRST_BEHIND, ViewSettings, all_through_bounds, form_of, form_words, through_bounds_of
from proofyard.wording.reasons.said import said


@dataclass(frozen=True)
class RowGroup:
    """`key` as it stands in an address, `who` inside a sentence, `glyph` of a form's outline."""

    key: str
    words: str
    who: str
    glyph: str = ""


def settled(settings: ViewSettings, shots: Sequence[LoosedShot]) -> ViewSettings:
    """With what an address leaves open: where the energy holds, and the edges of rows by a measure."""
    return settled_by(settings, settings.taken(shots))


def settled_by(settings: ViewSettings, mine: Sequence[LoosedShot]) -> ViewSettings:
    """The same, by the shots that these settings take."""
    if settings.at is None:
        settings = replace(settings, at=default_place(mine))
    if settings.rows != "form" and settings.row_edges is None:
        found = (row_value(shot, ROWS[settings.rows]) for shot in mine)
        settings = replace(settings, row_edges=round_edges([value for value in found if value is not None]))
    return settings


def row_key(shot: LoosedShot, settings: ViewSettings) -> str:
    """The row that a shot stands in, whatever others there are."""
    if settings.rows == "form":
        return form_of(shot.fact)
    value = row_value(shot, ROWS[settings.rows])
    if value is None:
        return NOT_RECORDED
    edges = settings.row_edges or ()
    place = bisect_right(edges, value)
    low, high = edges[place - 1] if place else -math.inf, edges[place] if place < len(edges) else math.inf
    return Band(low, high).value


def row_keys(shots: Sequence[LoosedShot], settings: ViewSettings) -> list[str]:
    """The row of each."""
    if settings.rows == "form":
        return [form_of(shot.fact) for shot in shots]
    return [row_key(shot, settings) for shot in shots]


def is_row(key: str, settings: ViewSettings) -> bool:
    """Whether an address can mean this row."""
    if key == NOT_RECORDED:
        return True
    return key in FORMS if settings.rows == "form" else band_from(key) is not None


def rows_of(keys: Iterable[str], settings: ViewSettings) -> list[RowGroup]:
    """The rows that have a shot, in the order of forms or of the measure; those not said at the end."""
    found = set(keys)
    if settings.rows == "form":
        return [group_of(form, settings) for form in (*FORMS, NOT_RECORDED) if form in found]
    known = sorted((band, key) for key in found - {NOT_RECORDED} if (band := band_from(key)) is not None)
    return [group_of(key, settings) for _, key in known] + [group_of(NOT_RECORDED, settings)] * (NOT_RECORDED in found)


def group_of(key: str, settings: ViewSettings) -> RowGroup:
    if settings.rows == "form":
        who = f"the {form_words(key).lower()}" if key != NOT_RECORDED else "heads of unrecorded form"
        return RowGroup(key, form_words(key), who, "" if key == NOT_RECORDED else f"head-{key}")
    rows = ROWS[settings.rows]
    band = band_from(key)
    if band is None:
        return RowGroup(key, f"{rows.label} not known", said(because("heads_without_measure", measure=rows.label.lower())))
    unit = rows.shown_unit
    words = f"{band.words}{unit}" if unit == "°" else Band(band.low_j, band.high_j, unit).with_unit
    return RowGroup(key, f"{rows.label} {words}", said(because("heads_with_measure", measure=rows.label.lower(), words=words)))


FOOT_POUNDS = "ft·lbf"  # of an axis of energy, for a reader who thinks in them
FEWEST_FOR_PERCENT = 10  # under ten shots a share is said as "2 of 3" and never as a percentage


@dataclass(frozen=True)
class CountedShot:
    """A shot with its answer to "through?", and the band edge that it stands too near to be sure of its band.

    energy  where it stands on the axis, in the axis' unit: an energy, or one shared out over the head
    row     key of the row that it stands in
    """

    shot: LoosedShot
    row: str
    energy: Uncertain | None
    through_low: bool
    through_high: bool
    near_edge_j: float | None


@dataclass(frozen=True)
class Tally(Share):
    """How many of how many got through, and where the true share may lie with 95 %."""

    method: str

    @property
    def percent(self) -> str:
        """The share itself, "82 %"; empty under ten shots."""
        if self.shots < FEWEST_FOR_PERCENT:
            return ""
        low, high = (f"{100 * hits / self.shots:.0f}" for hits in (self.hits_low, self.hits_high))
        return f"{low}\N{NO-BREAK SPACE}%" if low == high else f"{low} to {high}\N{NO-BREAK SPACE}%"


def tally_of(shots: Sequence[CountedShot], method: str, *, open_shots: int = 0) -> Tally:
    """Count shots. `open_shots`: so many more that may be counted through, or not: the widest that fits both."""
    if not shots and not open_shots:
        return Tally(0, 0, 0, None, None, method)
    low = sum(one.through_low for one in shots)
    high = sum(one.through_high for one in shots) + open_shots
    total = len(shots) + open_shots
    found = share_interval(low, total, method=method) if low == high else bounded_share(low, high, shots=total, method=method)
    if isinstance(found, CantTell):
        return Tally(low, high, total, None, None, method)
    return Tally(low, high, total, found.low, found.high, method)


@dataclass(frozen=True)
class MeanEnergy:
    """Mean of a cell's energies and its uncertainty, with the least and the most. `shown`: the unit that its reader is told."""

    mean: Uncertain
    least_j: float
    most_j: float
    shown: str = "J"

    @property
    def words(self) -> str:
        """ "97.3 ± 1.7": the unit stands in the heading."""
        return joules(self.mean, self.shown)

    @property
    def range_words(self) -> str:
        """ "95 to 98"; empty where all are the same to the joule."""
        ends = tuple(f"{from_si(end, self.shown) if self.shown == FOOT_POUNDS else end:.0f}" for end in (self.least_j, self.most_j))
        return "" if ends[0] == ends[1] else " to ".join(ends)


def joules(energy: Uncertain, shown: str = "J") -> str:
    """A figure of an axis without its unit: it is in that unit already, unless its reader thinks in foot-pounds."""
    if shown == FOOT_POUNDS:
        return written_with_uncertainty(energy, FOOT_POUNDS, figures=3).removesuffix(f"\N{NO-BREAK SPACE}{FOOT_POUNDS}")
    return written_with_uncertainty(energy, "1", figures=3)


def mean_energy(energies: Sequence[Uncertain], shown: str = "J") -> MeanEnergy | None:
    """The mean carries the mean of the single uncertainties, not one lessened by the root of n.

    The shots share one chronograph and often one series of readings: what is off for one is off for all, so more
    shots make it no surer.
    """
    if not energies:
        return None
    values = [energy.value for energy in energies]
    uncertainties = [energy.standard_uncertainty for energy in energies]
    u = None if None in uncertainties else math.fsum(one for one in uncertainties if one is not None) / len(uncertainties)
    return MeanEnergy(Uncertain(math.fsum(values) / len(values), u, None, len(values)), min(values), max(values), shown)


@dataclass(frozen=True)
class Depths:
    """How far tips stood past the rear face, of those that somebody measured behind it.

    at_least  the median can only be more: some depths were read as "at least"
    more      the deepest was read as "at least"
    behind    how many stood behind, or may have; `given` of them have a depth
    """

    median_m: float
    least_m: float
    most_m: float
    given: int
    behind: int
    at_least: bool
    more: bool
    unit: str = "mm"

    @property
    def words(self) -> str:
        """ "median 21 mm, 12 to 38, 4 of 5 measured"."""
        sign = "≥ " if self.at_least else ""
        middle = f"{sign}{deep(self.median_m, self.unit)}\N{NO-BREAK SPACE}{self.unit}"
        measured = f"{self.given} of {self.behind} measured"
        if self.given == 1:
            return f"{middle}, {measured}"
        ends = f"{deep(self.least_m, self.unit)} to {deep(self.most_m, self.unit)}"
        return f"median {middle}, {ends}{' or more' if self.more else ''}, {measured}"


def deep(metres: float, unit: str) -> str:
    """A depth to the millimetre, or to the twentieth of an inch: no rule is read closer behind a plate."""
    return f"{metres * 1000:.0f}" if unit == "mm" else f"{from_si(metres, unit):.2f}"


def depths_of(shots: Iterable[LoosedShot], unit: str = "mm") -> Depths | None:
    """Median and range of the depths given; None where none was."""
    behind = [s.fact for s in shots if s.fact.outcome_high is not None and s.fact.outcome_high >= FIRST_BEHIND]
    given = [(fact.depth_m, fact.depth_bound == "at_least") for fact in behind if fact.depth_m]
    if not given:
        return None
    values = [value for value, _ in given]
    middle, most = median(values), max(values)
    upper_middle = sorted(values)[len(values) // 2]
    return Depths(
        median_m=middle,
        least_m=min(values),
        most_m=most,
        given=len(given),
        behind=len(behind),
        # "At least 12" below the middle may really lie above it, and then the middle moves up.
        at_least=any(open_end and value <= upper_middle for value, open_end in given),
        more=any(open_end for _, open_end in given),
        unit=unit,
    )


@dataclass(frozen=True)
class Cell:
    """Shots of one row in one band. `form` is the row's key; `not_known`: those whose fairness isn't known, set apart."""

    form: str
    who: str
    band: Band
    shots: tuple[CountedShot, ...]
    not_known: tuple[CountedShot, ...]
    tally: Tally
    bounds: Tally | None
    energy: MeanEnergy | None
    depths: Depths | None
    href: str

    @property
    def near_an_edge(self) -> int:
        return sum(one.near_edge_j is not None for one in self.shots)

    @property
    def bows(self) -> tuple[str, ...]:
        return tuple(sorted({one.shot.fact.bow_name for one in self.shots}))


def make_cell(
    row: RowGroup, band: Band, *, counted: Sequence[CountedShot], not_known: Sequence[CountedShot], method: str, href: str
) -> Cell:
    """Count what falls into this cell."""
    return _cell_of(row, band, _in(band, counted), _in(band, not_known), method=method, href=href)


def _shown(band: Band) -> str:
    return band.shown if band.unit == "J" else band.unit


def _in(band: Band, shots: Sequence[CountedShot]) -> tuple[CountedShot, ...]:
    return tuple(one for one in shots if one.energy is not None and band.holds(one.energy.value))


def _cell_of(row: RowGroup, band: Band, mine: tuple[CountedShot, ...], unsure: tuple[CountedShot, ...], *, method: str, href: str) -> Cell:
    return Cell(
        form=row.key,
        who=row.who,
        band=band,
        shots=mine,
        not_known=unsure,
        tally=tally_of(mine, method),
        bounds=tally_of(mine, method, open_shots=len(unsure)) if unsure else None,
        energy=mean_energy([one.energy for one in mine if one.energy is not None], _shown(band)),
        depths=depths_of((one.shot for one in mine), "in" if _shown(band) == FOOT_POUNDS else "mm"),
        href=href,
    )


def table_of(
    rows: Sequence[RowGroup],
    bands: Sequence[Band],
    *,
    counted: Sequence[CountedShot],
    not_known: Sequence[CountedShot],
    method: str,
    list_href: str,
) -> list[tuple[Cell, ...]]:
    """The cells of every row, from the lowest band up. `list_href`: the address of a list of shots, to be told whose."""
    in_band: dict[tuple[str, int | None], list[CountedShot]] = {}
    open_in: dict[tuple[str, int | None], list[CountedShot]] = {}
    held = [*((one, in_band) for one in counted), *((one, open_in) for one in not_known)]
    numbers = band_numbers([one.energy.value if one.energy else None for one, _ in held], bands)
    for (one, into), number in zip(held, numbers, strict=True):
        into.setdefault((one.row, number), []).append(one)
    names = [band.value for band in bands]
    return [
        tuple(
            _cell_of(
                row,
                band,
                tuple(in_band.get((row.key, n), ())),
                tuple(open_in.get((row.key, n), ())),
                method=method,
                href=f"{list_href}&cell={row.key}:{names[n]}",
            )
            for n, band in enumerate(bands)
        )
        for row in rows
    ]


def counted_shots(shots: Sequence[LoosedShot], settings: ViewSettings, *, edges: Sequence[float]) -> tuple[CountedShot, ...]:
    """Shots with their answers."""
    if not shots:
        return ()
    energies = all_on_axis(shots, AXES[settings.axis], place=settings.place)
    rows, bounds = row_keys(shots, settings), all_through_bounds(shots, settings.through)
    told = zip(shots, rows, energies, bounds, all_near_an_edge(energies, edges), strict=True)
    return tuple(CountedShot(shot, row, energy, *through, near) for shot, row, energy, through, near in told)


def counted_shot(shot: LoosedShot, settings: ViewSettings, *, edges: Sequence[float]) -> CountedShot:
    """A shot with its answers."""
    energy = on_axis(shot, AXES[settings.axis], place=settings.place)
    low, high = through_bounds_of(shot.fact, settings.through)
    return CountedShot(shot, row_key(shot, settings), energy, low, high, near_an_edge(energy, edges) if energy else None)
