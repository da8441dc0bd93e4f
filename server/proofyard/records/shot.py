"""One arrow loosed, and what was read of it. Loosed is not read."""

from sqlalchemy import ForeignKeyConstraint, Index, Text
from sqlmodel import Field as Column

from proofyard.records.columns import Noun, choice, lines, link, moment, quantity, record_ref, several, whole, words, yes_no
from proofyard.records.trial import NUMBERED_OUTCOMES

PURPOSES = {"counted": "Counted shot", "sighter": "Sighter", "speed_only": "Speed only", "let_down": "Let down"}
HITS = {"on_panel": "On the panel", "partial": "Clipped the panel’s edge", "missed": "Missed", "spoiled": "Spoiled"}

_ANY = {"panel_edge": "Panel edge", "old_hit": "Old hit", "cant_tell": "Can’t tell"}
_PLATE = {"plate": "Plate", "ridge": "Ridge", "rolled_edge": "Rolled edge", "rivet": "Rivet"}
_LACED = {
    "plate": "Plate",
    "plate_edge": "Plate edge",
    "overlap": "Overlap",
    "lace_hole": "Lace hole",
    "on_lace": "On a lace",
    "gap": "Gap between plates",
    "under_row": "Under a row",
}
_RIVETED = {"plate": "Plate", "overlap": "Overlap", "rivet": "Rivet", "gap": "Gap between plates"}
_MAIL = {"broke_rings": "Broke rings", "through_ring": "Through a ring"}
_TEXTILE = {"field": "Field", "quilting": "Quilting line", "seam": "Seam"}
# Only those that the construction has.
ENTRIES = {
    "plate": {**_PLATE, **_ANY},
    "lamellar": {**_LACED, **_ANY},
    "scale": {**_LACED, **_ANY},
    "brigandine": {**_RIVETED, **_ANY},
    "coat_of_plates": {**_RIVETED, **_ANY},
    "mail": {**_MAIL, **_ANY},
    "textile": {**_TEXTILE, **_ANY},
    "other": {"field": "Field", **_ANY},
}
ALL_ENTRIES = {**_PLATE, **_LACED, **_MAIL, **_TEXTILE, **_ANY}
# A hit by one of these says nothing about the plate itself: views keep them apart.
BY_A_GAP = frozenset({"lace_hole", "gap", "under_row", "through_ring", "plate_edge", "panel_edge", "old_hit", "rivet", "on_lace", "seam"})

DEPTH_METHODS = {
    "mark_and_pull": "Mark and pull",
    "seen_behind": "Seen from behind",
    "witness": "Witness",
    "film": "Film",
    "estimate": "Estimate",
}
REACHED = {"armour_only": "Armour only", "garment": "Garment", "witness": "Witness", "body_line": "Past the body line"}
ARROW_DID = {
    "stuck_armour": "Stuck in the armour",
    "stuck_backing": "Stuck in the backing",
    "passed": "Passed right through",
    "dropped": "Dropped",
    "bounced": "Bounced back",
    "glanced": "Glanced off",
    "broke_up": "Broke up",
}
HEAD_FATES = {
    "sound": "Sound",
    "blunted": "Point blunted",
    "curled": "Point curled",
    "snapped": "Point snapped",
    "edge_rolled": "Edge rolled",
    "socket_split": "Socket split",
    "tang_bent": "Tang bent or driven back",
    "loose": "Loose",
    "off_found": "Off and found",
    "lost": "Lost",
}
SHAFT_FATES = {
    "sound": "Sound",
    "cracked": "Cracked",
    "crushed": "Crushed at the head",
    "broken_behind_head": "Broken behind the head",
    "broken_elsewhere": "Broken elsewhere",
    "bent": "Bent",
    "nock_split": "Nock split",
    "fletching_torn": "Fletching torn",
}
# What a reading says of an arrow that is retired until a hand has mended it and found it sound: common practice,
# no source.
GROUNDED_BY = {
    "shaft_fate": ("cracked", "crushed", "broken_behind_head", "broken_elsewhere", "nock_split"),
    "head_fate": ("socket_split", "loose", "off_found", "lost"),
}
NEIGHBOURS = "Only if you can’t choose between two levels: the next one up."
CERTAINTIES = {"sure": "Sure", "fairly": "Fairly sure", "unsure": "Not sure"}


class Shot(Noun, table=True):
    """The label is the phone's letter and its own count; it is given at once and never changed."""

    __tablename__ = "shot"
    __table_args__ = (
        ForeignKeyConstraint(
            ["bow_build_id", "arrow_build_id", "archer_id"],
            ["combination.bow_build_id", "combination.arrow_build_id", "combination.archer_id"],
            name="fk_shot_combination",
        ),
        Index("ix_shot_combination", "bow_build_id", "arrow_build_id", "archer_id"),
        Index("ix_shot_label", "label"),
        {"sqlite_strict": True},
    )
    label: str = words("Label", required=True, limit=12)
    shooting_end_id: str = link("End", "shooting_end", required=True)
    position: int | None = whole("Order in the end", hint="1 for the first arrow. Leave empty if nobody knows.")
    bow_build_id: str = link("Bow", "bow_build", required=True, index=False)
    arrow_build_id: str = link("Arrow", "arrow_build", required=True)
    archer_id: str = link("Archer", "archer", required=True, index=False)
    recorded_by: str | None = Column(default=None, foreign_key="device.id", sa_type=Text, sa_column_kwargs={"info": {}})
    purpose: str = choice("Purpose", PURPOSES, required=True)
    short_draw: int | None = yes_no("Short draw")
    aim_id: str | None = link("Aimed at", "panel_area", index=False)
    loosed_at: int | None = moment("Shot at")
    planned_shot_id: str | None = record_ref("As planned", of="planned_shot", index=False)
    note: str | None = lines("Note")


class ShotReading(Noun, table=True):
    """What was read of a shot. Its id is the shot's, so that two phones that read one shot meet in one record."""

    __tablename__ = "shot_reading"
    __table_args__ = (ForeignKeyConstraint(["id"], ["shot.id"], name="fk_shot_reading_shot"), {"sqlite_strict": True})
    hit: str | None = choice("How it ended", HITS)
    why: str | None = words("Reason", hint="What spoiled it, or where it went.")
    x_m: float | None = quantity("Right of the middle", "place")
    y_m: float | None = quantity("Above the middle", "place")
    place_known: int | None = yes_no("Place known")
    touched_first: str | None = choice("Touched first", ALL_ENTRIES)
    entry: str | None = choice("Where it went in", ALL_ENTRIES)
    layers: int | None = whole("Layers at that point")
    plate: str | None = words("Which plate", limit=40, hint="For small plates, for example row 3, plate 5.")
    angle_rad: float | None = quantity("Angle from square where it hit", "angle")
    yaw_rad: float | None = quantity(
        "Yaw", "angle", hint="Between the shaft and the line of flight just before the hit, read on film. 0° = straight."
    )
    outcome_low: str | None = choice("Outcome", NUMBERED_OUTCOMES)
    outcome_high: str | None = choice("or up to", NUMBERED_OUTCOMES, hint=NEIGHBOURS)
    rear_check: int | None = yes_no("Check from behind on the bench")
    depth_m: float | None = quantity("Tip past the rear face", "depth", hint="Along the shaft, arrow still in place. You can type ≥ 20.")
    depth_bound: str | None = choice("Depth is", {"equal": "as read", "at_least": "at least"})
    depth_method: str | None = choice("Depth measured by", DEPTH_METHODS)
    reached: str | None = choice("Deepest layer reached", REACHED)
    back_face_m: float | None = quantity("Back face pushed in", "depth")
    arrow_did: str | None = choice("What the arrow did", ARROW_DID)
    bounced_m: float | None = quantity("Bounced back by", "bounce_distance")
    head_fate: str | None = several("Head", HEAD_FATES)
    shaft_fate: str | None = several("Shaft", SHAFT_FATES)
    damage: str | None = words("Damage to the armour", limit=300, hint="Rings broken, laces cut, size of the hole.")
    may_be_shot_id: str | None = record_ref("Possibly this shot’s hit instead", of="shot", index=False)
    certainty: str | None = choice("How sure", CERTAINTIES)
    fair_overrule: str | None = choice("Fair hit, overruled", {"fair": "Fair", "not_fair": "Not fair"})
    fair_reason: str | None = words("Overruled because")
    note: str | None = lines("Note")


class SecondReading(Noun, table=True):
    """The same hit read again by somebody else, who did not know what the first had said. It changes no count."""

    __tablename__ = "second_reading"
    __table_args__ = ({"sqlite_strict": True},)
    shot_id: str = link("Shot", "shot", required=True)
    read_by_id: str = link("Read by", "archer", required=True, index=False)
    outcome_low: str = choice("Outcome", NUMBERED_OUTCOMES, required=True)
    outcome_high: str | None = choice("or up to", NUMBERED_OUTCOMES, hint=NEIGHBOURS)
    depth_m: float | None = quantity("Tip past the rear face", "depth", hint="Along the shaft, arrow still in place. You can type ≥ 20.")
    depth_bound: str | None = choice("Depth is", {"equal": "as read", "at_least": "at least"})
    entry: str | None = choice("Where it went in", ALL_ENTRIES)
    note: str | None = lines("Note")
