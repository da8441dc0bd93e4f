"""Bows, their builds, what they draw, and how they stood on a day."""

from proofyard.records.columns import Noun, choice, lines, link, moment, quantity, whole, words, yes_no

SORTS = {"self": "Self bow", "laminated": "Laminated", "composite": "Composite", "crossbow": "Crossbow", "other": "Other"}
DRAW_FROM = {"back": "To the back of the bow", "belly": "To the belly of the bow", "pivot": "To the pivot point", "unknown": "Not known"}
DRAW_HOW = {"marked_arrow": "Marked arrow", "stop": "Draw stop", "film": "Film", "judged": "Judged by eye"}
DAY_PARTS = {"start": "Start of the day", "between": "Between", "end": "End of the day"}


class Bow(Noun, table=True):
    __tablename__ = "bow"
    __table_args__ = ({"sqlite_strict": True},)
    name: str = words("Name", required=True, limit=60)
    sort: str | None = choice("What it is", SORTS)
    marked_weight_n: float | None = quantity("Marked weight", "draw_weight", hint="As marked on the bow. You can type 110@31.")
    marked_draw_m: float | None = quantity("at a draw of", "draw_length")
    draw_from: str | None = choice("Draw measured", DRAW_FROM)
    material: str | None = words("Material")
    maker: str | None = words("Made by")
    length_m: float | None = quantity("Length, nock to nock", "bow_length")
    note: str | None = lines("Note")
    retired: int | None = yes_no("Retired")


class BowBuild(Noun, table=True):
    """A new string or another brace height is another build: its speeds are its own."""

    __tablename__ = "bow_build"
    __table_args__ = ({"sqlite_strict": True},)
    bow_id: str = link("Bow", "bow", required=True)
    number: int = whole("Build", required=True)
    work: str | None = words("What was changed")
    string: str | None = words("String", hint="Material and number of strands.")
    string_mass_kg: float | None = quantity("String mass", "string_mass")
    brace_height_m: float | None = quantity("Brace height", "brace_height")


class DrawPoint(Noun, table=True):
    __tablename__ = "draw_point"
    __table_args__ = ({"sqlite_strict": True},)
    bow_build_id: str = link("Bow build", "bow_build", required=True)
    draw_m: float = quantity("Draw", "point_draw", required=True)
    force_n: float = quantity("Force", "point_force", required=True)
    instrument_id: str | None = link("Read with", "instrument")


class BowCheck(Noun, table=True):
    __tablename__ = "bow_check"
    __table_args__ = ({"sqlite_strict": True},)
    bow_build_id: str = link("Bow build", "bow_build", required=True)
    archer_id: str | None = link("At whose draw", "archer")
    session_id: str | None = link("Session", "session")
    part: str | None = choice("When in the day", DAY_PARTS)
    at: int | None = moment("When")
    weight_n: float | None = quantity("Weight at that draw", "draw_weight")
    draw_m: float | None = quantity("Draw", "draw_length")
    draw_how: str | None = choice("How the draw was found", DRAW_HOW)
    temperature_k: float | None = quantity("Temperature", "temperature")
    humidity_ratio: float | None = quantity("Humidity", "humidity")
    arrows_since: int | None = whole("Arrows shot since it was braced")
    instrument_id: str | None = link("Read with", "instrument")
