"""The page of the energy to get through as a browser gets it, script off: each refusal in words, each bad value by its field."""

from __future__ import annotations

import re
import threading
import time
from html import unescape
from urllib.parse import urlencode

import pytest
from proofyard.access.seats import hash_of, new_token
from proofyard.answers.fifty_percent import page as fifty_percent
from proofyard.answers.results.drawings import drawn_heads
from proofyard.answers.results.page import results_of
from proofyard.quantities.reason import because
from proofyard.records import devices
from proofyard.shots.loosed import load_loosed
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit
from tests.conftest import House
from tests.fifty_percent_for_tests import Shooting, mirrored
from tests.pages.test_results_page import Tags
from tests.statements_for_tests import statements

ANY = {"fair": "any", "at": "chronograph"}


def page(client: TestClient, status: int = 200, **more: str) -> str:
    """The page's text, as it is read: no marks of HTML, spaces plain."""
    got = client.get("/fifty-percent?" + urlencode({**ANY, **more}, doseq=True))
    assert got.status_code == status, got.text[:400]
    return said(got.text)


def said(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", html.split("<main", 1)[1]))).replace("\N{NO-BREAK SPACE}", " ")


def test_the_page_says_its_finding_then_draws_it_then_lists_it(book: Storage, viewer: TestClient) -> None:
    Shooting(book).loose("needle", *mirrored(45.0, 1.12))
    html = viewer.get("/fifty-percent?" + urlencode(ANY)).text
    places = [
        html.index(part)
        for part in ("<h1>", 'id="fifty-percent-filters"', 'class="chart__drawing"', "fifty-percent__points", 'id="fifty-percent-mind"')
    ]
    assert places == sorted(places)
    text = said(html)
    assert "The 50 % energy of the long needle bodkin against 1.6 mm one-piece plate is 45 J, 95 % interval " in text
    assert "7 of 14 Long needle bodkin: 45 J" in text
    assert "Energy at the chronograph" in text
    assert 'href="/guide/fifty-percent"' in html


@pytest.mark.parametrize(
    ("energies", "through", "reason"),
    [
        ([30.0, 40.0, 50.0, 60.0], [1, 1, 1, 1], "All 4 shots got through, so half lies below the energies shot: try less."),
        ([30.0, 40.0, 50.0, 60.0], [0, 0, 0, 0], "None of 4 shots got through, so half lies above the energies shot: try more."),
        ([None, None, None], [0, 1, 1], "None of the 3 shots has a measured energy."),
        ([45.0] * 6, [0, 1, 0, 1, 0, 1], "All shots had one energy, so they can’t show how the chance changes with it."),
        (
            [30.0, 34.0, 38.0, 42.0, 46.0, 50.0, 54.0, 58.0],
            [1, 1, 1, 1, 0, 0, 0, 0],
            "In your shots, those with more energy got through no more often than those with less, so no curve can rise through half: "
            "look for what else changed with the energy.",
        ),
        ([30.0, 40.0, 50.0, 60.0], [0, 1, 0, 1], "Your shots don’t yet show that more energy gets through more often."),
        ([40.0, 50.0], ["34", "34"], "2 shots undecided: check from behind whether they got through."),
    ],
    ids=["all through", "none through", "no energy", "one energy", "falling", "mixed", "not looked behind"],
)
def test_what_cannot_be_placed_is_said_with_its_reason(
    book: Storage, viewer: TestClient, energies: list[float | None], through: list[int | str], reason: str
) -> None:
    Shooting(book).loose("needle", energies, through)
    text = page(viewer)
    assert "No estimate yet with any head." in text
    assert "Long needle bodkin No estimate yet" in text
    assert reason in text
    assert "chart__drawing" not in viewer.get("/fifty-percent?" + urlencode(ANY)).text


def test_one_head_alone_is_compared_with_nothing(book: Storage, viewer: TestClient) -> None:
    Shooting(book).loose("needle", *mirrored(45.0, 1.12))
    assert "Not compared: only the long needle bodkin was shot, so there is nothing to compare it with." in page(viewer)


def test_a_side_that_is_open_is_said_to_be_open(book: Storage, viewer: TestClient) -> None:
    """All but the highest of 20 shots stopped: nothing says how far above them half would get through."""
    Shooting(book).loose("needle", [30.0 + n for n in range(20)], [0] * 19 + [1])
    text = page(viewer)
    assert "Not less than 46 J (one-sided, 97.5 %), how far above can’t be told; outside the energies shot" in text
    assert "not less than 46 J (one-sided, 97.5 %), how far above can’t be told" in text[:2000]
    assert "such a one-sided limit is right in about 98 of 100 cases" in text and "in about 7 of 8" in text
    around = re.search(r"The 50 % energy of .{0,200}?one-sided, 97\.5 %\), how far above can’t be told \(20 shots\)", text)
    assert around is not None and " 95 %" not in around[0]
    assert "That is outside the energies shot, 30 to 49 J: an extrapolation of the curve that no shot has checked." in text
    assert "Your shots don’t yet show that more energy gets through more often, so it may lie any way above." in text


def test_an_empty_book_says_so(viewer: TestClient) -> None:
    text = page(viewer)
    assert "No shots yet." in text and "No curve" in text


def test_rules_that_contradict_each_other_are_refused_in_words(book: Storage, viewer: TestClient) -> None:
    Shooting(book).loose("needle", *mirrored(45.0, 1.12))
    text = page(viewer, few_spread="50", many_spread="130 fps")
    assert (
        "Not worked out: the settings contradict each other: 5 and 5 within 39.6 m/s can never decide beside 3 and 3 within 50 m/s." in text
    )
    assert "A rule borrowed from tests of bullets" in text


def test_a_view_that_contradicts_itself_is_refused_by_its_field(book: Storage, viewer: TestClient) -> None:
    Shooting(book).loose("needle", [40.0], [1], entry="old_hit")
    text = page(viewer, 422, fair="fair", entry="old_hit")
    assert text.count("These two settings exclude each other: a hit there is never fair.") == 2


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("tails", "lots", "is not a list of percentages"),
        ("tails", "0, 50", "above 0 and below 100 %"),
        ("tails", "120", "above 0 and below 100 %"),
        ("tails", "10, 20, 30, 40, 50", "5 are too many to read"),
        ("few_spread", "-3", "No speed"),
        ("many_spread", "16 ga", "16 ga"),
        ("term", "phase of the moon", "cannot be added to the curve"),
        ("arrow", "' or 1=1 --", "That arrow was not shot here"),
        ("head", "spoon", "No shot has that head"),
        ("at", "\x00", "is not one of the choices"),
        ("through", "6", "is not one of the choices"),
        ("bow", "<b>nobody</b>", "No shot for"),
    ],
)
def test_a_bad_value_is_said_twice_and_the_rest_is_kept(book: Storage, viewer: TestClient, name: str, value: str, words: str) -> None:
    Shooting(book).loose("needle", *mirrored(45.0, 1.12))
    query = {**ANY, "tails": "20, 80", "few_spread": "35 m/s", name: value}
    got = viewer.get("/fifty-percent?" + urlencode(query))
    assert got.status_code == 422 and re.search(r"<title>\d+ fields? to check, ", got.text)
    assert f'href="#{name}"' in got.text and f'id="{name}-error"' in got.text
    if name not in ("few_spread", "many_spread"):
        assert said(got.text).count(words) == 2, said(got.text)[:600]
    if name != "tails":
        assert 'value="20, 80"' in got.text
    if name != "few_spread":
        assert 'value="35 m/s"' in got.text
    assert "<b>nobody" not in got.text
    assert 'class="chart__drawing"' in got.text or name in ("bow", "through"), "the page still shows what it can"


def test_settings_stand_in_the_form_and_lead_back_to_the_same_shots(book: Storage, viewer: TestClient) -> None:
    Shooting(book).loose("needle", *mirrored(45.0, 1.12))
    asked = {**ANY, "head": "needle", "term": ["angle", "near"], "tails": "20, 80", "edges": "40, 50", "method": "exact", "through": "5"}
    html = viewer.get("/fifty-percent?" + urlencode(asked, doseq=True)).text
    tags = Tags(html).tags
    chosen = {(attrs["name"], attrs["value"]) for tag, attrs in tags if tag == "input" and "checked" in attrs}
    assert chosen >= {("head", "needle"), ("term", "angle"), ("term", "near"), ("fair", "any"), ("at", "chronograph"), ("through", "5")}
    kept = {(attrs["name"], attrs["value"]) for tag, attrs in tags if tag == "input" and attrs.get("type") == "hidden"}
    assert kept >= {("edges", "40, 50"), ("method", "exact")}
    back = next(href for href in Tags(html).hrefs() if href.startswith("/results?"))
    assert viewer.get(back).status_code == 200
    assert "edges=40%2C+50" in back and "method=exact" in back and "through=5" in back


def test_the_results_page_draws_the_same_curve_and_says_the_same_point(book: Storage, viewer: TestClient) -> None:
    Shooting(book).loose("needle", *mirrored(45.0, 1.12))
    html = viewer.get("/results/every-shot?" + urlencode(ANY)).text
    point = re.search(r"bodkin: (45 J) 95 % interval ([^,(;]+? J)", page(viewer))
    assert point is not None
    assert f"50 % energy: {point[1]}, 95 % interval {point[2]} (14 shots)." in said(html)
    assert 'class="chart__path"' in html and 'class="chart__band"' in html
    led = next(href for href in Tags(html).hrefs() if href.startswith("/fifty-percent?"))
    assert "fair=any" in led and viewer.get(led).status_code == 200


def test_the_results_page_draws_no_curve_through_two_panel_types(book: Storage, viewer: TestClient) -> None:
    shooting = Shooting(book)
    shooting.panel("P2", thickness="1.2 mm")
    shooting.loose("needle", *mirrored(45.0, 1.12))
    shooting.loose("needle", *mirrored(30.0, 1.12), panel="P2")
    thick, thin = (viewer.get("/results/every-shot?" + urlencode({**ANY, "panel_type": one})).text for one in ("plate-1.6", "plate-1.2"))
    assert 'class="chart__path"' in thick and 'class="chart__path"' in thin
    points = [re.search(r"50 % energy: (\d+) J", said(html)) for html in (thick, thin)]
    assert [point and round(int(point[1]) / 5) * 5 for point in points] == [45, 30]
    with book.read() as session:
        mixed = results_of(load_loosed(session), {"fair": ["any"], "at": ["chronograph"]})
    assert [one.fifty_percent for one in drawn_heads(mixed)] == [because("curve_of_mixed_types", types=2)]


def test_the_results_page_draws_no_curve_against_anything_but_energy(book: Storage, viewer: TestClient) -> None:
    Shooting(book).loose("needle", *mirrored(45.0, 1.12))
    html = viewer.get("/results/every-shot?" + urlencode({**ANY, "axis": "front"})).text
    assert 'class="chart__path"' not in html and "50 % energy:" not in said(html)


def test_a_reader_of_foot_pounds_gets_foot_pounds(book: Storage, viewer: TestClient) -> None:
    Shooting(book).loose("needle", *mirrored(45.0, 1.12))
    viewer.cookies.set("units", "imperial")
    text = page(viewer)
    assert "is 33 ft·lbf, 95 % interval " in text, "45 J"
    assert "Energy, ft·lbf" in text


def test_a_viewer_of_one_trial_sees_no_other(house: House, book: Storage) -> None:
    first = Shooting(book)
    first.loose("needle", *mirrored(45.0, 1.12))
    second = kit.open_trial(book, "And what does mail stop?")
    token = new_token()
    with book.write() as session:
        devices.add_device(session, call_name="Ash", role="viewer", session_hash=hash_of(token), trial_id=second.trial)
    house.tokens["scoped"] = token
    assert "No shots yet." in page(house.client("scoped"))


def test_it_asks_the_book_as_often_for_many_shots_as_for_few(book: Storage, viewer: TestClient) -> None:
    shooting = Shooting(book)
    shooting.loose("needle", *mirrored(45.0, 1.12))
    page(viewer)
    with statements(book) as few:
        page(viewer, term="near")
    shooting.loose("leaf", [30.0 + n for n in range(40)], [int(n > 20) for n in range(40)])
    with statements(book) as many:
        page(viewer, term="near")
    assert len(few) == len(many) <= 12


def test_one_page_is_worked_out_at_a_time_and_a_save_does_not_wait_for_it(
    book: Storage, house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Four readers ask at once, each fit held up: no two run together, and a shot is saved while they do."""
    shooting = Shooting(book)
    shooting.loose("needle", *mirrored(45.0, 1.12))
    running, most, begun, held = [0], [0], threading.Event(), threading.Event()
    real = fifty_percent.fifty_percent_of

    def slow(*args: object, **kwargs: object) -> object:
        running[0] += 1
        most[0] = max(most[0], running[0])
        begun.set()
        held.wait(20)
        time.sleep(0.05)
        running[0] -= 1
        return real(*args, **kwargs)

    monkeypatch.setattr(fifty_percent, "fifty_percent_of", slow)
    found: list[int] = []
    with house.client("viewer") as client, house.client("archer") as archer:
        readers = [threading.Thread(target=lambda: found.append(client.get("/fifty-percent?fair=any").status_code)) for _ in range(4)]
        for reader in readers:
            reader.start()
        assert begun.wait(20)
        saved = archer.post("/trials/new", data={"operation": "", "question": "Is it quick?"})
        assert saved.status_code in (303, 422), "answered while the fit stands still"
        assert not found
        held.set()
        for reader in readers:
            reader.join(30)
    assert found == [200] * 4 and most == [1]


def test_a_curve_can_be_taken_along_as_a_file_that_stands_alone(book: Storage, viewer: TestClient) -> None:
    Shooting(book).loose("needle", *mirrored(45.0, 1.12))
    html = viewer.get("/fifty-percent?" + urlencode(ANY)).text
    href = next(href for href in Tags(html).hrefs() if href.startswith("/fifty-percent/drawings/") and ".svg" in href)
    got = viewer.get(href)
    assert got.status_code == 200 and got.headers["content-type"].startswith("image/svg+xml")
    assert "chance to get through, by energy" in got.text and "is 45" in got.text and "class=" not in got.text
    assert viewer.get(href.replace("needle", "spoon")).status_code == 404
    assert viewer.get(href.replace(".svg", ".gif")).status_code == 404
