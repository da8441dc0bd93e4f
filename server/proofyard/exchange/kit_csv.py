"""arrows.csv, heads.csv, bows.csv, panels.csv, instruments.csv, readings.csv: the kit as it was measured and described."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from proofyard.exchange.columns_of_records import Ask, as_typed, record_columns
from proofyard.exchange.csv_writing import Column, Table, Value, utc, yes_no
from proofyard.exchange.fetched import Fetched
from proofyard.quantities import KINDS
from proofyard.records.arrow import Arrow, ArrowBuild, Head
from proofyard.records.bow import Bow, BowBuild
from proofyard.records.columns import meanings
from proofyard.records.instrument import MEASURED, QUANTITIES, READING_KINDS, SCALES, HardnessReading, Instrument, Reading
from proofyard.records.panel import Panel, PanelBuild
from proofyard.shots.panel_measures import Areal
from proofyard.shots.panel_weight import areal_weights_of
from proofyard.wording.reasons.said import said

WORDS = {
    "arrows.csv": "Every build of every arrow, with its mass and the head on it.",
    "heads.csv": "Every head, whether mounted or not.",
    "bows.csv": "Every build of every bow.",
    "panels.csv": "Every build of every panel.",
    "readings.csv": "Every reading of mass, thickness, length and hardness, left out ones too.",
    "instruments.csv": "What the readings were taken with, and the accuracy of each.",
}
_ARROW = record_columns(Arrow, "arrow")
_ARROW_BUILD = record_columns(ArrowBuild, "arrow_build", leave=("arrow_id", "head_id"))
_HEAD = record_columns(Head, "head")
_BOW = record_columns(Bow, "bow")
_BOW_BUILD = record_columns(BowBuild, "bow_build", leave=("bow_id",))
_PANEL = record_columns(Panel, "panel")
_PANEL_BUILD = record_columns(PanelBuild, "panel_build", leave=("panel_id",))
_INSTRUMENT = record_columns(Instrument, "instrument")

_MASS = (
    Column(
        "arrow_mass_kg", "Mass of the whole arrow as built, mean of its readings that were not left out", "kg", "worked out", number=True
    ),
    Column("arrow_mass_u_kg", "Standard uncertainty of that (GUM); empty where it is not known", "kg", "worked out", number=True),
    Column("arrow_mass_readings", "How many readings that is the mean of", "1", "worked out", number=True),
)
ARROW_COLUMNS = (*(c for c, _ in (*_ARROW, *_ARROW_BUILD)), *_MASS, *(c for c, _ in _HEAD))


def _columns(*parts: list[tuple[Column, Ask]]) -> tuple[Column, ...]:
    return tuple(column for part in parts for column, _ in part)


def _values(part: Iterable[tuple[Column, Ask]], row: Any) -> tuple[Value, ...]:
    return tuple(ask(row) for _, ask in part)


def arrows_table(fetched: Fetched) -> Table:
    """One row a build of an arrow: the shaft, the build with its mass, the head on it."""
    arrows, heads = fetched.by_id(Arrow), fetched.by_id(Head)
    rows = []
    for build in fetched.of(ArrowBuild):
        if not fetched.may_see(build.id):
            continue
        mass = fetched.impacts.mass_of(build.id)
        found = (mass.value, mass.standard_uncertainty, mass.n) if mass else (None, None, None)
        head = _values(_HEAD, heads.get(build.head_id or ""))
        rows.append((*_values(_ARROW, arrows[build.arrow_id]), *_values(_ARROW_BUILD, build), *found, *head))
    return Table("arrows.csv", WORDS["arrows.csv"], ARROW_COLUMNS, tuple(rows))


def _one_noun(name: str, table: Any, *, part: list[tuple[Column, Ask]]) -> Callable[[Fetched], Table]:
    def make(fetched: Fetched) -> Table:
        rows = tuple(_values(part, row) for row in fetched.of(table) if fetched.may_see(row.id))
        return Table(name, WORDS[name], _columns(part), rows)

    return make


heads_table = _one_noun("heads.csv", Head, part=_HEAD)
instruments_table = _one_noun("instruments.csv", Instrument, part=_INSTRUMENT)
HEAD_COLUMNS, INSTRUMENT_COLUMNS = _columns(_HEAD), _columns(_INSTRUMENT)
BOW_COLUMNS = _columns(_BOW, _BOW_BUILD)
_AREAL = (
    Column(
        "panel_areal_kg_m2",
        "What a square metre of this build weighs: by the scale where it was weighed, else by its measures",
        "kg/m²",
        "worked out",
        number=True,
    ),
    Column("panel_areal_u_kg_m2", "Standard uncertainty of that (GUM)", "kg/m²", "worked out", number=True),
    Column("panel_areal_how", "How that was found, or why it isn’t known", "", "worked out"),
)
PANEL_COLUMNS = (*_columns(_PANEL, _PANEL_BUILD), *_AREAL)


def bows_table(fetched: Fetched) -> Table:
    """One row a build of a bow."""
    bows = fetched.by_id(Bow)
    rows = tuple((*_values(_BOW, bows[b.bow_id]), *_values(_BOW_BUILD, b)) for b in fetched.of(BowBuild) if fetched.may_see(b.id))
    return Table("bows.csv", WORDS["bows.csv"], BOW_COLUMNS, rows)


def panels_table(fetched: Fetched) -> Table:
    """One row a build of a panel."""
    panels, areals = fetched.by_id(Panel), areals_of(fetched)
    rows = tuple(
        (*_values(_PANEL, panels[b.panel_id]), *_values(_PANEL_BUILD, b), *_areal_values(areals[b.id]))
        for b in fetched.of(PanelBuild)
        if fetched.may_see(b.id)
    )
    return Table("panels.csv", WORDS["panels.csv"], PANEL_COLUMNS, rows)


def areals_of(fetched: Fetched) -> Mapping[str, Areal]:
    """Panel build id -> what a square metre of it weighs."""
    panels = fetched.by_id(Panel)
    builds = [(panels[build.panel_id], build.id) for build in fetched.of(PanelBuild)]
    return areal_weights_of(builds, fetched.of(Reading), tools=fetched.by_id(Instrument))


def _areal_values(areal: Areal) -> tuple[Value, ...]:
    value = areal.value
    return (value.value if value else None, value.standard_uncertainty if value else None, said(areal.how) or None)


_HARDNESS = meanings(HardnessReading)
READING_COLUMNS = (
    Column("reading_id", "Identifier of the reading", "", "given"),
    Column("of_noun", "What was measured", "", "typed", values="; ".join(f"{k} = {v}" for k, v in MEASURED.items())),
    Column("of_id", "Identifier of what was measured", "", "given"),
    Column("of_name", "Name of what was measured, with its build", "", "typed"),
    Column(
        "measured", "Which quantity", "", "typed", values="; ".join(f"{k} = {v}" for k, v in QUANTITIES.items()) + "; hardness = Hardness"
    ),
    Column("value_si", "The reading, in the unit of the next column; a hardness stands further right", "see si_unit", "typed", number=True),
    Column("si_unit", "Unit of value_si", "", "given"),
    Column("hardness_slides_hrc", _HARDNESS["slides"][1].label, "HRC", "typed", number=True),
    Column("hardness_bites_hrc", _HARDNESS["bites"][1].label, "HRC", "typed", number=True),
    Column("hardness_sticks_hrc", _HARDNESS["sticks"][1].label, "HRC", "typed", number=True),
    Column("hardness_value", "Hardness as a tester gave it, on the scale of the next column", "see hardness_scale", "typed", number=True),
    Column("hardness_scale", "Scale of hardness_value", "", "typed", values="; ".join(f"{k} = {v}" for k, v in SCALES.items())),
    Column("instrument", "What it was read with", "", "typed"),
    Column("place", "Where on it", "", "typed"),
    Column("at_utc", "Moment of the reading, ISO 8601 in UTC", "", "typed"),
    Column("left_out_reason", "Why the reading is left out of the mean; empty where it counts", "", "typed"),
    Column("voided", "Crossed out", "", "typed", values="yes; no"),
    Column("as_typed", "Its quantities as they were typed, as JSON", "", "typed"),
)


def names_of_measured(fetched: Fetched) -> dict[str, str]:
    """Id of whatever can be measured -> what a person calls it."""
    arrows, bows, panels = fetched.by_id(Arrow), fetched.by_id(Bow), fetched.by_id(Panel)
    names = {row.id: row.name for row in fetched.of(Head)}
    names |= {b.id: f"{arrows[b.arrow_id].tag}, build {b.number}" for b in fetched.of(ArrowBuild)}
    names |= {b.id: f"{bows[b.bow_id].name}, build {b.number}" for b in fetched.of(BowBuild)}
    return names | {b.id: f"{panels[b.panel_id].name}, build {b.number}" for b in fetched.of(PanelBuild)}


def readings_table(fetched: Fetched) -> Table:
    """Every reading of a mass, a thickness, a length or a hardness, those left out and crossed out among them."""
    names = names_of_measured(fetched)
    tools = {row.id: row.name for row in fetched.of(Instrument)}
    rows: list[tuple[Value, ...]] = []
    for one in (*fetched.of(Reading), *fetched.of(HardnessReading)):
        if not fetched.may_see(one.record_id):
            continue
        if isinstance(one, Reading):
            unit = KINDS[READING_KINDS[one.measured]].si_unit if one.measured in READING_KINDS else ""
            found: tuple[Value, ...] = (one.measured, one.value_si, unit, None, None, None, None, None)
        else:
            found = ("hardness", None, None, one.slides_hrc, one.bites_hrc, one.sticks_hrc, one.value, one.scale)
        rows.append(
            (
                one.id,
                one.noun,
                one.record_id,
                names.get(one.record_id),
                *found,
                tools.get(one.instrument_id or ""),
                one.place,
                utc(one.at),
                one.left_out_reason,
                yes_no(one.voided_rev is not None),
                as_typed(one),
            )
        )
    return Table("readings.csv", WORDS["readings.csv"], READING_COLUMNS, tuple(rows))
