"""protection.csv: each head's 50 % energy at each panel type over what a square metre of it weighs, as the page shows it at first."""

from proofyard.answers.protection.page import HeadForWeight, WeightRow, protection
from proofyard.exchange.csv_writing import Table, Value
from proofyard.exchange.fetched import Fetched
from proofyard.exchange.fifty_percent_columns import END, OF_A_HEAD_AT_A_TYPE, WHY_NOT, number
from proofyard.exchange.kit_csv import areals_of
from proofyard.records.columns import Noun
from proofyard.records.instrument import Instrument, Reading
from proofyard.records.kit_between import StandFact
from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.stand import Stand, StandLayer
from proofyard.wording.reasons.said import said

NAME = "protection.csv"
WORDS = "Energy for weight: the 50 % energy of each head at each panel type, over what a square metre of it weighs."
TABLES: tuple[type[Noun], ...] = (Panel, PanelBuild, Reading, Instrument, Stand, StandLayer)


COLUMNS = (
    *OF_A_HEAD_AT_A_TYPE,
    number("areal_kg_m2", "What a square metre of that panel type weighs, the mean over the shots at its panels", "kg/m²"),
    number("areal_u_kg_m2", "Standard uncertainty of that (GUM)", "kg/m²"),
    number("energy_for_weight_j_m2_kg", "The 50 % energy over that weight: J per kg/m²", "J·m²/kg"),
    number("energy_for_weight_low_j_m2_kg", f"Its lower end. {END}", "J·m²/kg"),
    number("energy_for_weight_high_j_m2_kg", f"Its upper end. {END}", "J·m²/kg"),
    WHY_NOT,
)


def protection_table(fetched: Fetched) -> Table:
    """One row a head form and panel type that were shot together."""
    found = protection(fetched.loosed, {}, areals=areals_of(fetched), stands=_stands(fetched))
    rows = tuple(_row(head, row) for head in found.heads for row in head.rows)
    return Table(NAME, WORDS, COLUMNS, rows)


def _stands(fetched: Fetched) -> dict[str, StandFact]:
    layers = [one for one in fetched.of(StandLayer) if one.voided_rev is None]
    return {
        stand.id: StandFact(stand, tuple(sorted((one for one in layers if one.stand_id == stand.id), key=lambda one: one.place)))
        for stand in fetched.of(Stand)
    }


def _row(head: HeadForWeight, row: WeightRow) -> tuple[Value, ...]:
    point, weight, figure = row.found.point, row.weight.value, row.for_weight
    return (
        row.words,
        row.panel_type,
        head.key,
        row.found.shots,
        row.found.hits,
        *((point.energy_j, point.low_j, point.high_j) if point else (None, None, None)),
        *((weight.value, weight.standard_uncertainty) if weight else (None, None)),
        *((figure.value, figure.low, figure.high) if figure else (None, None, None)),
        said(row.why_not) or None,
    )
