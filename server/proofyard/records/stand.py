"""How a panel was held."""

from proofyard.records.columns import Noun, choice, lines, link, moment, quantity, whole, words, yes_no

HELD = {"hung": "Hung", "tied": "Tied", "weighted": "Hung with weights", "clamped": "Clamped", "worn_form": "On a body form"}
ROLES = {"garment": "Garment", "witness": "Witness", "backing": "Backing"}


class Stand(Noun, table=True):
    __tablename__ = "stand"
    __table_args__ = ({"sqlite_strict": True},)
    name: str = words("Name", required=True, limit=60)
    held: str | None = choice("Held by", HELD)
    gap_m: float | None = quantity("Gap behind the panel", "gap")
    hung_mass_kg: float | None = quantity(
        "Hung mass, without the panel", "hung_mass", hint="What swings with it: frame, weights. 0 kg if nothing does."
    )
    tilt_rad: float | None = quantity("Tilt", "angle", hint="From upright; 0° is vertical.")
    layers_complete: int | None = yes_no(
        "The layers are all there was behind the panel", hint="Then no garment among them means that there was none."
    )
    note: str | None = lines("Note")
    retired: int | None = yes_no("Retired")


class StandLayer(Noun, table=True):
    __tablename__ = "stand_layer"
    __table_args__ = ({"sqlite_strict": True},)
    stand_id: str = link("Stand", "stand", required=True)
    place: int = whole("Order from the front", required=True)
    role: str = choice("Role", ROLES, required=True)
    material: str | None = words("Material")
    thickness_m: float | None = quantity("Thickness", "gap")
    areal_kg_m2: float | None = quantity(
        "A square metre weighs", "layer_weight", hint="Of a garment: weigh it, or a square of it. Of a backing only if it is worn too."
    )


class BackingCheck(Noun, table=True):
    __tablename__ = "backing_check"
    __table_args__ = ({"sqlite_strict": True},)
    stand_id: str = link("Stand", "stand", required=True)
    at: int | None = moment("When")
    how: str | None = words("How it was checked", hint="If nothing was let fall, or to say more.")
    drop_mass_kg: float | None = quantity("Mass that was let fall", "drop_mass")
    drop_across_m: float | None = quantity("Its width where it hit", "drop_across", hint="A ball: across.")
    drop_height_m: float | None = quantity("Let fall from", "drop_height", hint="Measured from its underside to the backing.")
    drops: int | None = whole("Times it was let fall", hint="The depth is the mean of them, each on a fresh spot.")
    found_m: float | None = quantity("Depth found", "depth")
    temperature_k: float | None = quantity("Temperature of the backing", "temperature")
    note: str | None = words("Note")
