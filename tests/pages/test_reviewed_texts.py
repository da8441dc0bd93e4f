"""Each main page of the demo says what its reviewed text says: `texts/<page>.txt`, read in the diff of the commit that changes it.

`pytest tests/pages/test_reviewed_texts.py --rewrite-texts` writes them again. What hangs on the moment or on chance (ids, the seed
that a new order is drawn by) is masked. How a page is read as text: `page_text.py`.
"""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from proofyard.opening import open_book
from starlette.testclient import TestClient

from tests.conftest import copied, house_of
from tests.demo_for_tests import called
from tests.pages.page_text import text_of

TEXTS = Path(__file__).parent / "texts"

# Name of the text: who reads it, and the address. A word in braces is an id of the demo, by what a person calls it.
PAGES = {
    "home": ("archer", "/"),
    "more": ("owner", "/more"),
    "methods": ("stranger", "/methods"),
    "methods_of_a_topic": ("stranger", "/methods/shares"),
    "methods_filtered": ("stranger", "/methods?q=drag"),
    "dictionary": ("viewer", "/download/dictionary"),
    "dictionary_of_a_topic": ("viewer", "/download/dictionary/shots-target"),
    "guide": ("stranger", "/guide"),
    "trials": ("viewer", "/trials"),
    "trial_of_thin_plate": ("viewer", "/trials/{thin plate}"),
    "trial_of_mail_and_scale": ("viewer", "/trials/{mail and scale}"),
    "trial_of_thick_plate": ("archer", "/trials/{thick plate}"),
    "new_trial": ("archer", "/trials/new"),
    "plan": ("archer", "/trials/{planned}/plan"),
    "next_shot": ("archer", "/trials/{planned}/next"),
    "trial_comparison": ("viewer", "/trials/compare"),
    "session": ("archer", "/sessions/{first day}"),
    "day": ("viewer", "/sessions/{first day}/day"),
    "last_day": ("viewer", "/sessions/{last day}/day"),
    "shots": ("viewer", "/results/shots"),
    "all_photos": ("viewer", "/photos/all"),
    "find": ("viewer", "/find?q=split+plate+photo"),
    "find_meant": ("viewer", "/find?q=brodhed"),
    "all_shots": ("viewer", "/shots?head=needle&sort=energy"),
    "shot": ("viewer", "/shots/{dent with a print}"),
    "shot_unread": ("archer", "/shots/{unread shot}"),
    "read_again": ("archer", "/shots/{dent with a print}/read-again"),
    "correct": ("archer", "/shots/{dent with a print}/correct"),
    "results": ("viewer", "/results"),
    "results_of_scale": ("viewer", "/results?panel_type=scale-1"),
    "results_shares": ("viewer", "/results/shares"),
    "results_every_shot": ("viewer", "/results/every-shot"),
    "results_depth": ("viewer", "/results/depth"),
    "results_arrows": ("viewer", "/results/arrows"),
    "results_left_out": ("viewer", "/results/left-out"),
    "results_table": ("viewer", "/results/table"),
    "fifty_percent": ("viewer", "/fifty-percent"),
    "fifty_percent_by_terms": ("viewer", "/fifty-percent?panel_type=plate-1.2&term=angle&term=near&tails=10,+90"),
    "protection": ("viewer", "/protection"),
    "arrow_damage": ("viewer", "/arrow-damage"),
    "measures": ("viewer", "/measures"),
    "compare": ("viewer", "/compare?panel_type=plate-1.2"),
    "compare_a_pair": ("viewer", "/compare?panel_type=plate-1.2&of=needle&of=short_bodkin"),
    "wear": ("viewer", "/compare/wear?panel_type=plate-1.2"),
    "what_if": ("viewer", "/what-if"),
    "what_if_thinner": ("viewer", "/what-if?panel={P2}&thickness=1.0+mm"),
    "what_if_two_changes": ("viewer", "/what-if?panel={P2}&thickness=1.0+mm&head=short_bodkin&b_thickness=2+mm&b_angle=30"),
    "another_bow": ("viewer", "/another-bow"),
    "another_bow_of_160_lb": ("viewer", "/another-bow?weight=160+lb&mass=80+g&distance=30+m"),
    "blunt": ("viewer", "/blunt"),
    "blunt_of_a_shot": ("viewer", "/blunt?trial={thin plate}&shot={dent with a print}&width=60+mm&body=woman"),
    "panel": ("viewer", "/panels/{P2}"),
    "arrow": ("viewer", "/arrows/{arrow}"),
    "bow": ("viewer", "/bows/{bow}"),
    "combinations": ("viewer", "/combinations"),
    "speeds_of_several": ("archer", "/combinations/several"),
    "combination": ("viewer", "/combinations/{combination}"),
    "kit": ("archer", "/kit"),
    "kit_start": ("archer", "/kit/start"),
    "new_bow": ("archer", "/kit/bow/new"),
    "new_panel": ("archer", "/kit/panel/new"),
    "new_arrow": ("archer", "/kit/arrow/new"),
    "speed_by_frames": ("archer", "/speeds/frames"),
    "speed_by_sound": ("archer", "/speeds/sound"),
    "log": ("archer", "/log"),
    "download": ("viewer", "/download"),
    "join": ("stranger", "/join"),
}
FRAMED = "trials"  # the one that is read with its frame: menu, notice, lights
MASKS = (
    (re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}"), "ID"),
    (re.compile(r"^\[\d{6}\]$", re.MULTILINE), "[SEED]"),
)


@dataclass(frozen=True)
class Demo:
    """The demo's pages as each role sees them, and its ids by the names above."""

    clients: dict[str, TestClient]
    ids: dict[str, str]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Iterator[Demo]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TZ", "UTC")
        time.tzset()
        storage = open_book(copied(demo_book_file, tmp_path_factory.mktemp("texts") / "demo"))
        house = house_of(storage, demo=True)
        with storage.read() as session:
            ids = called(session)
        yield Demo({role: house.client(role) for role in ("owner", "archer", "viewer", "stranger")}, ids)
        storage.close()
    time.tzset()


@pytest.mark.parametrize("name", PAGES)
def test_a_main_page_of_the_demo_says_what_was_reviewed(demo: Demo, name: str, request: pytest.FixtureRequest) -> None:
    role, address = PAGES[name]
    answer = demo.clients[role].get(address.format_map(demo.ids))
    assert answer.status_code == 200
    said, kept = text_of(answer.text, frame=name == FRAMED), TEXTS / f"{name}.txt"
    for pattern, mask in MASKS:
        said = pattern.sub(mask, said)
    if request.config.getoption("--rewrite-texts"):
        kept.write_text(said, encoding="utf-8")
    reviewed = kept.read_text(encoding="utf-8") if kept.exists() else ""
    assert said.splitlines() == reviewed.splitlines(), f"{address} says something else: read it, then pytest --rewrite-texts"


def test_the_demo_speaks_of_no_day_after_its_own_and_its_predictions_came_before_its_shots() -> None:
    """What is invented was shot on two days of October 2026 and written down by then: when the demo was put in is nobody's business."""
    texts = {one.stem: one.read_text(encoding="utf-8") for one in TEXTS.glob("*.txt")}
    assert [
        name for name, text in texts.items() if re.search(r"\b(?:November|December) 2026|\b(?:1[89]|2\d|3[01]) October 2026", text)
    ] == []
    said = [line for text in texts.values() for line in text.splitlines() if re.search(r"^Recorded by |\. Said \d", line)]
    assert len(said) >= 5 and all("before the first shot" in line for line in said)


def test_every_text_is_of_a_page() -> None:
    assert {one.stem for one in TEXTS.glob("*.txt")} == set(PAGES)
