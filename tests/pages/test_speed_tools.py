"""Frames counted and sound: worked out, saved into a series or a shot with method, uncertainty and inputs; faults by field."""

from __future__ import annotations

import json
import re
from typing import Any

import numpy as np
import pytest
from proofyard.physics.air import speed_of_sound_m_s
from proofyard.records import listing
from proofyard.records.speed import SpeedReading
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.pages.drawn_forms import forms_of
from tests.pages.test_kit_forms import error_by
from tests.physics.made_sound import made_sound
from tests.physics.test_physics_sound_levels import levels_of

FRAMES = {"distance": "3 m", "distance_off": "0", "rate": "240 fps", "rate_off": "0 %", "frames": "12", "each_end": "0.5"}
SOUND = {"loose": "0.8", "hit": "1230 ms", "distance": "20 m", "distance_off": "0", "temperature": "15 °C", "temperature_off": "0.5 °C"}


def plain(reply: Any) -> str:
    return str(reply.text).replace("\u00a0", " ")


def press(client: TestClient, address: str, act: str, headers: dict[str, str] | None = None, **typed: str) -> Any:
    """Open the tool, fill its boxes, press a key."""
    page = client.get(address)
    assert page.status_code == 200, page.text
    where, sent = next((where, sent) for where, sent in forms_of(page.text).items() if where.startswith("/speeds/"))
    return client.post(where, data={**sent, **typed, "act": act}, headers=headers or {})


def readings(book: Storage) -> list[SpeedReading]:
    with book.read() as session:
        return list(listing.all_of(session, SpeedReading))


@pytest.fixture
def yard(book: Storage) -> Any:
    return kit.yard(book)


@pytest.fixture
def series(book: Storage, yard: Any) -> str:
    return kit.put(book, "speed_series", {"combination": kit.combination(book, yard.combination), "stood_at": "2 m"})


def test_twelve_frames_at_240_over_three_metres_are_60_metres_a_second(owner: TestClient, book: Storage) -> None:
    """3 x 240/12 = 60; half a frame at each end: 60 sqrt(2/3) 0.5/12 = 2.04 (tests/physics/test_physics_timing_by_hand.py)."""
    reply = press(owner, "/speeds/frames", "try", **FRAMES)
    text = plain(reply)
    assert reply.status_code == 200 and "60 m/s ± 2" in text and "55.38 m/s to 65.45 m/s" in text and "1.5 m from the bow" in text
    assert readings(book) == []


def test_it_is_saved_with_method_uncertainty_and_inputs_and_the_next_one_is_ready(
    owner: TestClient, book: Storage, yard: Any, series: Any
) -> None:
    reply = press(owner, f"/speeds/frames?series={series}", "save", **FRAMES)
    assert reply.status_code == 303
    (row,) = readings(book)
    assert (row.method, row.series_id, row.place, row.shot_id) == ("frames", series, 1, None)
    assert row.value_m_s == pytest.approx(60) and row.uncertainty_m_s == pytest.approx(2.0412, abs=1e-4)
    kept = json.loads(row.inputs or "")
    assert kept["typed"]["rate"] == "240 fps" and kept["si"] == {
        "distance_m": 3.0,
        "distance_off_m": 0.0,
        "rate_hz": 240.0,
        "rate_off": 0.0,
        "frames": 12.0,
    }
    text = plain(owner.get(reply.headers["location"]))
    assert "Saved: 60 m/s ± 2." in text
    sent = next(sent for where, sent in forms_of(text).items() if where.startswith("/speeds/"))
    assert (sent["rate"], sent["distance"], sent["frames"], sent["into"]) == ("240 fps", "3 m", "", f"series:{series}")
    shown = plain(owner.get(f"/combinations/{kit.combination(book, yard.combination)}"))
    assert "60 m/s ± 2" in shown and "frames counted: 12 at 240 fps over 3 m" in shown


def test_a_double_tap_saves_once(owner: TestClient, book: Storage, series: Any) -> None:
    page = owner.get(f"/speeds/frames?series={series}")
    where, sent = next((where, sent) for where, sent in forms_of(page.text).items() if where.startswith("/speeds/"))
    for _ in range(2):
        assert owner.post(where, data={**sent, **FRAMES, "act": "save"}).status_code == 303
    assert len(readings(book)) == 1


def test_a_shots_own_speed_by_frames_makes_its_energy(owner: TestClient, book: Storage, yard: Any) -> None:
    loosed = kit.shot(book, yard, label="A7")
    assert "Shot A7" in owner.get(f"/speeds/frames?shot={loosed}").text
    assert press(owner, f"/speeds/frames?shot={loosed}", "save", **FRAMES).status_code == 303
    (row,) = readings(book)
    assert row.shot_id == loosed and row.series_id is None
    shown = plain(owner.get(f"/shots/{loosed}"))
    assert "Speed half way, its mean over the flight" in shown and "at the chronograph" not in shown.split("What was read")[0]
    assert "60 m/s" in shown and "read on this shot, frames counted: 12 at 240 fps over 3 m" in shown
    assert "has a speed already" in plain(press(owner, f"/speeds/frames?shot={loosed}", "try", **FRAMES))


@pytest.mark.parametrize(("tool", "boxes", "gives"), [("frames", FRAMES, "60 m/s"), ("sound", SOUND, "")])
def test_a_speed_typed_over_says_what_its_inputs_give(
    owner: TestClient, book: Storage, yard: Any, series: Any, tool: str, boxes: Any, gives: str
) -> None:
    """Frames keep what was counted; whoever types another speed over it is not hidden behind those figures."""
    press(owner, f"/speeds/{tool}?series={series}", "save", **boxes)
    (row,) = readings(book)
    where = f"/combinations/{kit.combination(book, yard.combination)}"
    assert "typed over" not in plain(owner.get(where)), "as it was worked out"
    assert "typed_over" in owner.get("/download/speeds.csv").text and ",no," in owner.get("/download/speeds.csv").text
    kit.put(book, "speed_reading", {"value": "57.5 m/s"}, record_id=row.id, base_rev=row.rev)
    said = plain(owner.get(where))
    assert f"typed over since: those give {gives or f'{row.value_m_s:.2f} m/s'}" in said
    columns, values = (line.split(",") for line in owner.get("/download/speeds.csv").text.replace('""', "").splitlines()[:2])
    assert "yes" in values and columns[0].endswith("speed_m_s")


@pytest.mark.parametrize("of_shot", [False, True])
def test_a_miscounted_reading_is_worked_out_again_and_keeps_what_it_said(
    owner: TestClient, book: Storage, yard: Any, series: Any, of_shot: bool
) -> None:
    """13 frames and not 12: the same record, its speed, uncertainty and inputs together; before stands in the notebook."""
    loosed = kit.shot(book, yard, label="A7")
    press(owner, f"/speeds/frames?{'shot' if of_shot else 'series'}={loosed if of_shot else series}", "save", **FRAMES)
    (row,) = readings(book)
    combination = kit.combination(book, yard.combination)
    where = f"/shots/{loosed}/correct" if of_shot else f"/combinations/{combination}/readings/{row.id}"
    assert f'href="/speeds/frames?again={row.id}"' in owner.get(where).text
    assert f"rev={row.rev}" in next(at for at in forms_of(owner.get(f"/speeds/frames?again={row.id}").text) if at.startswith("/speeds/"))
    reply = press(owner, f"/speeds/frames?again={row.id}", "save", **{k: v for k, v in FRAMES.items() if k != "frames"} | {"frames": "13"})
    assert reply.status_code == 303 and reply.headers["location"].startswith(
        f"/shots/{loosed}" if of_shot else f"/combinations/{combination}"
    )
    (now,) = readings(book)
    assert now.id == row.id and now.value_m_s == pytest.approx(3 * 240 / 13, abs=0.001) and now.place == row.place
    assert json.loads(now.inputs or "")["typed"]["frames"] == "13" and "typed over" not in plain(owner.get(f"/combinations/{combination}"))
    assert "60 m/s" in plain(owner.get(f"/shots/{loosed}" if of_shot else where))  # what it said before
    htmx = press(owner, f"/speeds/frames?again={row.id}", "save", headers={"HX-Request": "true"}, **FRAMES)
    assert htmx.status_code == 204 and htmx.headers["hx-redirect"] == reply.headers["location"]
    assert owner.get("/speeds/sound?again=" + row.id).status_code == 404


@pytest.mark.parametrize(
    ("changed", "name", "words"),
    [
        ({"distance": ""}, "distance", "type it, for example 14 m"),
        ({"distance": "3 kg"}, "distance", "is a mass"),
        ({"rate": "240 m"}, "rate", "is a length"),
        ({"frames": "12.5"}, "frames", "whole number"),
        ({"frames": "1"}, "frames", "too few"),
        ({"each_end": "7"}, "each_end", "Choose the error at each end"),
        ({"distance_off": "3 s"}, "distance_off", "is a time"),
    ],
)
def test_what_is_wrong_is_said_by_its_box_with_what_was_typed(
    owner: TestClient, book: Storage, series: Any, changed: Any, name: str, words: str
) -> None:
    reply = press(owner, f"/speeds/frames?series={series}", "save", **{**FRAMES, **changed})
    assert reply.status_code == 422 and words in error_by(plain(reply), name) and readings(book) == []
    if changed[name] != "7":
        assert next(sent for where, sent in forms_of(reply.text).items() if where.startswith("/speeds/"))[name] == changed[name]


def test_saving_nowhere_asks_where(owner: TestClient, book: Storage) -> None:
    reply = press(owner, "/speeds/frames", "save", **FRAMES)
    assert reply.status_code == 422 and "Choose the series or the shot" in error_by(reply.text, "into") and readings(book) == []


def test_a_speed_beyond_any_arrow_is_refused_in_words(owner: TestClient, book: Storage, series: Any) -> None:
    reply = press(owner, f"/speeds/frames?series={series}", "save", **{**FRAMES, "distance": "30 m"})
    assert reply.status_code == 422 and "600" in reply.text and readings(book) == []


def test_a_series_read_elsewhere_is_no_place_for_a_mean_over_the_flight(owner: TestClient, series: Any) -> None:
    text = plain(press(owner, f"/speeds/frames?series={series}", "try", **{**FRAMES, "distance": "14 m", "frames": "60"}))
    assert "half way, 7 m from the bow" in text and "Begin another series" in text


def test_sound_from_the_archers_side_is_53_point_9(owner: TestClient, book: Storage, series: Any) -> None:
    """20/(0.430 - 20/340.28) = 53.88 m/s (tests/physics/test_physics_timing_by_hand.py); without script 1 ms each, as marked by hand."""
    reply = press(owner, f"/speeds/sound?series={series}", "save", **SOUND)
    assert reply.status_code == 303
    (row,) = readings(book)
    assert row.method == "sound" and row.value_m_s == pytest.approx(53.876, abs=0.01)
    # u_t = sqrt(2) 1 ms/sqrt(3) = 0.816 ms: 53.88/0.3712 x 0.000816 = 0.1185; heat: 0.5/sqrt(3) K adds 0.004
    assert row.uncertainty_m_s == pytest.approx(0.1186, abs=0.001)
    text = plain(press(owner, "/speeds/sound", "try", **SOUND))
    assert "58.78 ms" in text and "340.3 m/s" in text


def test_a_search_that_vouches_for_its_times_makes_it_surer(owner: TestClient, book: Storage, series: Any) -> None:
    press(owner, f"/speeds/sound?series={series}", "save", **SOUND, times_off="0.0002")
    (row,) = readings(book)
    assert row.uncertainty_m_s is not None and row.uncertainty_m_s < 0.04


@pytest.mark.parametrize(
    ("changed", "name", "words"),
    [
        ({"hit": "0.5"}, "hit", "after the release"),
        ({"hit": "0.85"}, "hit", "no time is left"),
        ({"to_bow": "5 m"}, "to_target", "how far it was from the target"),
        ({"to_bow": "5 m", "to_target": "4 m"}, "to_bow", "further apart"),
        ({"to_bow": "0", "to_target": "40 m"}, "to_target", "differ"),
        ({"temperature": "-30 °C"}, "temperature", "−20 to 50"),
        ({"loose": "x"}, "loose", "“x”"),
    ],
)
def test_what_is_wrong_with_a_sound_is_said_by_its_box(owner: TestClient, book: Storage, changed: Any, name: str, words: str) -> None:
    reply = press(owner, "/speeds/sound", "try", **{**SOUND, **changed})
    assert reply.status_code == 422 and words in error_by(plain(reply), name)


def test_htmx_gets_the_part_alone(owner: TestClient, series: Any) -> None:
    reply = press(owner, f"/speeds/sound?series={series}", "try", {"HX-Request": "true"}, **SOUND)
    assert reply.status_code == 200 and reply.text.lstrip().startswith('<div class="layout__part" id="speeds-worked">')
    saved = press(owner, f"/speeds/sound?series={series}", "save", {"HX-Request": "true"}, **SOUND)
    assert saved.status_code == 200 and "Saved:" in saved.text and "<html" not in saved.text


def test_a_part_is_what_its_page_shows(owner: TestClient, series: Any) -> None:
    page = press(owner, f"/speeds/frames?series={series}", "try", **FRAMES).text
    part = press(owner, f"/speeds/frames?series={series}", "try", {"HX-Request": "true"}, **FRAMES).text

    def still(text: str) -> str:
        return re.sub(r'value="[0-9a-f-]{36}"', "", text).strip()

    assert still(part) in still(page)


def test_a_tool_that_is_not_there_and_odd_addresses(owner: TestClient) -> None:
    assert owner.get("/speeds/guess").status_code == 404
    for odd in ("shot=x", "series=x", "like=x", "shot=01a21475-223e-7032-af9a-70f36b3262dd"):
        assert owner.get(f"/speeds/frames?{odd}").status_code == 200


# A speed far from what is to be expected is asked about


KNOCK = {**SOUND, "loose": "0.0", "hit": "1.3435"}  # 20 m in 1.2847 s: 15.568 m/s, as a knock before the loose made it


def test_a_speed_that_no_arrow_has_is_asked_about_before_it_is_saved(owner: TestClient, book: Storage, series: Any) -> None:
    reply = press(owner, f"/speeds/sound?series={series}", "save", **KNOCK)
    assert reply.status_code == 422 and readings(book) == []
    assert "15.6 m/s is far from the speeds of arrows, usually 30 m/s to 90 m/s" in plain(reply)
    assert "Tick this if the speed is correct" in error_by(plain(reply), "sure")
    sent = next(sent for where, sent in forms_of(reply.text).items() if where.startswith("/speeds/"))
    assert (sent["loose"], sent["hit"]) == ("0.0", "1.3435")
    assert press_again(owner, reply, sure="yes").status_code == 303
    (row,) = readings(book)
    assert row.value_m_s == pytest.approx(15.568, abs=0.005) and "sure" not in (row.inputs or "")


def press_again(client: TestClient, reply: Any, **typed: str) -> Any:
    where, sent = next((where, sent) for where, sent in forms_of(reply.text).items() if where.startswith("/speeds/"))
    return client.post(where, data={**sent, **typed, "act": "save"})


@pytest.mark.parametrize("of_shot", [False, True])
def test_a_speed_far_from_the_combinations_own_is_asked_about(
    owner: TestClient, book: Storage, yard: Any, series: Any, of_shot: bool
) -> None:
    for speed in ("53.5 m/s", "54.0 m/s", "54.3 m/s"):
        kit.put(book, "speed_reading", {"series": series, "value": speed})
    where = f"shot={kit.shot(book, yard, label='A7')}" if of_shot else f"series={series}"
    slow = press(owner, f"/speeds/sound?{where}", "save", **{**SOUND, "hit": "1.290"})  # 20/(0.49 - 0.0588): 46.4 m/s
    assert slow.status_code == 422 and "46.4 m/s is far from this combination’s own speed, 53.9 m/s (3 readings)" in plain(slow)
    assert len(readings(book)) == 3
    tried = press(owner, f"/speeds/sound?{where}", "try", **{**SOUND, "hit": "1.290"})
    assert tried.status_code == 200 and "far from this combination’s own speed" in plain(tried)
    assert press(owner, f"/speeds/sound?{where}", "save", **SOUND).status_code == 303
    frames = press(owner, f"/speeds/frames?{where}", "save", **{**FRAMES, "frames": "16"})  # 45 m/s
    assert frames.status_code == 422 and "far from this combination’s own speed" in plain(frames)


def test_an_unsure_search_keeps_its_uncertainty_in_the_speed(owner: TestClient, book: Storage, series: Any) -> None:
    """60 ms either way is not the 1 ms of a mark set by hand: 53.9/0.371 x 0.06 = 8.7 m/s."""
    assert press(owner, f"/speeds/sound?series={series}", "save", **SOUND, times_off="0.06").status_code == 303
    (row,) = readings(book)
    assert row.uncertainty_m_s == pytest.approx(8.7, abs=0.1)
    poor = press(owner, f"/speeds/sound?series={series}", "save", **SOUND, times_off="0.25")
    assert poor.status_code == 422 and "known too poorly" in error_by(plain(poor), "hit")


# Levels


def told_levels(sound: np.ndarray) -> list[int]:
    levels = levels_of(sound)
    return [int(one) for one in np.maximum(-1500, np.round(100 * np.log10(np.maximum(levels / levels.max(), 1e-16))))]


def test_levels_of_a_made_sound_give_its_loose_and_hit(archer: TestClient) -> None:
    heard = 23 / 54 + 23 / speed_of_sound_m_s(285.15)
    sent = {"step_s": 0.0005, "levels": told_levels(made_sound(seed=5, hit_s=0.8 + heard))}
    found = archer.post("/api/sound-levels", json=sent).json()
    assert found["loose_s"] == pytest.approx(0.8, abs=0.001) and found["hit_s"] == pytest.approx(0.8 + heard, abs=0.001)
    assert 0 < found["u_s"] < 0.002 and found["loose_s"] in found["heard_s"]


def test_the_way_and_the_combinations_own_speed_tell_a_knock_from_the_loose(archer: TestClient, book: Storage, series: Any) -> None:
    heard = 23 / 54 + 23 / speed_of_sound_m_s(285.15)
    made = made_sound(seed=5, loose_s=0.4, hit_s=0.8, loose=0.4, hit=0.4) + made_sound(seed=6, loose=0.0, hit_s=0.8 + heard)
    sent = {"step_s": 0.0005, "levels": told_levels(made)}
    alone = archer.post("/api/sound-levels", json=sent).json()
    assert "would do" in alone["warning"] and "Type how far the arrow flew" in alone["warning"]
    assert abs(alone["hit_s"] - alone["loose_s"] - heard) <= 2 * alone["u_s"]
    for speed in ("53.5 m/s", "54.0 m/s", "54.3 m/s"):
        kit.put(book, "speed_reading", {"series": series, "value": speed})
    typed = {"distance": "23 m", "temperature": "12 °C", "into": f"series:{series}"}
    found = archer.post("/api/sound-levels", json=sent | {"typed": typed}).json()
    assert found["loose_s"] == pytest.approx(0.8, abs=0.001) and found["hit_s"] == pytest.approx(0.8 + heard, abs=0.001)
    assert found["warning"] == "" and found["u_s"] < 0.001
    odd = archer.post("/api/sound-levels", json=sent | {"typed": {"distance": "-3 kg", "into": "series:x", "to_bow": "?"}})
    assert odd.status_code == 200 and odd.json()["hit_s"] == alone["hit_s"]


def test_levels_without_two_noises_say_why_not(archer: TestClient) -> None:
    found = archer.post("/api/sound-levels", json={"step_s": 0.0005, "levels": told_levels(made_sound(seed=1, hit=0.0))})
    assert found.status_code == 200 and "fewer than two noises" in found.json()["why_not"]


@pytest.mark.parametrize(
    "sent",
    [
        {"step_s": 0.0005, "levels": [0] * 120_001},
        {"step_s": 0.0005, "levels": [5] * 4000},
        {"step_s": 0.5, "levels": [0] * 4000},
        {"step_s": 0.0005, "levels": ["x"] * 400},
        {"levels": [0] * 400},
        [],
        {"step_s": 0.0005, "levels": [0] * 3},
    ],
)
def test_levels_that_cant_be_are_refused_in_words(archer: TestClient, sent: Any) -> None:
    reply = archer.post("/api/sound-levels", json=sent)
    assert reply.status_code == 422 and "can’t be looked through" in reply.json()["why_not"]
