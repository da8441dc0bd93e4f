"""Air: how dense it is, how fast sound runs in it, how it thickens and thins."""

from __future__ import annotations

import math

from proofyard.quantities import Uncertain
from proofyard.quantities.reason import must_lie_between, must_not_be_negative

COLDEST_K, HOTTEST_K = 253.15, 323.15
LOWEST_PA, HIGHEST_PA = 60_000.0, 110_000.0
STANDARD_PRESSURE_PA = 101_325.0
ZERO_CELSIUS_K = 273.15

# CIPM-2007: molar gas constant (CODATA 2006), molar masses of dry air (with 400 ppm of CO2) and of water.
_R, _DRY, _WATER = 8.314472, 28.96546e-3, 18.01528e-3


def saturation_vapour_pressure_pa(temperature_k: float) -> float:
    """Pressure of water vapour that air over water is full at.

    p_sv = exp(A T^2 + B T + C + D/T)

    Takes
        temperature_k  scalar, K, 253.15 to 323.15 (-20 to 50 degrees C)
    Gives
        scalar, Pa, above 0
    Refuses
        OutOfRange  temperature outside -20 to 50 degrees C or not finite
    Holds while
        there is water, not ice; below freezing weather stations give humidity over water too
    Source
        A. Picard, R. S. Davis, M. Gläser, K. Fujii, Revised formula for the density of moist air (CIPM-2007),
        Metrologia 45 (2008) 149-155, appendix. Checked in tests/published/test_air.py
    >>> round(saturation_vapour_pressure_pa(293.15))
    2339
    """
    must_lie_between("temperature_k", temperature_k, low=COLDEST_K, high=HOTTEST_K)
    t = temperature_k
    return math.exp(1.2378847e-5 * t * t - 1.9121316e-2 * t + 33.93711047 - 6.3431645e3 / t)


def air_density_kg_m3(temperature_k: float, pressure_pa: float, *, relative_humidity: float) -> float:
    """Mass of a cubic metre of the air that an arrow flies through.

    rho = p M_a / (Z R T) (1 - x_v (1 - M_v/M_a)), x_v = h f(p, t) p_sv / p

    Takes
        temperature_k      scalar, K, 253.15 to 323.15 (-20 to 50 degrees C)
        pressure_pa        scalar, Pa, 60,000 to 110,000    at the place: what a weather service prints is reduced to
                           sea level, about 1.2 % more for each 100 m that you stand above it
        relative_humidity  scalar, no unit, 0 to 1          0.5 is 50 %
    Gives
        scalar, kg/m^3, above 0
    Refuses
        OutOfRange  anything outside its range or not finite
    Holds while
        the air has the usual gases. The formula is published for 15 to 27 degrees C at 22 parts in a million; outside
        that it is used to -20 and 50 degrees, which a drag coefficient known to a fifth doesn't notice
    Source
        A. Picard, R. S. Davis, M. Gläser, K. Fujii, Revised formula for the density of moist air (CIPM-2007),
        Metrologia 45 (2008) 149-155, equations (1) and (2) and appendix. Checked in tests/published/test_air.py
    >>> round(air_density_kg_m3(293.15, 101325.0, relative_humidity=0.5), 4)
    1.1993
    """
    saturation = saturation_vapour_pressure_pa(temperature_k)
    must_lie_between("pressure_pa", pressure_pa, low=LOWEST_PA, high=HIGHEST_PA)
    must_lie_between("relative_humidity", relative_humidity, low=0.0, high=1.0)
    p, t = pressure_pa, temperature_k - ZERO_CELSIUS_K
    enhancement = 1.00062 + 3.14e-8 * p + 5.6e-7 * t * t
    x = relative_humidity * enhancement * saturation / p
    first = 1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t * t
    with_vapour = (5.707e-6 - 2.051e-8 * t) * x + (1.9898e-4 - 2.376e-6 * t) * x * x
    p_over_t = p / temperature_k
    z = 1 - p_over_t * (first + with_vapour) + p_over_t**2 * (1.83e-11 - 0.765e-8 * x * x)
    return p * _DRY / (z * _R * temperature_k) * (1 - x * (1 - _WATER / _DRY))


def air_density_with_uncertainty(
    temperature_k: float, pressure_pa: float, *, relative_humidity: float, temperature_u_k: float, pressure_u_pa: float, humidity_u: float
) -> Uncertain:
    """Density of the air and how well it is known from a thermometer, a barometer and a hygrometer.

    u^2 = sum over T, p, h of ((rho(x + u_x) - rho(x - u_x)) / 2)^2

    Takes
        temperature_k      scalar, K, 253.15 to 323.15
        pressure_pa        scalar, Pa, 60,000 to 110,000    at the place
        relative_humidity  scalar, no unit, 0 to 1
        temperature_u_k    scalar, K, 0 or more             standard uncertainty: sun on the thermometer counts
        pressure_u_pa      scalar, Pa, 0 or more            standard uncertainty
        humidity_u         scalar, no unit, 0 or more       standard uncertainty, 0.05 is 5 %
    Gives
        Uncertain, kg/m^3
    Refuses
        OutOfRange  what air_density_kg_m3 refuses, an uncertainty below 0 or not finite
    Holds while
        the three were read independently. A reading within its uncertainty of a limit is stepped to one side only
    Source
        JCGM 100:2008 (GUM), 5.1.3, note 2: sensitivities by stepping each input. Checked in tests/published/test_air.py
    >>> found = air_density_with_uncertainty(
    ...     288.15, 101325.0, relative_humidity=0.6, temperature_u_k=2.0, pressure_u_pa=300.0, humidity_u=0.1
    ... )
    >>> round(found.value, 3), round(found.standard_uncertainty, 3)
    (1.221, 0.01)
    """
    value = air_density_kg_m3(temperature_k, pressure_pa, relative_humidity=relative_humidity)
    inputs = (
        ("temperature_u_k", temperature_k, temperature_u_k, COLDEST_K, HOTTEST_K),
        ("pressure_u_pa", pressure_pa, pressure_u_pa, LOWEST_PA, HIGHEST_PA),
        ("humidity_u", relative_humidity, humidity_u, 0.0, 1.0),
    )
    at = [temperature_k, pressure_pa, relative_humidity]
    squares = 0.0
    for place, (name, x, u, low, high) in enumerate(inputs):
        must_not_be_negative(name, u)
        below, above = max(low, x - u), min(high, x + u)
        if above > below:
            ends = [[*at[:place], end, *at[place + 1 :]] for end in (below, above)]
            first, last = (air_density_kg_m3(e[0], e[1], relative_humidity=e[2]) for e in ends)
            squares += ((last - first) / (above - below) * u) ** 2
    return Uncertain(value, math.sqrt(squares), math.inf)


def pressure_at_height_pa(height_m: float) -> float:
    """Pressure to reckon with at a height above the sea, where nobody read a barometer.

    p = p_0 (1 - L h / T_0)^(g M / (R L))

    Takes
        height_m  scalar, m, -500 to 4,000  above sea level
    Gives
        scalar, Pa, above 0
    Refuses
        OutOfRange  height outside its range or not finite
    Holds while
        the weather is of the standard sort: real pressure lies within about 3 % of it (common practice, no source)
    Source
        Standard atmosphere (ISO 2533, ICAO Doc 7488, U.S. Standard Atmosphere 1976): 288.15 K, 6.5 K/km.
        Checked in tests/published/test_air.py
    >>> round(pressure_at_height_pa(0.0)), round(pressure_at_height_pa(1000.0))
    (101325, 89875)
    """
    must_lie_between("height_m", height_m, low=-500.0, high=4000.0)
    # g M/(R L) with g 9.80665, M 28.964420 g/mol, R 8.31432 J/(mol K), L 6.5 K/km as the standard has them.
    return STANDARD_PRESSURE_PA * math.pow(1 - 0.0065 * height_m / 288.15, 9.80665 * 0.02896442 / (8.31432 * 0.0065))


def speed_of_sound_m_s(temperature_k: float) -> float:
    """How fast a sound runs through air.

    c = 331.3 sqrt(T / 273.15)

    Takes
        temperature_k  scalar, K, 253.15 to 323.15 (-20 to 50 degrees C)
    Gives
        scalar, m/s, above 0
    Refuses
        OutOfRange  temperature outside its range or not finite
    Holds while
        the air is dry and still. Full humidity adds 0.1 % at 10 and 0.5 % at 30 degrees C (from memory), a following
        wind adds itself; pressure does nothing
    Source
        Ideal gas; 331.3 m/s at 0 degrees C, for which 331.2 to 331.6 are in use. The form 20.045 sqrt(T) lies 0.01 %
        away: both stand, we follow 331.3. Checked in tests/published/test_air.py
    >>> round(speed_of_sound_m_s(288.15), 2)
    340.28
    """
    must_lie_between("temperature_k", temperature_k, low=COLDEST_K, high=HOTTEST_K)
    return 331.3 * math.sqrt(temperature_k / ZERO_CELSIUS_K)


def air_viscosity_pa_s(temperature_k: float) -> float:
    """How thick air is: what decides, with speed and size, whether the flow along a shaft is smooth or rough.

    mu = 1.458e-6 T^(3/2) / (T + 110.4)

    Takes
        temperature_k  scalar, K, 253.15 to 323.15 (-20 to 50 degrees C)
    Gives
        scalar, Pa s, above 0
    Refuses
        OutOfRange  temperature outside its range or not finite
    Holds while
        pressure is near that of the ground; humidity takes less than 1 % away
    Source
        Sutherland's formula with the constants of the U.S. Standard Atmosphere, 1976.
        Checked in tests/published/test_air.py
    >>> round(air_viscosity_pa_s(288.15), 8)
    1.789e-05
    """
    must_lie_between("temperature_k", temperature_k, low=COLDEST_K, high=HOTTEST_K)
    return 1.458e-6 * math.pow(temperature_k, 1.5) / (temperature_k + 110.4)
