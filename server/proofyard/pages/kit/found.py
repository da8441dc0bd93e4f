"""What every page of kit asks first: which noun, which record, which build, what may be picked, what ids are called."""

from collections.abc import Iterable, Mapping, Sequence

from fastapi import HTTPException

from proofyard.pages.kit.nouns import KIT, KitNoun
from proofyard.records.bow import BowCheck, DrawPoint
from proofyard.records.columns import Noun, meanings
from proofyard.records.instrument import READ_WITH, HardnessReading, Instrument
from proofyard.records.kit_facts import BuildFact, builds
from proofyard.records.listing import all_of, name_of, one
from proofyard.records.nouns import TABLES
from proofyard.records.speed import SpeedSeries
from proofyard.storage import Session

# Links that the forms of kit offer; a session belongs to the pages of trials.
OFFERED = frozenset({"archer", "instrument", "bow", "head", "arrow", "panel", "stand"})
# What the rows of a table read; a Reading says it itself.
MEASURED_IN: Mapping[type[Noun], str] = {HardnessReading: "hardness", DrawPoint: "force", BowCheck: "force", SpeedSeries: "speed"}


def the_noun(noun: str) -> KitNoun:
    if noun not in KIT:
        raise HTTPException(404)
    return KIT[noun]


def the_record(session: Session, kind: KitNoun, record_id: str) -> Noun:
    row = one(session, kind.table, record_id)
    if row is None:
        raise HTTPException(404)
    return row


def builds_of(session: Session, kind: KitNoun, *record_ids: str) -> list[BuildFact]:
    """The builds of records, the newest of each first; none for a noun without builds."""
    return builds(session, of_ids=record_ids) if kind.build else []


def options_for(
    session: Session, table: type[Noun], names: Iterable[str], *, measured: str = "", kept: Iterable[str | None] = ()
) -> dict[str, Sequence[tuple[str, str]]]:
    """field -> (id, name) of the records that may be picked for it; retired ones come last and say so.

    Instruments are offered where they read what is `measured`; those `kept` stand there already and stay whatever they are.
    """
    known, stay = meanings(table), frozenset(kept)
    sorts = READ_WITH.get(measured or MEASURED_IN.get(table, ""))
    options: dict[str, Sequence[tuple[str, str]]] = {}
    for name in names:
        noun = known[name][1].noun if name in known else None
        if noun is not None and noun in OFFERED:
            rows = sorted(all_of(session, TABLES[noun]), key=lambda row: bool(getattr(row, "retired", 0)))
            rows = [row for row in rows if row.id in stay or not isinstance(row, Instrument) or reads(row, sorts)]
            options[name] = [(row.id, name_of(row) + (", retired" if getattr(row, "retired", 0) else "")) for row in rows]
    return options


def reads(tool: Instrument, sorts: Sequence[str] | None) -> bool:
    """Whether an instrument is one of these sorts, or of a sort that nobody knows; None: of any."""
    return sorts is None or tool.sort in (None, "other", *sorts)


def linked_names(session: Session, tables: Iterable[type[Noun]]) -> dict[str, str]:
    """id -> name of all records that these tables' fields may link to, crossed-out ones too: old records still name them."""
    nouns = {meaning.noun for table in tables for _, meaning in meanings(table).values() if meaning.noun} & OFFERED
    return {row.id: name_of(row) for noun in sorted(nouns) for row in all_of(session, TABLES[noun], voided=True)}


def called(kind: KitNoun, record: Noun) -> str:
    """The noun and the name; the name alone where it begins with the noun: not "bow Bow 3"."""
    name = name_of(record)
    return name if name.lower().startswith(kind.one) else f"{kind.one} {name}"


def address(kind: KitNoun, record_id: str, *more: str) -> str:
    return "/".join(["/kit", kind.noun, record_id, *more])
