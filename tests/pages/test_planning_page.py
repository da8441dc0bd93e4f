"""A trial's plan and its next shot, as forms and pages, without script."""

from __future__ import annotations

import re

import pytest
from proofyard.records.devices import now_ms
from proofyard.records.plan_facts import newest_planned, planned_shots, plans_of, predictions_of
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.bench.page_statements import counted
from tests.pages.drawn_forms import filled

MOST_STATEMENTS = 12


@pytest.fixture
def yard(book: Storage) -> kit.Yard:
    made = kit.yard(book)
    for form in ("needle", "short_bodkin", "short_bodkin"):
        kit.arrow(book, form=form)
    return made


def address(yard: kit.Yard, page: str = "plan") -> str:
    return f"/trials/{yard.trial}/{page}"


def plan_form(archer: TestClient, yard: kit.Yard, book: Storage, **changed: object) -> dict[str, object]:
    """The form as drawn, with every sound arrow and the archer ticked."""
    sent = filled(archer, address(yard), address(yard))[1]
    arrows = re.findall(r'name="plan-arrows" value="([^"]+)"', archer.get(address(yard)).text)
    return {**sent, "plan-panel_build": yard.panel.build, "plan-archers": [yard.archer], "plan-arrows": arrows, **changed}


def test_an_order_is_made_kept_and_shown_with_its_spots(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    answer = archer.post(
        address(yard), data=plan_form(archer, yard, book, **{"plan-rounds": "3", "plan-seed": "4711"}), follow_redirects=False
    )
    assert answer.status_code == 303
    with book.read() as session:
        (fact,) = plans_of(session, [yard.trial])
        shots = planned_shots(session, [fact.plan.id])
    assert (fact.plan.seed, len(shots)) == (4711, 6)
    assert [one.planned.place for one in shots] == [1, 2, 3, 4, 5, 6]
    assert all(sorted(str(one.form) for one in shots if one.planned.block == block) == ["needle", "short_bodkin"] for block in (1, 2, 3))
    text = archer.get(address(yard)).text
    assert "6 shots planned: 0 done. Next: arrow" in text and "when the line is clear" in text
    assert text.count('class="panel__aim"') == 6
    # Never a command, and never that the line is clear.
    assert "never that you may shoot" in text


def test_the_same_seed_and_kit_give_the_same_order_again(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    for _ in range(2):
        archer.post(address(yard), data=plan_form(archer, yard, book, **{"plan-rounds": "2", "plan-seed": "99"}))
    with book.read() as session:
        one, other = plans_of(session, [yard.trial])
        orders = [[(p.planned.arrow_build_id, p.planned.aim_name) for p in planned_shots(session, [plan.plan.id])] for plan in (one, other)]
    assert orders[0] == orders[1] and len(orders[0]) == 4


@pytest.mark.parametrize(
    ("changed", "field", "said"),
    [
        ({"plan-panel_build": ""}, "plan-panel_build", "Panel is needed."),
        ({"plan-rounds": ""}, "plan-rounds", "Shots for each is needed."),
        ({"plan-rounds": "many"}, "plan-rounds", "not a whole number"),
        ({"plan-rounds": "0"}, "plan-rounds", "enter 1 to 120"),
        ({"plan-rounds": "40"}, "plan-rounds", "this panel has room for"),
        ({"plan-rounds": "100"}, "plan-rounds", "more than a day holds"),
        ({"plan-arrows": []}, "plan-arrows", "Choose the arrows"),
        ({"plan-seed": "-3"}, "plan-seed", "not a whole number"),
    ],
)
def test_what_makes_no_plan_is_said_beside_its_field(
    archer: TestClient, yard: kit.Yard, book: Storage, changed: dict[str, object], field: str, said: str
) -> None:
    answer = archer.post(
        address(yard), data=plan_form(archer, yard, book, **{"plan-note": "our own words", **changed}), follow_redirects=False
    )
    assert answer.status_code == 422
    error = re.search(rf'id="{field}-error">(.*?)</p>', answer.text)
    assert error is not None and said in error[1]
    assert f'href="#{field}"' in answer.text and "our own words" in answer.text
    with book.read() as session:
        assert plans_of(session, [yard.trial]) == []


def test_a_panel_without_a_size_gets_an_order_without_spots(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    bare = kit.panel(book, width="", height="")
    refused = archer.post(address(yard), data=plan_form(archer, yard, book, **{"plan-panel_build": bare.build}), follow_redirects=False)
    assert refused.status_code == 422 and "width and height are not in the book" in refused.text
    sent = plan_form(archer, yard, book, **{"plan-panel_build": bare.build})
    del sent["plan-spots"]
    assert archer.post(address(yard), data=sent, follow_redirects=False).status_code == 303
    assert "No drawing: the panel’s width and height are not in the book." in archer.get(address(yard)).text


def test_a_loose_that_names_its_place_is_done_and_a_crossed_out_one_leaves_it_open(
    archer: TestClient, yard: kit.Yard, book: Storage
) -> None:
    archer.post(address(yard), data=plan_form(archer, yard, book, **{"plan-rounds": "2"}))
    with book.read() as session:
        first, *_ = [one.planned for one in newest_planned(session, [yard.trial])]
    shot = kit.shot(book, yard, planned_shot=first.id, arrow_build=first.arrow_build_id)
    text = archer.get(address(yard)).text
    assert "4 shots planned: 1 done." in text and f'href="/shots/{shot}"' in text
    archer.post(f"/shots/{shot}/cross-out", data={"reason": "not loosed at all", "base_rev": "1"})
    assert "4 shots planned: 0 done." in archer.get(address(yard)).text
    archer.post(f"{address(yard)}/skip", data={"planned": first.id, "base_rev": str(first.rev), "skip": "yes"})
    assert "4 shots planned: 0 done, 1 skipped." in archer.get(address(yard)).text
    archer.post(f"{address(yard)}/skip", data={"planned": first.id, "base_rev": str(first.rev + 1), "skip": "no"})
    assert "skipped" not in archer.get(address(yard)).text.split("The order</h2>")[0]


def test_each_archer_predicts_and_the_page_says_after_how_many_shots(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    sent = filled(archer, address(yard), f"/trials/{yard.trial}/predictions")[1]
    early = {
        **sent,
        "said-archer": yard.archer,
        "said-says": "All get through above 60 J.",
        "said-share": "80",
        "said-fifty_percent_energy": "45 J",
    }
    assert archer.post(f"/trials/{yard.trial}/predictions", data=early, follow_redirects=False).status_code == 303
    text = archer.get(address(yard)).text
    assert "All get through above 60 J." in text and "before the first shot" in text and "50\u00a0% energy 45" in text
    kit.reading(book, kit.shot(book, yard, loosed_at=now_ms()))
    other = kit.archer(book)
    late = {**filled(archer, address(yard), f"/trials/{yard.trial}/predictions")[1], "said-archer": other, "said-says": "None will."}
    archer.post(f"/trials/{yard.trial}/predictions", data=late)
    again = {
        **filled(archer, address(yard), f"/trials/{yard.trial}/predictions")[1],
        "said-archer": yard.archer,
        "said-says": "Half, at 50 J.",
    }
    archer.post(f"/trials/{yard.trial}/predictions", data=again)
    text = archer.get(address(yard)).text
    assert "None will." in text and text.count("after 1 shot") == 2 and "the notebook keeps what" in text
    with book.read() as session:
        facts = predictions_of(session, yard.trial)
    assert [(one.shots_before, one.shots_before_change) for one in facts] == [(0, 1), (1, 1)]


def test_what_was_said_on_the_plan_page_stands_on_the_trials_page(archer: TestClient, yard: kit.Yard) -> None:
    trial = f"/trials/{yard.trial}"
    assert "No prediction is recorded." in archer.get(trial).text
    said = {
        **filled(archer, address(yard), f"{trial}/predictions")[1],
        "said-archer": yard.archer,
        "said-says": "Four of six get through.",
        "said-share": "60 %",
    }
    assert archer.post(f"{trial}/predictions", data=said).status_code == 303
    for page in (archer.get(trial).text, archer.get(trial, headers={"HX-Request": "true"}).text):
        assert "Nobody has written down" not in page
        assert "Four of six get through." in page and "60\u00a0% get through" in page


def test_a_prediction_of_nobody_or_of_nothing_comes_back(archer: TestClient, yard: kit.Yard) -> None:
    sent = filled(archer, address(yard), f"/trials/{yard.trial}/predictions")[1]
    answer = archer.post(f"/trials/{yard.trial}/predictions", data={**sent, "said-says": "", "said-share": "140"}, follow_redirects=False)
    assert answer.status_code == 422
    for field in ("archer", "says", "share"):
        assert f'id="said-{field}-error"' in answer.text
    assert 'value="140"' in answer.text


def test_how_many_shots_are_worked_out_from_the_address(viewer: TestClient, yard: kit.Yard) -> None:
    text = viewer.get(address(yard), params={"share": "90", "other": "30", "width": "40", "shots": "7"}).text
    assert "shoot 10 with each head" in text and "For an interval no wider than 40 points, shoot" in text
    assert '<th scope="row"><b>7</b></th>' in text
    wrong = viewer.get(address(yard), params={"share": "soon", "width": "0", "shots": "900"})
    assert wrong.status_code == 422
    assert all(f'id="{name}-error"' in wrong.text for name in ("share", "width", "shots"))
    assert "Make the plan" not in text and ">Save<" not in text  # who only looks gets no form that writes


def shoot(book: Storage, yard: kit.Yard, *outcome_levels: str) -> None:
    kit.speeds(book, kit.Combination(yard.bow.build, yard.arrow.build, yard.archer), "50.0", "50.2", "50.4")
    for place, outcome_level in enumerate(outcome_levels):
        kit.read_shot(
            book, yard, outcome_low=outcome_level, x=f"{-100 + 65 * (place % 4)} mm", y=f"{-140 + 70 * (place // 4)} mm", entry="plate"
        )
        kit.checked_sound(book, yard.arrow.build)


def set_rule(archer: TestClient, yard: kit.Yard, **rule: str) -> object:
    sent = filled(archer, address(yard, "next"), address(yard, "next"))[1]
    return archer.post(address(yard, "next"), data={**sent, **rule}, follow_redirects=False)


def test_a_rule_is_kept_in_the_trial_and_says_what_comes_next(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    shoot(book, yard, "2", "4", "2")
    text = archer.get(address(yard, "next")).text
    assert "No rule chooses" in text
    assert set_rule(archer, yard, next_shot_rule="up_and_down").status_code == 303
    text = archer.get(address(yard, "next")).text
    assert "it was stopped, so the next should have more" in text and "when the line is clear" in text
    assert "counts over all energies mean nothing" in text
    plan = archer.get(address(yard, "plan")).text
    assert (
        "This trial’s rule chooses each shot, and the phones follow it instead of an order: up-and-down method: less energy after" in plan
    )
    set_rule(archer, yard, next_shot_rule="smallest_interval", stop_rule="shots", stop_shots="3", stopped_because="")
    text = archer.get(address(yard, "next")).text
    assert "Enough: all 3 planned shots are shot." in text
    set_rule(archer, yard, stop_rule="width", stop_width_percent="50", stopped_because="it rained")
    text = archer.get(address(yard, "next")).text
    assert "expected to narrow the interval of the 50 % energy of the" in text and "Stopped because: it rained" in text


def test_a_stopping_rule_without_its_number_comes_back(archer: TestClient, yard: kit.Yard) -> None:
    answer = set_rule(archer, yard, stop_rule="width")
    assert answer.status_code == 422 and 'id="stop_width_percent-error"' in answer.text


def test_an_unread_shot_is_named_since_the_rule_has_not_heard_of_it(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    shoot(book, yard, "2", "4")
    set_rule(archer, yard, next_shot_rule="up_and_down")
    kit.shot(book, yard, label="A77")
    kit.checked_sound(book, yard.arrow.build)
    assert "A77 is not read yet" in archer.get(address(yard, "next")).text


def test_with_no_sound_arrow_nothing_is_chosen(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    shoot(book, yard, "2")
    set_rule(archer, yard, next_shot_rule="up_and_down")
    kit.checked_sound(book, yard.arrow.build, sound="not_sound")
    text = archer.get(address(yard, "next")).text
    assert "No shot can be chosen" in text and "must be checked first" in text


def test_few_statements_whatever_is_planned(viewer: TestClient, archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    shoot(book, yard, "2", "4", "2")
    set_rule(archer, yard, next_shot_rule="smallest_interval")
    archer.post(address(yard), data=plan_form(archer, yard, book, **{"plan-rounds": "2"}))
    for page in ("plan", "next"):
        viewer.get(address(yard, page))
        with counted(book) as asked:
            assert viewer.get(address(yard, page)).status_code == 200
        assert len(asked) <= MOST_STATEMENTS, "\n".join([page, *asked])


def test_a_phone_is_told_what_is_planned_and_what_the_rule_says(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    told = archer.get("/api/range").json()["setups"][0]
    assert "plan" not in told and "rule" not in told
    shoot(book, yard, "2", "4", "2")
    archer.post(address(yard), data=plan_form(archer, yard, book, **{"plan-rounds": "2"}))
    planned = archer.get("/api/range").json()["setups"][0]["plan"]
    assert [row[6] for row in planned] == [1, 2, 3, 4] and planned[0][5].count("spot") == 1
    set_rule(archer, yard, next_shot_rule="up_and_down")
    rule = archer.get("/api/range").json()["setups"][0]["rule"]
    assert (rule["loosed"], rule["next"]) == (3, [yard.arrow.build, yard.archer, yard.bow.build])
    kit.shot(book, yard)
    assert archer.get("/api/range").json()["setups"][0]["rule"]["next"] is None
    set_rule(archer, yard, next_shot_rule="up_and_down", stop_rule="shots", stop_shots="3")
    assert archer.get("/api/range").json()["setups"][0]["rule"]["wait"] == "Enough, by the trial’s rule"


def test_pages_of_no_trial_say_so(viewer: TestClient) -> None:
    for page in ("plan", "next"):
        assert viewer.get(f"/trials/01a00000-0000-7000-8000-000000000000/{page}").status_code == 404


def test_the_trials_and_the_days_page_fetch_what_the_rule_says(
    viewer: TestClient, archer: TestClient, yard: kit.Yard, book: Storage
) -> None:
    shoot(book, yard, "2", "4")
    pages = (f"/trials/{yard.trial}", f"/sessions/{yard.session}")
    assert all("planning-next-fetched" not in viewer.get(page).text for page in pages)
    set_rule(archer, yard, next_shot_rule="up_and_down")
    for page in pages:
        text = viewer.get(page).text
        assert f'hx-get="{address(yard, "next")}"' in text and f'<a href="{address(yard, "next")}"' in text
    part = viewer.get(address(yard, "next"), headers={"HX-Request": "true"}).text
    assert part.lstrip().startswith("<section") and "Next: arrow" in part
    assert part.strip() in viewer.get(address(yard, "next")).text
    archer.post(f"/trials/{yard.trial}/state", data={"state": "closed", "base_rev": "2"})
    assert all("planning-next-fetched" not in viewer.get(page).text for page in pages)


def test_what_the_sound_arrows_at_hand_can_settle_is_said(viewer: TestClient, yard: kit.Yard, book: Storage) -> None:
    text = viewer.get(address(yard)).text
    # Two needles and two stouts: nothing could tell them apart with one shot each.
    assert "Long needle bodkin: 2 sound. One shot with each gives an interval" in text
    assert "Long needle bodkin and short bodkin, 2 against 2: no result could tell." in text
    kit.shot(book, yard)
    assert "Short bodkin and long needle bodkin, 2 against 1: no result could tell." in viewer.get(address(yard)).text


def rings(page: str) -> list[str]:
    return re.findall(r'class="[^"]*panel__spot"[^>]*>([^<]+)<', page)


def test_a_spot_has_one_number_in_words_and_ring_and_its_place_in_millimetres(archer: TestClient, yard: kit.Yard, book: Storage) -> None:
    plan = kit.put(book, "plan", {"trial": yard.trial, "panel_build": yard.panel.build, "mixed": "heads", "rounds": "2", "seed": "1"})
    for place, (name, x, y) in enumerate(
        (("upper right, spot 11", "41 mm", "79 mm"), ("left, spot 4", "-60 mm", "0"), ("", "0", "-20 mm")), 1
    ):
        more = {"aim_name": name} if name else {}
        kit.put(book, "planned_shot", {"plan": plan, "place": str(place), "arrow_build": yard.arrow.build, "aim_x": x, "aim_y": y, **more})
    text = archer.get(address(yard)).text
    tag = kit.row(book, "arrow", yard.arrow.arrow).tag
    assert f"Next: arrow {tag}, upper right, spot 11 (41 mm right, 79 mm up), when the line is clear." in text
    assert "left, spot 4 (60 mm left)" in text and f"rrow {tag}, 20 mm down" in text
    assert sorted(rings(text)) == ["11", "3", "4"]  # a spot without a number of its own goes by its place


def test_an_arrow_that_was_read_as_broken_is_not_next_and_one_to_check_is_once_it_is_checked(
    archer: TestClient, yard: kit.Yard, book: Storage
) -> None:
    other = kit.arrow(book, "77")
    plan = kit.put(book, "plan", {"trial": yard.trial, "panel_build": yard.panel.build, "mixed": "heads", "rounds": "2", "seed": "1"})
    for place, build in enumerate((yard.arrow.build, other.build), 1):
        kit.put(book, "planned_shot", {"plan": plan, "place": str(place), "arrow_build": build})
    tag = kit.row(book, "arrow", yard.arrow.arrow).tag
    shot = kit.shot(book, yard)
    assert f"Next: arrow {tag}, once it is checked." in archer.get(address(yard)).text
    kit.reading(book, shot, shaft_fate=["broken_behind_head"])
    text = archer.get(address(yard)).text
    assert "2 shots planned: 0 done. Next: arrow 77, when the line is clear." in text
    assert f"waits: arrow {tag} is not sound" in text
    kit.checked_sound(book, other.build, sound="not_sound")
    assert "What is left waits for its arrows." in archer.get(address(yard)).text
    kit.new_arrow_build(book, other)
    assert "waits: arrow 77 has been retired or rebuilt" in archer.get(address(yard)).text
