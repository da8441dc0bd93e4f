"""Films of a session: entered by a form, tied to the book's clock by cards and shots, and where each shot is in them."""

from __future__ import annotations

from datetime import datetime

import pytest
from proofyard.records.film import Film, FilmMark
from proofyard.records.film_words import code_of_card
from proofyard.records.listing import belonging
from proofyard.records.trial import Session as Day
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House
from tests.demo_for_tests import called
from tests.pages.page_text import text_of

FRAMES = {"distance": "14 m", "distance_off": "5 cm", "rate": "240 fps", "rate_off": "0 %", "frames": "64", "each_end": "0.5"}
FILM = {"camera": "side camera", "files": "A1.MP4 20:00.00\nA2.MP4 30:00.00", "frame_rate": "30000/1001", "timing": "constant"}


def words(client: TestClient, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200, path
    return " ".join(text_of(answer.text, frame=False).replace("\xa0", " ").split())


def ms(day: str, clock: str) -> int:
    return round(datetime.fromisoformat(f"{day}T{clock}").timestamp() * 1000)


def day_of(book: Storage, session_id: str) -> str:
    return str(kit.row(book, "session", session_id).day)


def a_film(book: Storage, session_id: str, **more: object) -> str:
    return kit.put(book, "film", {**FILM, "session": session_id, **more})


def card(book: Storage, film: str, seen_at: str, shows: str, **more: object) -> str:
    return kit.put(book, "film_mark", {"film": film, "seen": "card", "seen_at": seen_at, "card": shows, "card_read": "changed", **more})


def test_the_demos_film_says_how_good_its_clip_times_are(demo_house: House) -> None:
    owner = demo_house.client("owner")
    with demo_house.storage.read() as session:
        ids = called(session)
    page = words(owner, f"/sessions/{ids['first day']}")
    assert "side camera 2 cards: clip times are good to ± 0.06 s at worst (95 %)." in page
    assert "Tallow’s phone 1 card: clip times are good to ±" in page and "Add a second card" in page
    film = words(owner, f"/sessions/{ids['first day']}/films/{ids['side camera']}")
    assert "A1 3:59.97 ± 0.06 s SIDE0001.MP4" in film
    assert "SIDE0002.MP4" in film and "29.97 frames a second (30000/1001)" in film


def test_a_film_is_entered_by_a_form_and_two_cards_tie_each_shot(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    day = day_of(book, yard.session)
    kit.shot(book, yard, label="A1", loosed_at=ms(day, "10:15:00"))
    kit.shot(book, yard, label="A2", loosed_at=ms(day, "10:35:00"))
    kit.shot(book, yard, label="A3", loosed_at=ms(day, "13:00:00"))
    sent = archer.post(f"/sessions/{yard.session}/films/new", data=FILM, follow_redirects=False)
    assert sent.status_code == 303
    path = sent.headers["location"]
    assert "Nothing ties this film to the book’s clock yet." in words(archer, path)
    first = {"card": "10:05:10", "card_read": "changed", "file": "1", "seen_at": "frame 300"}
    assert archer.post(f"{path}/card", data=first, follow_redirects=False).status_code == 303
    assert "Add a second card" in words(archer, path)
    last = {"card": "10:45:10", "card_read": "changed", "file": "2", "seen_at": "20:10.00"}
    assert archer.post(f"{path}/card", data=last, follow_redirects=False).status_code == 303
    page = words(archer, path)
    # 10:05:00 is the film's first frame: 10:15 lies 600 s in, 10:35 lies 600 s into the second file, and 13:00 beyond it
    assert "A1 10:00.0" in page or "A1 9:59.9" in page
    assert "A2 10:00.0" in page or "A2 9:59.9" in page
    assert "A3" not in page
    assert "side camera 2 cards" in words(archer, f"/sessions/{yard.session}")
    assert "Film by" in words(archer, "/notebook")


def test_a_camera_timecode_runs_on_through_the_files(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    day = day_of(book, yard.session)
    film = a_film(book, yard.session, first_timecode="01:00:00;00")
    card(book, film, "01:25:00;02", "10:30:00")
    kit.shot(book, yard, label="A1", loosed_at=ms(day, "10:30:00"))
    assert "A1 5:00.0" in words(archer, f"/sessions/{yard.session}/films/{film}") or "A1 4:59.9" in words(
        archer, f"/sessions/{yard.session}/films/{film}"
    )


def test_a_shot_that_was_seen_is_the_frame_where_it_was_seen(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    day = day_of(book, yard.session)
    film = a_film(book, yard.session, files="A.MP4 20:00.00")
    shot = kit.shot(book, yard, label="A1", loosed_at=ms(day, "10:10:00"))
    kit.shot(book, yard, label="A2", loosed_at=ms(day, "10:11:00"))
    kit.put(book, "film_mark", {"film": film, "seen": "shot", "shot": shot, "seen_at": "frame 9000"})
    page = words(archer, f"/sessions/{yard.session}/films/{film}")
    assert "A1 leaves the bow: at frame 9000" in page
    assert "A1 5:00.28 ± 0.019 s as seen" in page
    assert "A2 6:00.3 ± 0.6 s" in page  # one tap's moment ties all others
    assert "1 shot seen: clip times are good to ± 0.6 s" in page


def test_a_card_of_another_film_is_refused_as_a_drift_and_an_odd_one_is_named(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    film = a_film(book, yard.session, files="A.MP4 50:00.00")
    card(book, film, "frame 300", "10:05:10")
    wrong = card(book, film, "40:10.00", "10:46:10")
    page = words(archer, f"/sessions/{yard.session}/films/{film}")
    assert "no camera’s is by more than 500" in page and "Known once the film is tied" in page
    kit.void(book, "film_mark", wrong, "it is of the other camera")
    card(book, film, "40:10.00", "10:45:10")
    card(book, film, "20:10.40", "10:25:10")
    assert "late against the others: check it" in words(archer, f"/sessions/{yard.session}/films/{film}")


def test_slow_motion_is_told_by_the_rate_it_was_filmed_at(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    day = day_of(book, yard.session)
    film = a_film(book, yard.session, files="S.MP4 20:00.00", frame_rate="30", timing="slowed", filmed_rate="240 fps")
    card(book, film, "frame 0", "10:00:00")
    kit.shot(book, yard, label="A1", loosed_at=ms(day, "10:01:00"))
    page = words(archer, f"/sessions/{yard.session}/films/{film}")
    assert "8 times slower than it was filmed" in page
    assert "A1 8:0" in page or "A1 7:59" in page


@pytest.mark.parametrize(
    "field, text, said",
    [
        ("files", "A1.MP4 20:00, A2.MP4", "type the file’s name and how long it plays"),
        ("first_timecode", "at noon", "is no place in a film"),
        ("first_timecode", "12:00", "Type it with its frames"),
        ("frame_rate", "29.97", "is not one of"),
        ("timing", "slowed", "more than the file’s"),
        ("camera", "", "Camera is needed"),
    ],
)
def test_what_is_wrong_with_a_film_is_said_by_its_field_and_kept(
    archer: TestClient, book: Storage, field: str, text: str, said: str
) -> None:
    yard = kit.yard(book)
    files = "A1.MP4\nA2.MP4 20:00" if field == "files" else FILM["files"]
    answer = archer.post(f"/sessions/{yard.session}/films/new", data={**FILM, "files": files} | ({} if field == "files" else {field: text}))
    assert answer.status_code == 422
    assert said in text_of(answer.text, frame=False)
    assert "side camera" in answer.text or field == "camera"


@pytest.mark.parametrize(
    "typed, said",
    [
        ({"card": "ten past"}, "is not on a card"),
        ({"card": ""}, "Enter what the card shows"),
        ({"card_read": ""}, "Choose from which frame"),
        ({"card_read": "paused"}, "Add the thousandths"),
        ({"seen_at": "later"}, "is no place in a film"),
        ({"seen_at": "00:01:00;00"}, "does not exist in drop-frame"),
        ({"seen_at": "00:01:00:31"}, "more frames than a second"),
        ({"seen_at": "59:00"}, "lies outside the film"),
        ({"file": ""}, "in which of the 2 files"),
        ({"file": "3"}, "Enter 1 to 2"),
        ({"card": code_of_card(book_id="0" * 36, seq=1, at_ms=1_790_000_000_000, error_ms=5)}, "another book’s"),
    ],
)
def test_what_is_wrong_with_a_card_is_said_by_its_field(archer: TestClient, book: Storage, typed: dict[str, str], said: str) -> None:
    yard = kit.yard(book)
    film = a_film(book, yard.session)
    right = {"card": "10:05:10", "card_read": "changed", "file": "1", "seen_at": "10.0"}
    answer = archer.post(f"/sessions/{yard.session}/films/{film}/card", data={**right, **typed})
    assert answer.status_code == 422
    assert said in text_of(answer.text, frame=False).replace("\xa0", " ")


def test_a_frame_number_of_a_variable_film_is_no_time(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    film = a_film(book, yard.session, files="V.MP4", timing="variable")
    sent = {"card": "10:05:10", "card_read": "changed", "seen_at": "frame 300"}
    answer = archer.post(f"/sessions/{yard.session}/films/{film}/card", data=sent)
    assert answer.status_code == 422 and "variable frame rate" in answer.text
    assert (
        archer.post(f"/sessions/{yard.session}/films/{film}/card", data={**sent, "seen_at": "10.000"}, follow_redirects=False).status_code
        == 303
    )


def test_a_shot_of_another_day_ties_nothing(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    film = a_film(book, kit.session(book, yard.trial))
    shot = kit.shot(book, yard, label="A1")
    path = f"/sessions/{kit.row(book, 'film', film).session_id}/films/{film}"
    answer = archer.post(f"{path}/shot", data={"shot": shot, "file": "1", "seen_at": "10.0"})
    assert answer.status_code == 422 and "another session" in answer.text


def test_a_film_stands_under_its_own_session_only_and_can_be_crossed_out(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    film, other = a_film(book, yard.session), kit.session(book, yard.trial)
    assert archer.get(f"/sessions/{other}/films/{film}").status_code == 404
    path = f"/sessions/{yard.session}/films/{film}"
    mark = card(book, film, "10.0", "10:05:10", file="1")
    assert archer.get(f"{path}/marks/{mark}").status_code == 200
    assert archer.post(f"{path}/correct", data={**FILM, "camera": "far camera", "base_rev": "1"}, follow_redirects=False).status_code == 303
    assert "Film by far camera" in words(archer, path)
    archer.post(f"{path}/correct/cross-out", data={"void-reason": "it was the other day"})
    assert "This film is crossed out." in words(archer, path)
    assert "far camera" not in words(archer, f"/sessions/{yard.session}")
    with book.read() as session:
        assert [len(belonging(session, FilmMark, "film_id", film)), len(belonging(session, Film, "session_id", yard.session))] == [1, 0]
        assert belonging(session, Day, "trial_id", yard.trial)


def test_a_speed_by_frames_names_the_film_that_it_was_counted_in(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    shot, film = kit.shot(book, yard, label="A1"), a_film(book, yard.session)
    assert f"side camera, {day_of(book, yard.session)}" in words(archer, f"/speeds/frames?shot={shot}")
    counted = {**FRAMES, "film": film, "into": f"shot:{shot}", "act": "save"}
    assert archer.post(f"/speeds/frames?shot={shot}", data=counted, follow_redirects=False).status_code == 303
    assert "Speeds counted in it: A1." in words(archer, f"/sessions/{yard.session}/films/{film}")
    wrong = archer.post(f"/speeds/frames?shot={shot}", data={**counted, "film": "the other"})
    assert wrong.status_code == 422 and "choose one from the list" in wrong.text
