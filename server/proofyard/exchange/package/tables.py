"""The tables of a package that hold what was seen or typed: one a noun, one of recorders, one of what two said differently."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from proofyard.exchange.package.fields import Field, of_meaning
from proofyard.records.columns import Noun, meanings
from proofyard.records.nouns import TABLES
from proofyard.records.photo import OF_THE_FILE
from proofyard.records.whole_state import noun_named_by, unique_columns

RECORDS = "records"
RECORDER, CLASH = "recorder", "clash"
# It follows from a shot and says nothing of its own, so nobody wrote it down at a moment.
WITHOUT_MOMENTS = frozenset({"combination"})
WITH_CLOCK = frozenset({"shot", "shot_reading"})


@dataclass(frozen=True)
class Layout:
    """One table of the package: its columns and keys, without its rows. `by`: columns that name another table's record."""

    name: str
    path: str
    title: str
    fields: tuple[Field, ...]
    primary_key: tuple[str, ...] = ("id",)
    unique_keys: tuple[tuple[str, ...], ...] = ()
    foreign_keys: tuple[tuple[tuple[str, ...], str, tuple[str, ...]], ...] = ()

    @property
    def names(self) -> list[str]:
        return [one.name for one in self.fields]

    def schema(self) -> dict[str, Any]:
        """As Table Schema 2 has it."""
        said: dict[str, Any] = {"fields": [one.schema() for one in self.fields], "fieldsMatch": "exact", "missingValues": [""]}
        if self.primary_key:
            said["primaryKey"] = list(self.primary_key)
        if self.unique_keys:
            said["uniqueKeys"] = [list(key) for key in self.unique_keys]
        if self.foreign_keys:
            said["foreignKeys"] = [
                {"fields": list(own), "reference": {"resource": noun, "fields": list(theirs)}} for own, noun, theirs in self.foreign_keys
            ]
        return said


TITLES: Mapping[str, str] = MappingProxyType(
    {
        "archer": "Archers, by call name",
        "instrument": "What readings were taken with",
        "instrument_check": "Checks of an instrument against something known",
        "reading": "Readings of mass, thickness and length",
        "hardness_reading": "Readings of hardness",
        "bow": "Bows",
        "bow_build": "Builds of a bow: string, brace height",
        "draw_point": "Points of a bow’s force and draw",
        "bow_check": "Checks of a bow at an archer’s draw",
        "head": "Heads",
        "arrow": "Arrows",
        "arrow_build": "Builds of an arrow: which head is mounted",
        "arrow_check": "Arrows looked at: sound or not",
        "combination": "Bow build, arrow build and archer: what speeds belong to",
        "speed_series": "Speed readings taken one after another",
        "speed_reading": "Speed readings, of a series or of a shot",
        "panel": "Panels",
        "panel_build": "Builds of a panel",
        "panel_area": "Aim spots, ridges, edges, gaps and the like of a panel’s build",
        "panel_face": "Photos of a panel’s face with their scale",
        "stand": "Stands that panels hung on",
        "stand_layer": "Layers behind a panel: garment, witness, backing",
        "backing_check": "Checks of a backing",
        "trial": "Trials: a question, its rules, its state",
        "trial_uses": "Kit that a trial is to use",
        "session": "Days of a trial",
        "caution_tick": "Cautions ticked before a day was opened",
        "setup": "Set-ups: panel, stand, distance, angle",
        "shooting_end": "Ends: the arrows loosed before going forward",
        "butt_visit": "Visits to the butt",
        "incident": "Incidents",
        "claim": "Claims that a trial is to answer",
        "prediction": "What each archer expected",
        "plan": "Plans: a random order of shots",
        "planned_shot": "Shots of a plan",
        "shot": "Shots, as they were loosed",
        "shot_reading": "What was read of a shot; its id is the shot’s",
        "second_reading": "What a second person read, unseen by the first",
        "film": "Films of a day: which camera, which files; the films themselves are not in the package",
        "film_mark": "What ties a film’s time to the book’s",
        "import_batch": "What was brought in from a spreadsheet at once: its file’s name, what each column was said to be",
        "imported_record": "Which records came in with a batch",
        "photo": "Photos, each with its file and its checksum",
    }
)

_OF_THE_FILE = (
    Field("photo_file", "string", "The photo’s file in this package; empty where the book had none", "given"),
    Field("sent_sha256", "string", "SHA-256 of the file that was sent", "given", required=True),
    Field("sha256", "string", "SHA-256 of the file that is kept, and that this package holds", "given", required=True),
    Field("media", "string", "Its media type", "given", required=True),
    Field("width", "integer", "Pixels across", "given", unit="1", required=True, least=1),
    Field("height", "integer", "Pixels up and down", "given", unit="1", required=True, least=1),
    Field("bytes", "integer", "Its size", "given", unit="byte", required=True, least=1),
)
assert tuple(one.name for one in _OF_THE_FILE[1:]) == OF_THE_FILE
_CLOCK = (
    Field("clock_offset_ms", "integer", "The book’s clock less the recorder’s when it was written down", "given", unit="ms"),
    Field("clock_error_ms", "integer", "Error of that estimate, at most", "given", unit="ms", least=0),
)


def _moments(noun: str) -> tuple[Field, ...]:
    if noun in WITHOUT_MOMENTS:
        return ()
    return (
        Field("made_at", "datetime", "When the book first had it, by the book’s clock, UTC", "given", required=True),
        Field("changed_at", "datetime", "When it was last corrected or put back; empty if never", "given"),
        Field("written_by", "string", "Letter of the phone or laptop that wrote it down", "given", noun=RECORDER),
    )


def _crossed_out(noun: str) -> tuple[Field, ...]:
    return (
        Field("crossed_out", "boolean", "Crossed out: recorded in error, kept so that nothing is hidden", "typed", required=True),
        Field("crossed_out_because", "string", "Why it was crossed out", "typed"),
        Field("crossed_out_at", "datetime", "When it was crossed out", "given"),
    )


_AS_TYPED = Field("as_typed", "object", "Its fields as they were typed, as JSON: field, text", "typed")
# What stands in a noun's table beside the columns of the book's own table.
BESIDE = frozenset(
    {
        "photo_file",
        "made_at",
        "changed_at",
        "written_by",
        "crossed_out",
        "crossed_out_because",
        "crossed_out_at",
        "clock_offset_ms",
        "clock_error_ms",
        "as_typed",
    }
)


@cache
def layout_of(noun: str) -> Layout:
    """The table of one noun."""
    table = TABLES[noun]
    read = noun in ("shot_reading", "second_reading")
    mine = [of_meaning(column, meaning, table, source="read" if read else "typed") for column, meaning in meanings(table).values()]
    fields = (
        Field("id", "string", f"Identifier: {TITLES[noun]}", "given", required=True, is_id=True),
        *mine,
        *((Field("recorded_by", "string", "Letter of the phone that recorded it", "given", noun=RECORDER),) if noun == "shot" else ()),
        *(_OF_THE_FILE if noun == "photo" else ()),
        *_crossed_out(noun),
        *_moments(noun),
        *(_CLOCK if noun in WITH_CLOCK else ()),
        _AS_TYPED,
    )
    return Layout(
        name=noun,
        path=f"{RECORDS}/{noun}.csv",
        title=TITLES[noun],
        fields=fields,
        unique_keys=unique_columns(table),
        foreign_keys=_foreign_keys(noun, table, fields),
    )


def _foreign_keys(noun: str, table: type[Noun], fields: tuple[Field, ...]) -> tuple[tuple[tuple[str, ...], str, tuple[str, ...]], ...]:
    keys: list[tuple[tuple[str, ...], str, tuple[str, ...]]] = []
    for one in fields:
        if one.noun == RECORDER:
            keys.append(((one.name,), RECORDER, ("letter",)))
        elif one.is_id and one.name != "id" and (target := noun_named_by(one.noun, table, one.name)):
            keys.append(((one.name,), target, ("id",)))
    if noun == "shot_reading":
        keys.append((("id",), "shot", ("id",)))
    if noun == "shot":
        three = ("bow_build_id", "arrow_build_id", "archer_id")
        keys.append((three, "combination", three))
    return tuple(keys)


RECORDER_LAYOUT = Layout(
    name=RECORDER,
    path=f"{RECORDS}/{RECORDER}.csv",
    title="Phones and laptops that wrote something down, by their letter and nothing else",
    fields=(Field("letter", "string", "Its letter, with which the labels of its shots begin", "given", required=True, longest=2),),
    primary_key=("letter",),
)
CLASH_LAYOUT = Layout(
    name=CLASH,
    path=f"{RECORDS}/{CLASH}.csv",
    title="What two people said differently of one field, and nobody has decided yet: the first stands in the record",
    fields=(
        Field("noun", "string", "Of what", "given", required=True),
        Field("record_id", "string", "Which one", "given", required=True, is_id=True, noun_in="noun"),
        Field("field", "string", "The field", "given", required=True),
        Field("offered", "object", "What the second person said, as JSON: stored, and as it was typed", "typed", required=True),
        Field("offered_at", "datetime", "When the book had that", "given", required=True),
        Field("written_by", "string", "Letter of the phone or laptop that wrote it down", "given", noun=RECORDER),
    ),
    primary_key=("noun", "record_id", "field", "offered", "offered_at"),
    foreign_keys=((("written_by",), RECORDER, ("letter",)),),
)


def record_layouts() -> tuple[Layout, ...]:
    """Every table of what was seen or typed, in the order of the book."""
    return (*(layout_of(noun) for noun in TABLES), CLASH_LAYOUT, RECORDER_LAYOUT)
