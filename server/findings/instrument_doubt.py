"""How far an instrument can be off: its stated accuracy and its smallest step, as one standard uncertainty (type B)."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from server.records.instrument import Instrument
from server.records.speed import METHODS
from server.records.speed_facts import SpeedFact
from server.statistics.repeated_readings import accuracy_uncertainty, combine, resolution_uncertainty, type_b


@dataclass(frozen=True)
class InstrumentDoubt:
    """A standard uncertainty, and in words what it rests on. `own`: a reading's own, and no instrument's."""

    standard_uncertainty: float
    words: str
    own: bool = False


def doubt_of(tools: Iterable[Instrument | None], at_value: float) -> InstrumentDoubt | None:
    """The doubt that the instruments of some readings share; the least sure of them speaks for all.

    None where no instrument was named, or none says how far it may be off: that is not a doubt of 0.
    """
    doubts = []
    for tool in tools:
        found = _of_one(tool, at_value) if tool is not None else None
        if found is None:
            return None
        doubts.append(found)
    return max(doubts, key=lambda d: d.standard_uncertainty, default=None)


def doubt_of_speeds(readings: Iterable[SpeedFact], tools: Mapping[str, Instrument], *, at_value: float) -> InstrumentDoubt | None:
    """The doubt that some speed readings share; a reading that says its own speaks for itself, not its instrument.

    Its own is taken as shared too: distance, frame rate and air are the same from shot to shot, so this is never too
    little. None as for `doubt_of`.
    """
    doubts = []
    for reading in readings:
        found = _of_reading(reading) or doubt_of([tools.get(reading.instrument_id or "")], at_value)
        if found is None:
            return None
        doubts.append(found)
    return max(doubts, key=lambda d: d.standard_uncertainty, default=None)


def _of_reading(reading: SpeedFact) -> InstrumentDoubt | None:
    if reading.uncertainty_m_s is None:
        return None
    how = METHODS.get(reading.method or "", "Other").lower()
    return InstrumentDoubt(reading.uncertainty_m_s, f"one reading’s own: {how}", own=True)


def _of_one(tool: Instrument, at_value: float) -> InstrumentDoubt | None:
    means = tool.accuracy_means or "limit"
    parts, words = [], []
    if tool.accuracy_ratio is not None:
        parts.append(type_b("accuracy", accuracy_uncertainty(tool.accuracy_ratio * abs(at_value), means)))
        words.append(f"accuracy {tool.accuracy_ratio * 100:g} %")
    if tool.accuracy_si is not None:
        parts.append(type_b("accuracy", accuracy_uncertainty(tool.accuracy_si, means)))
        words.append("its stated accuracy")
    if not parts:
        return None
    if tool.resolution_si:
        parts.append(type_b("smallest step", resolution_uncertainty(tool.resolution_si)))
        words.append("its smallest step")
    if tool.accuracy_means is None:
        words.append("taken as a limit, since nothing says otherwise")
    return InstrumentDoubt(combine(*parts).standard_uncertainty, f"{tool.name}: " + ", ".join(words))
