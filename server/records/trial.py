"""A question, the days spent on it, and how the panel stood."""

from sqlalchemy import UniqueConstraint

from server.records.columns import Noun, choice, day, lines, link, moment, quantity, record_ref, several, whole, words

STATES = {"planned": "Planned", "open": "Open", "closed": "Closed"}
RUNGS = {
    "0": "No mark",
    "1": "Marked",
    "2": "Dented",
    "3": "Opened",
    "4": "Point behind",
    "5": "Head behind",
}
RUNG_WORDS = tuple(RUNGS.values())  # the book keeps rungs as texts; pages and drawings find their words by number


def rung_name(low: int, high: int | None = None) -> str:
    """A rung in words; one that lies between two carries both.

    >>> rung_name(3, 4)
    'Opened or point behind'
    """
    return RUNG_WORDS[low] + (f" or {RUNG_WORDS[high].lower()}" if high is not None and high != low else "")


# What must be ticked before a session opens. Common practice at ranges, no source; a range's own rules come first.
CAUTIONS = {
    "backstop": "The backstop and the sides are safe: nothing that matters stands where an arrow could fly or bounce.",
    "nobody": "Nobody is near the panel, behind it, or wearing it.",
    "eyes": "Everyone here wears eye protection, those at the cameras too.",
    "arrows": "Only sound arrows: each flexed and looked at.",
    "rules": "The range’s rules, its officer and local law come first, whatever this page says.",
}


# How the next shot's energy is chosen. With any but the first, counts over all energies mean nothing: the rule itself
# brings them near a half.
NEXT_SHOT_RULES = {
    "none": "As planned, or as you please",
    "up_and_down": "Up and down: less after a shot that got through, more after one that was stopped",
    "narrow_the_half": "What is expected to narrow the 50 % point most",
}
STOP_RULES = {"none": "When we have had enough", "shots": "After so many shots", "width": "When the 50 % point is narrow enough"}


class Trial(Noun, table=True):
    """Distances left empty take the defaults of the panel's construction; findings hold those."""

    __tablename__ = "trial"
    __table_args__ = ({"sqlite_strict": True},)
    question: str = words("The question", required=True, limit=300, hint="One question that shots can answer.")
    varied: str | None = words("What is varied", limit=300)
    held_fixed: str | None = words("What is held fixed", limit=300)
    prediction: str | None = lines("What you expect, and who says so")
    enough: str | None = words("How many shots are enough", limit=300)
    state: str = choice("State", STATES, required=True)
    follows_id: str | None = link("Follows", "trial")
    through: str | None = choice("Through means", RUNGS, hint="A setting of the view: results can show another.")
    near_opened_m: float | None = quantity("Fair: away from a hit that opened", "small_length")
    near_dented_m: float | None = quantity("Fair: away from a dent", "small_length")
    near_edge_m: float | None = quantity("Fair: away from the panel’s edge", "small_length")
    finger_m: float | None = quantity("A finger’s error in a place", "small_length")
    spoils: str | None = several("Rungs that spoil a spot", RUNGS)
    next_shot_rule: str | None = choice("The next shot’s energy", NEXT_SHOT_RULES)
    start_energy_j: float | None = quantity("First shot at about", "energy", hint="Where you think half get through. Empty: the middle of what you can shoot.")
    next_step_percent: int | None = whole("Up and down: a step of at least, %", hint="Empty: 5.")
    bow_change_costs: int | None = whole("A change of bow costs as much as so many shots", hint="Empty: nothing.")
    stop_rule: str | None = choice("When to stop", STOP_RULES)
    stop_shots: int | None = whole("Stop after so many shots")
    stop_width_percent: int | None = whole("Stop when the high end is at most so much above the low end, %", hint="50 is from 40 to 60 J.")
    stopped_because: str | None = words("Stopped because", limit=300)


class TrialUses(Noun, table=True):
    __tablename__ = "trial_uses"
    __table_args__ = (UniqueConstraint("trial_id", "noun", "record_id", name="uq_trial_uses"), {"sqlite_strict": True})
    trial_id: str = link("Trial", "trial", required=True)
    noun: str = choice("What", {"panel": "Panel", "arrow": "Arrow", "bow": "Bow", "stand": "Stand"}, required=True)
    record_id: str = record_ref("Which one", required=True)


class Session(Noun, table=True):
    """One day of a trial. It opens when every caution is ticked."""

    __tablename__ = "session"
    __table_args__ = ({"sqlite_strict": True},)
    trial_id: str = link("Trial", "trial", required=True)
    day: str = day("Day", required=True)
    place: str | None = words("Place", limit=120)
    officer: str | None = words("Range officer", limit=60)
    present: str | None = words("Who is there", limit=300)
    temperature_k: float | None = quantity("Air temperature", "temperature")
    humidity_ratio: float | None = quantity("Humidity", "humidity")
    pressure_pa: float | None = quantity("Air pressure", "pressure")
    weather: str | None = words("Weather", hint="Wind, rain, light.")
    note: str | None = lines("Note")


class CautionTick(Noun, table=True):
    __tablename__ = "caution_tick"
    __table_args__ = (UniqueConstraint("session_id", "caution", name="uq_caution_tick"), {"sqlite_strict": True})
    session_id: str = link("Session", "session", required=True, index=False)
    caution: str = choice("Caution", CAUTIONS, required=True)
    at: int | None = moment("When")


class Setup(Noun, table=True):
    __tablename__ = "setup"
    __table_args__ = ({"sqlite_strict": True},)
    session_id: str = link("Session", "session", required=True)
    panel_build_id: str = link("Panel build", "panel_build", required=True)
    stand_id: str | None = link("Stand", "stand")
    distance_m: float | None = quantity("Distance, archer to panel", "distance")
    angle_rad: float | None = quantity("Angle off square", "angle", hint="0 is square to the line of flight.")
    chronograph_id: str | None = link("Chronograph", "instrument")
    chronograph_at_m: float | None = quantity("Chronograph stands, from the bow", "distance_from_bow")


class Walk(Noun, table=True):
    """The arrows loosed before going forward to read them: one, or several."""

    __tablename__ = "walk"
    __table_args__ = ({"sqlite_strict": True},)
    setup_id: str = link("Set-up", "setup", required=True)
    number: int | None = whole("Walk of the day", hint="From paper: 1 for the first walk of the day, whichever sheet it stands on.")
    begun_at: int | None = moment("Begun")
    at_butt_at: int | None = moment("Went forward")


INCIDENTS = {"bounce_back": "Bounced back", "near_miss": "Near miss", "stop": "Shooting stopped", "other": "Other"}


class Incident(Noun, table=True):
    __tablename__ = "incident"
    __table_args__ = ({"sqlite_strict": True},)
    session_id: str = link("Session", "session", required=True)
    shot_id: str | None = record_ref("Shot", of="shot")
    what: str = choice("What happened", INCIDENTS, required=True)
    distance_m: float | None = quantity("How far", "bounce_distance")
    done: str | None = lines("What was done")
    at: int | None = moment("When")
