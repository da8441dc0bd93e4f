"""What each column of each file means: as a file of its own, and for the page. Both from the columns' own declarations."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from server.exchange import kit_csv, second_readings_csv, shots_csv, speeds_csv
from server.exchange.csv_writing import SOURCES, Column, Table
from server.exchange.fetched import TABLES, Fetched
from server.records.columns import Noun


@dataclass(frozen=True)
class OfferedFile:
    """One file that can be downloaded: what is in it, its columns, how it is made, and of which tables' rows."""

    name: str
    words: str
    columns: tuple[Column, ...]
    make: Callable[[Fetched], Table]
    tables: tuple[type[Noun], ...] = TABLES


_DICTIONARY_COLUMNS = (
    Column("file", "The file", "", "given"),
    Column("column", "The column in it", "", "given"),
    Column("meaning", "What it means", "", "given"),
    Column("unit", "Its unit; 1 for a plain number; empty for words", "", "given"),
    Column("source", "Where it comes from", "", "given", values="; ".join(SOURCES)),
    Column("values", "The words that may stand in it, where they are few", "", "given"),
)
_MADE = (
    ("shots.csv", shots_csv.WORDS, shots_csv.COLUMNS, shots_csv.shots_table),
    ("speeds.csv", speeds_csv.WORDS, speeds_csv.COLUMNS, speeds_csv.speeds_table),
    (second_readings_csv.NAME, second_readings_csv.WORDS, second_readings_csv.COLUMNS, second_readings_csv.second_readings_table),
    ("arrows.csv", kit_csv.WORDS["arrows.csv"], kit_csv.ARROW_COLUMNS, kit_csv.arrows_table),
    ("heads.csv", kit_csv.WORDS["heads.csv"], kit_csv.HEAD_COLUMNS, kit_csv.heads_table),
    ("bows.csv", kit_csv.WORDS["bows.csv"], kit_csv.BOW_COLUMNS, kit_csv.bows_table),
    ("panels.csv", kit_csv.WORDS["panels.csv"], kit_csv.PANEL_COLUMNS, kit_csv.panels_table),
    ("readings.csv", kit_csv.WORDS["readings.csv"], kit_csv.READING_COLUMNS, kit_csv.readings_table),
    ("instruments.csv", kit_csv.WORDS["instruments.csv"], kit_csv.INSTRUMENT_COLUMNS, kit_csv.instruments_table),
)  # fmt: skip


def dictionary_table(_: Fetched | None = None) -> Table:
    """One row a column of every file, its own among them."""
    rows = tuple(
        (file.name, column.name, column.meaning, column.unit, column.source, column.values or None)
        for file in FILES.values()
        for column in file.columns
    )
    return Table("data_dictionary.csv", _DICTIONARY_WORDS, _DICTIONARY_COLUMNS, rows)


_DICTIONARY_WORDS = "What each column of these files means, its unit, and where it comes from."
_TABLES_OF: Mapping[str, tuple[type[Noun], ...]] = MappingProxyType(
    {"shots.csv": shots_csv.TABLES, "speeds.csv": speeds_csv.TABLES, second_readings_csv.NAME: second_readings_csv.TABLES}
)
FILES: Mapping[str, OfferedFile] = MappingProxyType(
    {name: OfferedFile(name, words, columns, make, _TABLES_OF.get(name, TABLES)) for name, words, columns, make in _MADE}
    | {"data_dictionary.csv": OfferedFile("data_dictionary.csv", _DICTIONARY_WORDS, _DICTIONARY_COLUMNS, dictionary_table, ())}
)
