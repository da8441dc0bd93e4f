"""What each column of each file means: as a file of its own, and for the page. Both from the columns' own declarations."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.exchange import another_bow_csv, claims_csv, clip_times_csv, kit_csv, protection_csv, shots_csv, speeds_csv
from proofyard.exchange.columns_of_records import record_columns
from proofyard.exchange.csv_writing import SOURCES, Column, Table
from proofyard.exchange.fetched import TABLES, Fetched, fetched_in
from proofyard.exchange.kit_fetched import OF_KIT, kit_fetched
from proofyard.records.archer import Archer
from proofyard.records.columns import Noun
from proofyard.records.shot import SecondReading
from proofyard.storage import Session, Storage
from proofyard.wording.glossary import GLOSSARY


@dataclass(frozen=True)
class OfferedFile:
    """One file that can be downloaded: what is in it, its columns, how it is made, and of which tables' rows."""

    name: str
    words: str
    columns: tuple[Column, ...]
    make: Callable[[Fetched], Table]
    tables: tuple[type[Noun], ...] = TABLES

    def read(self, book: Storage, *, only_trial: str | None = None) -> Table:
        """The table, as the book stands at one moment. For a file that rests on no shot none is read, unless shots say what may be seen."""
        with book.read() as session:
            return self.read_in(session, only_trial=only_trial)

    def read_in(self, session: Session, *, only_trial: str | None = None) -> Table:
        """The same within a reading that goes on."""
        if not self.tables or (only_trial is None and self.name in OF_KIT):
            return self.make(kit_fetched(session, self.name))
        return self.make(fetched_in(session, tables=self.tables, only_trial=only_trial))


_DICTIONARY_COLUMNS = (
    Column("file", "The file", "", "given"),
    Column("column", "The column in it", "", "given"),
    Column("meaning", "What it means", "", "given"),
    Column("unit", "Its unit; 1 for a plain number; empty for words", "", "given"),
    Column("source", "Where it comes from", "", "given", values="; ".join(SOURCES)),
    Column("values", "The words that may stand in it, where they are few", "", "given"),
)
_GLOSSARY_WORDS = "The words of these files beside the field’s own, and what each means."
_GLOSSARY_COLUMNS = (
    Column("word", "The word in this book and in its files", "", "given"),
    Column("field_words", "What the field calls the same thing", "", "given"),
    Column("meaning", "What it is", "", "given"),
    Column("page", "The page on which it is met", "", "given"),
    Column("name", "The name that columns, addresses and code use for it, or the column it is in", "", "given"),
)
_SECOND_WORDS = "What a second person read of a hit, unseen by the first; no count takes them."
_SECOND = record_columns(SecondReading, "second_reading", leave=("shot_id", "read_by_id"))
_SECOND_COLUMNS = (
    Column("shot", "Label of the shot, as in shots.csv", "", "given"),
    Column("shot_id", "Identifier of the shot", "", "given"),
    Column("read_by", "Who read it the second time", "", "typed"),
    *(column for column, _ in _SECOND),
)


def second_readings_table(fetched: Fetched) -> Table:
    """One row a second reading, unseen by whoever made it the first one; crossed-out ones too."""
    labels = {shot.fact.shot_id: shot.fact.label for shot in (*fetched.loosed.shots, *fetched.loosed.voided)}
    names = fetched.by_id(Archer)
    rows = tuple(
        (labels.get(one.shot_id), one.shot_id, names[one.read_by_id].call_name, *(ask(one) for _, ask in _SECOND))
        for one in fetched.of(SecondReading)
        if fetched.may_see(one.shot_id)
    )
    return Table("second_readings.csv", _SECOND_WORDS, _SECOND_COLUMNS, rows)


_MADE = (
    ("shots.csv", shots_csv.WORDS, shots_csv.COLUMNS, shots_csv.shots_table),
    ("speeds.csv", speeds_csv.WORDS, speeds_csv.COLUMNS, speeds_csv.speeds_table),
    ("second_readings.csv", _SECOND_WORDS, _SECOND_COLUMNS, second_readings_table),
    (protection_csv.NAME, protection_csv.WORDS, protection_csv.COLUMNS, protection_csv.protection_table),
    (another_bow_csv.NAME, another_bow_csv.WORDS, another_bow_csv.COLUMNS, another_bow_csv.another_bow_table),
    (claims_csv.NAME, claims_csv.WORDS, claims_csv.COLUMNS, claims_csv.claims_table),
    (clip_times_csv.NAME, clip_times_csv.WORDS, clip_times_csv.COLUMNS, clip_times_csv.clip_times_table),
    ("arrows.csv", kit_csv.WORDS["arrows.csv"], kit_csv.ARROW_COLUMNS, kit_csv.arrows_table),
    ("heads.csv", kit_csv.WORDS["heads.csv"], kit_csv.HEAD_COLUMNS, kit_csv.heads_table),
    ("bows.csv", kit_csv.WORDS["bows.csv"], kit_csv.BOW_COLUMNS, kit_csv.bows_table),
    ("panels.csv", kit_csv.WORDS["panels.csv"], kit_csv.PANEL_COLUMNS, kit_csv.panels_table),
    ("readings.csv", kit_csv.WORDS["readings.csv"], kit_csv.READING_COLUMNS, kit_csv.readings_table),
    ("instruments.csv", kit_csv.WORDS["instruments.csv"], kit_csv.INSTRUMENT_COLUMNS, kit_csv.instruments_table),
)


def dictionary_table(_: Fetched | None = None) -> Table:
    """One row a column of every file, its own among them."""
    rows = tuple(
        (file.name, column.name, column.meaning, column.unit, column.source, column.values or None)
        for file in FILES.values()
        for column in file.columns
    )
    return Table("data_dictionary.csv", _DICTIONARY_WORDS, _DICTIONARY_COLUMNS, rows)


def glossary_table(_: Fetched | None = None) -> Table:
    """One row a word."""
    return Table(
        "glossary.csv", _GLOSSARY_WORDS, _GLOSSARY_COLUMNS, tuple((one.word, one.field, one.means, one.page, one.code) for one in GLOSSARY)
    )


_DICTIONARY_WORDS = "What each column of these files means, its unit, and where it comes from."
_TABLES_OF: Mapping[str, tuple[type[Noun], ...]] = MappingProxyType(
    {"shots.csv": shots_csv.TABLES, "speeds.csv": speeds_csv.TABLES, "second_readings.csv": (SecondReading, Archer)}
    | {protection_csv.NAME: protection_csv.TABLES}
    | dict(OF_KIT)
    | {claims_csv.NAME: claims_csv.TABLES, another_bow_csv.NAME: another_bow_csv.TABLES}
    | {clip_times_csv.NAME: clip_times_csv.TABLES}
)
FILES: Mapping[str, OfferedFile] = MappingProxyType(
    {name: OfferedFile(name, words, columns, make, _TABLES_OF.get(name, TABLES)) for name, words, columns, make in _MADE}
    | {"data_dictionary.csv": OfferedFile("data_dictionary.csv", _DICTIONARY_WORDS, _DICTIONARY_COLUMNS, dictionary_table, ())}
    | {"glossary.csv": OfferedFile("glossary.csv", _GLOSSARY_WORDS, _GLOSSARY_COLUMNS, glossary_table, ())}
)


@dataclass(frozen=True)
class ColumnTopic:
    """Columns that belong together, on a page of their own: a file, or a part of a long one."""

    key: str
    name: str
    file: OfferedFile
    columns: tuple[Column, ...]

    def only(self, asked: str) -> tuple[Column, ...]:
        """Its columns that say every word that is asked for; all of them if it is called so, or nothing is asked."""
        wanted = asked.casefold().split()
        about = f"{self.name} {self.file.name} {self.key}".casefold()
        return tuple(one for one in self.columns if all(word in about or word in _text_of(one) for word in wanted))


def _text_of(column: Column) -> str:
    return " ".join((column.name, column.name.replace("_", " "), column.meaning, column.unit, column.source, column.values)).casefold()


# Parts of the long files: address, name, and the first column of each; the first part begins the file.
_PARTS: Mapping[str, tuple[tuple[str, str, str], ...]] = MappingProxyType(
    {
        "shots.csv": (
            ("shots", "The shot and its moments", "shot_label"),
            ("shots-day", "Trial, day and set-up", "trial"),
            ("shots-kit", "Archer, bow, arrow, head and panel", "loosed_by"),
            ("shots-reading", "What was read", "outcome_low"),
            ("shots-fair", "Fair hit", "fair"),
            ("shots-material", "Weight and hardness", "panel_areal_kg_m2"),
            ("shots-chronograph", "Mass, speed and energy at the chronograph", "arrow_mass_kg"),
            ("shots-target", "Flight, and energy at the target", "speed_read_at_m"),
            ("shots-head", "Shape of the head", "tip_flat_m"),
            ("shots-blunt", "Blunt impact", "blunt_ending"),
            ("shots-ids", "Identifiers", "shot_id"),
        ),
        "arrows.csv": (("arrows", "The arrow", "arrow_tag"), ("arrows-head", "The head on it", "head_name")),
        "panels.csv": (
            ("panels", "The panel and its plates", "panel_name"),
            ("panels-mail", "Lacing, mail and cloth", "panel_lacing"),
            ("panels-build", "Treatment, maker and builds", "panel_heat_treatment"),
        ),
        "speeds.csv": (("speeds", "The reading", "speed_m_s"), ("speeds-combination", "The combination and its mean", "bow")),
    }
)


def column_topics() -> tuple[ColumnTopic, ...]:
    """Every column of every file once, in the files' order."""
    return tuple(topic for file in FILES.values() for topic in _topics_of(file))


def _topics_of(file: OfferedFile) -> list[ColumnTopic]:
    names = [column.name for column in file.columns]
    parts = _PARTS.get(file.name) or ((file.name.removesuffix(".csv").replace("_", "-"), "All columns", names[0]),)
    starts = [names.index(first) for _, _, first in parts]
    ends = [*starts[1:], len(names)]
    return [ColumnTopic(key, name, file, file.columns[start:end]) for (key, name, _), start, end in zip(parts, starts, ends, strict=True)]
