"""A trial's claim: stated by a form, answered first on its trial, its results, its day and in its file; nothing typed is lost."""

from __future__ import annotations

import csv
import io

import pytest
from proofyard.records.devices import now_ms
from proofyard.records.listing import belonging, count_of
from proofyard.records.trial import Session as Day
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House
from tests.demo_for_tests import called
from tests.pages.page_text import text_of
from tests.statements_for_tests import statements

NO = (
    "No, not against the long needle bodkin: 5 of 5 got through, so at least 42 % do; nor against the short bodkin: 4 of 4 got through, so "
    "at least 35 % do (95 % running bounds). 2 other heads: not yet."
)
HOLDS = {"claim_form": "holds", "one_in": "10", "heads": ["needle"], "construction": "plate"}


def words(client: TestClient, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200, path
    return " ".join(text_of(answer.text, frame=False).replace("\xa0", " ").split())


def test_the_demos_third_trial_is_answered_first_on_every_page(demo_house: House) -> None:
    """The practitioner's counts: needle 5 of 5, short bodkin 4 of 4, leaf none or 1 of 3, barbed none of 4."""
    owner = demo_house.client("owner")
    with demo_house.storage.read() as session:
        trial = called(session)["thick plate"]
        day = belonging(session, Day, "trial_id", trial)[-1].id
    page = words(owner, f"/trials/{trial}")
    assert page.index(NO) < page.index("43 shots")
    assert "before the first shot" in page[page.index("Claim:") : page.index("43 shots")]
    for counts in ("5 of 5 through", "4 of 4 through", "0 or 1 of 3 through", "none of 4 through"):
        assert counts in page
    for path in ("/", f"/results?trial={trial}", f"/sessions/{day}/day"):
        assert NO in words(owner, path), path
    assert NO not in words(owner, "/results")


def test_wherever_a_running_bound_stands_beside_an_interval_of_the_same_share_the_page_tells_the_two_apart(demo_house: House) -> None:
    owner = demo_house.client("owner")
    with demo_house.storage.read() as session:
        trial = called(session)["thick plate"]
        day = belonging(session, Day, "trial_id", trial)[-1].id
    told = "A running bound holds however often one looks as the shots go on; a 95 % interval holds for a number of shots set beforehand."
    for path in (f"/trials/{trial}", f"/results?trial={trial}", f"/sessions/{day}/day"):
        assert words(owner, path).count(told) == 1, path


def test_a_claim_is_stated_by_a_form_and_corrected_by_the_same(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    path = f"/trials/{yard.trial}/claim"
    assert "State a claim" in words(archer, f"/trials/{yard.trial}") and "State a claim" in words(archer, path)
    sent = archer.post(path, data={**HOLDS, "bow": yard.bow.bow, "level": "95"}, follow_redirects=False)
    assert (sent.status_code, sent.headers["location"]) == (303, f"/trials/{yard.trial}")
    page = words(archer, f"/trials/{yard.trial}")
    assert "Not yet: no shot counts with the long needle bodkin." in page
    assert "One-piece plate holds against the long needle bodkin shot with Bow 1: at most 1 shot in 10 gets through." in page
    archer.post(path, data={**HOLDS, "one_in": "5", "bow": yard.bow.bow, "base_rev": "1", "reason": "typed 10 for 5"})
    assert "at most 1 shot in 5 gets through" in words(archer, f"/trials/{yard.trial}")
    assert "Claim of" in words(archer, "/notebook")


def test_a_claim_that_lacks_a_part_says_so_by_its_field_and_keeps_what_was_typed(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    path = f"/trials/{yard.trial}/claim"
    for more, message in (
        ({"one_in": "1"}, "Enter a number from 2 to 1000, for example 10: at most 1 shot in 10."),
        ({"heads": []}, "Tick the heads that it is to hold against."),
        ({"bow": ""}, "Choose a bow, or enter an energy."),
        ({"energy": "60 J"}, "Leave one of the two empty: the bow, or the energy."),
        ({"construction": ""}, "Choose how the panels are made."),
        ({"set_shots": "0"}, "Enter 1 or more, for example 29, or leave it empty."),
    ):
        sent = archer.post(path, data={**HOLDS, "bow": yard.bow.bow, "thickness": "1,6 mm", **more})
        assert sent.status_code == 422 and message in sent.text, message
        assert 'value="1,6 mm"' in sent.text
    with book.read() as session:
        assert count_of(session, "claim") == 0


def test_a_claim_of_energies_is_stated_by_the_same_form_and_answered_where_the_others_are(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    path = f"/trials/{yard.trial}/claim"
    for form, wanted, unwanted in (
        ("needs_less", ("head_form", "than_head", "set_shots", "spread"), ("one_in", "heads", "bow", "fifty_percent_above")),
        ("fifty_percent_above", ("head_form", "fifty_percent_above"), ("than_head", "difference")),
        ("thickness", ("head_form", "difference", "thickness", "than_thickness"), ("panel", "than_panel")),
        ("panel", ("head_form", "difference", "panel", "than_panel"), ("than_thickness", "bow", "stand", "than_stand")),
        ("stand", ("head_form", "difference", "stand", "than_stand"), ("than_thickness", "bow", "than_panel")),
    ):
        drawn = archer.post(f"{path}/fields", data={"claim_form": form}, headers={"HX-Request": "true"}).text
        assert [name for name in wanted if f'name="{name}"' not in drawn] == [], form
        assert [name for name in unwanted if f'name="{name}"' in drawn] == [], form
    body = {"claim_form": "needs_less", "head_form": "needle", "than_head": "leaf", "construction": "plate"}
    assert archer.post(path, data=body, follow_redirects=False).status_code == 303
    for page in (f"/trials/{yard.trial}", f"/sessions/{yard.session}/day"):
        said = words(archer, page)
        assert "Not yet: no shot counts with one of the two." in said, page
        assert "The long needle bodkin needs less energy than the leaf to get through one-piece plate." in said, page
    assert "is shown to in about 3 of 10 trials" in words(archer, f"/trials/{yard.trial}/plan")
    rows = list(csv.DictReader(io.StringIO(archer.get("/download/claims.csv").text)))
    assert [(row["head_form"], row["head_words"], row["head_shots"], row["claim_verdict"]) for row in rows] == [
        ("needle", "Long needle bodkin", "0", "not_yet"),
        ("leaf", "Leaf", "0", "not_yet"),
    ]
    assert rows[0]["claim_limit"] == "1.0" and rows[0]["claim_than_head"] == "leaf"


def test_a_claim_of_energies_that_lacks_a_part_says_so_by_its_field(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    panels = kit.panel(book).panel, kit.panel(book).panel
    plate = {"construction": "plate", "head_form": "leaf"}
    thick = {"claim_form": "thickness", **plate, "thickness": "1,6 mm", "than_thickness": "1 mm", "difference": "10"}
    two = {"claim_form": "panel", "head_form": "leaf", "panel": panels[0], "than_panel": panels[1], "difference": "10"}
    stands = kit.stand(book), kit.stand(book)
    behind = {"claim_form": "stand", **plate, "stand": stands[0], "than_stand": stands[1], "difference": "10"}
    for body, message in (
        ({"claim_form": "needs_less", **plate, "than_head": ""}, "Choose the head that it is compared with."),
        ({"claim_form": "needs_less", **plate, "than_head": "leaf"}, "Choose another head: a head needs as much as itself."),
        ({"claim_form": "fifty_percent_above", **plate, "fifty_percent_above": ""}, "Enter the energy, for example 80 J."),
        (
            {"claim_form": "fifty_percent_above", **plate, "fifty_percent_above": "80 J", "construction": ""},
            "Choose how the panels are made.",
        ),
        ({**thick, "than_thickness": ""}, "Enter the thickness that it is compared with, for example 1.6 mm."),
        ({**thick, "than_thickness": "1.6 mm"}, "Enter another thickness: two of one thickness are compared as panels."),
        ({**thick, "difference": ""}, "Enter how much more at least, for example 10 %."),
        ({**thick, "head_form": ""}, "Choose the head."),
        ({**two, "than_panel": panels[0]}, "Choose another panel."),
        ({**behind, "stand": ""}, "Choose the stand that holds this garment or backing."),
        ({**behind, "than_stand": ""}, "Choose the stand that it is compared with."),
        ({**behind, "than_stand": stands[0]}, "Choose another stand."),
        ({**behind, "construction": ""}, "Choose how the panels are made."),
        ({**two, "set_shots": "0"}, "Enter 1 or more, for example 29, or leave it empty."),
    ):
        sent = archer.post(f"/trials/{yard.trial}/claim", data=body)
        assert sent.status_code == 422 and message in sent.text, message
    with book.read() as session:
        assert count_of(session, "claim") == 0
    assert archer.post(f"/trials/{yard.trial}/claim", data=two, follow_redirects=False).status_code == 303


def test_a_days_page_fetches_the_claim_with_the_answer_of_its_trial(demo_house: House) -> None:
    """Without a script its link leads to the day's sheet, which says it too."""
    owner = demo_house.client("owner")
    with demo_house.storage.read() as session:
        trial = called(session)["thick plate"]
        day = belonging(session, Day, "trial_id", trial)[-1].id
    page = owner.get(f"/sessions/{day}").text
    assert f'href="/sessions/{day}/day" hx-get="/sessions/{day}/claim"' in page and page.index("session-claim-fetched") < page.index("<h2")
    fetched = owner.get(f"/sessions/{day}/claim", headers={"HX-Request": "true"}).text
    assert NO in " ".join(text_of(fetched, frame=True).replace("\xa0", " ").split()) and "Claim: " in fetched
    assert owner.get(f"/sessions/{day}/claim", follow_redirects=False).headers["location"] == f"/sessions/{day}/day"
    viewed = demo_house.client("viewer").get(f"/sessions/{day}/claim", headers={"HX-Request": "true"}).text
    assert NO in " ".join(text_of(viewed, frame=True).replace("\xa0", " ").split())


def test_a_day_of_a_trial_without_a_claim_asks_for_none(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    assert "session-claim-fetched" not in archer.get(f"/sessions/{yard.session}").text
    assert archer.get(f"/sessions/{yard.session}/claim", headers={"HX-Request": "true"}).status_code == 404


def test_a_days_page_of_a_claimed_trial_takes_at_most_twelve_statements(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    kit.put(book, "claim", {"trial": yard.trial, **HOLDS, "bow": yard.bow.bow})
    for n in range(6):
        kit.read_shot(book, yard, x=f"{n * 10} mm", y="0")
    archer.get(f"/sessions/{yard.session}")
    with statements(book) as said:
        page = archer.get(f"/sessions/{yard.session}").text
    assert "session-claim-fetched" in page and len(said) <= 12, said


def test_a_trial_has_one_claim_and_may_have_none_again(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    body = {"trial": yard.trial, **HOLDS, "bow": yard.bow.bow}
    kit.put(book, "claim", body)
    assert not kit.ask(book, "claim", body).taken
    path = f"/trials/{yard.trial}/claim"
    refused = archer.post(f"{path}/cross-out", data={"void-reason": ""})
    assert refused.status_code == 422 and "Cross this claim out" in refused.text
    archer.post(f"{path}/cross-out", data={"void-reason": "the bow broke"})
    assert "State a claim" in words(archer, f"/trials/{yard.trial}")
    kit.put(book, "claim", body)


def test_other_boxes_are_drawn_for_another_form_of_claim(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    drawn = archer.post(f"/trials/{yard.trial}/claim/fields", data={"claim_form": "never"}, headers={"HX-Request": "true"})
    assert 'name="heads"' in drawn.text and 'name="one_in"' not in drawn.text


def test_the_file_of_claims_says_what_the_page_says(demo_house: House) -> None:
    rows = list(csv.DictReader(io.StringIO(demo_house.client("owner").get("/download/claims.csv").text)))
    assert [(row["head_form"], row["head_through_low"], row["head_shots"], row["head_verdict"]) for row in rows] == [
        ("needle", "5", "5", "no"),
        ("short_bodkin", "4", "4", "no"),
        ("leaf", "0", "3", "not_yet"),
        ("barbed", "0", "4", "not_yet"),
    ]
    assert {row["claim_verdict"] for row in rows} == {"no"} and {row["claim_before_first_shot"] for row in rows} == {"yes"}
    assert rows[0]["claim_answer"].replace("\xa0", " ") == NO
    # Five of five, shares from 0.1 to 1 weighed evenly: the integral of p^5 over 0.9 is (1 - 0.1^6) / 5.4, against 0.1^5.
    assert float(rows[0]["head_e_no"]) == pytest.approx(10**5 * (1 - 0.1**6) / 5.4) and round(float(rows[0]["head_share_low"]), 4) == 0.4288


def test_a_viewer_of_another_trial_sees_no_claim_of_this_one(demo_house: House) -> None:
    with demo_house.storage.read() as session:
        other = called(session)["thin plate"]
    owner = demo_house.client("owner")
    assert NO not in words(owner, f"/trials/{other}")


def test_a_claim_typed_in_after_shots_that_came_earlier_is_a_lead(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    kit.put(book, "claim", {"trial": yard.trial, **HOLDS, "bow": yard.bow.bow})
    assert "before the first shot" in words(archer, f"/trials/{yard.trial}")
    kit.shot(book, yard, loosed_at=now_ms() - 3_600_000)  # a phone that comes late with what was shot before
    page = words(archer, f"/trials/{yard.trial}")
    assert "Asked after the shots: a lead, not a test." in page
