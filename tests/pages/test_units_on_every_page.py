"""Who chose inches, pounds and feet a second reads them on every page of the demo: each figure left in metric has its reason here.

As typed comes first, so "47 mm (1.85 in)" is right for a length that was typed in millimetres.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from proofyard.opening import open_book
from starlette.testclient import TestClient

from tests.browser.pages_of_the_demo import PAGES as SHOWN
from tests.conftest import copied, house_of
from tests.demo_for_tests import called
from tests.other_books_for_tests import beside_the_demo
from tests.pages.page_text import text_of
from tests.pages.test_reviewed_texts import PAGES as REVIEWED

pytestmark = pytest.mark.slow

GAP = " ?"
NUMBER = r"[≥−-]?\d[\d.,]*(?: ± [\d.,]+)?"
METRIC = r"(?:N|mm|cm|m|m/s|km/h|J|g|kg|°C|hPa|kPa|K|g/m²|kg/m²|kg/m³|mm²|J/mm|J/mm²|kg·m/s|g/m)"
INCH = r"(?:in|yd|ft|lb|lbf|gr|°F|ft/s|fps|ft·lbf|inHg|mph|oz/yd²|oz/yd|lb/ft²|slug·ft/s)"
LEFT = re.compile(rf"{NUMBER}{GAP}{METRIC}(?![\w·/²³])")

# Pages that are the same text for everybody.
SAME_FOR_ALL = {
    "/methods": "formulas, in SI as they are worked out",
    "/guide": "worked examples, read beside the published figures that they are checked against",
    "/parts": "every control with invented words in it",
    "/download/dictionary": "what the columns of the files hold: SI",
}
# What stays in metric on any page, and why.
ALLOWED = (
    (rf"{NUMBER}{GAP}{METRIC} \({NUMBER}(?: to {NUMBER})?{GAP}{INCH}\)", "as typed, or as printed, first; theirs behind it"),
    (rf"{NUMBER}{GAP}{METRIC}(?:{GAP}± ?[\d.]+)?(?: = | or ).{{1,14}}?{GAP}{INCH}", "both beside each other: a figure, an example"),
    (rf"\[{NUMBER}{GAP}{METRIC}\]", "what stands in a box is text as it was typed"),
    (
        rf"{NUMBER}{GAP}mm(?= (?:one-piece|scale|mild|along the shot|nominal|(?:more|less) is)|, mean of|; \d build| would be|, mild)",
        "thickness: sheet is sold in mm",
    ),
    (rf"(?:late|cale), {NUMBER}{GAP}mm|P\d(?:, | at ){NUMBER}{GAP}mm|Thickness {NUMBER}{GAP}mm to {NUMBER}{GAP}mm", "the same"),
    (rf"Panels, in the mean: {NUMBER}{GAP}mm|Thickness of the panels: {NUMBER}{GAP}mm(?: to {NUMBER}{GAP}mm)?", "the same"),
    (rf"Behind the panel: {NUMBER}{GAP}mm [^;]*", "the thickness of layers, by which what is behind a panel is named as on every page"),
    (r"1 J = 1 kg m\^2/s\^2", "the definition of a unit"),
    (rf"(?:shaft|head) (?:of )?{NUMBER}{GAP}mm|Caliper or micrometer, accurate to {NUMBER}{GAP}mm", "thickness: read with a calliper"),
    (r"Arrows at plates, 1 to 3 mm|head assumed 10 mm across", "a published rule, by the range that it was tested on"),
    (r"NIJ 0101\..*", "a standard's limits as they are printed"),
    (r"63\.5 mm across, mean of 5 drops 19 ± 2 mm .*?2\.0 m", "a standard's check as it is printed"),
    (r"such a bullet \(8\.0 g at .*?below 44 mm", "a standard's figure and what was said of it, as printed"),
    (r"a draw to 3 mm, 0\.12 in", "both"),
    (r"31 in \(787 mm\)", "the example of what comes first"),
    (r"example 20 mm|tip \d+ mm or more past the rear face", "a depth is asked for, and stands in the address, in mm"),
    (r"Read as 48 m/s", "what a bare number in this box was taken for, in the box's unit"),
    (rf"was read as {NUMBER}{GAP}g, and that is too low for an arrow’s mass \(.*?\)", "the same, and the limits of the box in that unit"),
    (r"110 lb or 489 N|72\.4 g or 1117 gr", "both"),
    (r"over 14 m(?=[;,])", "what a reading of speed rests on, as it was typed"),
    (r"Poplar, goose, 180 mm|moved back 3 m|stand, 14 m", "words that an archer typed"),
    (r"needle at 75 J, the short bodkin at 85 J|half through at 100 J|1\.6 mm holds", "a prediction as it was typed"),
    (r"Is 1\.6 mm plate enough|through 1\.2 mm mild plate", "a trial's question as it was typed"),
)
PAGES = {one.address: one.name for one in SHOWN} | {address: name for name, (_, address) in REVIEWED.items()}
WALKED = [one for one in PAGES if not one.startswith(tuple(SAME_FOR_ALL))]


@pytest.fixture(scope="module")
def reader(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Iterator[tuple[TestClient, dict[str, str]]]:
    storage = open_book(copied(demo_book_file, tmp_path_factory.mktemp("units") / "demo"))
    client = house_of(storage, demo=True).client("owner")
    client.cookies.set("units", "imperial")
    with storage.read() as session:
        ids = {**called(session), **beside_the_demo(storage.path.parent)}
    yield client, ids
    storage.close()


def left_in_metric(words: str) -> list[str]:
    """Each metric figure of a text that nothing allows, with the words about it."""
    words = words.replace("\u00a0", " ")
    for pattern, _ in ALLOWED:
        words = re.sub(pattern, "…", words)
    found = ((match, line) for line in words.splitlines() for match in LEFT.finditer(line))
    return [line[max(0, match.start() - 40) : match.end() + 30] for match, line in found]


@pytest.mark.long  # the last of these tests reads every page in every run; of which page a figure is, this one says
@pytest.mark.parametrize("address", WALKED, ids=PAGES.get)
def test_a_page_of_the_demo_says_nothing_in_metric_to_who_reads_inches_and_pounds(
    reader: tuple[TestClient, dict[str, str]], address: str
) -> None:
    client, ids = reader
    answer = client.get(address.format_map(ids))
    assert answer.status_code in (200, 303, 422)
    if "<main" in answer.text:
        assert left_in_metric(text_of(answer.text, frame=False)) == []


@pytest.mark.parametrize("slip", ["at 55 to 80 J", "depth 21\u00a0mm", "12 °C, still", "mean 92.6 J", "52.6\u00a0m/s ± 0.3", "14 m, 8 °C"])
def test_the_rule_sees_a_figure_left_in_metric(slip: str) -> None:
    assert left_in_metric(slip)


def test_no_page_says_anything_in_metric_and_each_of_the_allowed_is_still_met(reader: tuple[TestClient, dict[str, str]]) -> None:
    """An exception that nothing needs any more goes."""
    client, ids = reader
    pages = [client.get(one.format_map(ids)).text for one in WALKED]
    everything = "\n".join(text_of(page, frame=False) for page in pages if "<main" in page)
    everything = everything.replace("\u00a0", " ")
    unmet = []
    for pattern, _ in ALLOWED:
        everything, times = re.subn(pattern, "…", everything)
        unmet += [] if times else [pattern]
    assert unmet == []
    assert [everything[max(0, one.start() - 60) : one.end() + 30] for one in LEFT.finditer(everything)] == []
