"""What a reading was taken with, how far it can be trusted, and the readings themselves."""

from proofyard.records.columns import Noun, choice, day, lines, link, moment, quantity, record_ref, words, yes_no

# What an instrument reads -> the kind of quantity that its resolution and its accuracy are given in.
READS = {
    "scale": "mass_accuracy",
    "bow_scale": "force_accuracy",
    "chronograph": "speed_accuracy",
    "frame_count": "speed_accuracy",
    "sound": "speed_accuracy",
    "caliper": "length_accuracy",
    "tape": "length_accuracy",
    "thermometer": "temperature_accuracy",
}
SORTS = {
    "scale": "Scale (mass)",
    "bow_scale": "Bow scale (force)",
    "chronograph": "Chronograph (speed)",
    "caliper": "Caliper or micrometer",
    "tape": "Tape or rule",
    "picks": "Hardness picks",
    "hardness_tester": "Hardness tester",
    "frame_count": "Camera, frames counted",
    "sound": "Recorder, sound",
    "thermometer": "Thermometer",
    "other": "Other",
}
# What is read -> the instruments that read it; one of another sort, or of none, may read anything.
READ_WITH = {
    "mass": ("scale",),
    "thickness": ("caliper",),
    "balance": ("tape", "caliper"),
    "length": ("tape", "caliper"),
    "width": ("caliper", "tape"),
    "hardness": ("picks", "hardness_tester"),
    "force": ("bow_scale",),
    "speed": ("chronograph", "frame_count", "sound"),
}
ACCURACY_MEANS = {
    "limit": "Error never larger than this (maker’s limit)",
    "standard": "One standard deviation",
    "expanded_k2": "95 in 100 lie within (two standard deviations)",
}


class Instrument(Noun, table=True):
    __tablename__ = "instrument"
    __table_args__ = ({"sqlite_strict": True},)
    name: str = words("Name", required=True, limit=60, hint="What you call it, for example scale S2.")
    sort: str | None = choice("What it is", SORTS)
    maker: str | None = words("Maker and model")
    resolution_si: float | None = quantity("Smallest step it shows", ("sort", READS))
    accuracy_si: float | None = quantity(
        "Accuracy, as an amount", ("sort", READS), hint="For example 0.1 g. Leave empty if it is a percentage."
    )
    accuracy_ratio: float | None = quantity("Accuracy, as a percentage of the reading", "share", hint="For example 0.5 %.")
    accuracy_means: str | None = choice("What the accuracy figure means", ACCURACY_MEANS)
    serial: str | None = words("Serial number", limit=60)
    certificate: str | None = words("Calibration certificate", hint="Who calibrated it, and the certificate’s number; or none.")
    due: str | None = day("Calibration due")
    note: str | None = lines("Note")
    retired: int | None = yes_no("Retired")


class InstrumentCheck(Noun, table=True):
    __tablename__ = "instrument_check"
    __table_args__ = ({"sqlite_strict": True},)
    instrument_id: str = link("Instrument", "instrument", required=True)
    at: int | None = moment("When")
    against: str | None = words("Checked against", hint="Something known, for example a 50 g weight.")
    known: str | None = words("Known value, with unit", limit=40)
    found: str | None = words("What it showed, with unit", limit=40)


QUANTITIES = {"mass": "Mass", "thickness": "Thickness", "balance": "Balance point from the nock", "length": "Length", "width": "Width"}
READING_KINDS = {
    "mass": "arrow_mass",
    "thickness": "thickness",
    "balance": "arrow_length",
    "length": "arrow_length",
    "width": "head_length",
}
MEASURED = {"arrow_build": "Arrow build", "head": "Head", "panel_build": "Panel build", "bow_build": "Bow build"}


class Reading(Noun, table=True):
    """One reading of one thing. Left out keeps it, with the reason; nothing is rubbed out."""

    __tablename__ = "reading"
    __table_args__ = ({"sqlite_strict": True},)
    noun: str = choice("Of what", MEASURED, required=True)
    record_id: str = record_ref("Which one", required=True)
    measured: str = choice("What was measured", QUANTITIES, required=True)
    value_si: float = quantity("Reading", ("measured", READING_KINDS), required=True)
    instrument_id: str | None = link("Read with", "instrument")
    place: str | None = words("Where on it")
    at: int | None = moment("When")
    left_out_reason: str | None = words("Left out because")


SCALES = {"HV": "Vickers, HV", "HBW": "Brinell, HBW", "HRC": "Rockwell C, HRC", "HRB": "Rockwell B, HRB"}


class HardnessReading(Noun, table=True):
    """Picks bracket a hardness, open at either end; a tester gives a value with its scale."""

    __tablename__ = "hardness_reading"
    __table_args__ = ({"sqlite_strict": True},)
    noun: str = choice("Of what", {"head": "Head", "panel_build": "Panel build"}, required=True)
    record_id: str = record_ref("Which one", required=True)
    slides_hrc: float | None = quantity(
        "Hardest pick that slides off", "pick_hardness", hint="In HRC, as stamped. Leave empty if even the softest bites."
    )
    bites_hrc: float | None = quantity(
        "Softest pick that bites", "pick_hardness", hint="In HRC, as stamped. Leave empty if even the hardest slides."
    )
    sticks_hrc: float | None = quantity(
        "Pick that only sticks", "pick_hardness", hint="Neither bites nor slides: about as hard as the steel."
    )
    value: float | None = quantity("Value", "hardness_value", hint="With its scale, for example 180 HV.")
    scale: str | None = choice("Scale", SCALES)
    place: str | None = words("Where on it")
    instrument_id: str | None = link("Read with", "instrument")
    at: int | None = moment("When")
    left_out_reason: str | None = words("Left out because")
