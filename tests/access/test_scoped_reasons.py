"""Why a hit was fair or not may rest on a shot of another trial: a viewer of one trial is told so, never which shot."""

import html
import re

import pytest
from proofyard.access.seats import hash_of, new_token
from proofyard.quantities.reason import because
from proofyard.records import devices
from proofyard.records.shot_facts import shot_facts
from proofyard.shots.loosed import load_loosed
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House

MINUTE = 60_000
HURT_ELSEWHERE = "arrow unsound: point blunted at an earlier shot of another trial"
NEAR_ELSEWHERE = "10\u00a0mm from a shot of another trial"


@pytest.fixture
def mixed(book: Storage) -> kit.Yard:
    """Two trials shoot at one panel, and with one arrow. X1 to X3 are the other trial's; A1 to A3 this one's.

    X1 hit another panel and blunted the arrow of A1. A2 lies 10 mm from X2. A3 may be the hit of X3.
    """
    yard = kit.yard(book)
    other = kit.open_trial(book, "Something else?")
    sound = kit.arrow(book).build
    away = kit.shooting_end(book, kit.setup(book, other.session, kit.panel(book).build))
    kit.reading(book, kit.shot(book, yard, label="X1", shooting_end_id=away), x="0", y="0", head_fate=["blunted"])
    here = kit.shooting_end(book, kit.setup(book, other.session, yard.panel.build), begun_at=kit.BEGAN + 10 * MINUTE)
    at = {"shooting_end_id": here, "arrow_build": sound}
    kit.reading(book, kit.shot(book, yard, label="X2", loosed_at=kit.BEGAN + 11 * MINUTE, **at), x="50 mm", y="0", outcome_low="4")
    maybe = kit.shot(book, yard, label="X3", loosed_at=kit.BEGAN + 12 * MINUTE, **at)
    kit.reading(book, maybe, x="-80 mm", y="80 mm", outcome_low="0")
    mine = kit.shooting_end(book, yard.setup, begun_at=kit.BEGAN + 30 * MINUTE)
    when = [kit.BEGAN + n * MINUTE for n in (31, 32, 33)]
    kit.reading(book, kit.shot(book, yard, label="A1", shooting_end_id=mine, loosed_at=when[0]), x="-60 mm", y="90 mm")
    two = kit.shot(book, yard, label="A2", shooting_end_id=mine, arrow_build=sound, loosed_at=when[1])
    kit.reading(book, two, x="60 mm", y="0", fair_overrule="fair", fair_reason="the edge was whole")
    three = kit.shot(book, yard, label="A3", shooting_end_id=mine, arrow_build=sound, loosed_at=when[2])
    kit.reading(book, three, x="-90 mm", y="-90 mm", outcome_low="0", may_be_shot=maybe)
    return yard


@pytest.fixture
def scoped(house: House, book: Storage, mixed: kit.Yard) -> TestClient:
    token = new_token()
    with book.write() as session:
        devices.add_device(session, call_name="Pip", role="viewer", session_hash=hash_of(token), trial_id=mixed.trial)
    house.tokens["scoped"] = token
    return house.client("scoped")


def words_of(client: TestClient, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200, path
    return html.unescape(re.sub(r"<[^>]+>", " ", answer.text))


def test_reasons_name_a_shot_of_another_trial_to_those_who_see_all_and_not_to_others(book: Storage, mixed: kit.Yard) -> None:
    with book.read() as session:
        loosed = load_loosed(session)
    every = {s.fact.label: s.fair for s in loosed.shots}
    narrow = {s.fact.label: s.fair for s in loosed.of_trial(mixed.trial).shots}
    assert set(narrow) == {"A1", "A2", "A3"}
    assert every["A1"].reason == because("fair_arrow_hurt", shot="X1", fates=("blunted",))
    assert narrow["A1"].reason == because("fair_arrow_hurt", shot=None, fates=("blunted",))
    for marks, shot in ((every, "X2"), (narrow, None)):
        ruled = marks["A2"].worked_out
        assert ruled.answer == "not_fair"
        assert ruled.reason == because("fair_too_near", shot=shot, away_m=pytest.approx(0.01), opened_ring=False)
    assert narrow["A2"].reason == every["A2"].reason == because("fair_overruled", why="the edge was whole")
    assert every["A3"].reason == because("fair_may_be_the_hit_of", shot="X3")
    assert narrow["A3"].reason == because("fair_may_be_the_hit_of", shot=None)
    assert [(m.answer, m.sort) for m in narrow.values()] == [(every[label].answer, every[label].sort) for label in narrow]


def test_no_page_of_a_scoped_viewer_names_one(viewer: TestClient, scoped: TestClient, book: Storage, mixed: kit.Yard) -> None:
    with book.read() as session:
        shots = {f.label: f.shot_id for f in shot_facts(session)}
    pages = {
        f"/trials/{mixed.trial}": (),
        f"/panels/{mixed.panel.build}": (HURT_ELSEWHERE,),
        f"/arrows/{mixed.arrow.arrow}": (HURT_ELSEWHERE,),
        f"/shots/{shots['A1']}": (HURT_ELSEWHERE,),
        f"/shots/{shots['A2']}": (NEAR_ELSEWHERE,),
        f"/shots/{shots['A3']}": ("the hit of a shot of another trial",),
        "/results/shots?out=not_fair": (HURT_ELSEWHERE,),
        "/download/shots.csv": (HURT_ELSEWHERE, NEAR_ELSEWHERE, ",a shot of another trial,"),
        "/results": (),
        "/compare": (),
        f"/sessions/{mixed.session}/day": (),
    }
    named = []
    for page, said in pages.items():
        words = words_of(scoped, page)
        assert re.findall(r"\bX[123]\b", words) == [], page
        assert all(one in words for one in said), page
        named += re.findall(r"\bX[123]\b", words_of(viewer, page))
    assert set(named) == {"X1", "X2", "X3"}, "what is kept from one viewer is told to those who may see it"


def test_a_panels_page_counts_the_trials_own_hits_alone(viewer: TestClient, scoped: TestClient, mixed: kit.Yard) -> None:
    """The order on the panel would tell how many hits of other trials lie between."""

    def numbers(client: TestClient, page: str) -> list[str]:
        return re.findall(r">(\d+)</span>", client.get(page).text)

    page = f"/panels/{mixed.panel.build}"
    assert {"4", "5"} & set(numbers(viewer, page))
    assert not {"4", "5"} & set(numbers(scoped, page)) and {"1", "2", "3"} <= set(numbers(scoped, page))
    trial = f"/trials/{mixed.trial}"
    all_hits, own = ([int(n) for n in re.findall(r"\b(\d+) hits?\b", words_of(client, trial))] for client in (viewer, scoped))
    assert max(own) == 3 < max(all_hits), "its small drawing tells no more"
    words = words_of(scoped, f"/panels/{mixed.panel.build}")
    assert "order of this trial’s hits on this panel" in words and "order on this panel" not in words
