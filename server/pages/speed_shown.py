"""The speeds of a pairing in words and figures: what its page and its list print."""

from dataclasses import dataclass

from server import quantities
from server.charts.speeds_in_order import SpeedsInOrder
from server.findings.pairing_speeds import PairingFound, PairingLine, SeriesFound
from server.findings.speed_without_chronograph import inputs_words
from server.pages.figures import both_units, counted, doubtful, spread_words, unusual_value
from server.pages.shapes import FieldState, Wrong
from server.quantities import Uncertain
from server.records.speed_facts import PairingFact, SpeedFact

AT = "at the chronograph"


@dataclass(frozen=True)
class ReadingShown:
    """One reading of a series, or of a shot."""

    mark: str
    words: str
    small: str
    href: str
    left_out: bool


@dataclass(frozen=True)
class SeriesShown:
    """One series: what it was read with, its readings, and the box for the next."""

    id: str
    heading: str
    line: str
    rows: list[ReadingShown]
    href: str
    action: str
    operation: str
    next_place: int
    state: FieldState
    focus: bool


@dataclass(frozen=True)
class PairingShown:
    """What speeds/_found.html shows. `finding` is the one thing that a reader takes away."""

    finding: str
    why: tuple[str, ...]
    few: str
    pooled: str
    pool_href: str
    pool_words: str
    results: list[tuple[str, str]]
    doubts: list[list[str]]
    series: list[SeriesShown]
    on_shots: list[ReadingShown]
    errors: list[Wrong]
    may_change: bool
    new_series: str
    drawing: SpeedsInOrder | None
    drawing_path: str


@dataclass(frozen=True)
class LineShown:
    """A pairing in the list of all."""

    href: str
    name: str
    form: str
    small: str


def name_of_pairing(fact: PairingFact) -> str:
    return f"{fact.bow_name}, arrow {fact.arrow_tag}, {fact.archer}"


def builds_words(fact: PairingFact) -> str:
    head = f"{fact.head_name}; " if fact.head_name else ""
    return f"{head}bow build {fact.bow_build_number}, arrow build {fact.arrow_build_number}"


def line_shown(line: PairingLine, reader: str) -> LineShown:
    speed = line.speed
    if speed.speed is None:
        said = "speed not measured"
    else:
        said = f"{doubtful(speed.speed, 'speed', reader)}, {counted(speed.speed.n or 0, 'reading')}"
        energy = doubtful(speed.energy_at_chronograph_j, "energy", reader, none="energy not measured")
        momentum = doubtful(speed.momentum_kg_m_s, "momentum", reader, none="")
        said += f"; {energy}" + (f", {momentum}" if momentum else "") + (f" {AT}" if speed.energy_at_chronograph_j else f": {speed.why_not}")
    return LineShown(f"/pairings/{line.fact.pairing_id}", name_of_pairing(line.fact), line.fact.form or "", f"{said}. {builds_words(line.fact)}")


def results_shown(found: PairingFound, reader: str) -> list[tuple[str, str]]:
    """Mean, spread, n, the uncertainties, and what follows from them."""
    speed, unit = found.speed, quantities.unit_for_reader("speed", reader)
    if speed.speed is None:
        return []

    def small(value: float | None, none: str) -> str:
        return none if value is None else spread_words(value, unit)

    rows = [("Mean speed", both_units(speed.speed, "speed")), ("Readings", _n_words(found))]
    if speed.readings:
        rows.append(("Spread of single readings", small(speed.readings.spread, "can’t be told from one reading")))
    if found.expanded:
        width, factor = found.expanded
        rows.append(("Expanded uncertainty, 95 %", f"± {small(width, '')} (k = {quantities.plainly(factor, figures=3)})"))
    one = speed.one_shot
    if one is not None and one.standard_uncertainty is not None:
        rows.append(("For a shot without its own reading", doubtful(one, "speed", reader)))
    rows.append(("Mass of the arrow", both_units(speed.mass, "mass", none="not weighed")))
    rows.append((f"Kinetic energy {AT}", _or_why(speed.energy_at_chronograph_j, "energy", speed.why_not)))
    rows.append((f"Momentum {AT}", _or_why(speed.momentum_kg_m_s, "momentum", speed.why_not)))
    return rows


def _n_words(found: PairingFound) -> str:
    said = str(found.speed.pooled.n if found.speed.pooled else len(found.speed.used))
    if found.speed.pooled:
        said += f", {len(found.speed.used)} of them its own"
    out, far = len(found.speed.left_out), len(found.speed.further)
    said += f"; {far} more read further down range, in no mean: they tell what the air takes" if far else ""
    return said + (f"; {out} left out" if out else "")


def _or_why(value: Uncertain | None, shown_as: str, why: str | None) -> str:
    return both_units(value, shown_as) if value is not None else f"Not measured. {why or ''}".strip()


def finding_words(found: PairingFound, reader: str) -> str:
    """The one sentence on top."""
    speed = found.speed
    if speed.speed is None:
        return f"Not measured. {speed.why_not or ''}".strip()
    n = counted(speed.speed.n or 0, "reading")
    energy = speed.energy_at_chronograph_j
    said = f"{doubtful(speed.speed, 'speed', reader)} from {n}"
    return f"{said}: {doubtful(energy, 'energy', reader)} {AT}." if energy else f"{said}. Energy not measured: {speed.why_not}"


def doubts_shown(found: PairingFound, reader: str) -> list[list[str]]:
    """Each cause of doubt in the mean speed, with its type and degrees of freedom, and the whole last."""
    unit = quantities.unit_for_reader("speed", reader)

    def line(words: str, kind: str, u: float, dof: float | None) -> list[str]:
        number = spread_words(u, unit).removesuffix(quantities.with_unit("", unit))
        return [words, kind, number, "∞" if dof is None or dof == float("inf") else quantities.plainly(dof, figures=3)]

    rows = [line(one.name, one.kind, one.standard_uncertainty, one.dof) for one in found.doubts]
    whole = found.speed.speed
    if rows and whole is not None and whole.standard_uncertainty is not None:
        rows.append(line("All together", "A and B", whole.standard_uncertainty, whole.dof))
    return rows


def series_shown(
    one: SeriesFound, reader: str, *, base: str, operation: str, pool: bool, typed: str = "", error: str = "", focus: bool = False
) -> SeriesShown:
    series = one.series
    said = [series.day or "", one.instrument.name if one.instrument else "instrument not said"]
    if series.stood_at_m is not None:
        said.append(f"{quantities.figure(series.stood_at_m, 'distance_from_bow', reader)} from the bow")
    if series.air_temperature_k is not None:
        said.append(f"air {quantities.figure(series.air_temperature_k, 'temperature', reader)}")
    more = f" {series.note}" if series.note else ""
    unit = quantities.unit_for_reader("speed", reader)
    if one.readings is None:
        line = "No reading counts yet."
    else:
        spread = "" if one.readings.spread is None else f", spread {spread_words(one.readings.spread, unit)}"
        line = f"Mean {quantities.written(one.readings.mean, unit, uncertainty_si=one.readings.standard_uncertainty_type_a)}{spread}, {counted(one.readings.n, 'reading')}."
    rows = [reading_shown(f, reader, mark=str(n), href=f"{base}/readings/{f.reading_id}") for n, f in enumerate(one.facts, 1)]
    return SeriesShown(
        id=series.id, heading=", ".join(filter(None, said)), line=line + more, rows=rows, href=f"{base}/series/{series.id}",
        action=f"{base}/series/{series.id}/readings" + ("?pool=yes" if pool else ""), operation=operation,
        next_place=max((f.place or 0 for f in one.facts), default=0) + 1, state=FieldState(typed=typed, error=error), focus=focus,
    )  # fmt: skip


def reading_shown(fact: SpeedFact, reader: str, *, mark: str, href: str) -> ReadingShown:
    value = "No speed" if fact.value_m_s is None else quantities.figure(fact.value_m_s, "arrow_speed", reader)
    if fact.value_m_s is not None and fact.uncertainty_m_s is not None:
        value = doubtful(Uncertain(fact.value_m_s, fact.uncertainty_m_s), "speed", reader)
    said = [inputs_words(fact.method, fact.inputs, value_m_s=fact.value_m_s, reader=reader), f"left out: {fact.left_out_reason}" if fact.left_out_reason else "", "short draw" if fact.short_draw else ""]
    if fact.value_m_s is not None:
        said.append(unusual_value(fact.value_m_s, "arrow_speed"))
    return ReadingShown(mark, value, "; ".join(filter(None, said)), href, bool(fact.left_out_reason) or fact.short_draw)
