"""One cell of the table of outcomes: the shots of one head form in one energy band, counted."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from server.charts.outcome_words import BandShare, count_text
from server.findings.axes import AXES, on_axis
from server.findings.bands import Band, near_an_edge
from server.findings.loosed import LoosedShot
from server.findings.row_groups import RowGroup, row_key
from server.findings.through import FIRST_BEHIND, may_be_through
from server.findings.view_settings import ViewSettings
from server.quantities import Uncertain, written_with_uncertainty
from server.statistics.refusals import CantTell
from server.statistics.shares import bounded_share, share_interval

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
class Tally:
    """How many of how many got through, and where the true share may lie. Ends None: no shots, so it can't be told."""

    hits_low: int
    hits_high: int
    shots: int
    interval_low: float | None
    interval_high: float | None
    method: str

    @property
    def words(self) -> str:
        """ "4 of 6", "1 or 2 of 3"."""
        return count_text(BandShare(0, 1, self.hits_low, self.hits_high, self.shots, None, None))

    @property
    def may_be(self) -> str:
        """The interval in percent: "26 to 94"."""
        if self.interval_low is None or self.interval_high is None:
            return "can’t be told"
        return f"{100 * self.interval_low:.0f} to {100 * self.interval_high:.0f}"

    @property
    def percent(self) -> str:
        """The share itself, "82 %"; empty under ten shots."""
        if self.shots < FEWEST_FOR_PERCENT:
            return ""
        low, high = (f"{100 * hits / self.shots:.0f}" for hits in (self.hits_low, self.hits_high))
        return f"{low}\N{NO-BREAK SPACE}%" if low == high else f"{low} to {high}\N{NO-BREAK SPACE}%"


def tally_of(shots: Sequence[CountedShot], method: str, *, open_shots: int = 0) -> Tally:
    """Count shots. `open_shots`: so many more that may be counted through, or not: the widest that fits both."""
    low = sum(one.through_low for one in shots)
    high = sum(one.through_high for one in shots) + open_shots
    total = len(shots) + open_shots
    if low == high:
        found = share_interval(low, total, method=method)
    else:
        found = bounded_share(low, high, shots=total, method=method)  # type: ignore[assignment]
    if isinstance(found, CantTell):
        return Tally(low, high, total, None, None, method)
    return Tally(low, high, total, found.low, found.high, method)


@dataclass(frozen=True)
class MeanEnergy:
    """Mean of a cell's energies and how far it may be off, with the least and the most."""

    mean: Uncertain
    least_j: float
    most_j: float

    @property
    def words(self) -> str:
        """ "97.3 ± 1.7": the unit stands in the heading."""
        return joules(self.mean)

    @property
    def range_words(self) -> str:
        """ "95 to 98"; empty where all are the same to the joule."""
        ends = (f"{self.least_j:.0f}", f"{self.most_j:.0f}")
        return "" if ends[0] == ends[1] else " to ".join(ends)


def joules(energy: Uncertain) -> str:
    """A figure of an axis without its unit: it is in that unit already."""
    return written_with_uncertainty(energy, "1", figures=3)


def mean_energy(energies: Sequence[Uncertain]) -> MeanEnergy | None:
    """The mean carries the mean of the single doubts, not one lessened by the root of n.

    The shots share one chronograph and often one series of readings: what is off for one is off for all, so more
    shots make it no surer.
    """
    if not energies:
        return None
    values = [energy.value for energy in energies]
    doubts = [energy.standard_uncertainty for energy in energies]
    u = None if None in doubts else math.fsum(d for d in doubts if d is not None) / len(doubts)
    return MeanEnergy(Uncertain(math.fsum(values) / len(values), u, None, len(values)), min(values), max(values))


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

    @property
    def words(self) -> str:
        """ "median 21 mm, 12 to 38, 4 of 5 measured"."""
        sign = "≥ " if self.at_least else ""
        middle = f"{sign}{_mm(self.median_m)}\N{NO-BREAK SPACE}mm"
        measured = f"{self.given} of {self.behind} measured"
        if self.given == 1:
            return f"{middle}, {measured}"
        return f"median {middle}, {_mm(self.least_m)} to {_mm(self.most_m)}{' or more' if self.more else ''}, {measured}"


def _mm(metres: float) -> str:
    return f"{metres * 1000:.0f}"


def depths_of(shots: Iterable[LoosedShot]) -> Depths | None:
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
    mine = tuple(one for one in counted if one.energy is not None and band.holds(one.energy.value))
    unsure = tuple(one for one in not_known if one.energy is not None and band.holds(one.energy.value))
    return Cell(
        form=row.key,
        who=row.who,
        band=band,
        shots=mine,
        not_known=unsure,
        tally=tally_of(mine, method),
        bounds=tally_of(mine, method, open_shots=len(unsure)) if unsure else None,
        energy=mean_energy([one.energy for one in mine if one.energy is not None]),
        depths=depths_of(one.shot for one in mine),
        href=href,
    )


def counted_shot(shot: LoosedShot, settings: ViewSettings, *, edges: Sequence[float]) -> CountedShot:
    """A shot with its answers."""
    energy = on_axis(shot, AXES[settings.axis], place=settings.place)
    low, high = may_be_through(shot.fact, settings.through)
    return CountedShot(shot, row_key(shot, settings), energy, low, high, near_an_edge(energy, edges) if energy else None)
