"""The chain on a shot's page, from weighing to joules at the target: every line, its uncertainty, and what would help."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from proofyard.answers.methods.page import method_names
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit


def shot_at_target(book: Storage, **more: str) -> str:
    yard = kit.yard(book)
    tool, scale = kit.chronograph(book), kit.scale(book, accuracy="0.1 g", accuracy_means="limit")
    arrow = kit.arrow(book, masses=(), diameter="9.5 mm")
    kit.mass_reading(book, arrow.build, "72.4 g", instrument=scale)
    setup = kit.setup(book, yard.session, yard.panel.build, chronograph=tool, chronograph_at="2 m", distance="14 m")
    loosed = kit.shot(book, yard, label="A8", shooting_end_id=kit.shooting_end(book, setup), arrow_build=arrow.build)
    kit.shot_speed(book, loosed, "52,6")
    return kit.reading(book, loosed, outcome_low="4", **more)


def plain(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page)).replace("\N{NO-BREAK SPACE}", " ")


def test_the_chain_stands_line_by_line_with_uncertainty_and_method(archer: TestClient, book: Storage) -> None:
    """72.4 g at 52.6 m/s is 100.16 J; 12 m of air at 990 hPa and 15 degrees take k = rho Cd pi d^2/(8 m) from it."""
    page = archer.get(f"/shots/{shot_at_target(book)}").text
    steps = re.findall(r'<li class="steps__item.*?</li>', page, flags=re.DOTALL)
    said = [re.sub(r"\s+([,.])", r"\1", plain(step)).strip() for step in steps]
    order = (
        "weighed",
        "Speed at the chronograph",
        "Momentum at the chronograph",
        "Energy at the chronograph",
        "Air that",
        "Drag",
        "Speed lost",
        "Speed at the target",
        "Momentum at the target",
        "Energy at the target",
    )
    assert len(said) == len(order) and all(words in line for words, line in zip(order, said, strict=True))
    assert all("±" in line for line in said)
    assert "100.2 J ± " in said[3] and "steps__item--last" in steps[-1]
    energy = float(re.search(r"([\d.]+) J", said[-1]).group(1))
    # k = 1.19 * 1.95 * pi * 0.0095^2 / (8 * 0.0724) = 0.001136 1/m, 2 k x = 0.02726, 100.16 exp(-0.02726) = 97.47 J, by hand
    assert energy == pytest.approx(97.47, abs=0.05)
    assert all(re.search(r'class="steps__value"><a href="/methods/of/\w+">', step) for step in steps)


def test_what_was_taken_and_not_measured_is_said(archer: TestClient, book: Storage) -> None:
    said = plain(archer.get(f"/shots/{shot_at_target(book)}").text)
    assert "assumed 1.95 (1.3 to 2.6)" in said and "tall feathers or a broad head may lose more" in said
    assert "nothing of the weather was written down" in said
    assert "if panel and bow stood at one height" in said and "it dropped" in said


def test_the_heading_speaks_of_the_target_where_that_is_known(archer: TestClient, book: Storage) -> None:
    heading = re.search(r'<p class="shot__finding">(.*?)</p>', archer.get(f"/shots/{shot_at_target(book)}").text).group(1)
    assert re.fullmatch(
        (
            r'A8 hit with <a href="/methods/of/energy_at_target_j">9\d\.\d+\xa0J</a> ± \d\.\d+, and put its point through '
            r"the plate( \(4\))?\."
        ),
        heading,
    )


def test_the_uncertainty_is_a_table_and_says_what_would_help(archer: TestClient, book: Storage) -> None:
    page = archer.get(f"/shots/{shot_at_target(book)}").text
    table = re.search(r'<table class="tally tally--plain" id="shot-uncertainty">(.*?)</table>', page, flags=re.DOTALL).group(1)
    rows = [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row) for row in table.split("<tr>")[2:]]
    assert {row[1] for row in rows} == {"all shots", "its combination"}
    alone = [float(row[2]) for row in rows]
    assert alone == sorted(alone, reverse=True)
    whole = re.findall(r'steps__plus">±\xa0([\d.]+)', page)[-1]
    assert sum(u * u for u in alone) ** 0.5 == pytest.approx(float(whole), rel=0.05)
    assert "What would help most:" in page and "changes no comparison between them" in page


def test_the_flight_is_drawn_and_told(archer: TestClient, book: Storage) -> None:
    page = archer.get(f"/shots/{shot_at_target(book)}").text
    assert 'id="shot-flight"' in page and "A8: energy along the flight" in page
    assert re.search(r"<desc id=\"shot-flight-desc\">From 100\.\d+\xa0J ±\xa0[\d.]+ at the chronograph, 2\xa0m from the bow", page)


def test_a_reader_of_feet_and_pounds_gets_the_chain_in_them(archer: TestClient, book: Storage) -> None:
    loosed = shot_at_target(book)
    archer.post("/units", data={"units": "imperial", "back": "/"})
    said = plain(archer.get(f"/shots/{loosed}").text)
    assert "ft·lbf" in said and "ft/s" in said and " J " not in said


def test_a_scale_that_says_nothing_of_itself_leaves_a_whole_that_cant_be_told(archer: TestClient, book: Storage) -> None:
    yard = kit.yard(book)
    arrow = kit.arrow(book, masses=("72.4 g",), diameter="9.5 mm")
    setup = kit.setup(book, yard.session, yard.panel.build, chronograph=kit.chronograph(book), chronograph_at="2 m", distance="14 m")
    loosed = kit.shot(book, yard, shooting_end_id=kit.shooting_end(book, setup), arrow_build=arrow.build)
    kit.shot_speed(book, loosed, "52.6")
    said = plain(archer.get(f"/shots/{loosed}").text)
    assert "The whole can’t be told: mass: the scale’s accuracy is not written down" in said
    assert "What would help most" not in said


FIGURE = re.compile(r"\d[\d.,]*\s?(?:kg·m/s|slug·ft/s|kg/m³|ft·lbf|ft/s|m/s|J|ms|mm|gr|g|s|m|in|yd|°|%)(?!\w)")
BLOCKS = ("h1", "li", "p", "table", "dd", "figure")


class Blocks(HTMLParser):
    """The words of each block of the heading and of the section on energy, and the methods that it leads to."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[tuple[str, str, list[str]]] = []
        self._open: list[tuple[str, list[str], list[str]]] = []
        self._within = 0
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "section" and given.get("aria-labelledby") == "shot-energy":
            self._within = 1
        if tag in BLOCKS and (self._within or tag == "h1"):
            self._open.append((tag, [], []))
        href = given.get("href") or ""
        if tag == "a" and href.startswith("/methods/of/") and self._open:
            self._open[-1][2].append(href.removeprefix("/methods/of/"))

    def handle_endtag(self, tag: str) -> None:
        if self._open and self._open[-1][0] == tag:
            tag, words, methods = self._open.pop()
            self.found.append((tag, " ".join(words), methods))
        if tag == "section":
            self._within = 0

    def handle_data(self, data: str) -> None:
        if self._open:
            self._open[-1][1].append(data)


@pytest.mark.parametrize("kind", ["at the target", "near only", "mean of its combination", "by feet and pounds", "not weighed"])
def test_every_figure_of_a_shots_energy_leads_to_its_method(archer: TestClient, book: Storage, kind: str) -> None:
    """Whatever block has a number with a unit leads to a formula of the methods page; a photo, in the words beneath it."""
    if kind == "mean of its combination":
        yard = kit.yard(book)
        kit.mass_reading(book, yard.arrow.build, "72.4 g", instrument=kit.scale(book, accuracy="0.1 g"))
        kit.speeds(book, yard.combination, "52.1", "52.6", "53.0", instrument_id=kit.chronograph(book))
        shot = kit.read_shot(book, yard)
    elif kind in ("near only", "not weighed"):
        yard = kit.yard(book)
        shot = kit.shot(book, yard, arrow_build=None if kind == "near only" else kit.arrow(book, masses=()).build)
        kit.reading(book, shot, outcome_low="4")
        kit.shot_speed(book, shot, "52.6")
    else:
        shot = shot_at_target(book)
    if kind == "by feet and pounds":
        archer.post("/units", data={"units": "imperial", "back": "/"})
    blocks = Blocks(archer.get(f"/shots/{shot}").text.replace("\N{NO-BREAK SPACE}", " ")).found
    figures = [(words, methods) for tag, words, methods in blocks if tag != "figure" and FIGURE.search(words)]
    assert len(figures) >= (1 if kind == "not weighed" else 3)
    assert [words for words, methods in figures if not methods] == []
    for at, (tag, words, _) in enumerate(blocks):
        if tag == "figure":
            assert blocks[at + 1][2], words
    assert {method for _, _, methods in blocks for method in methods} <= method_names()
