"""What a column can be: the fields of the book that a sheet of shots or kit fills, and what people call them in headings.

The words are common practice among archers and in workshops, no source. A field's own label counts as one of its words.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from dataclasses import field as made_by
from functools import cache
from types import MappingProxyType

from proofyard.records.columns import Meaning, meanings
from proofyard.records.nouns import TABLES

NOTE, UNREAD = "note", "unread"


@dataclass(frozen=True)
class Target:
    """One thing that a column can be.

    noun, field  where the book keeps it; none for what is kept as a note, and for shots that nobody read
    beside       what else the reader must know to read a value: of a reading, what was measured
    needed       a row can't come in without it
    """

    key: str
    label: str
    noun: str = ""
    field: str = ""
    words: tuple[str, ...] = ()
    beside: Mapping[str, str] = made_by(default_factory=dict)
    needed: bool = False

    @property
    def meaning(self) -> Meaning | None:
        return meanings(TABLES[self.noun])[self.field][1] if self.noun else None

    @property
    def value(self) -> str:
        """words, quantity, choice, day … as in `Meaning`; what has no field is words."""
        return self.meaning.value if self.meaning else "words"


def _target(key: str, where: str, words: str, *, label: str = "", needed: bool = False, **beside: str) -> Target:
    noun, _, name = where.partition(".")
    said = label or meanings(TABLES[noun])[name][1].label
    return Target(key, said, noun, name, tuple(one.strip() for one in words.split(",") if one.strip()), beside, needed)


_NOTE = Target(NOTE, "Keep as a note", words=("note", "notes", "comment", "comments", "remark", "remarks", "observation", "observations"))
_MADE = "maker, made by, smith, bowyer, fletcher, armourer, manufacturer, source, supplier"


_SHOTS = (
    _target("day", "session.day", "date, day, when, shot on, datum", label="Day", needed=True),
    _target("archer", "archer.call_name", "archer, shooter, who, loosed by, shot by, name, person", label="Archer", needed=True),
    _target("bow", "bow.name", "bow, bow name, bow id, longbow, bow used", label="Bow", needed=True),
    _target(
        "bow_weight",
        "bow.marked_weight",
        "draw weight, bow weight, poundage, lbs at draw, weight of bow, draw force",
        label="Bow’s marked weight",
    ),
    _target("arrow", "arrow.tag", "arrow, arrow no, arrow id, arrow number, shaft, arrow tag, arrow used", label="Arrow", needed=True),
    _target(
        "arrow_mass",
        "reading.value",
        "arrow mass, arrow weight, mass of arrow, weight of arrow, total arrow weight, projectile mass",
        label="Arrow’s mass",
        measured="mass",
        noun="arrow_build",
    ),
    _target(
        "head_form",
        "head.form",
        "head, head type, arrowhead, point, point type, tip, bodkin, type of head, arrow head",
        label="Form of the head",
    ),
    _target(
        "panel",
        "panel.name",
        "panel, target, plate, armour, armor, sample, specimen, coupon, test piece, target id",
        label="Panel",
        needed=True,
    ),
    _target(
        "construction",
        "panel.construction",
        "panel type, armour type, armor type, target type, construction, kind of armour, type of armour, target material",
        label="Panel’s construction",
    ),
    _target(
        "thickness",
        "panel.thickness",
        "thickness, plate thickness, gauge mm, sheet thickness, steel thickness, target thickness",
        label="Panel’s nominal thickness",
    ),
    _target("distance", "setup.distance", "distance, range, dist, from target, shooting distance, metres, yards", label="Distance"),
    _target("angle", "setup.angle", "angle, obliquity, impact angle, angle of incidence, angle from square", label="Angle from square"),
    _target("end", "shooting_end.number", "end, end no, volley, flight, round", label="End number"),
    _target("position", "shot.position", "order, position, shot in end, sequence, arrow in end", label="Order in the end"),
    _target(
        "speed",
        "speed_reading.value",
        "speed, velocity, v, chrono, chronograph, launch speed, arrow speed, fps, m s, impact velocity, v0",
        label="Speed",
    ),
    _target("hit", "shot_reading.hit", "hit, hit or miss, on target, result of shot, hit miss", label="Hit or missed"),
    _target(
        "outcome",
        "shot_reading.outcome_low",
        "outcome, result, penetration result, damage level, effect, penetrated, perforated, through, defeated, penetration y n",
        label="Outcome",
    ),
    _target(
        "depth",
        "shot_reading.depth",
        "depth, penetration, penetration depth, depth of penetration, how deep, behind plate, tip behind, dop, past rear face",
        label="Tip past the rear face",
    ),
    _target("x", "shot_reading.x", "x, right of centre, right of middle, horizontal, across", label="Right of the middle"),
    _target("y", "shot_reading.y", "y, above centre, above middle, vertical, up", label="Above the middle"),
    _target("entry", "shot_reading.entry", "where hit, hit where, location, where it went in, impact location", label="Where it went in"),
    _target(
        "damage",
        "shot_reading.damage",
        "damage, damage to armour, armour damage, hole, description of damage",
        label="Damage to the armour",
    ),
    _target("place", "session.place", "place, venue, where, site, field, shot at", label="Place"),
    _target("temperature", "session.temperature", "temperature, temp, air temp, air temperature", label="Air temperature"),
    Target(
        "number",
        "The sheet’s own shot number",
        words=("shot", "shot no", "shot number", "no", "nr", "id", "test", "test no", "run", "shot id", "number", "label"),
    ),
    Target(UNREAD, "Make that many unread shots of each row"),
    _NOTE,
)


_ARROWS = (
    _target("tag", "arrow.tag", "arrow, tag, arrow no, arrow id, number, no, nr, id, shaft no, name, label, arrow number", needed=True),
    _target(
        "mass",
        "reading.value",
        "mass, weight, arrow mass, arrow weight, total mass, total weight, finished weight, all up weight, gesamtgewicht, gewicht",
        label="Arrow’s mass",
        measured="mass",
        noun="arrow_build",
    ),
    _target(
        "balance",
        "reading.value",
        "balance, balance point, balance from nock, foc point, centre of gravity",
        label="Balance point from the nock",
        measured="balance",
        noun="arrow_build",
    ),
    _target("length", "arrow.length", "length, shaft length, arrow length, bop, back of point", label="Shaft length"),
    _target(
        "whole_length", "arrow_build.length", "overall length, total length, nock to tip, length with head", label="Length, nock to tip"
    ),
    _target("diameter", "arrow.diameter", "diameter, shaft diameter, dia, thickness, shaft dia, max diameter"),
    _target("diameter_nock", "arrow.diameter_nock", "nock diameter, diameter at nock, nock dia, nock end"),
    _target("material", "arrow.material", "wood, shaft wood, material, timber, shaft material, shaft, species"),
    _target("profile", "arrow.profile", "profile, shaft profile, taper, shape"),
    _target("fletching", "arrow.fletching", "fletching, feathers, fletch, fletchings, vanes, flights"),
    _target("nock", "arrow.nock", "nock, nock type, self nock"),
    _target("head", "head.name", "head id, head no, head name, head number, head tag", label="Name of the head"),
    _target(
        "head_form",
        "head.form",
        "head, head type, point type, point, arrowhead, type, tip, type of head, form, head form",
        label="Form of the head",
    ),
    _target("head_mass", "head.mass", "head mass, head weight, point weight, point mass, tip weight, weight of head"),
    _target("head_length", "head.length", "head length, length of head, point length", label="Length of the head"),
    _target("head_width", "head.width", "head width, width of head, point width, blade width, width", label="Width of the head"),
    _target("head_material", "head.material", "head material, steel, head steel, iron", label="Material of the head"),
    _target("maker", "head.maker", "head maker, head made by, smith, blacksmith, arrowsmith", label="Head made by"),
    _NOTE,
)


_BOWS = (
    _target("name", "bow.name", "bow, name, bow name, id, bow id, no, label, model", needed=True),
    _target("sort", "bow.sort", "type, bow type, kind, construction, style"),
    _target(
        "weight",
        "bow.marked_weight",
        "draw weight, weight, poundage, marked weight, lbs, pounds, force, draw force, marked, zuggewicht",
        label="Marked weight, with its draw",
    ),
    _target("draw", "bow.marked_draw", "draw, draw length, at draw, drawn to, marked draw, auszug", label="Draw that it was marked at"),
    _target("material", "bow.material", "wood, material, timber, species, woods, holz"),
    _target("maker", "bow.maker", _MADE),
    _target("length", "bow.length", "length, bow length, nock to nock, ntn, length nock to nock, overall length"),
    _target("string", "bow_build.string", "string, bowstring, string material, strands"),
    _target("string_mass", "bow_build.string_mass", "string mass, string weight, weight of string"),
    _target("brace", "bow_build.brace_height", "brace height, brace, bracing height, fistmele, standhöhe"),
    _NOTE,
)


_PANELS = (
    _target("name", "panel.name", "panel, name, panel id, target, sample, specimen, plate, id, no, label, piece, coupon", needed=True),
    _target("construction", "panel.construction", "construction, type, armour type, armor type, kind, panel type, type of armour"),
    _target("width", "panel.width", "width, panel width, breadth, w"),
    _target("height", "panel.height", "height, panel height, length, h"),
    _target("mass", "panel.mass", "mass, weight, panel mass, panel weight, total weight"),
    _target("material", "panel.material", "material, steel, metal, grade, alloy, made of, cloth type"),
    _target("thickness", "panel.thickness", "thickness, plate thickness, t, nominal thickness, sheet thickness, gauge"),
    _target("plate_width", "panel.plate_width", "plate width, scale width, lamella width"),
    _target("plate_height", "panel.plate_height", "plate height, scale height, lamella height, plate length, scale length"),
    _target("ring_outer", "panel.ring_outer", "ring diameter, ring od, outer diameter, ring outside, outside diameter, od, ring size"),
    _target("ring_wire", "panel.ring_wire", "wire, wire diameter, wire thickness, ring thickness, wire gauge"),
    _target("ring_joint", "panel.ring_joint", "rings closed by, joint, riveted or butted, closure, link type, rivets"),
    _target(
        "layers", "panel.cloth_layers", "layers, number of layers, plies, no of layers, layer count", label="Number of layers of cloth"
    ),
    _target("cloth", "panel.cloth", "cloth, fabric, cloth layers, textile, padding"),
    _target("heat_treatment", "panel.heat_treatment", "heat treatment, temper, treatment, hardened"),
    _target("condition", "panel.condition", "condition, state, condition before"),
    _target("maker", "panel.maker", _MADE),
    _target("made_after", "panel.made_after", "made after, copy of, after, based on, original, replica of"),
    _NOTE,
)


@cache
def targets_of(holds: str) -> Mapping[str, Target]:
    """Key -> what a column of such a sheet can be, in the order that they are offered."""
    made = {"shot": _SHOTS, "arrow": _ARROWS, "bow": _BOWS, "panel": _PANELS}[holds]
    return MappingProxyType({one.key: one for one in made})
