"""What is said of the speeds of a combination: its finding, its series, its readings, what is pooled."""

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from proofyard.quantities import Uncertain, figure, plainly, unit_for_reader, written
from proofyard.wording.counts import counted
from proofyard.wording.figures import both_units, spread_words, with_uncertainty

AT = "at the chronograph"


def _line(
    *, speed: Uncertain | None, energy: Uncertain | None, momentum: Uncertain | None, why: str | None, builds: str, reader: str
) -> str:
    if speed is None:
        return f"speed not measured. {builds}"
    energy_words = with_uncertainty(energy, "energy", reader, none="energy not measured")
    also = f", {with_uncertainty(momentum, 'momentum', reader)}" if momentum else ""
    where = f" {AT}" if energy else f": {why}"
    return f"{with_uncertainty(speed, 'speed', reader)}, {counted(speed.n or 0, 'reading')}; {energy_words}{also}{where}. {builds}"


def _not_measured(*, why: str | None) -> str:
    return f"Not measured. {why or ''}".strip()


def _finding(*, speed: Uncertain, energy: Uncertain | None, why: str | None, reader: str) -> str:
    words = f"{with_uncertainty(speed, 'speed', reader)} from {counted(speed.n or 0, 'reading')}"
    return f"{words}: {with_uncertainty(energy, 'energy', reader)} {AT}." if energy else f"{words}. Energy not measured: {why}"


def _readings(*, readings: int, own: int | None, further: int, left_out: int) -> str:
    words = str(readings) + (f", {own} of them its own" if own is not None else "")
    words += f"; {further} more read further down range, in no mean: they tell what the air takes" if further else ""
    return words + (f"; {left_out} left out" if left_out else "")


def _series(*, day: str | None, instrument: str | None, stood_at_m: float | None, air_k: float | None, reader: str) -> str:
    said = (
        day or "",
        instrument or "instrument not recorded",
        f"{figure(stood_at_m, 'distance_from_bow', reader)} from the bow" if stood_at_m is not None else "",
        f"air {figure(air_k, 'temperature', reader)}" if air_k is not None else "",
    )
    return ", ".join(filter(None, said))


def _mean(*, mean_m_s: float, u_m_s: float | None, spread_m_s: float | None, readings: int, reader: str) -> str:
    unit = unit_for_reader("speed", reader)
    spread = "" if spread_m_s is None else f", spread {spread_words(spread_m_s, unit)}"
    return f"Mean {written(mean_m_s, unit, uncertainty_si=u_m_s)}{spread}, {counted(readings, 'reading')}."


def _reading(*, value: Uncertain | None, reader: str) -> str:
    if value is None:
        return "No speed"
    exact = value.standard_uncertainty is None
    return figure(value.value, "arrow_speed", reader) if exact else with_uncertainty(value, "speed", reader)


def _pooled(*, arrows: Sequence[str]) -> str:
    return (
        f"Pooled with like combinations (arrows {', '.join(arrows)}): same bow build, archer and fletching, masses within ±2 %. "
        "The differences between their means are included in the uncertainty."
    )


def _expanded(*, width_m_s: float, factor: float, reader: str) -> str:
    return f"± {spread_words(width_m_s, unit_for_reader('speed', reader))} (k = {plainly(factor, figures=3)})"


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        # speeds in order, drawn
        "speeds_named": "Beside a line: the arrow, in brackets its build.",
        "speeds_as_written": "in the order written down",
        "label_in_series": "series {series}, reading {reading}",
        "label_on_shot": "shot, reading {reading}",
        "speed_short_draw": "short draw",
        "speed_read_further": "read further down range",
        "speeds_line": _line,
        "speeds_not_measured": _not_measured,
        "speeds_finding": _finding,
        "speeds_readings": _readings,
        "speeds_series": _series,
        "speeds_none_counts": "No reading counts yet.",
        "speeds_mean": _mean,
        "speeds_reading": _reading,
        "speeds_pooled": _pooled,
        "speeds_nothing_to_pool": "No like combination has readings, so there is nothing to pool with.",
        "speeds_both": lambda *, value, shown_as: both_units(value, shown_as),
        "speeds_expanded": _expanded,
        "speeds_half_way": lambda *, half_way_m, reader: (
            f"It is the mean over the flight: about the speed half way, {_far(half_way_m, reader)} from the bow."
        ),
        "speeds_other_place": lambda *, stood_at_m, reader: (
            f"This series says that its speeds were read {_far(stood_at_m, reader)} from the bow. Begin another series for speeds like "
            f"this one."
        ),
        "speeds_averaged": "This shot has a speed already: the two are averaged. Leave one out, with the reason, if it is no good.",
    }
)


def _far(distance_m: float, reader: str) -> str:
    return written(distance_m, unit_for_reader("distance", reader), figures=3)
