"""What keeps people whole: the card, the cautions, strikes of an arrow counted by its builds, incidents with distance."""

import html
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from server.findings.strikes import strikes, strikes_by_arrow
from server.pages.range_card import STRIP
from server.records.strike_facts import BuildStrikes
from server.records.trial import CAUTIONS
from server.storage import Storage
from tests import kit_for_tests as kit

STRIP_SCRIPT = (Path(__file__).parents[2] / "static" / "js" / "range" / "strip.js").read_text(encoding="utf-8")


def text_of(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_the_card_explains_what_the_strip_really_says() -> None:
    for words, _ in STRIP:
        for piece in ("All in the book", "on this phone only", "oldest", "sending", "Laptop not reachable, keep logging", "Not saving.", "See below", "This phone is not let in"):
            if piece in words:
                assert piece in STRIP_SCRIPT, piece
    said = " ".join(words for words, _ in STRIP)
    for piece in ("All in the book", "on this phone only", "Laptop not reachable, keep logging", "needs you", "Not saving."):
        assert piece in said


def test_the_card_has_network_joining_strip_needs_packing_cautions_and_the_sentence_about_http(viewer: TestClient) -> None:
    page = text_of(viewer.get("/range-card").text)
    for heading in ("The network", "Joining", "What the strip says", "“Needs you”", "Packing up", "Before the first arrow"):
        assert heading in page
    assert "plain http: others on the same network can read along" in page
    assert all(caution in page for caution in CAUTIONS.values())
    assert "Forward only when every bow is down" in page and "local law" in page and "a doctor judges a wound" in page
    assert "keep this network" in page and "do not press reload" in page


def test_the_card_names_no_person_no_trial_and_no_device(book: Storage, viewer: TestClient) -> None:
    kit.yard(book, question="A question for the yard alone?")
    page = viewer.get("/range-card").text
    assert "A question for the yard alone?" not in page and "Wren" not in page.partition("<main")[2]


# --- the arrow


def build(number: int, work: str | None, head: str | None, struck: int, unread: int = 0) -> BuildStrikes:
    return BuildStrikes("a", number, work, head, struck, unread)


@pytest.mark.parametrize(
    ("builds", "said"),
    [
        ([build(1, None, "h1", 0)], "Never struck since it was made."),
        ([build(1, None, None, 1)], "Struck once since it was made."),
        ([build(1, "Mounted", "h1", 8), build(2, "reground", "h1", 3), build(3, "re-mounted", "h1", 2)], "Struck 13 times since it was made, 5 since it was sharpened, 2 since its head was mounted."),
        ([build(1, "Mounted", "h1", 8), build(2, "another head", "h2", 3)], "Struck 11 times since it was made, 3 since its head was mounted."),
        ([build(2, "touched up", "h1", 0, unread=2), build(1, None, "h1", 4)], "Struck 4 times since it was made, never since it was sharpened, 4 since its head was mounted; 2 not read yet."),
        ([build(1, "straightened", "h1", 4)], "Struck 4 times since it was made, 4 since its head was mounted."),
    ],
)
def test_strikes_are_counted_by_what_each_build_says_was_done(builds: list[BuildStrikes], said: str) -> None:
    assert strikes(builds).words == said
    assert strikes(list(reversed(builds))).words == said


def test_an_arrow_s_page_and_the_phones_tell_the_same_strikes(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    kit.read_shot(book, yard)
    kit.read_shot(book, yard, hit="missed")
    kit.read_shot(book, yard, hit="partial")
    later = kit.new_arrow_build(book, yard.arrow)  # its work: reground
    kit.reading(book, kit.shot(book, yard, arrow_build=later.build), outcome_low="4")
    kit.shot(book, yard, arrow_build=later.build)
    kit.shot(book, yard, arrow_build=later.build, purpose="let_down")
    with book.read() as session:
        found = strikes_by_arrow(session)[yard.arrow.arrow]
    assert (found.made, found.sharpened, found.mounted, found.unread) == (3, 1, 3, 1)
    assert found.words in text_of(archer.get(f"/arrows/{yard.arrow.arrow}").text)
    arrow = next(one for one in archer.get("/api/range").json()["arrows"] if one["arrow"] == yard.arrow.arrow)
    assert arrow["struck"] == {"made": 3, "sharpened": 1, "mounted": 3, "unread": 1}
    assert arrow["state"] == "to_check"


# --- incidents


def test_every_incident_stands_on_one_page_with_its_distance_and_what_was_done(book: Storage, viewer: TestClient) -> None:
    yard = kit.yard(book)
    assert "No incident was written down" in viewer.get("/incidents").text
    loosed = kit.shot(book, yard, label="B9")
    kit.put(book, "incident", {"session": yard.session, "shot": loosed, "what": "bounce_back", "distance": "6 m", "done": "moved the line back to 20 m"})
    kit.put(book, "incident", {"session": yard.session, "what": "near_miss"})
    struck = kit.put(book, "incident", {"session": yard.session, "what": "stop"})
    kit.strike(book, "incident", struck)
    page = text_of(viewer.get("/incidents").text)
    assert "2 incidents: 1 bounced back, 1 near miss" in page
    assert re.search(r"B9 Bounced back, 6\s?m", page) and "Done: moved the line back to 20 m." in page
    assert "What was done is not written down." in page and "Shooting stopped" not in page
