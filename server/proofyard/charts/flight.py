"""An arrow's energy along its flight: from where its speed was read to the panel, with how far it may be off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.charts.figure import WIDTH, Figure, Text, area, line, upright
from proofyard.charts.scale import LinearScale
from proofyard.quantities import Uncertain, unit_for_reader, written, written_with_uncertainty

HEIGHT = 154.0
LEFT, RIGHT = 56.0, 314.0
TOP, BOTTOM = 34.0, 104.0


@dataclass(frozen=True)
class Along:
    """One place of the flight, from the bow, and the energy there."""

    at_m: float
    energy: Uncertain


def draw_flight(name: str, along: Sequence[Along], *, reader: str, air_words: str) -> Figure:
    """Places in rising order, the last at the panel; at least two. No band where the uncertainty can't be told."""
    if len(along) < 2 or any(one.at_m >= other.at_m for one, other in zip(along, along[1:], strict=False)):
        raise ValueError("a flight has two places or more, each further on than the one before")
    x = LinearScale(along[0].at_m, along[-1].at_m, LEFT, RIGHT)
    known = all(one.energy.standard_uncertainty is not None for one in along)
    values = [(one.energy.value, one.energy.standard_uncertainty or 0.0) for one in along]
    low, high = min(value - u for value, u in values), max(value + u for value, u in values)
    # A frame that holds the band, and never less than a hundredth: else a loss of nothing would look like a cliff.
    half = max((high - low) / 2, 0.005 * max(value for value, _ in values), 1e-9)
    y = LinearScale((low + high) / 2 - half, (low + high) / 2 + half, BOTTOM, TOP)
    lower, curve, upper = (
        [(x(one.at_m), y(value + sign * u)) for one, (value, u) in zip(along, values, strict=True)] for sign in (-1, 0, 1)
    )
    first, last = along[0], along[-1]
    unit, far = unit_for_reader("energy", reader), unit_for_reader("distance", reader)
    energies = [written(one.energy.value, unit, uncertainty_si=one.energy.standard_uncertainty, figures=3) for one in (first, last)]
    where = [written(one.at_m, far, figures=3) for one in (first, last)]
    whole = [written_with_uncertainty(one.energy, unit, figures=3) for one in (first, last)]
    lost = f"{written(last.at_m - first.at_m, far, figures=3)} of air: {written(last.energy.value - first.energy.value, unit, figures=2)}"
    uncertainty = "The band is one standard uncertainty either way." if known else "The uncertainty is not known."
    return Figure(
        title=f"{name}: energy along the flight",
        words=(
            f"From {whole[0]} at the chronograph, {where[0]} from the bow, to {whole[1]} at the panel, {where[1]} "
            f"from it. {air_words} {uncertainty}"
        ),
        height=HEIGHT,
        marks=(
            *(area(upper, lower, "chart__band") if known and any(u for _, u in values) else ()),
            *line(curve, "chart__path"),
            upright(LEFT, 28.0, 122.0, "chart__axis"),
            upright(RIGHT, 22.0, 128.0, "chart__face"),
            Text(energies[0], LEFT, min(upper[0][1] - 10, 18.0), "chart__count", "middle"),
            Text(energies[1], RIGHT - 8, upper[-1][1] - 10, "chart__count", "end"),
            Text(where[0], LEFT, 142.0, anchor="middle"),
            Text(f"panel, {where[1]}", 334.0, 142.0, anchor="end"),
            Text(lost, WIDTH / 2, 122.0, anchor="middle"),
        ),
        x=x,
        y=y,
    )
