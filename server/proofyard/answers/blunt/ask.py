"""What the page of blunt impact behind armour was asked, as it stands in the address: which trial, shot and panel, and whose chest is
reckoned with."""

from dataclasses import dataclass
from types import MappingProxyType

from proofyard.physics.trauma import HEAVIEST_KG, LIGHTEST_KG
from proofyard.views.address import Amount, AsTyped, Choice, Free, Query, Reading, address

BODIES = MappingProxyType({"man": "A man’s chest", "woman": "A woman’s chest"})
BODY_KG = 75.0
NARROWEST_M, WIDEST_M = 0.005, 1.0

TRIAL = Free(name="trial", label="Trial", control="select", blank="Pick a trial")
PANEL = Free(name="panel", label="Panel", control="select", blank="All panels")
SHOT = Free(name="shot", label="Shot")
BODY = Choice(
    name="body",
    label="Whose chest",
    hint="The published criterion covers these two.",
    default="man",
    choices=BODIES,
    wrong="The criterion was published for a man’s and a woman’s chest. Pick one.",
)
BODY_MASS = Amount(
    name="body_mass",
    label="Body mass",
    hint="Left empty: 75 kg (165 lb).",
    kind="body_mass",
    fits=lambda mass_kg: LIGHTEST_KG <= mass_kg <= HEAVIEST_KG,
    outside=f"The criterion is for adults: enter {LIGHTEST_KG:g} to {HEAVIEST_KG:g}\N{NO-BREAK SPACE}kg (88 to 265\N{NO-BREAK SPACE}lb).",
)
WIDTH = Amount(
    name="width",
    label="Width of the impact",
    hint="Width of the dent in the panel’s back.",
    kind="panel_size",
    fits=lambda width_m: NARROWEST_M <= width_m <= WIDEST_M,
    outside=f"Enter {1000 * NARROWEST_M:g} to {1000 * WIDEST_M:g}\N{NO-BREAK SPACE}mm "
    f"({NARROWEST_M / 0.0254:.1f} to {WIDEST_M / 0.0254:.1f}\N{NO-BREAK SPACE}in); a narrower impact is a point, a wider one wider "
    "than a chest.",
)
AFTER = Amount(
    name="after", label="Speed of the arrow afterwards", hint="From film: how fast it bounced back, or went on.", kind="arrow_speed"
)
HEIGHT = Amount(
    name="height",
    label="Height of the spot above the ground",
    hint="Limits how fast a bounced arrow came back. Left empty: 0.5 m (20 in) or more.",
    kind="drop_height",
    fits=lambda height_m: height_m > 0,
    outside="Enter a height above the ground, for example 1.2\N{NO-BREAK SPACE}m or 4\N{NO-BREAK SPACE}ft.",
)


@dataclass(frozen=True, kw_only=True)
class BluntAsked(AsTyped):
    """`body_kg` and `body` are the reader's or the usual ones; None: nobody typed it.

    after_m_s  how fast the picked arrow left
    fall_m     how high above the ground the spots were from which arrows bounced
    """

    trial: str
    panel: str
    shot: str
    body: str
    body_kg: float
    width_m: float | None
    after_m_s: float | None
    fall_m: float | None

    def address(self, **instead: str) -> str:
        """This page again."""
        return address("/blunt", self.pairs(**instead))


def blunt_asked(query: Query) -> BluntAsked:
    """Read an address; what can't be used gets a sentence, and the usual figure stands in."""
    reading = Reading(query)
    return BluntAsked(
        trial=reading.one(TRIAL),
        panel=reading.one(PANEL),
        shot=reading.one(SHOT),
        body=reading.one(BODY),
        body_kg=reading.one(BODY_MASS) or BODY_KG,
        width_m=reading.one(WIDTH),
        after_m_s=reading.one(AFTER),
        fall_m=reading.one(HEIGHT),
        **reading.as_typed(),
    )
