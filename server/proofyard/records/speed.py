"""What speed readings belong to, and the readings."""

from sqlalchemy import UniqueConstraint

from proofyard.records.columns import Noun, choice, day, lines, link, moment, quantity, record_ref, whole, words

METHODS = {"chronograph": "Chronograph", "frames": "Frames counted", "sound": "Sound", "other": "Other"}


class Combination(Noun, table=True):
    """Bow build × arrow build × archer: there is one of each three."""

    __tablename__ = "combination"
    __table_args__ = (UniqueConstraint("bow_build_id", "arrow_build_id", "archer_id", name="uq_combination_three"), {"sqlite_strict": True})
    bow_build_id: str = link("Bow build", "bow_build", required=True, index=False)
    arrow_build_id: str = link("Arrow build", "arrow_build", required=True)
    archer_id: str = link("Archer", "archer", required=True)


class SpeedSeries(Noun, table=True):
    """Readings of one combination, taken one after another with one instrument in one place."""

    __tablename__ = "speed_series"
    __table_args__ = ({"sqlite_strict": True},)
    combination_id: str = link("Combination", "combination", required=True)
    instrument_id: str | None = link("Read with", "instrument")
    session_id: str | None = link("Session", "session")
    stood_at_m: float | None = quantity("Distance from the bow", "distance_from_bow")
    air_temperature_k: float | None = quantity("Air temperature", "temperature")
    day: str | None = day("Day")
    note: str | None = words("Note")


class SpeedReading(Noun, table=True):
    """One speed. A shot's own reading hangs on the shot, the others on their series.

    uncertainty_m_s  of this one reading, where whoever took it could say: frames counted, sound. Else its instrument's
    inputs           what such a reading was worked out from, as JSON: field -> as typed, and the same in SI
    """

    __tablename__ = "speed_reading"
    __table_args__ = ({"sqlite_strict": True},)
    series_id: str | None = link("Series", "speed_series")
    shot_id: str | None = record_ref("Shot", of="shot")
    value_m_s: float | None = quantity("Speed", "arrow_speed")
    place: int | None = whole("Order in the series")
    method: str | None = choice("How", METHODS)
    uncertainty_m_s: float | None = quantity(
        "Standard uncertainty of this reading", "speed_accuracy", hint="Only for speeds by frames or by sound."
    )
    inputs: str | None = lines("Worked out from", limit=4000)
    film_id: str | None = record_ref("Film", of="film")
    at: int | None = moment("When")
    left_out_reason: str | None = words("Left out because")
