"""What was said and planned before the first arrow: each archer's prediction, and the order in which to shoot."""

from sqlalchemy import UniqueConstraint

from proofyard.records.columns import Noun, choice, lines, link, quantity, whole, words, yes_no

MIXED = {"heads_archers": "Heads and archers", "heads": "Heads", "arrows": "Arrows, whatever their head"}


class Prediction(Noun, table=True):
    """What one archer expects of a trial. When it was said is the notebook's to tell, not the archer's."""

    __tablename__ = "prediction"
    __table_args__ = ({"sqlite_strict": True},)
    trial_id: str = link("Trial", "trial", required=True)
    archer_id: str = link("Archer", "archer", required=True, index=False)
    says: str = lines("What you expect", required=True, limit=600)
    share_ratio: float | None = quantity("Percentage that goes through", "chance", hint="If you have one in mind.")
    fifty_percent_energy_j: float | None = quantity("50 % energy", "energy", hint="If you have one in mind.")


class Plan(Noun, table=True):
    """A random order for one panel build. The seed makes the same order again."""

    __tablename__ = "plan"
    __table_args__ = ({"sqlite_strict": True},)
    trial_id: str = link("Trial", "trial", required=True)
    panel_build_id: str = link("Panel", "panel_build", required=True, index=False)
    bow_build_id: str | None = link("Bow", "bow_build", index=False, hint="Empty: whichever each archer shoots.")
    mixed: str = choice("Balanced over", MIXED, required=True)
    rounds: int = whole("Shots for each", required=True)
    group_m: float | None = quantity(
        "Your hits are within this distance of the spot", "small_length", hint="A larger distance gives fewer spots."
    )
    seed: int = whole("Seed", required=True)
    note: str | None = lines("Note")


class PlannedShot(Noun, table=True):
    """One shot of a plan. Done is a loose that names it; whether it is done is never written here."""

    __tablename__ = "planned_shot"
    __table_args__ = (UniqueConstraint("plan_id", "place", name="uq_planned_shot"), {"sqlite_strict": True})
    plan_id: str = link("Plan", "plan", required=True, index=False)
    place: int = whole("Place in the order", required=True)
    block: int | None = whole("Round")
    archer_id: str | None = link("Archer", "archer", index=False)
    bow_build_id: str | None = link("Bow", "bow_build", index=False)
    arrow_build_id: str = link("Arrow", "arrow_build", required=True, index=False)
    aim_x_m: float | None = quantity("Spot, right of the middle", "place")
    aim_y_m: float | None = quantity("Spot, above the middle", "place")
    aim_name: str | None = words("Spot", limit=40)
    skipped: int | None = yes_no("Skipped")
