"""One count everywhere: what trials, days, day sheets, results and lists print of the demo's shots adds up, and no energy lacks its
place."""

import html
import re
import time

import pytest
from proofyard.quantities.reason import because
from proofyard.records.ids import new_id
from proofyard.records.listing import all_of
from proofyard.records.shot_facts import shot_facts
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Trial
from proofyard.shots.loosed import LoosedShot, load_loosed
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House


def words_of(client: TestClient, page: str) -> str:
    answer = client.get(page)
    assert answer.status_code == 200, page
    text = re.sub(r"<(script|style|svg).*?</\1>", " ", answer.text, flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", text)))


def number(pattern: str, text: str) -> int:
    found = re.search(pattern, text)
    assert found, (pattern, text[:600])
    return int(found[1])


@pytest.fixture
def demo(demo_house: House) -> TestClient:
    return demo_house.client("owner")


def test_every_page_of_the_demo_that_prints_a_count_prints_the_same(demo_house: House, demo: TestClient) -> None:
    with demo_house.storage.read() as session:
        facts = [fact for fact in shot_facts(session) if fact.purpose != "let_down"]
        trials, days = [one.id for one in all_of(session, Trial)], [(one.id, one.trial_id) for one in all_of(session, Day)]
    of_trial = {one: sum(fact.trial_id == one for fact in facts) for one in trials}
    of_day = {one: sum(fact.session_id == one for fact in facts) for one, _ in days}
    said = {one: number(r"(\d+) shots?, \d+ counted", words_of(demo, f"/trials/{one}")) for one in trials}
    assert said == of_trial
    for one in trials:
        trial = words_of(demo, f"/trials/{one}")
        counted = number(r"(\d+) counted as fair hits", trial)
        left_out = re.search(r"Not counted: ([^.]*)\.", trial)
        assert counted + sum(map(int, re.findall(r"(?:^|, )(\d+) ", left_out[1]))) == of_trial[one]
        assert sum(map(int, re.findall(r"2026[^.]*? (\d+) shots?\b", trial.split("Sessions")[-1]))) in (0, of_trial[one])
        assert _of_all_types(demo, f"trial={one}") == of_trial[one]
    assert {one: number(r"(?:Open|are taken)\. (\d+) shots?", words_of(demo, f"/sessions/{one}")) for one, _ in days} == of_day
    latest = {}
    for one, trial_id in days:
        day_sheet = words_of(demo, f"/sessions/{one}/day")
        assert number(r"(\d+) shots? this day", day_sheet) == of_day[one]
        latest[trial_id] = number(r"counted of (\d+) shots?", day_sheet)
    assert latest == of_trial  # days come in order, so the last day of a trial knows all of its shots
    assert sum(of_day.values()) == sum(of_trial.values()) == _of_all_types(demo, "")
    assert number(r"(\d+) shots are counted", words_of(demo, "/fifty-percent")) == sum(of_trial.values())
    assert sum(map(int, re.findall(r"\d+ of (\d+) shots were read as hits", words_of(demo, "/trials")))) == sum(of_trial.values())


def _of_all_types(demo: TestClient, query: str) -> int:
    """Results show one panel type at a time: the shots of all their tabs."""
    page = demo.get(f"/results/left-out?{query}").text
    tabs = {html.unescape(href) for href in re.findall(r'class="results__tab" href="([^"]+)"', page)}
    return sum(number(r"counted \+ \d+ left out = (\d+) shots", words_of(demo, tab)) for tab in tabs)


def test_a_let_down_is_still_to_be_found(demo: TestClient) -> None:
    tabs = re.findall(r'class="results__tab" href="([^"]+)"', demo.get("/results/left-out").text)
    assert sum("Let down, not a shot: 1" in words_of(demo, html.unescape(tab)) for tab in tabs) == 1
    assert "Let down" in words_of(demo, "/results/shots?out=let_down")


def test_no_energy_stands_without_its_place_and_the_same_shot_has_the_same(demo_house: House, demo: TestClient) -> None:
    def joules_at(shot: LoosedShot, place: str) -> int:
        energy = shot.impact.energy_at(place)
        return round(energy.value) if energy else 0

    with demo_house.storage.read() as session:
        shot = next(s for s in load_loosed(session).shots if s.fair and 10 < joules_at(s, "target") < joules_at(s, "chronograph") - 2)
    fact = shot.fact
    pages = (f"/trials/{fact.trial_id}", f"/panels/{fact.panel_build_id}", f"/arrows/{fact.arrow_id}")
    energies = {}
    for page in pages:
        text = words_of(demo, page)
        bare = re.findall(r"(?:needle bodkin|short bodkin|leaf|needle|barbed|lozenge), \d+ J(?! at the | half way)", text, flags=re.I)
        assert not bare, (page, bare)
        if page.startswith("/trials/"):
            continue  # it counts; each shot stands on its panel's page
        line = re.search(rf"\b{fact.label}\W+(?:[a-z ]+, )?(\d+) J at the (\w+)", text, flags=re.I)
        assert line, page
        energies[page] = line.groups()
    (joules, place), *others = set(energies.values())
    assert not others and place == "target"
    assert int(joules) == joules_at(shot, "target")  # what results count it by


def test_a_bows_change_of_weight_is_one_computation() -> None:
    """Weights at two draws, or one of no known draw, say nothing of a change, on either page."""
    from proofyard.records.bow import BowCheck
    from proofyard.records.caveat_facts import BowChecked
    from proofyard.shots.bow_days import drifts, in_order, weight_change

    first = BowCheck(
        id=new_id(), rev=1, bow_build_id="b", archer_id="a", session_id="s", part="start", at=kit.BEGAN, weight_n=500.0, draw_m=0.78
    )
    last = BowCheck(
        id=new_id(), rev=1, bow_build_id="b", archer_id="a", session_id="s", part="end", at=kit.BEGAN + 1000, weight_n=475.0, draw_m=0.78
    )
    kept = [BowChecked(one.bow_build_id, one.archer_id, one.at, one.weight_n, one.draw_m) for one in (first, last)]
    assert drifts(in_order([first, last]))[0].share == weight_change(*kept)[0] == pytest.approx(-0.05)
    assert weight_change(kept[0], BowChecked("b", "a", kit.BEGAN, 475.0, None)) == (None, because("one_weight_without_a_draw"))


WEAKER = r"Bracken 112 at Tallow’s draw was ([\d.]+)\s%\sweaker (?:at the end of|on) 17 October 2026 than (?:at the start of|on) 10 October"


@pytest.mark.parametrize("zone", ["UTC", "Asia/Tokyo", "Pacific/Auckland", "America/Los_Angeles"])
def test_the_weight_that_a_bow_lost_is_one_figure_on_every_page_wherever_the_laptop_stands(
    demo: TestClient, demo_house: House, monkeypatch: pytest.MonkeyPatch, zone: str
) -> None:
    """111.0 lb at the start of 10 October, 105.4 lb at the end of the 17th: 5.0 %.

    A check belongs to the day of its session. Taken by the clock of a laptop further east, the last one fell on the 18th,
    was passed over, and 106.0 lb at the start of the 17th gave 4.5 %.
    """
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        with demo_house.storage.read() as session:
            facts = [s.fact for s in load_loosed(session).shots if s.fact.bow_name == "Bracken 112"]
        of_trial = {trial: {f.day for f in facts if f.trial_id == trial} for trial in {f.trial_id for f in facts}}
        (trial,) = [one for one, days in of_trial.items() if days == {"2026-10-10", "2026-10-17"}]
        days = {f.session_id for f in facts if f.day == "2026-10-17" and f.trial_id == trial}
        pages = [
            "/results?panel_type=scale-1",
            f"/results?trial={trial}&panel_type=scale-1",
            "/compare",
            "/fifty-percent",
            f"/trials/{trial}",
            *(f"/sessions/{d}/day" for d in days),
        ]
        said = {page: re.findall(WEAKER, words_of(demo, page)) for page in pages}
        assert {one for found in said.values() for one in found} == {"5.0"}, said
        assert all(said.values()), said
        # The bow's own page: what it lost within each day, by the same checks.
        bow = words_of(demo, f"/bows/{facts[0].bow_build_id}")
        assert re.findall(r"[−-]1\.5\d?\s%", bow) and re.findall(r"[−-]0\.5\d?\s%", bow), bow
    finally:
        monkeypatch.delenv("TZ")
        time.tzset()
