"""The page of measures: its finding first, ways on that lead somewhere, a wrong measure said beside its field."""

from __future__ import annotations

from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests.answers.test_measures import heads
from tests.pages.test_fifty_percent_page import said as text_of
from tests.pages.test_results_page import Tags


def test_the_page_names_itself_answers_first_and_leads_on(book: Storage, viewer: TestClient) -> None:
    heads(book, [6.0, 7.0, 8.0, 9.0, 10.0, 11.0])
    got = viewer.get("/measures?fair=any&at=chronograph&edges=40,+50&measure=front")
    assert got.status_code == 200
    first = text_of(got.text).split("Which measure explains", 1)[1].strip()
    assert first.startswith("On 1.6 mm one-piece plate heads with less frontal area get through more easily")
    hrefs = Tags(got.text).hrefs()
    for start in ("/results?", "/guide/measures", "/methods/of/measures_by_concordance", "/measures/drawings/front.svg"):
        led = next(href for href in hrefs if href.startswith(start))
        assert viewer.get(led, follow_redirects=True).status_code == 200, led
    assert viewer.get("/measures/drawings/spoon.svg").status_code == 404


def test_a_bad_measure_is_said_beside_its_field_and_an_empty_book_says_so(viewer: TestClient) -> None:
    got = viewer.get("/measures?measure=colour")
    assert got.status_code == 422 and 'id="measure-error"' in got.text
    assert "No heads" in text_of(viewer.get("/measures").text)
