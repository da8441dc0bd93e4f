"""The air that a day's arrows flew through: its density from what was written down, and what is taken where nothing was."""

import math
from dataclasses import dataclass
from functools import lru_cache

from server.physics.air import air_density_with_uncertainty
from server.physics.ranges import CantTell, OutOfRange
from server.quantities import Uncertain, written


@dataclass(frozen=True)
class Taken:
    """What is reckoned with where nobody wrote it down, and how far a written one may be off: limits either way."""

    value: float
    either_way: float
    written_either_way: float


# Common practice, no source. A thermometer in the sun reads some degrees high; a weather service's pressure is reduced
# to sea level, which at 100 m is 12 hPa too much; unwritten pressure spans the sea in fair weather to 500 m in foul.
TEMPERATURE = Taken(288.15, 15.0, 2.0)
PRESSURE = Taken(99_000.0, 6_000.0, 1_500.0)
HUMIDITY = Taken(0.6, 0.4, 0.1)


@dataclass(frozen=True)
class Air:
    """Density, and in words what was written down and what was taken."""

    density: Uncertain
    words: str
    all_written: bool


@lru_cache(maxsize=256)
def air_of(temperature_k: float | None, pressure_pa: float | None, *, humidity_ratio: float | None) -> Air | CantTell:
    """The air of a day. CantTell where what was written lies outside of what the formula covers."""
    t, t_u = _known(temperature_k, TEMPERATURE)
    p, p_u = _known(pressure_pa, PRESSURE)
    h, h_u = _known(humidity_ratio, HUMIDITY)
    try:
        density = air_density_with_uncertainty(t, p, relative_humidity=h, temperature_u_k=t_u, pressure_u_pa=p_u, humidity_u=h_u)
    except OutOfRange as fault:
        return CantTell(f"the day’s {_SAID[fault.name]} is outside of what the formula for air covers")
    known = [written(temperature_k, "°C")] if temperature_k is not None else []
    known += [written(pressure_pa, "hPa")] if pressure_pa is not None else []
    known += [f"humidity {written(humidity_ratio, '%')}"] if humidity_ratio is not None else []
    taken = [] if temperature_k is not None else [f"{written(t, '°C')}, give or take {TEMPERATURE.either_way:g}"]
    taken += [] if pressure_pa is not None else [f"{written(p, 'hPa')}, give or take {PRESSURE.either_way / 100:g}"]
    taken += [] if humidity_ratio is not None else [f"humidity {written(h, '%')}, give or take {100 * HUMIDITY.either_way:g}"]
    words = ", ".join(known) + " as written" if known else "nothing of the weather was written down"
    words += f"; taken, since not written: {', '.join(taken)}" if taken else ""
    return Air(density, words, not taken)


_SAID = {"temperature_k": "temperature", "pressure_pa": "pressure", "relative_humidity": "humidity"}


def _known(value: float | None, taken: Taken) -> tuple[float, float]:
    """The value and its standard uncertainty, of limits that all between is as likely as (GUM 4.3.7)."""
    if value is None:
        return taken.value, taken.either_way / math.sqrt(3)
    return value, taken.written_either_way / math.sqrt(3)
