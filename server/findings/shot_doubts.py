"""Every cause of doubt behind a shot's energy, each once, sorted by whom it touches: all shots, a pairing, this shot."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.air_of_day import Air
from server.findings.arrow_drag import Drag
from server.findings.instrument_doubt import InstrumentDoubt
from server.physics.uncertainty_budget import Budget, Doubt
from server.quantities import Uncertain
from server.statistics.repeated_readings import Component

SINGLE_SHOTS = "single shots scatter"
OWN_DRAG = "this arrow’s own"
# Common practice, no source: a target's distance is paced or taped to a quarter of a metre, a shaft's diameter is read
# with a calliper to a tenth of a millimetre at a place that is not quite its thickest.
DISTANCE_EITHER_WAY_M = 0.25
DIAMETER_EITHER_WAY_M = 0.0002


@dataclass(frozen=True)
class Reckoned:
    """A mean and what its doubt is made of: what the readings' own scatter gives, and what their instruments share.

    why_not_known   what keeps its doubt from being told; then `value` has none
    """

    value: Uncertain
    parts: tuple[Component, ...]
    shared: InstrumentDoubt | None
    why_not_known: str = ""


def doubts_of_mass(mass: Reckoned) -> list[Doubt]:
    """The scale's are the same for all arrows, the scatter of weighings is this arrow's."""
    return _doubts(mass, "mass", own_scope="pairing", own_words="weighings scatter")


def doubts_of_speed(speed: Reckoned, *, own: bool) -> list[Doubt]:
    """`own`: read on the shot itself, so that its scatter is this shot's alone."""
    return _doubts(speed, "speed", own_scope="shot" if own else "pairing", own_words="" if not own else "readings of this shot scatter")


def _doubts(found: Reckoned, quantity: str, *, own_scope: str, own_words: str) -> list[Doubt]:
    said = []
    for part in found.parts:
        scope = "shot" if part.name == SINGLE_SHOTS else own_scope
        said.append(Doubt(quantity, own_words or part.name, part.standard_uncertainty, scope, "A", part.dof))
    if found.shared is not None:
        # Frames counted or sound: what is misjudged is misjudged on these readings, and on no other shot of the book.
        scope = own_scope if found.shared.own else "instrument"
        said.append(Doubt(quantity, found.shared.words, found.shared.standard_uncertainty, scope))
    return said


def doubts_of_flight(air: Air, drag: Drag, *, from_m: Uncertain) -> list[Doubt]:
    """What the way through the air adds. A fitted drag holds the shaft already: what is off about it cancels."""
    said = [
        Doubt("drag_coefficient", OWN_DRAG if drag.fitted else "taken, not measured", drag.coefficient.standard_uncertainty or 0.0, "pairing"),
        Doubt("air_density", "weather as written" if air.all_written else "weather not all written down", air.density.standard_uncertainty or 0.0, "instrument"),
        Doubt("distance", "tape or paces", DISTANCE_EITHER_WAY_M / math.sqrt(3), "instrument"),
        Doubt("distance", "where the speed was read", from_m.standard_uncertainty or 0.0, "instrument"),
    ]
    if not drag.fitted:
        said.insert(1, Doubt("shaft_diameter", "calliper", DIAMETER_EITHER_WAY_M / math.sqrt(3), "pairing"))
    return said


QUANTITY_WORDS = {
    "mass": "mass of the arrow",
    "speed": "speed",
    "distance": "distance",
    "drag_coefficient": "drag",
    "shaft_diameter": "shaft diameter",
    "air_density": "density of the air",
}
SCOPE_WORDS = {
    "instrument": "all shots",
    "pairing": "its pairing",
    "shot": "this shot",
}


def help_most(budget: Budget, *, own_speed: bool) -> str:
    """Which reading would lessen the doubt most, as the end of a sentence; empty where nothing stands out."""
    line = budget.most
    if line is None or budget.standard_uncertainty == 0:
        return ""
    doubt = line.doubt
    if doubt.quantity == "drag_coefficient":
        own = doubt.what == OWN_DRAG
        return "more readings of this arrow’s speed at both distances" if own else "this arrow’s speed, read at two distances far apart"
    if own_speed and (doubt.quantity, doubt.scope, doubt.kind) == ("speed", "shot", "A"):
        return "one chronograph that reads it surely"
    return _ADVICE[doubt.quantity, doubt.scope, doubt.kind]


_ADVICE = {
    ("mass", "instrument", "B"): "a surer scale, or one checked against a known weight",
    ("mass", "pairing", "A"): "weighing the arrow more often",
    ("speed", "instrument", "B"): "a surer chronograph, or one checked against something known",
    ("speed", "pairing", "A"): "more speed readings of this bow, arrow and archer",
    ("speed", "shot", "A"): "a speed read on the shot itself",
    ("speed", "shot", "B"): "a chronograph, where frames or sound were used",
    ("speed", "pairing", "B"): "a chronograph, where frames or sound were used",
    ("shaft_diameter", "pairing", "B"): "a calliper on the shaft",
    ("air_density", "instrument", "B"): "the day’s temperature and pressure, written down",
    ("distance", "instrument", "B"): "a tape, to the target and to the chronograph",
}


def missing_words(parts: Sequence[tuple[str, Reckoned]]) -> tuple[str, ...]:
    """The causes whose size nobody knows, in words: with one of them no whole can be told."""
    return tuple(f"{name}: {found.why_not_known}" for name, found in parts if found.why_not_known)
