"""pool.csv: what the pool page shows, a row a group and one for all together, in the columns of the files that tell 50 % energies."""

from proofyard.answers.pool.page import GroupRow, Pool
from proofyard.exchange.csv_writing import Column, Table, Value
from proofyard.exchange.fifty_percent_columns import END, WHY_NOT, number
from proofyard.quantities.reason import CantTell
from proofyard.wording.reasons.said import said

NAME = "pool.csv"
WORDS = "One question asked of several groups' books: each group's figure with its interval and number of shots, then all together."
COLUMNS = (
    Column("group", "Whose book; empty for all groups together", "", "typed"),
    Column("figure", "What is pooled", "", "worked out", values="energy, share"),
    Column("head_form", "Form of the head", "", "typed"),
    Column("construction", "Construction of the panels", "", "typed"),
    Column("energy_at", "Where energies hold", "", "typed", values="chronograph, target"),
    Column("through", "What through means: the lowest outcome level that counts, or body_line", "", "typed"),
    number("thickness_m", "Mean thickness of the panels, over the counted shots; empty where it isn't known of all", "m"),
    number("areal_kg_m2", "Mean weight of a square metre of them, likewise", "kg/m²"),
    number("hardness_hv", "Mean hardness of them on the Vickers scale, likewise", "HV"),
    number("shots", "Decided shots that the figure rests on", "1"),
    number("hits", "How many of them got through; empty for all groups together", "1"),
    number("value", "The figure: J for an energy, a share from 0 to 1 for a share", "J or 1"),
    number("low", f"Its lower end. {END}", "J or 1"),
    number("high", f"Its upper end. {END}", "J or 1"),
    number("between_groups", "Standard deviation between groups: of ln(energy), or of log-odds; for all groups together", "1"),
    WHY_NOT,
)


def pool_table(found: Pool) -> Table:
    asked = found.asked
    same = (asked.figure, asked.head, asked.construction, asked.at, asked.through)
    rows = [_row(one, same, said(reason)) for one, reason in found.told]
    shots = sum(one.settled for one in found.groups)
    return Table(NAME, WORDS, COLUMNS, (*rows, _all(found, same, shots)))


def _row(one: GroupRow, same: tuple[str, ...], words: str) -> tuple[Value, ...]:
    value = one.value(same[0])
    ends = value or (None, None, None)
    measures = (one.thickness_m, one.weight_kg_m2, one.hardness_hv)
    return (one.name, *same, *measures, one.settled, one.hits, *ends, None, None if value else words)


def _all(found: Pool, same: tuple[str, ...], shots: int) -> tuple[Value, ...]:
    before: tuple[Value, ...] = (None, *same, None, None, None, shots, None)
    together = found.together
    if isinstance(together, CantTell):
        return (*before, None, None, None, None, said(together.reason))
    return (*before, together.value, together.low, together.high, together.between, None)
