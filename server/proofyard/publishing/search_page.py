"""The search of a published site: the app's own search page with a list of everything, and a classic script that narrows it.

Without script the list is all there. On a disk neither `fetch` nor modules load, so the index stands in the list itself.
"""

from collections.abc import Callable, Iterable
from typing import Any

from proofyard.publishing.addresses import Address
from proofyard.records.search_documents import Document

ASKED_AT = "/find"
FILE = "search.html"
SCRIPT = "assets/search.js"
PAGE_OF = {
    "shot": "/shots/{}",
    "session": "/sessions/{}",
    "trial": "/trials/{}",
    "panel": "/panels/{}",
    "arrow": "/arrows/{}",
    "bow": "/bows/{}",
    "photo": "/photos/{}/about",
}


def address_of(document: Document) -> Address | None:
    """The page of what was found."""
    way = PAGE_OF.get(document.noun)
    return Address(way.format(document.page or document.record_id)) if way else None


def with_list(page: Any, documents: Iterable[Document], file_of: Callable[[Address], str | None]) -> Any:
    """The search page as the app drew it, its form changed for a box that the script reads, and the list put behind it."""
    main = page.get_element_by_id("main")
    for form in main.xpath(".//form"):
        form.addnext(_box(page))
        form.drop_tree()
    listed = page.makeelement("ul", {"class": "row__list", "id": "found"})
    for document in documents:
        address = address_of(document)
        href = file_of(address) if address else None
        if href is not None:
            listed.append(_line(page, document, href))
    main.append(listed)
    return page


def with_script(content: bytes) -> bytes:
    """The page's bytes with the script at their end, after everything that rewrites pages took scripts out."""
    return content.replace(b"</body>", f'<script src="{SCRIPT}"></script></body>'.encode(), 1)


def _box(page: Any) -> Any:
    box = page.makeelement("div", {"class": "find"})
    label = page.makeelement("label", {"for": "find", "class": "find__label"})
    label.text = "A label, a name, a day, words of what happened"
    field = page.makeelement("input", {"class": "find__input", "id": "find", "type": "search", "autocomplete": "off", "hidden": "hidden"})
    told = page.makeelement("output", {"for": "find", "id": "found-told", "role": "status"})
    inner = page.makeelement("div", {"class": "find__box"})
    inner.append(field)
    box.extend([label, inner, told])
    return box


def _line(page: Any, document: Document, href: str) -> Any:
    words = " ".join((document.title, document.names, document.words, document.line)).casefold()
    line = page.makeelement("li", {"class": "row", "data-words": words})
    said = page.makeelement("span", {"class": "row__words"})
    link = page.makeelement("a", {"class": "row__link", "href": href})
    link.text = document.title
    small = page.makeelement("small", {})
    small.text = document.line
    said.extend([link, small])
    line.extend([page.makeelement("span", {"class": "row__mark"}), said])
    return line
