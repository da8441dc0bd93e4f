"""What keeps people whole: the card, the cautions, hits of an arrow counted by its builds, incidents with distance."""

import html
import re
from pathlib import Path
from typing import Any

import pytest
from proofyard.pages.kit.endings import REASONS
from proofyard.pages.range.day_sheet import STRIP
from proofyard.records.hit_facts import BuildHits
from proofyard.records.trial import CAUTIONS
from proofyard.shots.soundness import arrow_hits, hits_by_arrow
from proofyard.storage import Storage
from proofyard.wording.reasons.said import said as reason_words
from starlette.testclient import TestClient

from tests import kit_for_tests as kit

STRIP_SCRIPT = (Path(__file__).parents[2] / "static" / "js" / "range" / "strip.js").read_text(encoding="utf-8")


def text_of(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_the_card_explains_what_the_strip_really_says() -> None:
    for words, _ in STRIP:
        for piece in (
            "All in the book",
            "on this phone only",
            "oldest",
            "sending",
            "Laptop not reachable, keep logging",
            "Not saving.",
            "See below",
            "This phone is not let in",
        ):
            if piece in words:
                assert piece in STRIP_SCRIPT, piece
    said = " ".join(words for words, _ in STRIP)
    for piece in ("All in the book", "on this phone only", "Laptop not reachable, keep logging", "needs you", "Not saving."):
        assert piece in said


def test_the_sheet_has_network_joining_strip_needs_packing_cautions_and_the_sentence_about_http(viewer: TestClient) -> None:
    page = text_of(viewer.get("/range-day-sheet").text)
    for heading in ("The network", "Joining", "What the strip says", "“Needs you”", "Packing up", "Before the first arrow"):
        assert heading in page
    assert "plain http: others on the same network can read what you send" in page
    assert all(caution in page for caution in CAUTIONS.values())
    assert (
        "Walk forward only when all bows are down and the officer says so." in page
        and "local law" in page
        and "A doctor judges a wound, not this page" in page
    )
    assert "keep this network" in page and "do not press reload" in page


SAFETY = {
    "line": (
        "Eye protection on. Nobody in front of the line or near the panel.",
        "Shoot only arrows that you have flexed and found sound.",
        "The range officer’s word overrides this page.",
    ),
    "butt": (
        "Walk forward only when all bows are down and the officer says so.",
        "Pull straight; nobody stands in line behind the nock.",
        "Torn plate and broken heads are sharp: wear gloves.",
    ),
    "bench": ("Flex each arrow away from faces; eye protection on.", "If it is cracked, crushed or loose, retire it."),
}
# What these said before. "Eyes covered" is a blindfold to whoever reads it as English.
MISREAD = re.compile(
    r"eyes covered|nobody forward|only arrows flexed|officer comes before this|forward only when every bow|nobody behind the nock"
    r"|opened plate and broken|does not fly again|range card|wearer’s side have got",
    re.IGNORECASE,
)


@pytest.mark.parametrize("place", SAFETY)
def test_the_cautions_of_line_butt_and_bench_say_what_to_do_on_the_page_and_on_paper(
    place: str, archer: TestClient, viewer: TestClient, book: Storage
) -> None:
    kit.yard(book)
    for page in (archer.get("/range").text, viewer.get("/range-day-sheet").text):
        assert all(sentence in text_of(page) for sentence in SAFETY[place])


def test_no_page_guide_or_script_says_what_can_be_misread() -> None:
    """The guide, the templates, the phones' scripts and what the server says, whichever page shows it."""
    said = []
    for top, kind in (("templates", "*.html"), ("static", "*.md"), ("static", "*.js"), ("server", "*.py"), ("seed_demo", "*.py")):
        for file in (Path(__file__).parents[2] / top).rglob(kind):
            said += [f"{file.name}: {found[0]}" for found in MISREAD.finditer(file.read_text(encoding="utf-8"))]
    assert not said, said


@pytest.mark.parametrize("noun", ["archer", "bow", "head", "arrow", "panel", "stand", "instrument"])
def test_why_something_is_retired_is_asked_in_words_of_that_kind_of_thing(noun: str, archer: TestClient, book: Storage) -> None:
    """ "Retire archer … for example: shaft cracked" stood on every form."""
    makers: dict[str, Any] = {"archer": kit.archer, "stand": kit.stand, "instrument": kit.instrument, "head": kit.head}
    record = makers.get(noun)
    made = record(book) if record else {"bow": kit.bow, "arrow": kit.arrow, "panel": kit.panel}[noun](book)[0]
    page = text_of(archer.get(f"/kit/{noun}/{made}/retire").text)
    assert REASONS[noun][0] in page
    assert not [other for other, (why, _) in REASONS.items() if other != noun and why in page]
    if noun == "archer":
        assert "they are no longer offered at the range" in page and "It stays" not in page


def test_no_two_kinds_share_an_example_and_a_cracked_arrow_is_never_mended() -> None:
    examples = [example for two in REASONS.values() for example in two]
    assert len(set(examples)) == len(examples)
    assert "mended" not in REASONS["arrow"][1] and "flexed and found sound" in REASONS["arrow"][1]


def test_whoever_is_hurt_is_sent_to_a_doctor(book: Storage, viewer: TestClient, archer: TestClient) -> None:
    yard = kit.yard(book)
    assert "Whoever is hurt goes to a doctor." in text_of(viewer.get("/incidents").text)
    assert "Whoever is hurt goes to a doctor, not to this page." in text_of(archer.get(f"/sessions/{yard.session}").text)


def test_the_sheet_names_no_person_no_trial_and_no_device(book: Storage, viewer: TestClient) -> None:
    kit.yard(book, question="A question for the yard alone?")
    page = viewer.get("/range-day-sheet").text
    assert "A question for the yard alone?" not in page and "Wren" not in page.partition("<main")[2]


# --- the arrow


def build(number: int, work: str | None, head: str | None, voided: int, unread: int = 0) -> BuildHits:
    return BuildHits("a", number, work, head, voided, unread)


@pytest.mark.parametrize(
    ("builds", "said"),
    [
        ([build(1, None, "h1", 0)], "No hit since it was made."),
        ([build(1, None, None, 1)], "1 hit since it was made."),
        (
            [build(1, "Mounted", "h1", 8), build(2, "reground", "h1", 3), build(3, "re-mounted", "h1", 2)],
            "13 hits since it was made, 5 since it was sharpened, 2 since its head was mounted.",
        ),
        ([build(1, "Mounted", "h1", 8), build(2, "another head", "h2", 3)], "11 hits since it was made, 3 since its head was mounted."),
        (
            [build(2, "touched up", "h1", 0, unread=2), build(1, None, "h1", 4)],
            "4 hits since it was made, never since it was sharpened, 4 since its head was mounted; 2 not read yet.",
        ),
        ([build(1, "straightened", "h1", 4)], "4 hits since it was made, 4 since its head was mounted."),
    ],
)
def test_hits_of_an_arrow_are_counted_by_what_each_build_says_was_done(builds: list[BuildHits], said: str) -> None:
    assert reason_words(arrow_hits(builds).told) == said
    assert arrow_hits(list(reversed(builds))) == arrow_hits(builds)


def test_an_arrow_s_page_and_the_phones_tell_the_same_hits(book: Storage, archer: TestClient) -> None:
    yard = kit.yard(book)
    kit.read_shot(book, yard)
    kit.read_shot(book, yard, hit="missed")
    kit.read_shot(book, yard, hit="partial")
    later = kit.new_arrow_build(book, yard.arrow)  # its work: reground
    kit.reading(book, kit.shot(book, yard, arrow_build=later.build), outcome_low="4")
    kit.shot(book, yard, arrow_build=later.build)
    kit.shot(book, yard, arrow_build=later.build, purpose="let_down")
    with book.read() as session:
        found = hits_by_arrow(session)[yard.arrow.arrow]
    assert (found.made, found.sharpened, found.mounted, found.unread) == (3, 1, 3, 1)
    assert reason_words(found.told) in text_of(archer.get(f"/arrows/{yard.arrow.arrow}").text)
    arrow = next(one for one in archer.get("/api/range").json()["arrows"] if one["build"] == later.build)
    assert arrow["hits"] == {"made": 3, "sharpened": 1, "mounted": 3, "unread": 1}
    assert arrow["state"] == "to_check"


# --- incidents


def test_every_incident_stands_on_one_page_with_its_distance_and_what_was_done(book: Storage, viewer: TestClient) -> None:
    yard = kit.yard(book)
    assert "No incident was recorded" in viewer.get("/incidents").text
    loosed = kit.shot(book, yard, label="B9")
    kit.put(
        book,
        "incident",
        {"session": yard.session, "shot": loosed, "what": "bounce_back", "distance": "6 m", "done": "moved the line back to 20 m"},
    )
    kit.put(book, "incident", {"session": yard.session, "what": "near_miss"})
    voided = kit.put(book, "incident", {"session": yard.session, "what": "stop"})
    kit.void(book, "incident", voided)
    page = text_of(viewer.get("/incidents").text)
    assert "2 incidents: 1 bounced back, 1 near miss" in page
    assert re.search(r"B9 Bounced back, 6\s?m", page) and "Done: moved the line back to 20 m." in page
    assert "What was done: not recorded." in page and "Shooting stopped" not in page
