"""An arrow's energy along its flight: from where its speed was read to the panel, with how far it may be off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from server.charts.scale import LinearScale
from server.charts.two_axes import path, place
from server.quantities import Uncertain, unit_for_reader, written, written_with_uncertainty

WIDTH, HEIGHT = 340.0, 154.0
LEFT, RIGHT = 56.0, 314.0
TOP, BOTTOM = 34.0, 104.0


@dataclass(frozen=True)
class Along:
    """One place of the flight, from the bow, and the energy there."""

    at_m: float
    energy: Uncertain


@dataclass(frozen=True)
class FlightPicture:
    """`band` is empty where the doubt can't be told. The texts are in the reader's units."""

    width: float
    height: float
    band: str
    line: str
    start_x: float
    end_x: float
    start_energy: str
    end_energy: str
    start_y: float
    end_y: float
    start_place: str
    end_place: str
    between: str
    title: str
    words: str


def draw_flight(name: str, along: Sequence[Along], *, reader: str, air_words: str) -> FlightPicture:
    """Places in rising order, the last at the panel; at least two."""
    if len(along) < 2 or any(one.at_m >= other.at_m for one, other in zip(along, along[1:], strict=False)):
        raise ValueError("a flight has two places or more, each further on than the one before")
    x = LinearScale(along[0].at_m, along[-1].at_m, LEFT, RIGHT)
    doubts = [one.energy.standard_uncertainty for one in along]
    known = None not in doubts
    widths = [u or 0.0 for u in doubts]
    values = [one.energy.value for one in along]
    lows = [value - u for value, u in zip(values, widths, strict=True)]
    highs = [value + u for value, u in zip(values, widths, strict=True)]
    # A frame that holds the band, and never less than a hundredth: else a loss of nothing would look like a cliff.
    half = max((max(highs) - min(lows)) / 2, 0.005 * max(values), 1e-9)
    middle = (max(highs) + min(lows)) / 2
    y = LinearScale(middle - half, middle + half, BOTTOM, TOP)
    places = [x(one.at_m) for one in along]
    upper = [(at, y(high)) for at, high in zip(places, highs, strict=True)]
    lower = [(at, y(low)) for at, low in zip(places, lows, strict=True)]
    first, last = along[0], along[-1]
    unit, far = unit_for_reader("energy", reader), unit_for_reader("distance", reader)
    energies = [written(one.energy.value, unit, uncertainty_si=one.energy.standard_uncertainty, figures=3) for one in (first, last)]
    where = [written(one.at_m, far, figures=3) for one in (first, last)]
    lost = written(last.energy.value - first.energy.value, unit, figures=2)
    whole = [written_with_uncertainty(one.energy, unit, figures=3) for one in (first, last)]
    doubt = "The band is one standard uncertainty either way." if known else "How far that may be off can’t be told."
    return FlightPicture(
        width=WIDTH, height=HEIGHT, band=path([*upper, *reversed(lower)]) + "Z" if known and any(widths) else "",
        line=path([(at, y(value)) for at, value in zip(places, values, strict=True)]), start_x=LEFT, end_x=RIGHT,
        start_energy=energies[0], end_energy=energies[1], start_y=place(upper[0][1] - 10), end_y=place(upper[-1][1] - 10),
        start_place=where[0], end_place=f"panel, {where[1]}",
        between=f"{written(last.at_m - first.at_m, far, figures=3)} of air: {lost}", title=f"{name}: energy along the flight",
        words=f"From {whole[0]} at the chronograph, {where[0]} from the bow, to {whole[1]} at the panel, {where[1]} from it. {air_words} {doubt}",
    )  # fmt: skip
