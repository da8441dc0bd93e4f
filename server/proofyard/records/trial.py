"""A question, the days spent on it, and how the panel stood."""

from sqlalchemy import UniqueConstraint

from proofyard.records.columns import Noun, choice, day, lines, link, moment, quantity, record_ref, several, whole, words
from proofyard.records.licences import LICENCES

STATES = {"planned": "Planned", "open": "Open", "closed": "Closed"}
OUTCOMES = {"0": "No mark", "1": "Marked", "2": "Dented", "3": "Opened", "4": "Point through", "5": "Head through"}
# What is seen at the rear face, in two or three words: what a key says beside the name.
OUTCOME_SIGNS = ("nothing to see", "scratched", "bent, not open", "open, no tip", "tip past", "head past")
NUMBERED_OUTCOMES = {level: f"{words} ({level})" for level, words in OUTCOMES.items()}  # where a level is picked or told in a line
OUTCOME_WORDS = tuple(OUTCOMES.values())  # the book keeps outcome levels as texts; pages and drawings find their words by number


def outcome_name(low: int, high: int | None = None) -> str:
    """An outcome in words with its level; one that lies between two carries both.

    >>> outcome_name(3, 4)
    'Opened or point through (3 or 4)'
    """
    if high is None or high == low:
        return f"{OUTCOME_WORDS[low]} ({low})"
    joint = "or" if high - low == 1 else "to"
    return f"{OUTCOME_WORDS[low]} {joint} {OUTCOME_WORDS[high].lower()} ({low} {joint} {high})"


# What must be ticked before a session opens. Common practice at ranges, no source; a range's own rules come first.
CAUTIONS = {
    "backstop": "The backstop and the sides are safe: nothing that matters stands where an arrow could fly or bounce.",
    "nobody": "Nobody is near the panel, behind it, or wearing it.",
    "eyes": "Everyone wears eye protection, those at the cameras too.",
    "arrows": "Shoot only arrows that you have flexed and found sound.",
    "rules": "The range’s rules, the range officer’s word and local law override this page.",
}


# How the next shot's energy is chosen. With any but the first, counts over all energies mean nothing: the rule itself
# brings them near a half.
NEXT_SHOT_RULES = {
    "none": "Follow the plan, or choose yourselves",
    "up_and_down": "Up-and-down method: less energy after a shot that went through, more after one that was stopped",
    "smallest_interval": "Smallest interval: the shot expected to narrow the 50 % energy most",
}
STOP_RULES = {
    "none": "When we decide to stop",
    "shots": "After a number of shots",
    "width": "When the interval of the 50 % energy is narrow enough",
}


LICENCE_TITLES = {key: one.title for key, one in LICENCES.items()}


class Trial(Noun, table=True):
    """Distances left empty take the defaults of the panel's construction; findings hold those."""

    __tablename__ = "trial"
    __table_args__ = ({"sqlite_strict": True},)
    question: str = words("The question", required=True, limit=300, hint="One question that shots can answer.")
    varied: str | None = words("What is varied", limit=300)
    held_fixed: str | None = words("What is held fixed", limit=300)
    prediction: str | None = lines("Prediction")
    enough: str | None = words("Shots that are enough", limit=300)
    state: str = choice("State", STATES, required=True)
    follows_id: str | None = link("Follows", "trial")
    through: str | None = choice("Through means", NUMBERED_OUTCOMES, hint="Results can be shown with another level.")
    near_opened_m: float | None = quantity("Fair hit: distance from a hit that opened", "small_length")
    near_dented_m: float | None = quantity("Fair hit: distance from a dent", "small_length")
    near_edge_m: float | None = quantity("Fair hit: distance from the panel’s edge", "small_length")
    position_accuracy_m: float | None = quantity("Position accuracy", "small_length")
    spoils: str | None = several("Outcome levels that spoil a spot", NUMBERED_OUTCOMES)
    next_shot_rule: str | None = choice("Energy of the next shot", NEXT_SHOT_RULES)
    start_energy_j: float | None = quantity(
        "First shot at about", "energy", hint="Your guess of the 50 % energy. Empty: the middle of what you can shoot."
    )
    next_step_percent: int | None = whole("Up-and-down method: smallest step, %", hint="Empty: 5.")
    bow_change_costs: int | None = whole("A change of bow costs as much as this many shots", hint="Empty: nothing.")
    stop_rule: str | None = choice("When to stop", STOP_RULES)
    stop_shots: int | None = whole("Stop after this many shots")
    stop_width_percent: int | None = whole(
        "Stop when the interval’s high end is at most this much above its low end, %",
        hint="50: the high end is one and a half times the low end.",
    )
    stopped_because: str | None = words("Stopped because", limit=300)
    author: str | None = words("Author", hint="Who answers for the report.")
    report_number: str | None = words("Report number", limit=60, hint="As you number them, for example 2026-03.")
    departures: str | None = lines("Departures from the plan", hint="What was done otherwise than planned, and why. If nothing was: none.")
    licence: str | None = choice(
        "Licence", {key: one.title for key, one in LICENCES.items()}, hint="What others may do with the report and its data."
    )


def parts_of_rule(trial: Trial) -> tuple[str | None, int | None, int | None, str | None]:
    """Rule of the next shot, shots or percent to stop at, and why it stopped; None each where nothing was written down."""
    rule = None if trial.next_shot_rule in (None, "none") else trial.next_shot_rule
    shots = trial.stop_shots if trial.stop_rule == "shots" else None
    percent = trial.stop_width_percent if trial.stop_rule == "width" else None
    return rule, shots or None, percent or None, trial.stopped_because or None


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
    angle_rad: float | None = quantity("Angle from square", "angle", hint="0° = square on.")
    chronograph_id: str | None = link("Chronograph", "instrument")
    chronograph_at_m: float | None = quantity("Chronograph, distance from the bow", "distance_from_bow")


class ShootingEnd(Noun, table=True):
    """The arrows loosed before going forward to read them: one, or several."""

    __tablename__ = "shooting_end"
    __table_args__ = ({"sqlite_strict": True},)
    setup_id: str = link("Set-up", "setup", required=True)
    number: int | None = whole("End number", hint="From paper: 1 for the first end of the day, whichever sheet it stands on.")
    begun_at: int | None = moment("Begun")
    at_butt_at: int | None = moment("Went forward", once=True)


class ButtVisit(Noun, table=True):
    """One phone is at the butt, from going forward till it says that it is back: meanwhile nobody shoots."""

    __tablename__ = "butt_visit"
    __table_args__ = ({"sqlite_strict": True},)
    session_id: str = link("Session", "session", required=True)
    went_at: int | None = moment("Went forward")
    back_at: int | None = moment("Back at the line", once=True)


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
