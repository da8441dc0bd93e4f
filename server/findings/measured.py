"""Readings of one thing taken together: mean, spread, and how well the mean is known, with what was left out beside it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.findings.instrument_doubt import InstrumentDoubt, doubt_of
from server.quantities import Uncertain
from server.records.instrument import Instrument, Reading
from server.statistics.refusals import CantTell
from server.statistics.repeated_readings import Component, Readings, combine, summarise_readings, type_a, type_b

# GUM, Table E.1 (JCGM 100:2008): by how many percent a spread from so few readings is itself unsure.
SPREAD_UNSURE_PERCENT = {2: 76, 3: 52, 4: 42, 5: 36}


@dataclass(frozen=True)
class Measured:
    """What readings of one thing say.

    mean        with its standard uncertainty; that is None where the instrument's doubt is not known
    why_not     what keeps the uncertainty, or the mean, from being told
    """

    used: tuple[Reading, ...]
    left_out: tuple[Reading, ...]
    readings: Readings | None
    type_a: Component | None
    type_b: InstrumentDoubt | None
    mean: Uncertain | None
    why_not: str


def measured(rows: Sequence[Reading], tools: Mapping[str, Instrument]) -> Measured:
    """Readings of one quantity of one thing. With one reading the instrument's doubt stands alone."""
    used = tuple(row for row in rows if row.left_out_reason is None)
    left_out = tuple(row for row in rows if row.left_out_reason is not None)
    found = summarise_readings(row.value_si for row in used)
    if isinstance(found, CantTell):
        return Measured(used, left_out, None, None, None, None, "no readings")
    doubt = doubt_of((tools.get(row.instrument_id or "") for row in used), found.mean)
    scatter = type_a(found)
    parts = [] if isinstance(scatter, CantTell) else [scatter]
    kind_a = parts[0] if parts else None
    if doubt is None:
        mean, why = Uncertain(found.mean, None, None, found.n), "how far the instrument may be off is not written down"
    else:
        total = combine(*parts, type_b(doubt.words, doubt.standard_uncertainty))
        mean, why = Uncertain(found.mean, total.standard_uncertainty, total.dof if total.dof > 0 else None, found.n), ""
    return Measured(used, left_out, found, kind_a, doubt, mean, why)


def few_words(n: int) -> str:
    """What so few readings can't tell; empty when there are enough."""
    if n == 1:
        return "One reading tells nothing about scatter."
    if n in SPREAD_UNSURE_PERCENT:
        return f"Only {n} readings: the spread itself is unsure by about {SPREAD_UNSURE_PERCENT[n]} %."
    return ""
