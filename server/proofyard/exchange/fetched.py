"""All that the downloads are made from, read in one go: the book is let go before the first byte is sent."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

from proofyard.records.archer import Archer
from proofyard.records.arrow import Arrow, ArrowBuild, Head
from proofyard.records.bow import Bow, BowBuild, BowCheck, DrawPoint
from proofyard.records.claim import Claim
from proofyard.records.claim_facts import ClaimFact
from proofyard.records.columns import Noun
from proofyard.records.film import Film, FilmMark
from proofyard.records.instrument import HardnessReading, Instrument, Reading
from proofyard.records.listing import all_of, any_of, belonging, nobody_writes
from proofyard.records.panel import Panel, PanelArea, PanelBuild
from proofyard.records.photo_facts import shots_with_photos
from proofyard.records.shot import SecondReading
from proofyard.records.shot_facts import ShotFact, shot_facts
from proofyard.records.speed import SpeedReading, SpeedSeries
from proofyard.records.speed_facts import CombinationFact
from proofyard.records.stand import Stand, StandLayer
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Trial
from proofyard.records.trial_days import newest_trials
from proofyard.records.written_down import WrittenDown, first_written, voided_because
from proofyard.shots.impact import Impacts
from proofyard.shots.loosed import Loosed, facts_around, fair_in, loosed_with
from proofyard.storage import Storage

TABLES: tuple[type[Noun], ...] = (
    Archer,
    Arrow,
    ArrowBuild,
    Head,
    Bow,
    BowBuild,
    DrawPoint,
    BowCheck,
    Panel,
    PanelArea,
    PanelBuild,
    Instrument,
    Reading,
    HardnessReading,
    SpeedSeries,
    SpeedReading,
    Stand,
    StandLayer,
    Day,
    SecondReading,
    Claim,
    Film,
    FilmMark,
)
_SAY_WHAT_IS_WITHIN = (SpeedSeries, Reading)  # they name the instruments that a trial's shots and kit were measured with


@dataclass(frozen=True)
class Fetched:
    """Rows by table, crossed-out ones too, and the shots with what findings say of them.

    claims   trial -> its standing claim
    with_photo  ids of shots that have a photo
    facts, trials  all that fairness rests on, whatever this reader may see: for a viewer of one trial its shots and those around them
    within   what a viewer of one trial may see, as ids of builds, combinations and the like; None: everything
    """

    rows: Mapping[type[Noun], Sequence[Any]]
    loosed: Loosed
    impacts: Impacts
    combinations: Mapping[str, CombinationFact]
    written: Mapping[str, WrittenDown]
    read_at: Mapping[str, WrittenDown]
    voided_because: Mapping[tuple[str, str], str]
    within: frozenset[str] | None
    claims: Mapping[str, ClaimFact] = field(default_factory=dict)
    with_photo: frozenset[str] = frozenset()
    facts: Sequence[ShotFact] = ()
    trials: Mapping[str, Trial] = field(default_factory=dict)

    def of(self, table: type[Noun]) -> Sequence[Any]:
        return self.rows[table]

    def by_id(self, table: type[Noun]) -> dict[str, Any]:
        return {row.id: row for row in self.rows[table]}

    def may_see(self, *record_ids: str | None) -> bool:
        """Whether any of these ids is within what this reader may see."""
        return self.within is None or any(one in self.within for one in record_ids if one)


def with_rows_of(session: Any, fetched: Fetched, tables: Collection[type[Noun]]) -> Fetched:
    """What was fetched of the whole book without any rows, with those of these tables; within the same reading."""
    return replace(fetched, rows=_rows(session, tables, (), None))


# Of each table that grows with the book's trials: the columns by which a row belongs to a trial's shots, or to what they were shot with.
# All other tables are read whole: they hold what a book has few of.
_BELONGS_BY: Mapping[type[Noun], tuple[str, ...]] = MappingProxyType(
    {
        Arrow: ("id",),
        ArrowBuild: ("id", "arrow_id"),
        Panel: ("id",),
        PanelBuild: ("id", "panel_id"),
        PanelArea: ("panel_build_id",),
        Reading: ("record_id",),
        HardnessReading: ("record_id",),
        SpeedSeries: ("combination_id",),
        SpeedReading: ("shot_id", "series_id"),
        SecondReading: ("shot_id",),
        Day: ("id", "trial_id"),
        Claim: ("trial_id",),
        Film: ("session_id",),
        FilmMark: ("film_id",),
    }
)


def fetch(book: Storage, *, tables: Collection[type[Noun]] = TABLES, only_trial: str | None = None, trial_id: str | None = None) -> Fetched:
    """Everything, as it stands at one moment; of the tables' own rows only what the file at hand needs.

    only_trial  the one trial that this reader may see
    trial_id    the one that is asked about, by a reader who may see more: no other is worked out
    """
    with book.read() as session:
        return fetched_in(session, tables=tables, only_trial=only_trial, trial_id=trial_id)


def fetched_in(
    session: Any, *, tables: Collection[type[Noun]] = TABLES, only_trial: str | None = None, trial_id: str | None = None
) -> Fetched:
    """The same within a reading that goes on."""
    wanted = {*tables, *(_SAY_WHAT_IS_WITHIN if only_trial else ())}
    facts: Sequence[ShotFact]
    one = None if nobody_writes() else only_trial or trial_id
    facts = facts_around(session, one) if one else ()
    if one == trial_id and not only_trial and not any(fact.trial_id == one for fact in facts):
        one = None  # a trial without a shot, or none at all: the filters say so, of all there are
    if one is None:
        impacts, facts = Impacts.load(session), shot_facts(session, voided=True)
        loosed = loosed_with(session, facts, impacts=impacts)
    else:
        impacts = Impacts.load(session, facts)
        loosed = fair_in(session, {one}, facts, impacts=impacts)
        loosed = loosed if only_trial else replace(loosed, only_trial=one, newest=newest_trials(session))
    shots = None if one is None else {fact.shot_id for fact in facts}
    rows = _rows(session, wanted, facts, one)
    fetched = Fetched(
        rows=rows,
        loosed=loosed.of_trial(only_trial),
        impacts=impacts,
        combinations=impacts.combinations,
        written=first_written(session, "shot", shots),
        read_at=first_written(session, "shot_reading", shots),
        voided_because=voided_because(session, None if shots is None else _voided(rows, facts)),
        within=None,
        claims=loosed.of_trial(only_trial).claims,
        with_photo=shots_with_photos(session, shots),
        facts=facts,
        trials=loosed.trials,
    )
    return fetched if only_trial is None else _narrowed(fetched)


def _rows(session: Any, wanted: Collection[type[Noun]], facts: Sequence[ShotFact], trial_id: str | None) -> dict[type[Noun], Sequence[Any]]:
    """By table, in the order of TABLES; of one trial what belongs to its shots and those around them."""
    if trial_id is None:
        return {table: all_of(session, table, voided=True) for table in TABLES if table in wanted}
    seen = {one for fact in facts for one in _named_by(fact)} | {trial_id}
    found: dict[type[Noun], Sequence[Any]] = {}
    for table in (one for one in TABLES if one in wanted):
        by = _BELONGS_BY.get(table)
        if table is SpeedReading:
            seen |= {row.id for row in belonging(session, SpeedSeries, "combination_id", seen, voided=True)}
        found[table] = all_of(session, table, voided=True) if by is None else any_of(session, table, by, seen)
        seen |= {row.id for row in found[table]} if table is Film else set()
    return found


def _voided(rows: Mapping[type[Noun], Sequence[Any]], facts: Sequence[ShotFact]) -> dict[str, set[str]]:
    """noun -> ids, of what is crossed out."""
    found = {str(table.__tablename__): {row.id for row in some if row.voided_rev is not None} for table, some in rows.items()}
    return {**found, "shot": {fact.shot_id for fact in facts if fact.voided}}


def _named_by(fact: ShotFact) -> list[str]:
    """Ids of all that a shot was loosed with, from and at, and its own."""
    every = (
        fact.shot_id,
        fact.combination_id,
        fact.session_id,
        fact.panel_id,
        fact.panel_build_id,
        fact.bow_id,
        fact.bow_build_id,
        fact.arrow_id,
        fact.arrow_build_id,
        fact.head_id,
        fact.archer_id,
        fact.stand_id,
        fact.chronograph_id,
    )
    return [one for one in every if one]


def _narrowed(fetched: Fetched) -> Fetched:
    """Only what the trial's own shots were loosed with and at."""
    seen = {one for shot in (*fetched.loosed.shots, *fetched.loosed.voided) for one in _named_by(shot.fact)}
    seen |= {row.instrument_id for row in fetched.of(SpeedSeries) if row.combination_id in seen and row.instrument_id}
    seen |= {row.instrument_id for row in fetched.of(Reading) if row.record_id in seen and row.instrument_id}
    return Fetched(**{**vars(fetched), "within": frozenset(seen)})
