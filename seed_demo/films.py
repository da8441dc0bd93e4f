"""Two invented films of the first day: a camera that saw the sync card at both ends, and a phone that saw it once."""

from proofyard.quantities.timecode import FrameRate, frame_rate, timecode
from proofyard.records.book import Book
from proofyard.records.film_facts import logged_shots
from proofyard.records.film_words import code_of_card
from sqlalchemy import select

from .writer import Writer

DRIFT = 23e-6  # of the camera's clock against the book's
SPLIT_S = 2400.5  # the camera begins a new file then


def add_films(w: Writer, session_id: str) -> None:
    times = [one.loosed_at for one in logged_shots(w.session, {session_id}) if one.loosed_at is not None]
    first, last = min(times), max(times)
    w.now, w.phone = last + 3_600_000, "Wren"
    _side_camera(w, session_id, begun=first - 240_000, ended=last + 180_000, cards=(first - 200_000, last + 100_040))
    _phone(w, session_id, begun=first - 60_000, card=first - 31_320)


def _side_camera(w: Writer, session_id: str, *, begun: int, ended: int, cards: tuple[int, int]) -> None:
    rate = frame_rate("30000/1001")
    plays = (ended - begun) / 1000
    film = w.put(
        "film",
        {
            "session": session_id,
            "camera": "side camera",
            "files": f"SIDE0001.MP4 {SPLIT_S}\nSIDE0002.MP4 {plays - SPLIT_S:.2f}",
            "frame_rate": str(rate),
            "timing": "constant",
            "note": "On a tripod, square to the line of flight, bow and panel both in sight.",
        },
    )
    for at in cards:
        place = (at - begun) / 1000 * (1 + DRIFT)
        number = 1 if place < SPLIT_S else 2
        within = place - (SPLIT_S if number == 2 else 0)
        seen = timecode(round(within * rate.fps), rate, drop=True)
        w.put("film_mark", {"film": film, "seen": "card", "file": str(number), "seen_at": seen, **_code(w, at)})


def _phone(w: Writer, session_id: str, *, begun: int, card: int) -> None:
    film = w.put(
        "film", {"session": session_id, "camera": "Tallow’s phone", "files": "VID_0412.mp4", "frame_rate": "30", "timing": "variable"}
    )
    w.put("film_mark", {"film": film, "seen": "card", "seen_at": _clock((card - begun) / 1000, FrameRate(30)), **_code(w, card)})


def _clock(seconds: float, rate: FrameRate) -> str:
    """As a player shows it, to the thousandth."""
    return f"{round(seconds * rate.fps) / rate.fps:.3f}"


def _code(w: Writer, at: int) -> dict[str, str]:
    book = w.session.execute(select(Book.book_id)).scalar_one()
    return {"card": code_of_card(book_id=book, seq=400, at_ms=at // 100 * 100, error_ms=12), "card_read": "paused"}
