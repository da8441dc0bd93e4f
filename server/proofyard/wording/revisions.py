"""A revision in words: who, when, from which phone, and each field as it was and as it is, with what was typed."""

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from proofyard.quantities import KINDS
from proofyard.records.columns import Meaning, meanings, picked
from proofyard.records.names import names_of
from proofyard.records.notebook import Line
from proofyard.records.nouns import TABLES
from proofyard.records.photo import OF_THE_FILE
from proofyard.records.range_facts import TwoSaid
from proofyard.records.typed_values import kind_of
from proofyard.storage import Session
from proofyard.wording.figures import as_typed_first
from proofyard.wording.when import day_words, moment_words

# What a noun is called in a sentence; others are called by their own name.
NOUN_WORDS = MappingProxyType(
    {
        "shot": "Shot",
        "shot_reading": "Reading of",
        "second_reading": "Second reading of",
        "speed_reading": "Speed of",
        "caution_tick": "Caution",
        "trial": "Trial",
        "session": "Session",
        "setup": "Set-up",
        "shooting_end": "End",
        "butt_visit": "At the butt",
        "incident": "Incident",
        "device": "Phone",
        "reading": "Reading",
        "hardness_reading": "Hardness reading",
        "arrow_check": "Arrow check",
        "panel_area": "Place on a panel",
        "combination": "Combination",
        "speed_series": "Speeds of",
        "stand_layer": "Layer of a stand",
        "bow_check": "Bow check",
        "draw_point": "Draw point",
        "instrument_check": "Instrument check",
        "photo": "Photo",
        "panel_face": "Photo of a panel",
        "prediction": "Prediction of",
        "claim": "Claim of",
        "film": "Film by",
        "film_mark": "Seen in the film by",
        "import_batch": "Batch from",
        "imported_record": "Brought in with",
    }
)
ACTIONS = MappingProxyType({"make": "written down", "change": "changed", "void": "crossed out", "unvoid": "taken back"})
# Named by the record itself or by its phone; a person is told nothing by them.
UNTOLD = frozenset({"id", "rev", "typed", "voided", "recorded_by", *OF_THE_FILE})
# Of a new record, its heading says these already, or another field does.
UNTOLD_OF_NEW = frozenset({"label", "shooting_end", "shot"})
LABELS = MappingProxyType({"outcome_high": "Outcome, or"})


# What is called by its day: as the store has it, 2026-10-24.
NAMED_BY_DAY = frozenset({"session", "setup", "shooting_end"})
_A_DAY = re.compile(r"\d{4}-\d\d-\d\d")


@dataclass(frozen=True)
class Said:
    """One field of a revision, before and after, in words."""

    label: str
    before: str
    after: str


@dataclass(frozen=True)
class Told:
    """One revision in words.

    subject, href  whose it is, and its page where it has one
    changes        of a change: each field before and after
    made           of a new record: all of it in one line
    """

    seq: int
    subject: str
    href: str
    heading: str
    action: str
    changes: tuple[Said, ...]
    made: str
    reason: str


@dataclass(frozen=True)
class ClashTold:
    """One field of which two people said different things."""

    id: str
    subject: str
    href: str
    label: str
    stands: str
    stands_by: str
    offered: str
    offered_by: str


def ids_in(lines: Iterable[Line]) -> set[tuple[str, str]]:
    """(noun, id) of the records that these lines speak of by id."""
    found = set()
    for line in lines:
        known = meanings(TABLES[line.noun]) if line.noun in TABLES else {}
        for name, (before, after, *_) in line.changes.items():
            meaning = known[name][1] if name in known else None
            if meaning and meaning.value == "link" and (noun := meaning.noun or line.changes.get("noun", ("", ""))[1]):
                found |= {(noun, value) for value in (before, after) if value}
    return found


def told(lines: Sequence[Line], names: Mapping[str, str], reader: str) -> tuple[Told, ...]:
    """Each line in words; `names`: id -> what a record is called by."""
    return tuple(
        Told(
            seq=line.seq,
            subject=_subject(line.noun, line.record_id, names),
            href=href_of(line.noun, line.record_id),
            heading=_heading(line),
            action=ACTIONS.get(line.action, line.action),
            changes=() if line.action == "make" else _changes(line, names, reader),
            made="; ".join(f"{said.label}: {said.after}" for said in _changes(line, names, reader)) if line.action == "make" else "",
            reason=line.reason or "",
        )
        for line in lines
    )


def told_with_names(session: Session, lines: Sequence[Line], *, reader: str, known: Mapping[str, str] | None = None) -> tuple[Told, ...]:
    """The same, with the names fetched in one statement, or none if all are known."""
    known = known or {}
    wanted = ids_in(lines) | {(line.noun, line.record_id) for line in lines}
    named = names_of(session, [pair for pair in wanted if pair[1] not in known])
    named |= {one: _A_DAY.sub(lambda day: day_words(day[0]), named[one]) for noun, one in wanted if noun in NAMED_BY_DAY and one in named}
    return told(lines, {**named, **known}, reader)


def _heading(line: Line) -> str:
    phone = f", phone {line.letter}" if line.letter else ""
    return f"Revision {line.rev}, {line.who}{phone}, {moment_words(line.at)}"


def _subject(noun: str, record_id: str, names: Mapping[str, str]) -> str:
    words = NOUN_WORDS.get(noun, "")
    name = names.get(record_id, "")
    if words and name:
        return f"{words} {name}"
    return name or words or noun.replace("_", " ").capitalize()


_PAGES = MappingProxyType(
    {
        "shot": "/shots/",
        "shot_reading": "/shots/",
        "trial": "/trials/",
        "session": "/sessions/",
        "panel_build": "/panels/",
        "arrow": "/arrows/",
    }
)


def href_of(noun: str, record_id: str) -> str:
    """The page of a record, or "" where it has none of its own."""
    return _PAGES[noun] + record_id if noun in _PAGES else ""


def _changes(line: Line, names: Mapping[str, str], reader: str) -> tuple[Said, ...]:
    known = meanings(TABLES[line.noun]) if line.noun in TABLES else {}
    record = {name: four[1] for name, four in line.changes.items()}
    several = {name for name, (_, meaning) in known.items() if meaning.value == "several"}
    said = []
    for name, (before, after, before_typed, after_typed) in line.changes.items():
        if name in UNTOLD or _goes_without_saying(name, line, several):
            continue
        meaning = known[name][1] if name in known else None
        if line.action == "make" and after == 0 and meaning and meaning.value == "yes_no":
            continue  # "Short draw: no" is what everybody takes for granted of a new shot
        label = LABELS.get(name) or (meaning.label if meaning else name.replace("_", " ").capitalize())
        said.append(
            Said(
                label,
                value_words(meaning, before, reader=reader, typed=before_typed, record=record, names=names),
                value_words(meaning, after, reader=reader, typed=after_typed, record=record, names=names),
            )
        )
    return tuple(said)


def _goes_without_saying(name: str, line: Line, several: Collection[str]) -> bool:
    """The other of two outcome levels where it is the same one, and what a new record leaves empty."""
    before, after = line.changes[name][:2]
    if name == "outcome_high" and line.changes.get("outcome_low", (None, None))[:2] == (before, after):
        return True
    if name == "depth_bound" and before in (None, "equal") and after in (None, "equal"):
        return True
    return line.action == "make" and (name in UNTOLD_OF_NEW or after in (None, "") or (name in several and not picked(after)))


def value_words(
    meaning: Meaning | None,
    value: Any,
    *,
    reader: str,
    typed: str | None = None,
    record: Mapping[str, Any] | None = None,
    names: Mapping[str, str] | None = None,
) -> str:
    """A stored value as a person reads it. A quantity carries its unit, after what was typed if that was in another."""
    if value is None:
        return ""
    if meaning is None:
        return str(value)
    if meaning.value == "quantity":
        return _quantity_words(meaning, value, typed, record or {}, reader)
    if meaning.value == "several":
        return ", ".join(meaning.choices.get(one, one) for one in picked(value))
    if meaning.value == "link":
        return (names or {}).get(value, "another record")
    if meaning.value == "choice":
        return meaning.choices.get(str(value), str(value))
    if meaning.value == "yes_no":
        return "yes" if value else "no"
    if meaning.value == "day":
        return day_words(value)
    return moment_words(value) if meaning.value == "moment" else str(value)


def _quantity_words(meaning: Meaning, value: float, typed: str | None, record: Mapping[str, Any], reader: str) -> str:
    kind = kind_of(meaning, record)
    if kind is None or kind not in KINDS:
        return typed or str(value)
    return as_typed_first(typed or "", value, kind, reader)


def clashes_told(session: Session, clashes: Sequence[TwoSaid], reader: str) -> tuple[ClashTold, ...]:
    """Open clashes in words, both values with who said them."""
    wanted = {(one.noun, one.record_id) for one in clashes}
    for one in clashes:
        meaning = _meaning_of(one)
        if meaning and meaning.value == "link" and meaning.noun:
            wanted |= {(meaning.noun, value) for value in (one.stands[0], one.offered[0]) if value}
    names = names_of(session, wanted)
    return tuple(_clash_told(one, names, reader) for one in clashes)


def _meaning_of(clash: TwoSaid) -> Meaning | None:
    known = meanings(TABLES[clash.noun]) if clash.noun in TABLES else {}
    return known[clash.field][1] if clash.field in known else None


def _clash_told(one: TwoSaid, names: Mapping[str, str], reader: str) -> ClashTold:
    meaning = _meaning_of(one)
    label = meaning.label if meaning else one.field
    both = (one.stands, one.offered)
    stands, offered = (value_words(meaning, value, reader=reader, typed=typed, names=names) or "left empty" for value, typed in both)
    return ClashTold(
        id=one.id,
        subject=_subject(one.noun, one.record_id, names),
        href=href_of(one.noun, one.record_id),
        label=label,
        stands=stands,
        stands_by=one.stands_by or "somebody",
        offered=offered,
        offered_by=one.offered_by or "somebody",
    )


def typed_again(clash: TwoSaid, choice: str) -> dict[str, Any]:
    """The body that says again what was chosen, `stands` or `offered`, as it was typed then."""
    value, typed = clash.stands if choice == "stands" else clash.offered
    said: Any = value if typed is None else typed
    meaning = _meaning_of(clash)
    if meaning and meaning.value == "several":
        said = picked(value)
    return {clash.field: said if said is None or isinstance(said, list) else str(said)}
