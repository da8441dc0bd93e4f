"""Armour specimens and their builds. What is asked depends on how the panel is made."""

from proofyard.records.columns import Noun, choice, lines, link, quantity, record_ref, whole, words, yes_no

CONSTRUCTIONS = {
    "plate": "One-piece plate",
    "lamellar": "Lamellar",
    "scale": "Scale",
    "brigandine": "Brigandine",
    "coat_of_plates": "Coat of plates",
    "mail": "Mail",
    "textile": "Textile",
    "other": "Other",
}
PLATED = ("plate", "lamellar", "scale", "brigandine", "coat_of_plates")
SMALL_PLATED = ("lamellar", "scale", "brigandine", "coat_of_plates")
CLOTHED = ("mail", "textile", "brigandine", "coat_of_plates")
JOINTS = {"riveted": "Riveted", "half_riveted": "Rows riveted and solid", "welded": "Welded", "butted": "Butted"}
OUTLINES = {"rectangle": "Rectangle", "breastplate": "Breastplate", "disc": "Disc"}
WORK = {
    "first": "As first made",
    "relaced": "Re-laced",
    "plate_replaced": "Plate replaced",
    "beaten_flat": "Beaten flat",
    "turned": "Turned",
    "other": "Other work",
}


class Panel(Noun, table=True):
    __tablename__ = "panel"
    __table_args__ = ({"sqlite_strict": True},)
    name: str = words("Name", required=True, limit=60)
    construction: str | None = choice("Construction", CONSTRUCTIONS)
    outline: str | None = choice("Outline", OUTLINES)
    width_m: float | None = quantity("Width", "panel_size")
    height_m: float | None = quantity("Height", "panel_size")
    mass_kg: float | None = quantity("Mass", "panel_mass")
    material: str | None = words("Material", hint="For example mild steel sheet, linen, iron rings.")
    thickness_m: float | None = quantity(
        "Thickness nominal", "thickness", shown_for=("construction", PLATED), hint="Readings at places are kept on the build."
    )
    plate_width_m: float | None = quantity("Plate width", "plate_size", shown_for=("construction", SMALL_PLATED))
    plate_height_m: float | None = quantity("Plate height", "plate_size", shown_for=("construction", SMALL_PLATED))
    overlap_m: float | None = quantity("Overlap", "small_length", shown_for=("construction", SMALL_PLATED))
    rows: int | None = whole("Rows", shown_for=("construction", SMALL_PLATED))
    row_shift_m: float | None = quantity(
        "Every second row is offset by",
        "small_length",
        shown_for=("construction", SMALL_PLATED),
        hint="0 if the plates are in line above each other.",
    )
    lacing: str | None = words("Lacing", shown_for=("construction", ("lamellar", "scale")))
    lace_each_m: float | None = quantity(
        "Lace to one plate",
        "lace_length",
        shown_for=("construction", ("lamellar", "scale")),
        hint="All the lace over the number of plates.",
    )
    lace_mass_kg_m: float | None = quantity("A metre of lace weighs", "lace_mass", shown_for=("construction", ("lamellar", "scale")))
    lace_hole_m: float | None = quantity("Lace hole, across", "small_length", shown_for=("construction", ("lamellar", "scale")))
    rivet_pitch_m: float | None = quantity("Between rivets", "small_length", shown_for=("construction", ("brigandine", "coat_of_plates")))
    ring_outer_m: float | None = quantity("Ring, outside", "small_length", shown_for=("construction", ("mail",)))
    ring_wire_m: float | None = quantity("Wire, thickness", "small_length", shown_for=("construction", ("mail",)))
    ring_mass_kg: float | None = quantity(
        "One ring weighs",
        "ring_mass",
        shown_for=("construction", ("mail",)),
        hint="Weigh a hundred and divide by 100: riveted rings weigh more than their wire suggests.",
    )
    rings_counted: int | None = whole(
        "Rings in 100 by 100 mm", shown_for=("construction", ("mail",)), hint="Counted on the panel as it hangs, not drawn out."
    )
    ring_joint: str | None = choice("Rings closed by", JOINTS, shown_for=("construction", ("mail",)))
    ring_pattern: str | None = words("Ring pattern", shown_for=("construction", ("mail",)), hint="For example four in one.")
    cloth: str | None = words("Cloth layers, from the front", limit=400, shown_for=("construction", CLOTHED))
    cloth_layers: int | None = whole("Number of layers", shown_for=("construction", CLOTHED))
    cloth_layer_kg_m2: float | None = quantity(
        "A layer of cloth weighs",
        "cloth_mass",
        shown_for=("construction", CLOTHED),
        hint="The mean over its layers: weigh a square of each.",
    )
    quilting_m: float | None = quantity("Between quilting lines", "small_length", shown_for=("construction", ("textile", "mail")))
    heat_treatment: str | None = words("Heat treatment", hint="For example normalised, quenched and tempered; or none.")
    condition: str | None = words("Condition before the first shot", limit=300, hint="Rust, dents, repairs; or as new.")
    maker: str | None = words("Made by")
    made_after: str | None = words("Made after", hint="The find or photo that it follows.")
    departures: str | None = lines("Where it differs from that")
    retired: int | None = yes_no("Retired")


class PanelBuild(Noun, table=True):
    """Re-laced, a plate replaced, beaten flat, turned: another build, and its earlier hits are another's."""

    __tablename__ = "panel_build"
    __table_args__ = ({"sqlite_strict": True},)
    panel_id: str = link("Panel", "panel", required=True)
    number: int = whole("Build", required=True)
    work: str | None = choice("What was done", WORK)
    note: str | None = lines("Note")


AREAS = {
    "aim": "Aim spot",
    "ridge": "Ridge",
    "rolled_edge": "Rolled edge",
    "rivet": "Rivet",
    "plate_edge": "Plate edge",
    "overlap": "Overlap",
    "lace_hole": "Lace hole",
    "on_lace": "Lace",
    "gap": "Gap between plates",
    "under_row": "Under a row",
    "quilting": "Quilting line",
    "seam": "Seam",
}


class PanelArea(Noun, table=True):
    """A spot (one place) or a line (two places) on a build, with how far it reaches."""

    __tablename__ = "panel_area"
    __table_args__ = ({"sqlite_strict": True},)
    panel_build_id: str = link("Panel build", "panel_build", required=True)
    sort: str = choice("What is there", AREAS, required=True)
    name: str | None = words("Name", limit=20)
    x_m: float = quantity("Right of the middle", "place", required=True)
    y_m: float = quantity("Above the middle", "place", required=True)
    to_x_m: float | None = quantity("to, right of the middle", "place", hint="For a line: where it ends.")
    to_y_m: float | None = quantity("to, above the middle", "place")
    reach_m: float | None = quantity("Half-width", "small_length", hint="How far to each side it still counts.")


class PanelFace(Noun, table=True):
    """A photo of a build's front or back, with the outline and the scale that stand on it."""

    __tablename__ = "panel_face"
    __table_args__ = ({"sqlite_strict": True},)
    panel_build_id: str = link("Panel build", "panel_build", required=True)
    side: str = choice("Side", {"front": "Front", "back": "Back"}, required=True)
    photo_id: str | None = record_ref("Photo", index=False)
    outline_json: str | None = words("Outline on the photo", limit=4000)
    corners: str | None = words(
        "Four corners on the photo",
        limit=120,
        hint="Percent from its left and from its top: top left, top right, bottom right, bottom left.",
    )
    scale_m: float | None = quantity("Between the corners, across", "panel_size")
    height_m: float | None = quantity("Between the corners, up and down", "panel_size")
    middle_x_m: float | None = quantity("Their middle, right of the panel’s", "place", hint="Empty or 0: the middle of the panel.")
    middle_y_m: float | None = quantity("Their middle, above the panel’s", "place")
