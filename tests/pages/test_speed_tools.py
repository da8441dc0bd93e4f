"""Frames counted and sound: worked out, saved into a series or a shot with method, uncertainty and inputs; faults by field."""

from __future__ import annotations

import json
import re

import numpy as np
import pytest

from server.physics.air import speed_of_sound_m_s
from server.records import listing
from server.records.speed import SpeedReading
from tests import kit_for_tests as kit
from tests.pages.drawn_forms import forms_of
from tests.pages.test_kit_forms import error_by
from tests.physics.made_sound import made_sound
from tests.physics.test_physics_sound_levels import levels_of

FRAMES = {"distance": "3 m", "distance_off": "0", "rate": "240 fps", "rate_off": "0 %", "frames": "12", "each_end": "0.5"}
SOUND = {"loose": "0.8", "strike": "1230 ms", "distance": "20 m", "distance_off": "0", "temperature": "15 °C", "temperature_off": "0.5 °C"}


def plain(reply) -> str:
    return reply.text.replace("\u00a0", " ")


def press(client, address: str, act: str, headers: dict[str, str] | None = None, **typed: str):
    """Open the tool, fill its boxes, press a key."""
    page = client.get(address)
    assert page.status_code == 200, page.text
    where, sent = next((where, sent) for where, sent in forms_of(page.text).items() if where.startswith("/speeds/"))
    return client.post(where, data={**sent, **typed, "act": act}, headers=headers or {})


def readings(book) -> list[SpeedReading]:
    with book.read() as session:
        return list(listing.all_of(session, SpeedReading))


@pytest.fixture
def yard(book):
    return kit.yard(book)


@pytest.fixture
def series(book, yard) -> str:
    return kit.put(book, "speed_series", {"pairing": kit.pairing(book, yard.pairing), "stood_at": "2 m"})


def test_twelve_frames_at_240_over_three_metres_are_60_metres_a_second(owner, book) -> None:
    """3 x 240/12 = 60; half a frame at each end: 60 sqrt(2/3) 0.5/12 = 2.04 (tests/published/test_timing.py)."""
    reply = press(owner, "/speeds/frames", "try", **FRAMES)
    text = plain(reply)
    assert reply.status_code == 200 and "60.0 m/s ± 2.0" in text and "55.38 m/s to 65.45 m/s" in text and "1.5 m from the bow" in text
    assert readings(book) == []


def test_it_is_saved_with_method_uncertainty_and_inputs_and_the_next_one_is_ready(owner, book, yard, series) -> None:
    reply = press(owner, f"/speeds/frames?series={series}", "save", **FRAMES)
    assert reply.status_code == 303
    (row,) = readings(book)
    assert (row.method, row.series_id, row.place, row.shot_id) == ("frames", series, 1, None)
    assert row.value_m_s == pytest.approx(60) and row.uncertainty_m_s == pytest.approx(2.0412, abs=1e-4)
    kept = json.loads(row.inputs or "")
    assert kept["typed"]["rate"] == "240 fps" and kept["si"] == {"distance_m": 3.0, "distance_off_m": 0.0, "rate_hz": 240.0, "rate_off": 0.0, "frames": 12.0}
    text = plain(owner.get(reply.headers["location"]))
    assert "Saved: 60.0 m/s ± 2.0." in text
    sent = next(sent for where, sent in forms_of(text).items() if where.startswith("/speeds/"))
    assert (sent["rate"], sent["distance"], sent["frames"], sent["into"]) == ("240 fps", "3 m", "", f"series:{series}")
    shown = plain(owner.get(f"/pairings/{kit.pairing(book, yard.pairing)}"))
    assert "60.0 m/s ± 2.0" in shown and "frames counted: 12 at 240 fps over 3 m" in shown


def test_a_double_tap_saves_once(owner, book, series) -> None:
    page = owner.get(f"/speeds/frames?series={series}")
    where, sent = next((where, sent) for where, sent in forms_of(page.text).items() if where.startswith("/speeds/"))
    for _ in range(2):
        assert owner.post(where, data={**sent, **FRAMES, "act": "save"}).status_code == 303
    assert len(readings(book)) == 1


def test_a_shots_own_speed_by_frames_makes_its_energy(owner, book, yard) -> None:
    loosed = kit.shot(book, yard, label="A7")
    assert "Shot A7" in owner.get(f"/speeds/frames?shot={loosed}").text
    assert press(owner, f"/speeds/frames?shot={loosed}", "save", **FRAMES).status_code == 303
    (row,) = readings(book)
    assert row.shot_id == loosed and row.series_id is None
    shown = plain(owner.get(f"/shots/{loosed}"))
    assert "Speed half way, its mean over the flight" in shown and "at the chronograph" not in shown.split("What was read")[0]
    assert "60.0 m/s" in shown and "read on this shot, frames counted: 12 at 240 fps over 3 m" in shown
    assert "has a speed already" in plain(press(owner, f"/speeds/frames?shot={loosed}", "try", **FRAMES))


@pytest.mark.parametrize(("tool", "boxes", "gives"), [("frames", FRAMES, "60 m/s"), ("sound", SOUND, "")])
def test_a_speed_typed_over_says_what_its_inputs_give(owner, book, yard, series, tool, boxes, gives) -> None:
    """Frames keep what was counted; whoever types another speed over it is not hidden behind those figures."""
    press(owner, f"/speeds/{tool}?series={series}", "save", **boxes)
    (row,) = readings(book)
    where = f"/pairings/{kit.pairing(book, yard.pairing)}"
    assert "typed over" not in plain(owner.get(where)), "as it was worked out"
    assert 'typed_over' in owner.get("/download/speeds.csv").text and ",no," in owner.get("/download/speeds.csv").text
    kit.put(book, "speed_reading", {"value": "57.5 m/s"}, record_id=row.id, base_rev=row.rev)
    said = plain(owner.get(where))
    assert f"typed over since: those give {gives or f'{row.value_m_s:.2f} m/s'}" in said
    columns, values = (line.split(",") for line in owner.get("/download/speeds.csv").text.replace('""', "").splitlines()[:2])
    assert "yes" in values and columns[0].endswith("speed_m_s")


@pytest.mark.parametrize("of_shot", [False, True])
def test_a_miscounted_reading_is_worked_out_again_and_keeps_what_it_said(owner, book, yard, series, of_shot) -> None:
    """13 frames and not 12: the same record, its speed, doubt and inputs together; before stands in the notebook."""
    loosed = kit.shot(book, yard, label="A7")
    press(owner, f"/speeds/frames?{'shot' if of_shot else 'series'}={loosed if of_shot else series}", "save", **FRAMES)
    (row,) = readings(book)
    pairing = kit.pairing(book, yard.pairing)
    where = f"/shots/{loosed}/correct" if of_shot else f"/pairings/{pairing}/readings/{row.id}"
    assert f'href="/speeds/frames?again={row.id}"' in owner.get(where).text
    assert f"rev={row.rev}" in next(at for at in forms_of(owner.get(f"/speeds/frames?again={row.id}").text) if at.startswith("/speeds/"))
    reply = press(owner, f"/speeds/frames?again={row.id}", "save", **{k: v for k, v in FRAMES.items() if k != "frames"} | {"frames": "13"})
    assert reply.status_code == 303 and reply.headers["location"].startswith(f"/shots/{loosed}" if of_shot else f"/pairings/{pairing}")
    (now,) = readings(book)
    assert now.id == row.id and now.value_m_s == pytest.approx(3 * 240 / 13, abs=0.001) and now.place == row.place
    assert json.loads(now.inputs or "")["typed"]["frames"] == "13" and "typed over" not in plain(owner.get(f"/pairings/{pairing}"))
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
        ({"each_end": "7"}, "each_end", "misjudged"),
        ({"distance_off": "3 s"}, "distance_off", "is a time"),
    ],
)
def test_what_is_wrong_is_said_by_its_box_with_what_was_typed(owner, book, series, changed, name, words) -> None:
    reply = press(owner, f"/speeds/frames?series={series}", "save", **{**FRAMES, **changed})
    assert reply.status_code == 422 and words in error_by(plain(reply), name) and readings(book) == []
    if changed[name] != "7":
        assert next(sent for where, sent in forms_of(reply.text).items() if where.startswith("/speeds/"))[name] == changed[name]


def test_saving_nowhere_asks_where(owner, book) -> None:
    reply = press(owner, "/speeds/frames", "save", **FRAMES)
    assert reply.status_code == 422 and "Pick the series or the shot" in error_by(reply.text, "into") and readings(book) == []


def test_a_speed_beyond_any_arrow_is_refused_in_words(owner, book, series) -> None:
    reply = press(owner, f"/speeds/frames?series={series}", "save", **{**FRAMES, "distance": "30 m"})
    assert reply.status_code == 422 and "600" in reply.text and readings(book) == []


def test_a_series_read_elsewhere_is_no_place_for_a_mean_over_the_flight(owner, series) -> None:
    text = plain(press(owner, f"/speeds/frames?series={series}", "try", **{**FRAMES, "distance": "14 m", "frames": "60"}))
    assert "half way, 7 m from the bow" in text and "Begin another series" in text


def test_sound_from_the_archers_side_is_53_point_9(owner, book, series) -> None:
    """20/(0.430 - 20/340.28) = 53.88 m/s (tests/published/test_timing.py); without script a finger's 1 ms each."""
    reply = press(owner, f"/speeds/sound?series={series}", "save", **SOUND)
    assert reply.status_code == 303
    (row,) = readings(book)
    assert row.method == "sound" and row.value_m_s == pytest.approx(53.876, abs=0.01)
    # u_t = sqrt(2) 1 ms/sqrt(3) = 0.816 ms: 53.88/0.3712 x 0.000816 = 0.1185; heat: 0.5/sqrt(3) K adds 0.004
    assert row.uncertainty_m_s == pytest.approx(0.1186, abs=0.001)
    text = plain(press(owner, "/speeds/sound", "try", **SOUND))
    assert "58.78 ms" in text and "340.3 m/s" in text


def test_a_search_that_vouches_for_its_times_makes_it_surer(owner, book, series) -> None:
    press(owner, f"/speeds/sound?series={series}", "save", **SOUND, times_off="0.0002")
    (row,) = readings(book)
    assert row.uncertainty_m_s is not None and row.uncertainty_m_s < 0.04


@pytest.mark.parametrize(
    ("changed", "name", "words"),
    [
        ({"strike": "0.5"}, "strike", "after the loose"),
        ({"strike": "0.85"}, "strike", "no time is left"),
        ({"to_bow": "5 m"}, "to_target", "how far it was from the target"),
        ({"to_bow": "5 m", "to_target": "4 m"}, "to_bow", "further apart"),
        ({"to_bow": "0", "to_target": "40 m"}, "to_target", "differ"),
        ({"temperature": "-30 °C"}, "temperature", "−20 to 50"),
        ({"loose": "x"}, "loose", "“x”"),
    ],
)
def test_what_is_wrong_with_a_sound_is_said_by_its_box(owner, book, changed, name, words) -> None:
    reply = press(owner, "/speeds/sound", "try", **{**SOUND, **changed})
    assert reply.status_code == 422 and words in error_by(plain(reply), name)


def test_htmx_gets_the_part_alone(owner, series) -> None:
    reply = press(owner, f"/speeds/sound?series={series}", "try", {"HX-Request": "true"}, **SOUND)
    assert reply.status_code == 200 and reply.text.lstrip().startswith('<div class="layout__part" id="speeds-worked">')
    saved = press(owner, f"/speeds/sound?series={series}", "save", {"HX-Request": "true"}, **SOUND)
    assert saved.status_code == 200 and "Saved:" in saved.text and "<html" not in saved.text


def test_a_part_is_what_its_page_shows(owner, series) -> None:
    page = press(owner, f"/speeds/frames?series={series}", "try", **FRAMES).text
    part = press(owner, f"/speeds/frames?series={series}", "try", {"HX-Request": "true"}, **FRAMES).text

    def still(text: str) -> str:
        return re.sub(r'value="[0-9a-f-]{36}"', "", text).strip()

    assert still(part) in still(page)


def test_a_tool_that_is_not_there_and_odd_addresses(owner) -> None:
    assert owner.get("/speeds/guess").status_code == 404
    for odd in ("shot=x", "series=x", "like=x", "shot=01a21475-223e-7032-af9a-70f36b3262dd"):
        assert owner.get(f"/speeds/frames?{odd}").status_code == 200


# Levels


def told_levels(sound: np.ndarray) -> list[int]:
    levels = levels_of(sound)
    return [int(one) for one in np.maximum(-1500, np.round(100 * np.log10(np.maximum(levels / levels.max(), 1e-16))))]


def test_levels_of_a_made_sound_give_its_loose_and_strike(archer) -> None:
    heard = 23 / 54 + 23 / speed_of_sound_m_s(285.15)
    sent = {"step_s": 0.0005, "levels": told_levels(made_sound(seed=5, strike_s=0.8 + heard))}
    found = archer.post("/api/sound-levels", json=sent).json()
    assert found["loose_s"] == pytest.approx(0.8, abs=0.001) and found["strike_s"] == pytest.approx(0.8 + heard, abs=0.001)
    assert 0 < found["u_s"] < 0.002 and found["loose_s"] in found["heard_s"]


def test_levels_without_two_noises_say_why_not(archer) -> None:
    found = archer.post("/api/sound-levels", json={"step_s": 0.0005, "levels": told_levels(made_sound(seed=1, strike=0.0))})
    assert found.status_code == 200 and "fewer than two noises" in found.json()["why_not"]


@pytest.mark.parametrize(
    "sent",
    [
        {"step_s": 0.0005, "levels": [0] * 120_001}, {"step_s": 0.0005, "levels": [5] * 4000}, {"step_s": 0.5, "levels": [0] * 4000},
        {"step_s": 0.0005, "levels": ["x"] * 400}, {"levels": [0] * 400}, [], {"step_s": 0.0005, "levels": [0] * 3},
    ],
)  # fmt: skip
def test_levels_that_cant_be_are_refused_in_words(archer, sent) -> None:
    reply = archer.post("/api/sound-levels", json=sent)
    assert reply.status_code == 422 and "can’t be looked through" in reply.json()["why_not"]
