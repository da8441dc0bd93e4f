"""What a phone is told: enough to go on alone, in a handful of statements, and nothing twice."""

import base64
import json
import re
from typing import Any

import pytest
from proofyard.api.packed_ids import with_ids_once
from proofyard.records import arrows_at_the_range
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.statements_for_tests import statements

MOST_STATEMENTS = 12


@pytest.fixture
def yard(book: Storage) -> kit.Yard:
    return kit.yard(book)


def test_it_holds_what_the_line_needs(archer: TestClient, yard: kit.Yard) -> None:
    told = archer.get("/api/range").json()
    setup = told["setups"][0]
    assert setup["ready"] and setup["entries"][0] == "plate" and setup["drawing"]["outline"].startswith("M")
    assert told["bows"][0]["label"] == "110" and told["arrows"][0]["state"] == "sound"
    assert told["phone"]["highest"] == 0 and told["archers"][0]["id"] == yard.archer


def test_a_session_whose_cautions_are_not_ticked_is_not_ready(archer: TestClient, book: Storage) -> None:
    trial = kit.trial(book)
    kit.setup(book, kit.session(book, trial, ticked=False), kit.panel(book).build)
    assert [one["ready"] for one in archer.get("/api/range").json()["setups"]] == [False]


def test_a_closed_trial_is_not_shown_but_its_hits_on_the_panel_are(archer: TestClient, book: Storage, yard: kit.Yard) -> None:
    old = kit.open_trial(book, "An older question about the same panel?")
    before = kit.setup(book, old.session, yard.panel.build)
    hit = kit.shot(book, yard, shooting_end_id=kit.shooting_end(book, before))
    kit.reading(book, hit, x="10 mm", y="-20 mm")
    kit.put(book, "trial", {"state": "closed"}, record_id=old.trial, base_rev=1)
    told = archer.get("/api/range").json()
    assert [one["id"] for one in told["setups"]] == [yard.setup]
    ((row,),) = told["earlier"].values()
    assert told["shots"] == [] and list(told["earlier"]) == [yard.panel.build]
    assert (row[0], row[3], row[12], row[15:17]) == (hit, -1, "on_panel", [10.0, -20.0])
    assert archer.get(f"/api/range/shots/{hit}").json()["shot"]["reading"]["x_m"] == pytest.approx(0.01)
    assert archer.get(f"/api/range/shots/{yard.setup}").status_code == 404


def test_nothing_new_costs_a_few_bytes_and_one_statement(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    first = archer.get("/api/range")
    told = first.json()
    with statements(book) as said:
        answer = archer.get("/api/range", params={"since": told["seq"], "epoch": told["epoch"]})
    assert (answer.status_code, answer.content) == (204, b"")
    assert len(said) <= 1
    assert archer.get("/api/range", headers={"If-None-Match": first.headers["ETag"]}).status_code == 304
    assert len(first.headers["Proofyard-Clock"].split()) == 2


def test_only_what_changed_is_told(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    kit.read_shot(book, yard)
    told = archer.get("/api/range").json()
    since = {"since": told["seq"], "epoch": told["epoch"]}
    fresh = kit.shot(book, yard)
    kit.shot_speed(book, fresh, "52.6 m/s")
    news = archer.get("/api/range", params=since).json()
    assert not news["whole"] and [one["id"] for one in news["shots"]] == [fresh]
    assert news["shots"][0]["speed"]["said"]["value"] == "52.6 m/s"
    assert archer.get("/api/range", params={**since, "epoch": "another"}).json()["whole"]


def test_a_new_panel_or_set_up_sends_the_whole(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    told = archer.get("/api/range").json()
    kit.setup(book, yard.session, kit.panel(book, construction="mail").build)
    news = archer.get("/api/range", params={"since": told["seq"], "epoch": told["epoch"]}).json()
    assert news["whole"] and {one["plain_entry"] for one in news["setups"]} == {"plate", "broke_rings"}


def test_an_arrow_that_hit_is_to_check_until_somebody_says_sound(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    def state() -> str:
        return str(archer.get("/api/range").json()["arrows"][0]["state"])

    kit.shot(book, yard, purpose="let_down")
    assert state() == "sound"
    kit.shot(book, yard)
    assert state() == "to_check"
    kit.checked_sound(book, yard.arrow.build)
    assert state() == "sound"
    kit.checked_sound(book, yard.arrow.build, sound="not_sound")
    assert state() == "not_sound"


def test_the_highest_label_is_this_phones_own(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    letter = archer.get("/api/range").json()["phone"]["letter"]
    for label in (f"{letter}9", f"{letter}10", f"{letter}{letter}44", f"{letter}x"):
        kit.shot(book, yard, label=label)
    assert archer.get("/api/range").json()["phone"]["highest"] == 10


def test_only_the_newest_build_of_a_thing_is_offered(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    newer = kit.new_arrow_build(book, yard.arrow)
    assert [one["build"] for one in archer.get("/api/range").json()["arrows"]] == [newer.build]


@pytest.mark.parametrize("shots", [1, 30])
def test_a_handful_of_statements_whatever_the_rows(archer: TestClient, yard: kit.Yard, book: Storage, shots: int) -> None:
    body = {
        "shooting_end": yard.shooting_end,
        "bow_build": yard.bow.build,
        "arrow_build": yard.arrow.build,
        "archer": yard.archer,
        "purpose": "counted",
    }
    kit.put_all(book, [("shot", {**body, "label": f"C{n}"}) for n in range(shots)])
    archer.get("/api/range")
    with statements(book) as said:
        told = archer.get("/api/range").json()
    assert len(told["shots"]) == shots and len(said) <= MOST_STATEMENTS


def test_of_many_arrows_a_phone_is_told_those_that_its_set_ups_may_want(
    archer: TestClient, yard: kit.Yard, book: Storage, monkeypatch: pytest.MonkeyPatch
) -> None:
    def told() -> set[str]:
        return {one["build"] for one in archer.get("/api/range").json()["arrows"]}

    kit.shot(book, yard)
    old = [kit.arrow(book) for _ in range(4)]
    new = [kit.arrow(book) for _ in range(2)]
    every = {yard.arrow.build, *(one.build for one in (*old, *new))}
    assert told() == every, "in a small book all of them"
    monkeypatch.setattr(arrows_at_the_range, "MOST_ARROWS", 5)
    monkeypatch.setattr(arrows_at_the_range, "NEWEST_BUILDS", 2)
    kit.put(book, "trial_uses", {"trial": yard.trial, "noun": "arrow", "record": old[0].arrow})
    assert told() == {yard.arrow.build, old[0].build, *(one.build for one in new)}


def test_shots_of_an_earlier_day_are_rows_until_somebody_has_to_do_something_about_one(
    archer: TestClient, yard: kit.Yard, book: Storage
) -> None:
    def full() -> set[str]:
        return {one["id"] for one in archer.get("/api/range").json()["shots"]}

    read, open_, voided = (kit.shot(book, yard) for _ in range(3))
    kit.reading(book, read)
    kit.void(book, "shot", voided)
    assert full() == {read, open_, voided}, "the only day is the day"
    later = kit.setup(book, kit.session(book, yard.trial, day="2026-11-01"), yard.panel.build)
    own = kit.shot(book, yard, shooting_end_id=kit.shooting_end(book, later))
    assert full() == {open_, own}, "an unread one has still to be read"
    ahead = kit.setup(book, kit.session(book, yard.trial, day="2027-12-01"), yard.panel.build)
    assert full() == {open_, own}, "a day that is ahead makes none of before it old"
    kit.reading(book, open_)
    assert full() == {own}
    kit.put(book, "shot_reading", {"outcome_high": "5"}, record_id=read, base_rev=1)
    assert full() == {own, read}, "it may have to be checked from behind"
    assert ahead


def with_its_ids(text: str) -> str:
    """As static/js/range/snapshot.js reads the form in which each id stands once."""
    table, _, said = text.partition("\n")
    if not said:
        return table
    later, row = json.loads(table)
    digits, ids, ms = base64.b64decode(row).hex(), [], 0
    for n, more in enumerate(later):
        ms += more
        made, chance = f"{ms:012x}", digits[19 * n : 19 * n + 19]
        ids.append(f"{made[:8]}-{made[8:]}-7{chance[:3]}-{chance[3:7]}-{chance[7:]}")
    unseen = iter(ids)
    return re.sub(r'"~(\d*)"', lambda found: f'"{ids[int(found[1])] if found[1] else next(unseen)}"', said)


def test_with_each_id_once_a_phone_is_told_the_same_but_for_what_it_never_reads(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    for _ in range(3):
        kit.read_shot(book, yard)
    area = {"panel_build": yard.panel.build, "sort": "aim", "x": "0 mm", "y": "0 mm", "reach": "10 mm"}
    kit.put(book, "panel_area", area)
    kit.put(book, "panel_area", {**area, "sort": "rivet"})
    plain = archer.get("/api/range").json()
    answer = archer.get("/api/range", params={"form": 2})
    told: dict[str, Any] = json.loads(with_its_ids(answer.text))
    assert [area["sort"] for area in plain["setups"][0]["areas"]] == ["aim", "rivet"] and plain["arrows"][0].pop("hits")["made"] == 3
    plain["setups"][0]["areas"] = [area for area in plain["setups"][0]["areas"] if area["sort"] != "aim"]
    assert told == plain
    assert yard.setup not in answer.text and len(re.findall(r"[0-9a-f]{8}-", answer.text)) == 0
    assert answer.headers["ETag"] != archer.get("/api/range").headers["ETag"], "one form is not kept for the other"
    since = {"since": told["seq"], "epoch": told["epoch"], "form": 2}
    assert archer.get("/api/range", params=since).status_code == 204
    fresh = kit.shot(book, yard)
    assert [one["id"] for one in json.loads(with_its_ids(archer.get("/api/range", params=since).text))["shots"]] == [fresh]
    assert archer.get("/api/range", params={"form": 3}).status_code == 422


def test_ids_of_any_shape_and_what_looks_like_a_mark_come_back_as_they_were() -> None:
    one, other, odd = "01a10247-7580-72aa-9b56-a3f6fb4fb2fb", "01a10247-0000-7000-8000-000000000000", "01a10247-7580-42aa-9b56-a3f6fb4fb2fb"
    said = {"a": [one, other, one], other: {"b": one, "words": f"seen {one}", "c": odd, "d": one.upper()}, "e": "~ 5", "f": "\n"}
    text = json.dumps(said, separators=(",", ":"))
    packed = with_ids_once(text)
    assert json.loads(with_its_ids(packed)) == said and packed.count("\n") == 1 and packed.count(f'"{one}"') == 0
    assert json.loads(with_its_ids(with_ids_once("{}"))) == {}
    for note in ("~", "~7"):
        text = json.dumps({"id": one, "note": note})
        assert with_ids_once(text) == text, "told as it is rather than read wrongly"
