"""One question asked of several groups' books by the same functions: each group's figure, all together where that can be told."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import fmean

from proofyard.answers.pool.asked import AskedPool, asked_pool
from proofyard.answers.pool.methods import MethodRow, OfGroup, method_rows
from proofyard.charts.figure import Figure
from proofyard.charts.interval_forest import ForestRow, interval_forest
from proofyard.how_far import part_by_part
from proofyard.quantities import in_readers, plainly, unit_for_reader, with_unit
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.instrument import HardnessReading, Instrument
from proofyard.records.listing import all_of
from proofyard.shots.hardness_found import by_piece, hardness_hv
from proofyard.shots.loosed import Loosed, LoosedShot, load_loosed
from proofyard.shots.panel_measures import Areal
from proofyard.shots.panel_weight import areal_weights
from proofyard.statistics.several_groups import FEWEST_GROUPS, OverGroups, over_groups_with_ends, share_over_groups
from proofyard.storage import Storage
from proofyard.views.address import Query
from proofyard.views.cells import FEWEST_FOR_PERCENT, CountedShot, Tally, counted_shot, tally_of
from proofyard.views.counted import ask, sort_shots
from proofyard.views.curve import FiftyPercent, estimate_of, fifty_percent_of
from proofyard.views.settings import ViewSettings, form_words
from proofyard.wording.reasons.said import said

# A judgement, no source: panels whose measure differs by more than this are other armour. A 50 % energy grows about as
# thickness does to the power of 1.5, so a sixth more thickness is a quarter more energy.
ALIKE_WITHIN = 1.15
# The same: what a plate holds grows about as its hardness does, so a quarter harder is a quarter more energy. Picks leave about as much.
AS_HARD_WITHIN = 1.25


@dataclass(frozen=True)
class GroupsBook:
    """A book to be asked. `href`: where its trials are read; `own`: one's own, which comes first."""

    name: str
    href: str
    book: Storage
    own: bool = False
    invented: bool = False


@dataclass(frozen=True)
class GroupRow:
    """One group: its counted shots of this question. `loosed`: all its shots with this head at such armour, whatever became of them."""

    name: str
    href: str
    invented: bool
    loosed: int
    found: FiftyPercent
    tally: Tally
    settled: int
    hits: int
    thickness_m: float | None
    weight_kg_m2: float | None
    hardness_hv: float | None

    @property
    def few(self) -> bool:
        return self.settled < FEWEST_FOR_PERCENT

    def value(self, figure: str) -> tuple[float, float | None, float | None] | None:
        """Its figure with its ends, an end of None not bounded; None without a figure."""
        if figure == "share":
            return (self.hits / self.settled, *(self.tally.interval or (None, None))) if self.settled else None
        point = self.found.point
        return (point.energy_j, point.low_j, point.high_j) if point is not None else None

    def told(self, figure: str) -> Reason:
        """Its figure with its interval and n, or why there is none."""
        if not self.settled:
            return because("pool_no_shots", loosed=self.loosed)
        if figure == "share":
            return because("pool_share", hits=self.hits, shots=self.settled, interval=self.tally.interval_words, few=self.few)
        if self.found.point is None:
            return because("pool_no_point", why=self.found.why_not, hits=self.hits, shots=self.settled)
        return because("pool_point", estimate=estimate_of(self.found.point), shots=self.settled, few=self.few)


@dataclass(frozen=True)
class Pool:
    """All that the page shows. `together` CantTell: why the groups can't be pooled."""

    asked: AskedPool
    finding: Reason
    groups: tuple[GroupRow, ...]
    together: OverGroups | CantTell
    methods: tuple[MethodRow, ...]
    drawing: Figure
    reader: str

    @property
    def told(self) -> tuple[tuple[GroupRow, Reason], ...]:
        return tuple((one, one.told(self.asked.figure)) for one in self.groups)


@dataclass(frozen=True)
class _Read:
    """One book, read."""

    of: GroupsBook
    loosed: Loosed
    areals: Mapping[str, Areal]
    instruments: Mapping[str, Instrument]
    hardness: Sequence[HardnessReading]
    vickers: Mapping[str, float | None]


def read_pool(books: Sequence[GroupsBook], query: Query, *, reader: str) -> Pool:
    """As an address asks. `books`: one's own and the others, each read by itself."""
    read = [_read(one) for one in part_by_part(books, "books")]
    asked = asked_pool(query, ((one.of.href, shot) for one in read for shot in one.loosed.shots))
    worked = [_group(one, asked, reader) for one in read]
    groups = tuple(group for group, _ in worked)
    together = _together(groups, asked)
    return Pool(
        asked=asked,
        finding=_finding(groups, together, asked),
        groups=groups,
        together=together,
        methods=method_rows([of for _, of in worked], reader=reader),
        drawing=_drawing(groups, together, asked, reader),
        reader=reader,
    )


def _read(one: GroupsBook) -> _Read:
    with one.book.read() as session:
        loosed = load_loosed(session)
        areals = areal_weights(session, {shot.fact.panel_build_id for shot in loosed.shots})
        instruments = {tool.id: tool for tool in all_of(session, Instrument, voided=True)}
        hardness = all_of(session, HardnessReading)
    vickers = {piece: hardness_hv(rows) for piece, rows in by_piece(hardness).items()}
    return _Read(one, loosed, areals, instruments, hardness, vickers)


def _group(one: _Read, asked: AskedPool, reader: str) -> tuple[GroupRow, OfGroup]:
    mine = [shot for shot in one.loosed.shots if _asked_for(shot, one, asked)]
    # Fairness was told by all shots of the book; what is counted is of these alone.
    narrowed = replace(one.loosed, shots=tuple(mine), voided=())
    settings = ask(narrowed, asked.view, reader).settings
    found = sort_shots(narrowed, settings)
    counted = [shot for shot in _counted(found.counted, settings) if asked.figure == "energy" or _in_band(shot, asked)]
    settled = [shot for shot in counted if shot.through_low == shot.through_high]
    shots = [shot.shot for shot in counted]
    weights = [areal.value.value for shot in shots if (areal := one.areals.get(shot.fact.panel_build_id)) and areal.value]
    row = GroupRow(
        name=one.of.name,
        href=one.of.href,
        invented=one.of.invented,
        loosed=len(mine),
        found=fifty_percent_of(counted, unmeasured=len(found.off_axis)),
        tally=tally_of(settled, settings.method),
        settled=len(settled),
        hits=sum(shot.through_low for shot in settled),
        thickness_m=_mean([shot.fact.thickness_m for shot in shots]),
        weight_kg_m2=fmean(weights) if weights and len(weights) == len(shots) else None,
        hardness_hv=_mean([one.vickers.get(shot.fact.panel_build_id) for shot in shots]),
    )
    return row, OfGroup(shots, one.loosed.trials, one.instruments, one.hardness)


def _asked_for(shot: LoosedShot, one: _Read, asked: AskedPool) -> bool:
    fact = shot.fact
    if (fact.form or "", fact.construction or "") != (asked.head, asked.construction):
        return False
    areal = one.areals.get(fact.panel_build_id)
    weight = areal.value.value if areal and areal.value else None
    measures = ((asked.thickness, fact.thickness_m), (asked.weight, weight), (asked.hardness, one.vickers.get(fact.panel_build_id)))
    return all(limits.holds(value) for limits, value in measures)


def _counted(shots: Sequence[LoosedShot], settings: ViewSettings) -> list[CountedShot]:
    return [counted_shot(shot, settings, edges=()) for shot in shots]


def _in_band(shot: CountedShot, asked: AskedPool) -> bool:
    return asked.energy.holds(shot.energy.value if shot.energy else None)


def _mean(values: Sequence[float | None]) -> float | None:
    """None where one is not known: a mean of the rest would be of other panels."""
    known = [one for one in values if one is not None]
    return fmean(known) if known and len(known) == len(values) else None


def _together(groups: Sequence[GroupRow], asked: AskedPool) -> OverGroups | CantTell:
    """Refused where the armour differs, where figures would be asked at several energies, and by the statistics themselves."""
    shot = [one for one in groups if one.settled]
    if len(shot) < FEWEST_GROUPS:
        return CantTell(because("too_few_groups", groups=len(shot), needed=FEWEST_GROUPS))
    if (why := _other_armour(shot)) is not None:
        return CantTell(why)
    if asked.figure == "share":
        if asked.energy.low is None or asked.energy.high is None:
            return CantTell(because("pool_needs_a_band"))
        return share_over_groups([(one.hits, one.settled) for one in shot])
    points = [one.found.point for one in shot]
    ends = [one.value("energy") or (0.0, None, None) for one in shot]
    return over_groups_with_ends(ends, limit_factor=[point.limit_times if point else 1.0 for point in points])


def _other_armour(groups: Sequence[GroupRow]) -> Reason | None:
    """Why these panels are not one kind of armour by their measures; None where they are as thick or as heavy, and as hard where
    all know how hard they are."""
    for measure, within, what in _MEASURES:
        values = [getattr(one, measure) for one in groups]
        if None not in values:
            return _too_far(groups, values, within, what) or _too_far(groups, [one.hardness_hv for one in groups], *_HARDNESS)
    without = tuple(one.name for one in groups if one.thickness_m is None and one.weight_kg_m2 is None)
    return because("pool_no_measure", groups=without or tuple(one.name for one in groups))


_MEASURES = (("thickness_m", ALIKE_WITHIN, because("pool_by_thickness")), ("weight_kg_m2", ALIKE_WITHIN, because("pool_by_weight")))
_HARDNESS = (AS_HARD_WITHIN, because("pool_by_hardness"))


def _too_far(groups: Sequence[GroupRow], values: Sequence[float | None], within: float, what: Reason) -> Reason | None:
    known = [one for one in values if one is not None]
    if len(known) < len(values) or max(known) <= within * min(known):
        return None
    least, most = (groups[values.index(end(known))].name for end in (min, max))
    return because("pool_other_armour", what=what, least=least, most=most, percent=round(100 * (max(known) / min(known) - 1)))


def _finding(groups: Sequence[GroupRow], together: OverGroups | CantTell, asked: AskedPool) -> Reason:
    if not any(one.settled for one in groups):
        return because("pool_nothing")
    who = form_words(asked.head).lower()
    if isinstance(together, CantTell):
        return because("pool_refused", why=together.reason, who=who, groups=sum(bool(one.settled) for one in groups))
    shots = sum(one.settled for one in groups)
    if asked.figure == "share":
        return because(
            "pool_found_share",
            who=who,
            estimate=_estimate(together, "share"),
            groups=together.groups,
            shots=shots,
            wide=together.wide_by_nature,
        )
    return because(
        "pool_found_energy",
        who=who,
        estimate=_estimate(together, "energy"),
        between=together.between,
        groups=together.groups,
        left_out=together.left_out,
        shots=shots,
        wide=together.wide_by_nature,
    )


def _estimate(together: OverGroups, figure: str) -> Reason:
    if figure == "share":
        return because("pool_share_of_all", value=together.value, low=together.low, high=together.high)
    return because("estimate", energy_j=together.value, low_j=together.low, high_j=together.high)


def _drawing(groups: Sequence[GroupRow], together: OverGroups | CantTell, asked: AskedPool, reader: str) -> Figure:
    share = asked.figure == "share"
    rows = [_forest_row(one, asked.figure, said(one.told(asked.figure), reader)) for one in groups]
    if isinstance(together, OverGroups):
        ends = (together.value, together.low, together.high)
        shots = str(sum(one.settled for one in groups))
        rows.append(ForestRow("All groups together", shots, said(_estimate(together, asked.figure), reader), *ends, together=True))
    name = "Share through by group" if share else "50 % energy by group"
    unit = "%" if share else unit_for_reader("energy", reader)
    return interval_forest(name, rows, axis_words="share through" if share else "50\N{NO-BREAK SPACE}% energy", unit=unit)


def _forest_row(one: GroupRow, figure: str, words: str) -> ForestRow:
    value, low, high = one.value(figure) or (None, None, None)
    return ForestRow(one.name, str(one.settled), words, value, low, high, one.href)


def measures_words(one: GroupRow, reader: str) -> str:
    """The armour of its counted shots, in the mean: "1.6 mm, 12.5 kg/m², 180 HV"."""
    parts = [
        in_readers(value, kind, reader)
        for value, kind in ((one.thickness_m, "thickness"), (one.weight_kg_m2, "areal_density"))
        if value is not None
    ]
    if one.hardness_hv is not None:
        parts.append(with_unit(plainly(one.hardness_hv, figures=2), "HV"))
    return ", ".join(parts) or "not recorded"
