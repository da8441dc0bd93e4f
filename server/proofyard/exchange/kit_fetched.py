"""Rows of kit, and of what was read of it, without the shots: for the files that rest on no shot, whole or a part at a time."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from proofyard.exchange.fetched import Fetched
from proofyard.records.arrow import Arrow, ArrowBuild, Head
from proofyard.records.bow import Bow, BowBuild
from proofyard.records.columns import Noun
from proofyard.records.ids_in_order import ids_after
from proofyard.records.instrument import HardnessReading, Instrument, Reading
from proofyard.records.listing import all_of, belonging
from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.shot_facts import shot_facts
from proofyard.records.speed import Combination, SpeedReading, SpeedSeries
from proofyard.records.speed_facts import masses_and_instruments
from proofyard.shots.impact import Impacts
from proofyard.shots.loosed import Loosed, LoosedInPassing
from proofyard.storage import Session, Storage

# file -> the tables whose rows it asks for; those whose rows are its own come first
OF_KIT: Mapping[str, tuple[type[Noun], ...]] = MappingProxyType(
    {
        "arrows.csv": (ArrowBuild, Arrow, Head),
        "heads.csv": (Head,),
        "bows.csv": (BowBuild, Bow),
        "panels.csv": (PanelBuild, Panel, Reading, Instrument),
        "readings.csv": (Reading, HardnessReading, Instrument, Arrow, ArrowBuild, Bow, BowBuild, Panel, PanelBuild, Head),
        "instruments.csv": (Instrument,),
        "data_dictionary.csv": (),
        "glossary.csv": (),
    }
)
_OWN: Mapping[str, tuple[type[Noun], ...]] = MappingProxyType(
    {name: tables[:1] for name, tables in OF_KIT.items()} | {"readings.csv": (Reading, HardnessReading), "speeds.csv": (SpeedReading,)}
)
# build -> what it is a build of, and the column that says which
_BUILDS: Mapping[type[Noun], tuple[type[Noun], str]] = MappingProxyType(
    {ArrowBuild: (Arrow, "arrow_id"), BowBuild: (Bow, "bow_id"), PanelBuild: (Panel, "panel_id")}
)
Rows = dict[type[Noun], Sequence[Any]]


@dataclass(frozen=True)
class KitPart:
    """Some rows of a file, with all that is told of them. count: how many the file has; more: whether some come after these."""

    fetched: Fetched
    count: int
    more: bool


def kit_fetched(session: Session, name: str) -> Fetched:
    """All that a file of kit is made from."""
    impacts = _weighed(session) if name == "arrows.csv" else _nothing()
    return _of({table: all_of(session, table, voided=True) for table in OF_KIT[name]}, impacts)


def kit_part(book: Storage, name: str, *, after: str | None, most: int) -> KitPart:
    """The rows of a file whose ids come after one, at most so many; `name`: of OF_KIT, or speeds.csv."""
    with book.read() as session:
        ids, count = ids_after(session, _OWN[name], after=after, most=most + 1)
        more, ids = len(ids) > most, ids[:most]
        rows: Rows = {table: belonging(session, table, "id", ids, voided=True) for table in _OWN[name]}
        fetched = _speeds(session, rows) if name == "speeds.csv" else _around(session, name, rows)
        return KitPart(fetched, count, more)


# Files whose rows come in the order of ids, and can so be made some at a time, with the tables whose rows come one after another.
IN_PIECES = frozenset({"arrows.csv", "bows.csv", "panels.csv", "readings.csv", "speeds.csv"})
A_PIECE = 2_000  # rows


def pieces_of_file(session: Session, name: str, base: Fetched) -> Iterator[Fetched]:
    """All rows of a file of IN_PIECES in their order, some at a time. base: shots and speeds of the whole book, for speeds.csv."""
    for table in _OWN[name]:
        last: str | None = None
        while True:
            ids, _ = ids_after(session, [table], after=last, most=A_PIECE)
            if ids:
                rows: Rows = {one: () for one in _OWN[name]} | {table: belonging(session, table, "id", ids, voided=True)}
                yield _with_series(session, rows, base) if name == "speeds.csv" else _around(session, name, rows)
                last = ids[-1]
            if len(ids) < A_PIECE:
                break


def _with_series(session: Session, rows: Rows, base: Fetched) -> Fetched:
    series = sorted({one.series_id for one in rows[SpeedReading] if one.series_id})
    rows[SpeedSeries] = belonging(session, SpeedSeries, "id", series, voided=True)
    rows[Instrument] = all_of(session, Instrument, voided=True)
    return replace(base, rows=rows)


def _around(session: Session, name: str, rows: Rows) -> Fetched:
    """What is told of rows of kit: what builds are of, the head that is mounted, what was measured, and with what."""
    named = {one.record_id for table in (Reading, HardnessReading) for one in rows.get(table, ())} if name == "readings.csv" else set()
    heads = {one.head_id for one in rows.get(ArrowBuild, ()) if one.head_id} | named
    for build, (table, column) in _BUILDS.items():
        if build in OF_KIT[name]:
            rows.setdefault(build, belonging(session, build, "id", sorted(named), voided=True) if named else ())
            rows[table] = belonging(session, table, "id", sorted({getattr(one, column) for one in rows[build]}), voided=True)
    if Head in OF_KIT[name] and Head not in rows:
        rows[Head] = belonging(session, Head, "id", sorted(heads), voided=True) if heads else ()
    if Reading in OF_KIT[name] and Reading not in rows:
        rows[Reading] = belonging(session, Reading, "record_id", [one.id for one in rows[PanelBuild]], voided=True)
    if Instrument in OF_KIT[name] and Instrument not in rows:
        rows[Instrument] = all_of(session, Instrument, voided=True)
    builds = [one.id for one in rows.get(ArrowBuild, ())] if name == "arrows.csv" else []
    return _of(rows, _weighed(session, builds) if builds else _nothing())


def _speeds(session: Session, rows: Rows) -> Fetched:
    """Speeds with their shots or series, and all that the means of their combinations rest on."""
    readings = rows[SpeedReading]
    shots = sorted({one.shot_id for one in readings if one.shot_id})
    facts = shot_facts(session, voided=True, shot_id=shots) if shots else []
    rows[SpeedSeries] = belonging(session, SpeedSeries, "id", sorted({one.series_id for one in readings if one.series_id}), voided=True)
    rows[Instrument] = all_of(session, Instrument, voided=True)
    combinations = belonging(session, Combination, "id", sorted({one.combination_id for one in rows[SpeedSeries]}), voided=True)
    impacts = Impacts.load(session, facts, also=[one.arrow_build_id for one in combinations])
    loosed = tuple(LoosedInPassing(fact, impacts, None) for fact in facts)
    return _of(rows, impacts, Loosed(loosed, (), {}))


def _weighed(session: Session, arrow_build_ids: Collection[str] | None = None) -> Impacts:
    """What arrows weigh, without a look at their speeds."""
    masses, tools = masses_and_instruments(session, arrow_build_ids)
    return Impacts(series=(), own=(), mass_facts=masses, tools=tools, known={})


def _nothing() -> Impacts:
    return Impacts(series=(), own=(), mass_facts=(), tools={}, known={})


def _of(rows: Rows, impacts: Impacts, loosed: Loosed | None = None) -> Fetched:
    return Fetched(
        rows=rows,
        loosed=loosed or Loosed((), (), {}),
        impacts=impacts,
        combinations=impacts.combinations,
        written={},
        read_at={},
        voided_because={},
        within=None,
    )
