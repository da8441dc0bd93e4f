"""What was asked of another bow, as it stands in the address: its weight and draw, the arrow, the distance."""

from dataclasses import dataclass
from types import MappingProxyType

from proofyard.quantities.reason import because
from proofyard.views.address import AsTyped, Choice, Query, Reading, more_than_nothing
from proofyard.views.settings import FAIR, Through
from proofyard.wording.counts import THROUGHS

WEIGHT = more_than_nothing("weight", "Draw weight", "draw_weight", hint="Of the bow that you ask about, at full draw.", warns=True)
MASS = more_than_nothing(
    "mass", "Mass of the arrow", "arrow_mass", hint="The whole arrow. Empty: as the arrows of your strongest bow.", warns=True
)
DISTANCE = more_than_nothing("distance", "Distance", "distance", hint="Empty: the distance that was shot most.", warns=True)
DRAW = more_than_nothing("draw", "Draw length", "draw_length", hint="Empty: as your strongest bow is drawn.", warns=True)
SHAFT = more_than_nothing(
    "shaft", "Shaft diameter", "shaft_diameter", hint="Where it is thickest. Empty: as your arrow nearest in mass.", warns=True
)
THROUGH = Choice(
    name="through",
    label="Through means",
    choices=MappingProxyType({key: words for key, words in THROUGHS.items() if key != "depth"}),
    blank="Point through (4) or more",
    is_no="a meaning of through",
)


@dataclass(frozen=True, kw_only=True)
class AnotherBowAsked(AsTyped):
    """In SI, None where nothing was typed or it could not be used."""

    weight_n: float | None
    mass_kg: float | None
    distance_m: float | None
    draw_m: float | None
    shaft_m: float | None
    through: Through
    fair: str


def another_bow_asked(query: Query) -> AnotherBowAsked:
    """Read an address. Once anything is asked, a weight has to be."""
    reading = Reading(query)
    weight, mass, distance = reading.one(WEIGHT), reading.one(MASS), reading.one(DISTANCE)
    draw, shaft, through = reading.one(DRAW), reading.one(SHAFT), reading.one(THROUGH) or "4"
    if weight is None and WEIGHT.name not in reading.problems and any(reading.typed.values()):
        reading.refuse(WEIGHT, because("asked_draw_weight"))
    fair = reading.one(FAIR)
    return AnotherBowAsked(
        weight_n=weight,
        mass_kg=mass,
        distance_m=distance,
        draw_m=draw,
        shaft_m=shaft,
        through=Through("body_line") if through == "body_line" else Through("outcome_level", int(through)),
        fair=fair,
        **reading.as_typed(),
    )
