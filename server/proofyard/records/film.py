"""Films of a session, and what is seen in them that ties a camera's time to the book's. Only names and times: no film is kept."""

from proofyard.records.columns import Noun, choice, lines, link, moment, quantity, whole, words

# As the file has it, kept as a fraction; what cameras and phones write (common practice, no source).
FRAME_RATES = {
    "24000/1001": "23.976",
    "24": "24",
    "25": "25",
    "30000/1001": "29.97",
    "30": "30",
    "48": "48",
    "50": "50",
    "60000/1001": "59.94",
    "60": "60",
    "100": "100",
    "120000/1001": "119.88",
    "120": "120",
    "240000/1001": "239.76",
    "240": "240",
}
TIMINGS = {
    "constant": "Constant",
    "variable": "Variable, as most phones film",
    "slowed": "Slow motion: the file plays slower than it was filmed",
}
SEEN = {"card": "Sync card", "shot": "A shot leaving the bow"}
CARD_READ = {
    "changed": "The first frame after the time or the code changed",
    "paused": "Any frame, with the thousandths or the code",
    "seconds": "Any frame, seconds only",
}


class Film(Noun, table=True):
    """One run of one camera, in one file or in several that the camera split.

    files  a line each, in order: name, then how long it plays; one text, so that two who differ clash over it once
    """

    __tablename__ = "film"
    __table_args__ = ({"sqlite_strict": True},)
    session_id: str = link("Session", "session", required=True)
    camera: str = words("Camera", required=True, limit=60, hint="What you call it, for example side camera.")
    files: str = lines(
        "Files in order",
        required=True,
        hint="One line a file: its name, then how long it plays, for example GX010034.MP4 17:42.06. "
        "Several lines where the camera split the run. Only names are kept; the film stays where it is.",
    )
    frame_rate: str = choice("Frame rate of the file, frames a second", FRAME_RATES, required=True)
    timing: str = choice("Frame timing", TIMINGS, required=True)
    filmed_rate_hz: float | None = quantity("Filmed at", "frame_rate", hint="Only for slow motion: frames a second as filmed.")
    first_timecode: str | None = words(
        "Timecode of the first frame", limit=20, hint="Only if your editor shows the camera’s own, for example 01:00:00:00."
    )
    note: str | None = lines("Note")


class FilmMark(Noun, table=True):
    """A frame whose moment the book knows: it shows the sync card, or an arrow leaving the bow.

    card_at  what the card said as a moment; worked out once, since only the laptop of that day knows its own time zone
    """

    __tablename__ = "film_mark"
    __table_args__ = ({"sqlite_strict": True},)
    film_id: str = link("Film", "film", required=True)
    seen: str = choice("What is seen", SEEN, required=True)
    file: int | None = whole("Which file", hint="1 for the first. Leave empty if there is one.")
    seen_at: str = words(
        "Where in the film", required=True, limit=20, hint="12:03.480, or a timecode such as 00:12:03:14, or a frame such as frame 21614."
    )
    card: str | None = words(
        "What the card shows",
        limit=80,
        hint="The time, for example 14:03:28.480, or all the text of its code.",
        shown_for=("seen", ("card",)),
    )
    card_read: str | None = choice("Read from", CARD_READ, shown_for=("seen", ("card",)))
    card_at: int | None = moment("The card’s moment")
    shot_id: str | None = link("Shot", "shot", shown_for=("seen", ("shot",)))
    note: str | None = lines("Note")
