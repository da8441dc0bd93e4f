"""Invented days with a known truth, given to the tool blind: every page says the same, and it is the truth, or "not yet".

The truth stays in `Truth`; the book gets what a logger would type (tests/invented_days.py). Seeds are the first three numbers, taken
before any page was read.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.conftest import copied, house_of, opened
from tests.invented_days import MASS_KG, InventedDay, Plan, Truth, energy_at_panel_j, shoot_day
from tests.pages.page_text import text_of

pytestmark = pytest.mark.slow

BOTH = ("needle", "leaf")
WORDS = {"needle": "long needle bodkin", "leaf": "leaf"}
HOLDS: dict[str, Any] = {"claim_form": "holds", "one_in": "10", "thickness": "1.6 mm"}
TELLING, NOT_SHOWN = "shown", "not shown, and not shown to be alike"
SENTENCE = re.compile(
    r"The ([a-z ]+) needs ([\d.]+) times the energy of the ([a-z ]+) \(([\d.]+) to ([\d.]+) at 95 %, as the one question\): ([a-z ,]+)\."
)
ROW = re.compile(
    r"\| ([A-Za-z ]+) against ([A-Za-z ]+) \| ([\d.]+) times the energy \| [^|]+ \| ([\d.]+) to ([\d.]+) \(95 %\) \| (?:[^|]+ \| )?"
    r"(Shown|Not shown, and not shown to be alike)"
)
FIFTY = re.compile(r"The 50 % energy of the ([a-z ]+) against 1.6 mm one-piece plate is (\d+) J, 95 % interval (\d+) to (\d+) J")
OPEN = re.compile(r"The 50 % energy of the ([a-z ]+) against 1.6 mm one-piece plate is not (less|more) than (\d+) J")
DIFFERENCE = re.compile(r"\): shown\b|Shown: ")
ANSWER = re.compile(r"\b(Yes, as far as asked|No, not against|Not yet)\b")
VERDICTS = {"Yes, as far as asked": "yes", "No, not against": "no", "Not yet": "not_yet"}


@dataclass(frozen=True)
class Blind:
    """A day's truth, and all that the tool says of it: each page as its reader sees it, and the file of claims.

    pages  those that tell of the shots; in_short: those that only say the answer to the claim
    """

    truth: Truth
    plan: Plan
    pages: dict[str, str]
    in_short: dict[str, str]
    claims: list[dict[str, str]]


DAYS = {
    # The needle needs a third less; the strongest bow drives it through far oftener than 1 in 10.
    "a head better": (Truth({"needle": 62.0, "leaf": 95.0}, 10), Plan(BOTH, claim={**HOLDS, "heads": ["needle"]}, claim_bow=2), 1),
    # The same day with the two heads' truths changed over: what is said has to turn with them.
    "the other head better": (Truth({"needle": 95.0, "leaf": 62.0}, 10), Plan(BOTH, claim={**HOLDS, "heads": ["leaf"]}, claim_bow=2), 1),
    "no difference": (Truth({"needle": 75.0, "leaf": 75.0}, 8), Plan(BOTH, claim={**HOLDS, "heads": ["needle", "leaf"]}), 2),
    # Far below its half: a shot in some ten thousand would get through.
    "a plate that holds": (
        Truth({"needle": 160.0}, 10),
        Plan(("needle",), speeds=(44.0,), arrows=12, shots_a_head=36, claim={**HOLDS, "heads": ["needle"]}, varied="nothing"),
        3,
    ),
}


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory, empty_book_file: Path) -> Iterator[dict[str, Blind]]:
    """Each day shot and read once."""
    found = {}
    for name, (truth, plan, seed) in DAYS.items():
        with closing(opened(copied(empty_book_file, tmp_path_factory.mktemp("day") / "book"))) as book:
            house = house_of(book)
            day = shoot_day(book, truth, plan, seed=seed)
            owner = house.client("owner")
            pages, in_short = ({page: read(owner, path) for page, path in some.items()} for some in (paths(day), paths_in_short(day)))
            claims = list(csv.DictReader(io.StringIO(owner.get("/download/claims.csv").text)))
            found[name] = Blind(truth, plan, pages, in_short, claims)
    yield found


def paths(day: InventedDay) -> dict[str, str]:
    of_trial = f"?trial={day.trial}"
    return {
        "results": f"/results{of_trial}",
        "compare": f"/compare{of_trial}",
        "fifty-percent": f"/fifty-percent{of_trial}",
        "trial": f"/trials/{day.trial}",
        "day": f"/sessions/{day.session}/day",
    }


def paths_in_short(day: InventedDay) -> dict[str, str]:
    return {"home": "/", "report": f"/trials/{day.trial}/report"}


def read(client: TestClient, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200, path
    return " ".join(text_of(answer.text, frame=False).replace("\N{NO-BREAK SPACE}", " ").split())


def said_of_the_pair(page: str) -> set[tuple[str, str, str, str, str, str]]:
    """Every comparison on a page, in its sentence or its table: the head that needs less, the other, ratio, ends, what it comes to."""
    sentences = {(less, more, ratio, low, high, comes_to) for more, ratio, less, low, high, comes_to in SENTENCE.findall(page)}
    rows = {
        (less.lower(), more.lower(), ratio, low, high, comes_to.lower()) for less, more, ratio, low, high, comes_to in ROW.findall(page)
    }
    return sentences | rows


@pytest.mark.parametrize("name", ["a head better", "the other head better", "no difference"])
def test_every_page_says_the_same_of_the_two_heads_and_it_is_the_truth(told: dict[str, Blind], name: str) -> None:
    """A day sheet and the results lead with a difference that is shown; one that isn't stands on the other three."""
    blind = told[name]
    said = {page: said_of_the_pair(text) for page, text in blind.pages.items()}
    once = set().union(*said.values())
    assert len(once) == 1, said
    less, more, _, low, high, comes_to = once.pop()
    true_j = {WORDS[head]: half for head, half in blind.truth.half_j.items()}
    assert float(low) <= true_j[more] / true_j[less] <= float(high)
    if name == "no difference":
        assert all(said[page] for page in ("compare", "fifty-percent", "trial")) and comes_to == NOT_SHOWN
        assert not any(DIFFERENCE.search(text) for text in blind.pages.values())
    else:
        assert all(said.values()) and comes_to == TELLING and (float(low) > 1) == (true_j[more] > true_j[less])
        assert all(DIFFERENCE.search(text) for text in blind.pages.values())


@pytest.mark.parametrize("name", ["a head better", "the other head better", "no difference"])
def test_every_50_percent_energy_that_is_told_holds_the_truth(told: dict[str, Blind], name: str) -> None:
    blind = told[name]
    text = " ".join(blind.pages.values())
    closed = {(head, float(low), float(high)) for head, _, low, high in FIFTY.findall(text)}
    at_least = {(head, float(low), math.inf) for head, which, low in OPEN.findall(text) if which == "less"}
    at_most = {(head, 0.0, float(high)) for head, which, high in OPEN.findall(text) if which == "more"}
    heads = [head for head, _, _ in closed | at_least | at_most]
    assert heads and len(heads) == len(set(heads)), "one head, one range on every page"
    for head, low, high in closed | at_least | at_most:
        half = next(half for form, half in blind.truth.half_j.items() if WORDS[form] == head)
        assert low <= half <= high, head


@pytest.mark.parametrize(
    ("name", "verdict"),
    [("a head better", "no"), ("the other head better", "no"), ("no difference", "not_yet"), ("a plate that holds", "yes")],
)
def test_the_claim_is_answered_alike_on_every_page_and_truly(told: dict[str, Blind], name: str, verdict: str) -> None:
    blind = told[name]
    answers = {page: ANSWER.findall({**blind.pages, **blind.in_short}[page])[:1] for page in ("home", "trial", "results", "day", "report")}
    assert {VERDICTS[one] for found in answers.values() for one in found} == {verdict} and all(answers.values()), answers
    assert {row["claim_verdict"] for row in blind.claims} == {verdict} and {row["claim_before_first_shot"] for row in blind.claims} == {
        "yes"
    }
    # What an average arrow of that bow does to the armour: the claim's own truth.
    energy = energy_at_panel_j(MASS_KG, blind.plan.speeds[blind.plan.claim_bow])
    assert blind.plan.claim is not None
    holds = all(blind.truth.share_through(head, energy) <= 1 / 10 for head in blind.plan.claim["heads"])
    assert verdict in (("yes", "not_yet") if holds else ("no", "not_yet"))


def test_of_a_plate_that_held_throughout_no_page_tells_an_energy_that_gets_through(told: dict[str, Blind]) -> None:
    blind = told["a plate that holds"]
    assert not any(FIFTY.search(text) or said_of_the_pair(text) for text in blind.pages.values())
    assert "none of 36" in blind.pages["results"] or "0 of 36" in blind.pages["results"]
