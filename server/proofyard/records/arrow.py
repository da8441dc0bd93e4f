"""Heads, tagged shafts, and the builds that mount one on the other."""

from proofyard.records.columns import Noun, choice, lines, link, moment, quantity, whole, words, yes_no

FORMS = {
    "needle": "Long needle bodkin",
    "short_bodkin": "Short bodkin",
    "leaf": "Leaf",
    "lozenge": "Lozenge",
    "barbed": "Barbed broadhead",
    "chisel": "Chisel-edged",
    "crescent": "Crescent",
    "blunt": "Blunt",
    "other": "Other",
}
SECTIONS = {"square": "Square", "diamond": "Diamond", "triangle": "Triangle", "round": "Round", "flat": "Flat", "other": "Other"}
MOUNTS = {"socket": "Socket", "tang": "Tang"}
PROFILES = {"parallel": "Parallel", "bobtailed": "Bobtailed", "barrelled": "Barrelled", "chested": "Chested"}
SOUND = {"sound": "Flexed, looked over, sound", "not_sound": "Not sound"}


class Head(Noun, table=True):
    __tablename__ = "head"
    __table_args__ = ({"sqlite_strict": True},)
    name: str = words("Name", required=True, limit=60)
    form: str | None = choice("Form", FORMS)
    section: str | None = choice("Section", SECTIONS)
    mass_kg: float | None = quantity("Mass of the head", "head_mass")
    length_m: float | None = quantity("Length", "head_length", hint="Tip to the end of socket or tang.")
    width_m: float | None = quantity("Width", "head_length", hint="Where it is broadest.")
    thickness_m: float | None = quantity("Thickness", "head_length", hint="Across the width, at the broadest place.")
    tip_to_widest_m: float | None = quantity("Tip to widest", "head_length", hint="From the very tip to where the head is broadest.")
    tip_flat_m: float | None = quantity("Tip flat", "small_length", hint="Width of the blunt end, if there is one.")
    tip_radius_m: float | None = quantity("Tip radius", "small_length")
    edge_length_m: float | None = quantity("Cutting edge, all together", "edge_length", hint="0 for a point that cuts nothing.")
    mount: str | None = choice("Mounted by", MOUNTS)
    material: str | None = words("Material")
    heat_treatment: str | None = words("Heat treatment", hint="For example quenched in oil, tempered at 250 °C; or none.")
    maker: str | None = words("Made by")
    made_after: str | None = words("Made after", hint="The find or photo that it follows.")
    departures: str | None = lines("Where it differs from that")
    retired: int | None = yes_no("Retired")


class Arrow(Noun, table=True):
    __tablename__ = "arrow"
    __table_args__ = ({"sqlite_strict": True},)
    tag: str = words("Tag", required=True, limit=20, hint="What is written on the shaft.")
    material: str | None = words("Shaft wood")
    profile: str | None = choice("Profile", PROFILES)
    diameter_m: float | None = quantity("Diameter at the thickest", "shaft_diameter")
    diameter_nock_m: float | None = quantity("Diameter at the nock", "shaft_diameter")
    length_m: float | None = quantity("Shaft length", "arrow_length", hint="Without the head.")
    nock: str | None = words("Nock")
    fletching: str | None = words("Fletching", hint="Feather, length, height, how fixed.")
    note: str | None = lines("Note")
    retired: int | None = yes_no("Retired")


class ArrowBuild(Noun, table=True):
    """One head on one shaft. Work on the head starts another build; its mass and tip are read again."""

    __tablename__ = "arrow_build"
    __table_args__ = ({"sqlite_strict": True},)
    arrow_id: str = link("Arrow", "arrow", required=True)
    head_id: str | None = link("Head", "head")
    number: int = whole("Build", required=True)
    work: str | None = words("What was done", hint="Mounted, touched up, reground, straightened, re-mounted.")
    length_m: float | None = quantity("Length, nock to tip", "arrow_length")


class ArrowCheck(Noun, table=True):
    """Somebody flexed the arrow, looked at it, and said what it is."""

    __tablename__ = "arrow_check"
    __table_args__ = ({"sqlite_strict": True},)
    arrow_build_id: str = link("Arrow build", "arrow_build", required=True)
    sound: str = choice("Is it sound?", SOUND, required=True)
    at: int | None = moment("When")
    note: str | None = words("Note")
