"""speeds.csv: every speed that was read, of series and of shots, left out and crossed-out ones too, with its combination's mean."""

from typing import Any

from proofyard.exchange.columns_of_records import as_typed
from proofyard.exchange.csv_writing import Column, Table, Value, utc, yes_no
from proofyard.exchange.fetched import Fetched
from proofyard.quantities import Uncertain
from proofyard.records.instrument import Instrument
from proofyard.records.shot_facts import ShotFact
from proofyard.records.speed import METHODS, SpeedReading, SpeedSeries
from proofyard.shots.speed_without_chronograph import inputs_typed, typed_over

WORDS = "Every speed that was read, one row each, with the mean of its combination (bow, arrow and archer)."
_U = "Standard uncertainty of that (GUM); empty where it is not known"
COLUMNS = (
    Column("speed_m_s", "The reading", "m/s", "typed", number=True),
    Column("used", "Whether it counts in its combination’s mean", "", "worked out", values="yes; no"),
    Column("left_out_reason", "Why it was left out", "", "typed"),
    Column("voided", "Crossed out", "", "typed", values="yes; no"),
    Column("method", "How it was read", "", "typed", values="; ".join(f"{k} = {v}" for k, v in METHODS.items())),
    Column("reading_u_m_s", "Standard uncertainty of this one reading, where it has its own (frames, sound)", "m/s", "typed", number=True),
    Column("inputs", "What such a reading was worked out from, as JSON", "", "typed"),
    Column(
        "typed_over",
        "Whether another speed was typed over the one that those inputs give; empty where it kept none",
        "",
        "worked out",
        values="yes; no",
    ),
    Column("instrument", "What it was read with", "", "typed"),
    Column("stood_at_m", "Where that stood, from the bow", "m", "typed", number=True),
    Column("air_temperature_k", "Air temperature of the series", "K", "typed", number=True),
    Column("day", "Day of the series, or of the shot’s session", "", "typed"),
    Column("at_utc", "Moment of the reading, ISO 8601 in UTC", "", "typed"),
    Column("place_in_series", "First, second, third of its series", "1", "typed", number=True),
    Column("shot_label", "The shot it was read on; empty for one of a series", "", "given"),
    Column("short_draw", "That shot was a short draw, so it is no part of the mean", "", "typed", values="yes; no"),
    Column("bow", "The bow", "", "typed"),
    Column("bow_build_number", "Which build of the bow", "1", "given", number=True),
    Column("arrow", "Tag of the arrow", "", "typed"),
    Column("arrow_build_number", "Which build of the arrow", "1", "given", number=True),
    Column("head_form", "Form of its head", "", "typed"),
    Column("archer", "Call name of the archer", "", "typed"),
    Column("combination_mean_m_s", "Mean speed of the combination", "m/s", "worked out", number=True),
    Column("combination_mean_u_m_s", _U, "m/s", "worked out", number=True),
    Column("combination_spread_m_s", "Standard deviation of the readings in that mean", "m/s", "worked out", number=True),
    Column("combination_readings", "How many readings that is the mean of", "1", "worked out", number=True),
    Column("combination_energy_at_chronograph_j", "Kinetic energy at that mean", "J", "worked out", number=True),
    Column("combination_energy_at_chronograph_u_j", _U, "J", "worked out", number=True),
    Column("combination_momentum_at_chronograph_kg_m_s", "Momentum at that mean", "kg·m/s", "worked out", number=True),
    Column("combination_momentum_at_chronograph_u_kg_m_s", _U, "kg·m/s", "worked out", number=True),
    Column("speed_reading_id", "Identifier of the reading", "", "given"),
    Column("series_id", "Identifier of its series", "", "given"),
    Column("shot_id", "Identifier of its shot", "", "given"),
    Column("combination_id", "Identifier of its combination", "", "given"),
    Column("as_typed", "The speed as it was typed, as JSON", "", "typed"),
)

TABLES = (SpeedReading, SpeedSeries, Instrument)  # whose rows it asks for, beside the shots


def speeds_table(fetched: Fetched) -> Table:
    """Every speed reading, in the order they were written down."""
    series, tools = fetched.by_id(SpeedSeries), {row.id: row.name for row in fetched.of(Instrument)}
    shots = {shot.fact.shot_id: shot.fact for shot in (*fetched.loosed.shots, *fetched.loosed.voided)}
    rows = []
    for reading in fetched.of(SpeedReading):
        fact, of_series = shots.get(reading.shot_id or ""), series.get(reading.series_id or "")
        combination_id = fact.combination_id if fact else of_series.combination_id if of_series else None
        if combination_id is not None and fetched.may_see(reading.shot_id, combination_id):
            used = any(one.reading_id == reading.id for one in fetched.impacts.of_combination(combination_id).used)
            seen = _reading(reading, fact, of_series=of_series, tools=tools, used=used)
            rows.append((*seen, *_combination(fetched, combination_id), *_ids(reading, combination_id)))
    return Table("speeds.csv", WORDS, COLUMNS, tuple(rows))


def _typed_over(reading: Any) -> str | None:
    if not inputs_typed(reading.inputs):
        return None
    return yes_no(typed_over(reading.method, reading.inputs, value_m_s=reading.value_m_s) is not None)


def _reading(reading: Any, fact: ShotFact | None, *, of_series: Any, tools: dict[str, str], used: bool) -> tuple[Value, ...]:
    tool = fact.chronograph_id if fact else of_series.instrument_id
    voided = reading.voided_rev is not None or (fact.voided if fact else of_series.voided_rev is not None)
    return (
        reading.value_m_s,
        yes_no(used),
        reading.left_out_reason,
        yes_no(voided),
        reading.method,
        reading.uncertainty_m_s,
        reading.inputs,
        _typed_over(reading),
        tools.get(tool or ""),
        fact.chronograph_at_m if fact else of_series.stood_at_m,
        None if fact else of_series.air_temperature_k,
        fact.day if fact else of_series.day,
        utc(reading.at),
        reading.place,
        fact.label if fact else None,
        yes_no(fact.short_draw) if fact else None,
    )


def _combination(fetched: Fetched, combination_id: str) -> tuple[Value, ...]:
    known, found = fetched.combinations.get(combination_id), fetched.impacts.of_combination(combination_id)
    three: tuple[Value, ...] = (None,) * 6
    if known is not None:
        three = (known.bow_name, known.bow_build_number, known.arrow_tag, known.arrow_build_number, known.form, known.archer)
    spread = found.readings.spread if found.readings else None
    return (
        *three,
        *_two(found.speed),
        spread,
        found.speed.n if found.speed else None,
        *_two(found.energy_at_chronograph_j),
        *_two(found.momentum_kg_m_s),
    )


def _two(figure: Uncertain | None) -> tuple[Value, Value]:
    return (figure.value, figure.standard_uncertainty) if figure else (None, None)


def _ids(reading: Any, combination_id: str) -> tuple[Value, ...]:
    return reading.id, reading.series_id, reading.shot_id, combination_id, as_typed(reading)
