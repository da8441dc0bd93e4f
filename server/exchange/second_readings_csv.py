"""second_readings.csv: what a second person read of a hit, without having seen the first reading. No count takes them."""

from server.exchange.columns_of_records import record_columns
from server.exchange.csv_writing import Column, Table
from server.exchange.fetched import Fetched
from server.records.archer import Archer
from server.records.columns import Noun
from server.records.shot import SecondReading

NAME = "second_readings.csv"
WORDS = "What a second person read of a hit, unseen by the first; no count takes them."
TABLES: tuple[type[Noun], ...] = (SecondReading, Archer)
_READ = record_columns(SecondReading, "second_reading", leave=("shot_id", "read_by_id"))
COLUMNS = (
    Column("shot", "Label of the shot, as in shots.csv", "", "given"),
    Column("shot_id", "Identifier of the shot", "", "given"),
    Column("read_by", "Who read it the second time", "", "typed"),
    *(column for column, _ in _READ),
)


def second_readings_table(fetched: Fetched) -> Table:
    """One row a second reading, struck ones too."""
    labels = {shot.fact.shot_id: shot.fact.label for shot in (*fetched.loosed.shots, *fetched.loosed.struck)}
    names = fetched.by_id(Archer)
    rows = tuple(
        (labels.get(one.shot_id), one.shot_id, names[one.read_by_id].call_name, *(ask(one) for _, ask in _READ))
        for one in fetched.of(SecondReading)
        if fetched.may_see(one.shot_id)
    )
    return Table(NAME, WORDS, COLUMNS, rows)
