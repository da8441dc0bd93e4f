"""Several of a book's trials as one site: a folder each, as the seat of that trial sees it, so that no result mixes them with what stays
at home; and a first page that leads to each."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from proofyard.publishing.about import PublishedTrial
from proofyard.publishing.file_names import FIRST, slug
from proofyard.publishing.page_rewritten import parsed, written
from proofyard.wording.when import day_words


def folders_of(questions: Sequence[str]) -> tuple[str, ...]:
    """A folder for each trial, named by its question; two of the same words are numbered.

    >>> folders_of(["Is it enough?", "Is it enough?"])
    ('is-it-enough', 'is-it-enough-2')
    """
    found: list[str] = []
    for question in questions:
        name, n = slug(question) or "trial", 1
        while (folder := name if n == 1 else f"{name}-{n}") in found:
            n += 1
        found.append(folder)
    return tuple(found)


def first_page(page_of_one: bytes, folder: str, trials: Sequence[PublishedTrial]) -> bytes:
    """The site's first page, in the dress of a page of one trial: its masthead without ways into that trial, and the trials instead
    of its content. page_of_one: that page's bytes; folder: where it lies."""
    page = parsed(page_of_one)
    for way in page.xpath("//nav | //*[@id='cite'] | //head/link[@rel='alternate'] | //script"):
        way.drop_tree()
    _lead(page, folder)
    main = page.get_element_by_id("main")
    main.clear(keep_tail=True)
    main.set("id", "main")
    main.extend(_content(page.makeelement, trials))
    for title in page.iter("title"):
        title.text = "Trials"
    return written(page)


def _lead(page: Any, folder: str) -> None:
    """Links and files of the page, seen from the folder above; the name in the masthead leads to the first page itself."""
    for one in page.xpath("//*[@href or @src]"):
        for name in ("href", "src"):
            there = one.get(name)
            if there and not there.startswith(("#", "data:")):
                one.set(name, FIRST if there.partition("#")[0] == FIRST else f"{folder}/{there}")


def _content(make: Callable[[str, Mapping[str, str]], Any], trials: Sequence[PublishedTrial]) -> list[Any]:
    heading = make("h1", {})
    heading.text = "Trials"
    words = make("p", {})
    words.text = f"{len(trials)} trials, each with its own shots and results: nothing here adds one to another."
    listed = make("ul", {"class": "row__list"})
    for one in trials:
        line, said, small = make("li", {"class": "row"}), make("span", {"class": "row__words"}), make("small", {})
        link = make("a", {"class": "row__link", "href": one.file})
        link.text, small.text = one.question, _days(one)
        said.extend([link, small])
        line.extend([make("span", {"class": "row__mark"}), said])
        listed.append(line)
    return [heading, words, listed]


def _days(one: PublishedTrial) -> str:
    if not one.first_day:
        return "No shot yet"
    first, last = day_words(one.first_day), day_words(one.last_day)
    return f"Shot on {first}" if first == last else f"Shot from {first} to {last}"
