"""Photos through the door: sent once or twice, placed, seen by whom they may be seen, and shut in."""

import hashlib
import io
import json
from pathlib import Path

import pytest
from PIL import Image
from proofyard.access.seats import hash_of, new_token
from proofyard.exchange.photo_files import PhotoFolder
from proofyard.records import devices
from proofyard.records.apply import apply_each
from proofyard.records.ids import new_id
from proofyard.records.operations import Operation
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House
from tests.exchange.test_photo_reading import made, png_that_claims, with_place
from tests.pages.drawn_forms import filled


def put(client: TestClient, content: bytes, photo_id: str | None = None, **query: object) -> tuple[int, dict[str, object]]:
    answer = client.put(f"/api/photos/{photo_id or new_id()}", content=content, params={k: str(v) for k, v in query.items()})
    return answer.status_code, answer.json()


def test_a_photo_of_a_shot_comes_in_and_stands_on_its_page(book: Storage, archer: TestClient) -> None:
    loosed = kit.shot(book, kit.yard(book))
    sent = made(size=(1200, 900))
    status, told = put(archer, sent, noun="shot", record=loosed, taken_at=kit.BEGAN)
    assert status == 200 and told["again"] is False
    assert told["sent_sha256"] == hashlib.sha256(sent).hexdigest()
    whole = archer.get(f"/photos/{told['id']}")
    assert hashlib.sha256(whole.content).hexdigest() == told["sha256"] and len(whole.content) == told["bytes"]
    page = archer.get(f"/shots/{loosed}").text
    assert f"/photos/{told['id']}/small" in page
    assert len(archer.get(f"/photos/{told['id']}/small").content) < 20_000
    assert "Photo" in archer.get("/notebook").text and str(told["sha256"]) not in archer.get("/notebook").text


def test_a_photo_sent_again_is_the_same_photo(book: Storage, archer: TestClient) -> None:
    photo_id, sent = new_id(), made()
    first = put(archer, sent, photo_id)
    again = put(archer, sent, photo_id, note="said later")
    assert again[0] == 200 and again[1] == {**first[1], "again": True, "seq": None}
    with book.read() as session:
        from proofyard.records.listing import count_of

        assert count_of(session, "photo") == 1
    other = put(archer, made("PNG"), photo_id)
    assert other[0] == 409 and other[1]["trouble"] == "other_photo"
    assert hashlib.sha256(archer.get(f"/photos/{photo_id}").content).hexdigest() == first[1]["sha256"]


def test_a_lost_file_comes_back_when_the_phone_offers_it_again(book: Storage, archer: TestClient) -> None:
    photo_id, sent = new_id(), made()
    put(archer, sent, photo_id)
    PhotoFolder(book.path.parent).path(photo_id).unlink()
    assert archer.get(f"/photos/{photo_id}").status_code == 404
    assert put(archer, sent, photo_id)[0] == 200
    assert archer.get(f"/photos/{photo_id}").status_code == 200


@pytest.mark.parametrize(
    ("content", "status", "trouble"),
    [
        (b"<svg><script>alert(1)</script></svg>", 422, "not_a_photo"),
        (made()[:-500], 422, "not_a_photo"),
        (png_that_claims(60_000, 60_000), 413, "too_big"),
        (bytes(20_000_001), 413, None),
        (b"", 422, "not_a_photo"),
    ],
    ids=["a drawing with script", "cut off", "claims to be huge", "too many bytes", "nothing"],
)
def test_what_is_no_photo_is_told_and_leaves_nothing(
    book: Storage, archer: TestClient, content: bytes, status: int, trouble: str | None
) -> None:
    answered, told = put(archer, content)
    assert answered == status and told.get("trouble") == trouble
    assert told.get("sentence") or told.get("detail")
    assert not [path for path in (book.path.parent / "photos").rglob("*") if path.is_file()]


def test_the_bigger_body_is_let_through_for_photos_alone(archer: TestClient) -> None:
    two_mb = bytes(2_000_000)
    assert archer.post("/api/ops", content=two_mb).status_code == 413
    assert put(archer, two_mb)[0] == 422


def test_a_photo_of_a_shot_that_is_still_on_another_phone_waits(archer: TestClient, book: Storage) -> None:
    status, told = put(archer, made(), noun="shot", record=new_id())
    assert status == 409 and told["trouble"] == "waits"
    status, told = put(archer, made(), noun="trial", record=new_id())
    assert status == 422 and told["trouble"] == "refused"
    status, told = put(archer, made(), noun="shot")
    assert status == 422 and "both" in str(told["sentence"])
    assert archer.put("/api/photos/..%2F..%2Fbook", content=made()).status_code in (404, 405, 422)
    assert archer.put("/api/photos/A7", content=made()).json()["trouble"] == "refused"


def test_a_row_without_a_file_cannot_be_made_by_an_operation(book: Storage) -> None:
    device = kit.recorder(book)
    bodies = [{"note": "no file"}, {"sha256": "0" * 64, "note": "no file"}]
    answers = apply_each(book, [Operation(new_id(), device, "put", "photo", new_id(), body=body) for body in bodies])
    assert [answer.status for answer in answers] == ["refused", "refused"]
    assert "address of its own" in answers[0].problems[0].sentence


def test_neither_file_nor_page_says_where_it_was_taken(book: Storage, archer: TestClient) -> None:
    _, told = put(archer, with_place())
    content = archer.get(f"/photos/{told['id']}").content
    assert dict(Image.open(io.BytesIO(content)).getexif()) == {}
    assert kit.row(book, "photo", str(told["id"])).taken_at == 1_792_838_096_000
    stored = b"".join(path.read_bytes() for path in (book.path.parent / "photos").rglob("*.jpg"))
    assert b"Wren" not in stored and b"Exif" not in stored


def test_a_photo_is_shut_in_whatever_it_is_opened_as(book: Storage, archer: TestClient) -> None:
    _, told = put(archer, made() + b"<script>alert(1)</script>")
    for form in ("", "/small"):
        answer = archer.get(f"/photos/{told['id']}{form}")
        assert answer.headers["content-type"] == "image/jpeg" and answer.headers["x-content-type-options"] == "nosniff"
        assert "sandbox" in answer.headers["content-security-policy"] and "default-src 'none'" in answer.headers["content-security-policy"]
        assert b"script" not in answer.content


def test_a_path_out_of_the_folder_is_no_photo(book: Storage, archer: TestClient) -> None:
    folder = PhotoFolder(book.path.parent)
    for bad in ("../proofyard", "..", "a/b", "A7", ""):
        assert folder.read(bad) is None
        with pytest.raises(ValueError):
            folder.path(bad)
    with pytest.raises(ValueError):
        folder.path(new_id(), "../../x")
    assert archer.get("/photos/..%2f..%2fproofyard.db").status_code == 404


# --- the tray


def test_the_tray_proposes_what_was_loosed_near_in_time_and_places_it(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    far = kit.shot(book, yard, label="A1", loosed_at=kit.BEGAN - 3_600_000)
    near = kit.shot(book, yard, label="A2", loosed_at=kit.BEGAN)
    _, told = put(archer, made(), taken_at=kit.BEGAN + 120_000)
    page = archer.get("/photos").text
    assert "One photo is in the tray" in page
    assert page.index(f"shot:{near}") < page.index(f"shot:{far}") and "2 min before the photo" in page
    assert f"panel_build:{yard.panel.build}" in page and f"arrow_build:{yard.arrow.build}" in page
    where, form = filled(archer, "/photos", f"/photos/{told['id']}/of", of=f"shot:{near}")
    assert archer.post(where, data=form).status_code == 303
    assert archer.post(where, data=form).status_code == 303, "the same form sent twice"
    assert "No photo is in the tray" in archer.get("/photos").text
    assert str(told["id"]) in archer.get(f"/shots/{near}").text


def test_nothing_picked_in_the_tray_is_said_beside_the_field(book: Storage, archer: TestClient) -> None:
    _, told = put(archer, made())
    where, form = filled(archer, "/photos", f"/photos/{told['id']}/of")
    answer = archer.post(where, data=form)
    assert answer.status_code == 422 and "Choose what it shows" in answer.text and f'id="of-{told["id"]}-error"' in answer.text


def test_photos_from_a_card_go_in_together_and_a_bad_one_stops_no_other(book: Storage, archer: TestClient) -> None:
    loosed = kit.shot(book, kit.yard(book))
    operation = new_id()
    files = [
        ("photo", ("a.jpg", made(), "image/jpeg")),
        ("photo", ("b<i>.pdf", b"%PDF-1.4 " + bytes(50), "image/jpeg")),
        ("photo", ("c.png", made("PNG"), "text/html")),
    ]
    sent = {"operation": operation, "of": f"shot:{loosed}", "back": f"/shots/{loosed}"}
    answer = archer.post("/photos", data=sent, files=files)
    assert answer.status_code == 422 and "b&lt;i&gt;.pdf: This is a PDF" in answer.text and "2 photos are in the book" in answer.text
    assert archer.get(f"/shots/{loosed}").text.count('/small"') == 2
    again = archer.post("/photos", data=sent, files=[files[0]])
    assert again.status_code == 303 and again.headers["location"] == f"/shots/{loosed}"
    assert archer.get(f"/shots/{loosed}").text.count('/small"') == 2
    away = {"operation": new_id(), "back": "https://elsewhere.example/"}
    assert archer.post("/photos", data=away, files=[("photo", ("d.jpg", made(size=(64, 48)), "image/jpeg"))]).headers["location"] == "/"
    assert "Choose a photo first" in archer.post("/photos", data={"operation": new_id()}).text


def test_a_photo_crossed_out_leaves_the_page_and_can_be_taken_back(book: Storage, archer: TestClient) -> None:
    loosed = kit.shot(book, kit.yard(book))
    _, told = put(archer, made(), noun="shot", record=loosed)
    about = f"/photos/{told['id']}/about"
    where, form = filled(archer, about, f"/photos/{told['id']}/cross-out")
    assert archer.post(where, data=form).status_code == 422
    assert archer.post(where, data={**form, "reason": "of the wrong plate"}).status_code == 303
    assert str(told["id"]) not in archer.get(f"/shots/{loosed}").text
    assert "Crossed out." in archer.get(about).text and archer.get(f"/photos/{told['id']}").status_code == 200
    where, form = filled(archer, about, f"/photos/{told['id']}/cross-out", reason="it was right")
    assert archer.post(where, data=form).status_code == 303
    assert str(told["id"]) in archer.get(f"/shots/{loosed}").text


# --- who may see it


def viewer_of(house: House, trial_id: str) -> TestClient:
    token = new_token()
    with house.storage.write() as session:
        devices.add_device(session, call_name="Pip", role="viewer", session_hash=hash_of(token), trial_id=trial_id)
    house.tokens[trial_id] = token
    return house.client(trial_id)


def test_a_viewer_of_one_trial_sees_its_photos_and_learns_of_no_other(
    house: House, book: Storage, archer: TestClient, viewer: TestClient, stranger: TestClient
) -> None:
    mine, other = kit.yard(book), kit.yard(book, question="Another?")
    my_shot, other_shot = kit.read_shot(book, mine), kit.read_shot(book, other)
    ids = {
        "my shot": put(archer, made(), noun="shot", record=my_shot)[1]["id"],
        "my panel": put(archer, made(), noun="panel_build", record=mine.panel.build)[1]["id"],
        "my arrow": put(archer, made(), noun="arrow_build", record=mine.arrow.build)[1]["id"],
        "other shot": put(archer, made(), noun="shot", record=other_shot)[1]["id"],
        "other panel": put(archer, made(), noun="panel_build", record=other.panel.build)[1]["id"],
        "other arrow": put(archer, made(), noun="arrow_build", record=other.arrow.build)[1]["id"],
        "tray": put(archer, made(size=(64, 48)))[1]["id"],
    }
    narrow = viewer_of(house, mine.trial)
    for name, photo_id in ids.items():
        for form in ("", "/small", "/about"):
            wanted = 200 if name.startswith("my") else 404
            assert narrow.get(f"/photos/{photo_id}{form}").status_code == wanted, (name, form)
            assert viewer.get(f"/photos/{photo_id}{form}").status_code == 200
            assert stranger.get(f"/photos/{photo_id}{form}").status_code in (303, 401)
    assert "<form" not in viewer.get(f"/photos/{ids['my shot']}/about").text.partition("<main")[2].partition("</main>")[0]
    assert viewer.put(f"/api/photos/{new_id()}", content=made()).status_code == 403


# --- straightened


def photographed(book: Storage, archer: TestClient) -> tuple[kit.Yard, str, list[tuple[float, float]]]:
    """A plate 300 by 400 mm with a red spot 60 mm right and 90 mm up, seen from the side by a camera that stood askew."""
    yard = kit.yard(book)
    square = Image.new("RGB", (600, 800), "grey")
    square.paste("red", (300 + 120 - 12, 400 - 180 - 12, 300 + 120 + 12, 400 - 180 + 12))
    seen = [(310.0, 150.0), (900.0, 260.0), (840.0, 1010.0), (270.0, 1100.0)]
    from proofyard.answers.panel.photograph import projection

    numbers = projection(seen, [(0, 0), (600, 0), (600, 800), (0, 800)])
    askew = square.transform((1200, 1200), Image.Transform.PERSPECTIVE, numbers, Image.Resampling.BICUBIC, fillcolor="white")
    out = io.BytesIO()
    askew.save(out, "PNG")
    _, told = put(archer, out.getvalue(), noun="panel_build", record=yard.panel.build)
    return yard, str(told["id"]), [(x / 12, y / 12) for x, y in seen]


def corner_boxes(seen: list[tuple[float, float]]) -> dict[str, str]:
    names = ("top-left", "top-right", "bottom-right", "bottom-left")
    return {
        f"{name}-{axis}": f"{value:.4f}" for name, place in zip(names, seen, strict=True) for axis, value in zip("xy", place, strict=True)
    }


def test_a_photograph_taken_askew_is_straightened_so_that_a_mark_lies_where_it_was_measured(book: Storage, archer: TestClient) -> None:
    yard, photo_id, seen = photographed(book, archer)
    address = f"/panels/{yard.panel.build}/photograph/{photo_id}"
    where, form = filled(archer, address)
    assert (form["scale"], form["height"]) == ("300 mm", "400 mm"), "the panel's own size is proposed"
    assert archer.post(where, data={**form, **corner_boxes(seen)}).status_code == 303
    page = archer.get(f"/panels/{yard.panel.build}").text
    assert f"/photos/{photo_id}/straight?rev=1" in page and "On its photo" in page
    straight = Image.open(io.BytesIO(archer.get(f"/photos/{photo_id}/straight").content)).convert("RGB")
    red = [
        (x, y)
        for x in range(0, straight.width, 2)
        for y in range(0, straight.height, 2)
        if straight.getpixel((x, y))[0] > 180 and straight.getpixel((x, y))[1] < 90
    ]
    assert red, "the spot is gone"
    middle = (sum(x for x, _ in red) / len(red), sum(y for _, y in red) / len(red))
    # Its whole photo shows the panel with 6 % of its longer side (24 mm) around it.
    a_mm = straight.width / (300 + 2 * 24)
    assert straight.height / a_mm == pytest.approx(400 + 2 * 24, abs=1)
    right, up = middle[0] / a_mm - (150 + 24), (200 + 24) - middle[1] / a_mm
    assert right == pytest.approx(60, abs=1.5) and up == pytest.approx(90, abs=1.5)


def test_corners_that_make_no_frame_or_are_no_numbers_are_said_beside_the_boxes(book: Storage, archer: TestClient) -> None:
    yard, photo_id, seen = photographed(book, archer)
    where, form = filled(archer, f"/panels/{yard.panel.build}/photograph/{photo_id}")
    crossed = corner_boxes([seen[0], seen[2], seen[1], seen[3]])
    answer = archer.post(where, data={**form, **crossed})
    assert answer.status_code == 422 and "make no frame" in answer.text and crossed["top-left-x"] in answer.text
    answer = archer.post(where, data={**form, **corner_boxes(seen), "top-left-x": "a bit in"})
    assert answer.status_code == 422 and "“a bit in” is not a share" in answer.text
    answer = archer.post(where, data={**form, **corner_boxes(seen), "top-left-x": ""})
    assert answer.status_code == 422 and 'id="top-left-x-error"' in answer.text
    answer = archer.post(where, data={**form, **corner_boxes(seen), "scale": ""})
    assert answer.status_code == 422 and "Enter it as measured on the panel" in answer.text
    answer = archer.post(where, data={**form, **corner_boxes(seen), "scale": "wide"})
    assert answer.status_code == 422 and "wide" in answer.text
    comma = {name: value.replace(".", ",") + " %" for name, value in corner_boxes(seen).items()}
    assert archer.post(where, data={**form, **comma}).status_code == 303


def test_a_photo_of_another_panel_has_no_corners_here(book: Storage, archer: TestClient) -> None:
    yard, photo_id, _ = photographed(book, archer)
    other = kit.panel(book)
    assert archer.get(f"/panels/{other.build}/photograph/{photo_id}").status_code == 404
    assert archer.get(f"/photos/{photo_id}/straight").status_code == 404


def test_a_photo_of_a_photo_folder_that_cannot_be_written_saves_nothing(
    book: Storage, archer: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path, content: bytes) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("proofyard.exchange.photo_files.write_whole", full)
    photo_id = new_id()
    status, told = put(archer, made(), photo_id)
    assert status == 503 and told["trouble"] == "storage" and "room" in str(told["sentence"])
    monkeypatch.undo()
    assert put(archer, made(), photo_id)[1]["again"] is False
    assert json.dumps(told)


def test_the_same_file_twice_is_one_photo_and_what_it_is_of_may_come_second(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    loosed, other, sent = kit.shot(book, yard), kit.shot(book, yard), made(size=(300, 200))
    _, first = put(archer, sent)
    _, second = put(archer, sent, noun="shot", record=loosed)
    assert (second["id"], second["again"], second["record"]) == (first["id"], True, loosed)
    _, third = put(archer, sent)
    assert third["id"] == first["id"]
    _, elsewhere = put(archer, sent, noun="shot", record=other)
    assert elsewhere["id"] != first["id"] and elsewhere["record"] == other, "one file may show two shots"
    with book.read() as session:
        from proofyard.records.listing import count_of

        assert count_of(session, "photo") == 2
    where, form = filled(archer, "/photos", "/photos")
    again = archer.post(where, data=form, files={"photo": ("card.jpg", sent, "image/jpeg")})
    assert again.status_code == 422 and "card.jpg is in the book already, so it was not added again." in again.text


def test_front_and_back_of_a_panel_have_names_of_their_own(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    address = f"/panels/{yard.panel.build}"
    for n, side in enumerate(("front", "back")):
        where, form = filled(archer, address, "/photos")
        answer = archer.post(
            where, data={**form, "seen_from": side}, files={"photo": (f"{n}.png", made("PNG", size=(90 + n, 60)), "image/png")}
        )
        assert answer.status_code == 303, answer.text
    page = archer.get(address).text
    assert "from the front, " in page and "from behind, " in page and "<small>From behind, " in page
    photo = page[page.index("/photos/") :].split("/")[2]
    where, form = filled(archer, f"/photos/{photo}/about", f"/photos/{photo}/of")
    assert archer.post(where, data={**form, "seen_from": "close"}).status_code == 303
    assert "close up" in archer.get(f"/photos/{photo}/about").text
