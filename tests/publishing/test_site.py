"""A published site: whole, closed in itself, without the names, and the same again from the same state."""

from __future__ import annotations

import csv
import io
import json
import posixpath
import xml.etree.ElementTree as ElementTree
import zipfile
from collections.abc import Iterator
from contextlib import nullcontext
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import lxml.html
import pytest
from proofyard import cli
from proofyard.assembled import app_without_door
from proofyard.publishing.choices import Choices
from proofyard.publishing.site import LIST, PACKAGE, NotPublished, Site, WordsFound, make_site, publish, write_site
from proofyard.records.listing import all_of
from proofyard.records.trial import Trial
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests import kit_for_tests as kit

pytestmark = pytest.mark.slow  # each publishes two hundred pages, most of them a few times
QUESTION, OTHER = "Does the long needle bodkin get through 1.6 mm plate?", "And what does mail stop?"
PLACE = "Osier meadow, Quellbury"


@pytest.fixture
def yard(book: Storage) -> kit.Yard:
    """Two trials with a shot each; a place, an officer, a note."""
    made = kit.yard(book, question=QUESTION)
    kit.read_shot(book, made, damage="split by the seam")
    other = kit.trial(book, OTHER)
    day = kit.session(book, other, place=PLACE, officer="Orla Venn", note="Pim held the lamp")
    end = kit.shooting_end(book, kit.setup(book, day, made.panel.build))
    kit.reading(book, kit.shot(book, made, label="A9", shooting_end_id=end))
    return made


def site_of(book: Storage, **more: Any) -> Site:
    return make_site(book.path, choices=Choices(**more), make_app=app_without_door)


def trials_of(book: Storage) -> list[str]:
    with book.read() as session:
        return [one.id for one in all_of(session, Trial)]


def text_of(site: Site) -> str:
    """All that stands in it, names of files and what is packed included."""
    said = [*site.files]
    for name, content in site.files.items():
        if name.endswith(".zip"):
            with zipfile.ZipFile(io.BytesIO(content)) as packed:
                said += [packed.read(one).decode("utf-8", "replace") for one in packed.namelist()]
        else:
            said.append(content.decode("utf-8", "replace"))
    return "\n".join(said)


def trees(site: Site) -> Iterator[tuple[str, Any]]:
    for name, content in site.files.items():
        if name.endswith(".html"):
            yield name, lxml.html.document_fromstring(content)


def dead_links(site: Site) -> list[tuple[str, str]]:
    """Links, sheets and photos that lead nowhere, or out of the site."""
    pages = dict(trees(site))
    ids = {name: set(page.xpath("//@id")) for name, page in pages.items()}
    dead = []
    for here, page in pages.items():
        for href in page.xpath("//@href | //@src"):
            parts = urlsplit(href)
            there = posixpath.normpath(posixpath.join(posixpath.dirname(here), unquote(parts.path))) if parts.path else here
            if parts.scheme or parts.netloc or there not in site.files or (parts.fragment and parts.fragment not in ids.get(there, ())):
                dead.append((here, href))
    return dead


def test_every_link_of_the_whole_book_leads_to_a_page_of_it_and_nothing_asks_a_server(book: Storage, yard: kit.Yard) -> None:
    site = site_of(book)
    assert dead_links(site) == []
    for name, page in trees(site):
        asking = page.xpath("//form | //button | //template | //@*[starts-with(name(), 'hx-') or starts-with(name(), 'on')]")
        assert not asking, (name, asking)
        scripts = [script.get("src") for script in page.iter("script") if script.get("type") != "application/ld+json"]
        assert scripts == (["assets/search.js"] if name == "search.html" else []), name
        ways = page.xpath("//header//*[contains(@class, 'masthead__link')]")
        assert {one.tag for one in ways} == {"a"} and "Search" in [one.text for one in ways], f"{name}: a way that leads nowhere"
    assert {"index.html", "search.html", "feed.xml", "shots/a9.html", "assets/search.js"} <= set(site.files)


def test_a_page_says_what_the_app_says_to_a_viewer(book: Storage, yard: kit.Yard, viewer: TestClient) -> None:
    site = site_of(book, names="as_they_are", places="exact", notes=True, photos=None)

    def told(content: bytes) -> list[str]:
        main = lxml.html.document_fromstring(content).get_element_by_id("main")
        for gone in main.xpath(".//form | .//*[contains(@class, 'chart__files')] | .//a[contains(@class, 'button')]"):
            gone.drop_tree()  # what only the app can do
        return list(main.text_content().split())

    for address, file in (("/results", "results.html"), ("/fifty-percent", "fifty-percent.html"), ("/compare", "compare.html")):
        assert told(site.files[file]) == told(viewer.get(address).content), address


@pytest.mark.long  # four sites
def test_what_is_held_while_pages_are_made_changes_none_of_them(book: Storage, yard: kit.Yard, monkeypatch: pytest.MonkeyPatch) -> None:
    held = [site_of(book, **more).files for more in ({}, {"trials": (yard.trial,)})]
    monkeypatch.setattr("proofyard.publishing.site.while_nobody_writes", nullcontext)
    assert [site_of(book, **more).files for more in ({}, {"trials": (yard.trial,)})] == held


@pytest.mark.long
def test_nor_of_the_demo(demo_book: Storage, monkeypatch: pytest.MonkeyPatch) -> None:
    held = site_of(demo_book).files
    monkeypatch.setattr("proofyard.publishing.site.while_nobody_writes", nullcontext)
    not_held = site_of(demo_book).files
    assert len(held) > 450 and [name for name in held if held[name] != not_held.get(name)] == []


def test_of_one_trial_nothing_of_another_goes_out(book: Storage, yard: kit.Yard) -> None:
    site = site_of(book, trials=(yard.trial,), places="exact", names="as_they_are", notes=True, photos=None)
    text = text_of(site)
    assert OTHER not in text and PLACE not in text and "A9" not in text and "Orla Venn" not in text
    assert QUESTION in site.files["index.html"].decode() and dead_links(site) == []


def test_several_trials_lie_in_a_folder_each_and_nothing_of_a_third_goes_out(book: Storage, yard: kit.Yard) -> None:
    third = kit.trial(book, "A third that stays at home")
    other = next(one for one in trials_of(book) if one not in (yard.trial, third))
    site = site_of(book, trials=(other, yard.trial), licence="CC0-1.0")
    assert dead_links(site) == []
    assert "A third that stays" not in text_of(site)
    page = lxml.html.document_fromstring(site.files["index.html"])
    assert page.findtext(".//h1") == "Trials" and not page.xpath("//nav")
    ways = {link.text: link.get("href") for link in page.xpath("//main//li//a")}
    assert set(ways) == {QUESTION, OTHER}
    for question, href in ways.items():
        alone = site_of(book, trials=(yard.trial if question == QUESTION else other,), licence="CC0-1.0")
        folder = posixpath.dirname(href)
        there = {name.removeprefix(f"{folder}/"): content for name, content in site.files.items() if name.startswith(f"{folder}/")}
        assert there == dict(alone.files), "each is what it is alone"
    said = json.loads(page.xpath("//script[@type='application/ld+json']")[0].text)
    assert {one["contentUrl"] for one in said["distribution"]} == {f"{posixpath.dirname(href)}/{PACKAGE}" for href in ways.values()}
    feed = ElementTree.fromstring(site.files["feed.xml"])
    links = {link.get("href") for link in feed.iter("{http://www.w3.org/2005/Atom}link")}
    assert links == set(ways.values())


def test_the_data_package_in_it_is_whole_and_holds_no_withheld_word(book: Storage, yard: kit.Yard, tmp_path: Path) -> None:
    site = site_of(book, licence="CC-BY-4.0")
    page = lxml.html.document_fromstring(site.files["index.html"])
    assert page.xpath(f"//*[@id='cite']//a[@href='{PACKAGE}']")
    said = json.loads(page.xpath("//script[@type='application/ld+json']")[0].text)
    assert said["distribution"] == [{"@type": "DataDownload", "encodingFormat": "application/zip", "contentUrl": PACKAGE}]
    (tmp_path / "p.zip").write_bytes(site.files[PACKAGE])
    with zipfile.ZipFile(tmp_path / "p.zip") as packed:
        shots = list(csv.DictReader(io.StringIO(packed.read("records/shot.csv").decode())))
    assert len(shots) == 2 and "CC-BY-4.0" in text_of(site)
    assert cli.main(["check", str(tmp_path / "p.zip")]) == 0


def test_withheld_names_places_and_notes_are_in_no_file(book: Storage, yard: kit.Yard) -> None:
    text = text_of(site_of(book)).casefold()
    for word in ("Orla", "Venn", "Quellbury", "Osier", "Pim held"):
        assert word.casefold() not in text


def test_a_withheld_word_that_is_said_elsewhere_stops_it_and_nothing_is_written(book: Storage, yard: kit.Yard, tmp_path: Path) -> None:
    with pytest.raises(WordsFound) as stopped:
        publish(book.path, tmp_path / "site", choices=Choices(also_withheld=("perforated",)), make_app=app_without_door)
    assert "perforated" in str(stopped.value) and not (tmp_path / "site").exists()
    left = Choices(also_withheld=("perforated",), left_standing=frozenset({"perforated"}))
    assert publish(book.path, tmp_path / "site", choices=left, make_app=app_without_door).pages > 50


def test_published_again_nothing_changes_and_after_one_reading_only_what_it_bears_on(book: Storage, yard: kit.Yard, tmp_path: Path) -> None:
    to = tmp_path / "site"
    first = publish(book.path, to, choices=Choices(), make_app=app_without_door)
    again = publish(book.path, to, choices=Choices(), make_app=app_without_door)
    assert (first.new, again.new, again.changed, again.removed) == (first.files, 0, 0, 0)
    kit.read_shot(book, yard)
    third = publish(book.path, to, choices=Choices(), make_app=app_without_door)
    assert third.new >= 1 and third.removed == 0
    guides = [name for name in json.loads((to / LIST).read_text())["files"] if name.startswith(("guide/", "methods/"))]
    assert len(guides) > 40 and third.changed < third.files - len(guides), "guides and methods stay as they are"


def test_a_folder_with_other_things_is_left_alone_and_what_is_no_more_is_taken_away(book: Storage, yard: kit.Yard, tmp_path: Path) -> None:
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "dear.txt").write_text("x")
    with pytest.raises(NotPublished, match="holds other files"):
        publish(book.path, tmp_path / "letters", choices=Choices(), make_app=app_without_door)
    assert (tmp_path / "letters" / "dear.txt").read_text() == "x"
    site = site_of(book)
    write_site(site, tmp_path / "site")
    (tmp_path / "site" / "mine.txt").write_text("kept")
    listed = json.loads((tmp_path / "site" / LIST).read_text())
    (tmp_path / "site" / "old.html").write_text("an earlier page")
    (tmp_path / "site" / LIST).write_text(json.dumps({"files": [*listed["files"], "old.html", "../letters/dear.txt"]}))
    assert write_site(site, tmp_path / "site").removed == 1
    assert (tmp_path / "letters" / "dear.txt").exists() and (tmp_path / "site" / "mine.txt").exists()


def test_it_says_whom_to_cite_under_which_licence_for_people_and_machines(book: Storage, yard: kit.Yard) -> None:
    site = site_of(book, licence="CC-BY-4.0", authors="The Quarry group")
    page = lxml.html.document_fromstring(site.files["index.html"])
    assert (
        "The Quarry group" in page.get_element_by_id("cite").text_content() and "CC-BY-4.0" in page.get_element_by_id("cite").text_content()
    )
    said = json.loads(page.xpath("//script[@type='application/ld+json']")[0].text)
    assert said["creditText"] == "The Quarry group" and "creator" not in said
    assert said["@type"] == "Dataset" and said["license"] == "https://creativecommons.org/licenses/by/4.0/"
    feed = ElementTree.fromstring(site.files["feed.xml"])
    entries = feed.findall("{http://www.w3.org/2005/Atom}entry")
    assert {entry.findtext("{http://www.w3.org/2005/Atom}title") for entry in entries} == {QUESTION, OTHER}
    assert all(entry.find("{http://www.w3.org/2005/Atom}link").get("href") in site.files for entry in entries)


def test_a_trial_that_is_not_there_is_refused(book: Storage, yard: kit.Yard) -> None:
    with pytest.raises(NotPublished, match="no such trial"):
        site_of(book, trials=("00000000-0000-7000-8000-000000000000",))
