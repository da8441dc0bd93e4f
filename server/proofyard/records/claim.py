"""A trial's question as a claim that shots can settle: its form, its parts, and nothing of how it turns out."""

from proofyard.records.arrow import FORMS
from proofyard.records.columns import Noun, choice, link, quantity, several, whole
from proofyard.records.panel import CONSTRUCTIONS

CLAIM_FORMS = {
    "holds": "It holds: at most 1 shot in so many gets through",
    "never": "It is never shot through",
    "needs_less": "This head needs less energy than that one",
    "fifty_percent_above": "The 50 % energy lies above so much",
    "thickness": "This thickness makes a difference of at least so much",
    "panel": "This panel (its hardness, its make) makes a difference of at least so much",
    "stand": "This garment or backing (its stand) makes a difference of at least so much",
}
# Of shares, of energies; and of the latter those that compare, and those that say by how much.
OF_SHARES, OF_DIFFERENCES = ("holds", "never"), ("thickness", "panel", "stand")
OF_PAIRS = ("needs_less", *OF_DIFFERENCES)
OF_ENERGIES = (*OF_PAIRS, "fifty_percent_above")
LEVELS = {"90": "90 %", "95": "95 %", "99": "99 %"}
DEFAULT_ONE_IN, DEFAULT_LEVEL = 10, "95"
# Common practice, no source: a difference of a tenth is what two thicknesses that lie side by side in a shop may make.
DEFAULT_DIFFERENCE = "10 %"
MOST_ONE_IN = 1000  # common sense, no source: above it no yard can shoot enough, and it is a slip of the keys


def _for(*forms: str) -> tuple[str, tuple[str, ...]]:
    return "claim_form", forms


class Claim(Noun, table=True):
    """What must be shown, by which shots. When it was stated is the notebook's to tell, as of a prediction.

    A bow stands for all its combinations: whoever shoots it, any arrow with one of the heads.
    """

    __tablename__ = "claim"
    __table_args__ = ({"sqlite_strict": True},)
    trial_id: str = link("Trial", "trial", required=True)
    claim_form: str = choice("The claim", CLAIM_FORMS, required=True)
    one_in: int | None = whole("At most 1 shot through in", hint="10: at most 1 in 10.", shown_for=_for("holds"))
    heads: str | None = several("Against these heads", FORMS, hint="Each is judged by itself.", shown_for=_for(*OF_SHARES))
    bow_id: str | None = link("With this bow", "bow", index=False, shown_for=_for(*OF_SHARES))
    energy_j: float | None = quantity("Energy at the target", "energy", hint="Instead of a bow.", shown_for=_for(*OF_SHARES))
    head_form: str | None = choice("This head", FORMS, shown_for=_for(*OF_ENERGIES))
    than_head: str | None = choice("Needs less energy than this one", FORMS, shown_for=_for("needs_less"))
    fifty_percent_above_j: float | None = quantity("The 50 % energy lies above", "energy", shown_for=_for("fifty_percent_above"))
    difference_ratio: float | None = quantity(
        "At least so much more energy, for half to get through",
        "difference",
        hint="In percent of the other’s. Even 40 shots at each can hardly rule out a tenth.",
        shown_for=_for(*OF_DIFFERENCES),
    )
    construction: str | None = choice("Construction of the panels", CONSTRUCTIONS)
    thickness_m: float | None = quantity(
        "Their nominal thickness", "thickness", hint="Empty: any thickness. Of two that are compared, the one that needs more."
    )
    than_thickness_m: float | None = quantity("Needs more than this thickness", "thickness", shown_for=_for("thickness"))
    panel_id: str | None = link("This panel", "panel", index=False, shown_for=_for("panel"))
    than_panel_id: str | None = link("Needs more than this panel", "panel", index=False, shown_for=_for("panel"))
    stand_id: str | None = link(
        "On this stand",
        "stand",
        index=False,
        hint="With its garment and its backing. Empty, where no two stands are compared: any stand.",
        shown_for=_for(*OF_SHARES, "stand"),
    )
    than_stand_id: str | None = link("Needs more than on this stand", "stand", index=False, shown_for=_for("stand"))
    set_shots: int | None = whole(
        "Shots set beforehand, each",
        hint="With each head, or at each of the two. Empty: look as often as you like. A number saves shots, and is kept to.",
        shown_for=_for("holds", *OF_ENERGIES),
    )
    level: str | None = choice("How sure", LEVELS, hint="Empty: 95 %.", shown_for=_for("holds"))
    spread_ratio: float | None = quantity(
        "Spread of arrows or panels of one type",
        "difference",
        hint="Standard deviation of their 50 % energies, if you know it. Empty: nothing is said of a type under four of each.",
        shown_for=_for(*OF_ENERGIES),
    )
