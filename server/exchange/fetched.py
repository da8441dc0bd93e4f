"""All that the downloads are made from, read in one go: the book is let go before the first byte is sent."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from server.findings.impact import Impacts
from server.findings.loosed import Loosed, loosed_with
from server.records.archer import Archer
from server.records.arrow import Arrow, ArrowBuild, Head
from server.records.bow import Bow, BowBuild
from server.records.columns import Noun
from server.records.instrument import HardnessReading, Instrument, Reading
from server.records.listing import all_of
from server.records.panel import Panel, PanelArea, PanelBuild
from server.records.shot import SecondReading
from server.records.shot_facts import shot_facts
from server.records.speed import SpeedReading, SpeedSeries
from server.records.speed_facts import PairingFact
from server.records.stand import Stand
from server.records.trial import Session as Day
from server.records.written_down import WrittenDown, first_written, struck_because
from server.storage import Storage

TABLES: tuple[type[Noun], ...] = (
    Archer, Arrow, ArrowBuild, Head, Bow, BowBuild, Panel, PanelArea, PanelBuild, Instrument, Reading, HardnessReading,
    SpeedSeries, SpeedReading, Stand, Day, SecondReading,
)  # fmt: skip
_SAY_WHAT_IS_WITHIN = (SpeedSeries, Reading)  # they name the instruments that a trial's shots and kit were measured with


@dataclass(frozen=True)
class Fetched:
    """Rows by table, struck ones too, and the shots with what findings say of them.

    within   what a viewer of one trial may see, as ids of builds, pairings and the like; None: everything
    """

    rows: Mapping[type[Noun], Sequence[Any]]
    loosed: Loosed
    impacts: Impacts
    pairings: Mapping[str, PairingFact]
    written: Mapping[str, WrittenDown]
    read_at: Mapping[str, WrittenDown]
    struck_because: Mapping[tuple[str, str], str]
    within: frozenset[str] | None

    def of(self, table: type[Noun]) -> Sequence[Any]:
        return self.rows[table]

    def by_id(self, table: type[Noun]) -> dict[str, Any]:
        return {row.id: row for row in self.rows[table]}

    def may_see(self, *record_ids: str | None) -> bool:
        """Whether any of these ids is within what this reader may see."""
        return self.within is None or any(one in self.within for one in record_ids if one)


def fetch(book: Storage, *, tables: Collection[type[Noun]] = TABLES, only_trial: str | None = None) -> Fetched:
    """Everything, as it stands at one moment; of the tables' own rows only what the file at hand needs."""
    wanted = {*tables, *(_SAY_WHAT_IS_WITHIN if only_trial else ())}
    with book.read() as session:
        impacts = Impacts.load(session)
        loosed = loosed_with(session, shot_facts(session, struck=True), impacts=impacts)
        fetched = Fetched(
            rows={table: all_of(session, table, struck=True) for table in TABLES if table in wanted},
            loosed=loosed.of_trial(only_trial),
            impacts=impacts,
            pairings=impacts.pairings,
            written=first_written(session, "shot"),
            read_at=first_written(session, "shot_reading"),
            struck_because=struck_because(session),
            within=None,
        )
    return fetched if only_trial is None else _narrowed(fetched)


def _narrowed(fetched: Fetched) -> Fetched:
    """Only what the trial's own shots were loosed with and at."""
    seen: set[str] = set()
    for shot in (*fetched.loosed.shots, *fetched.loosed.struck):
        fact = shot.fact
        seen |= {
            one
            for one in (
                fact.shot_id, fact.pairing_id, fact.session_id, fact.panel_id, fact.panel_build_id, fact.bow_id, fact.bow_build_id,
                fact.arrow_id, fact.arrow_build_id, fact.head_id, fact.archer_id, fact.stand_id, fact.chronograph_id,
            )
            if one
        }  # fmt: skip
    seen |= {row.instrument_id for row in fetched.of(SpeedSeries) if row.pairing_id in seen and row.instrument_id}
    seen |= {row.instrument_id for row in fetched.of(Reading) if row.record_id in seen and row.instrument_id}
    return Fetched(**{**vars(fetched), "within": frozenset(seen)})
