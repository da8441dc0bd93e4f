"""One page of the app made a file: its links lead to files, and what needs a server is taken out.

A browser that opens a file from a disk loads neither script modules nor symbols of another file, and nobody can send a form: so the
symbols come into the page, and forms, scripts and everything that asks for news go.
"""

import posixpath
import re
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

CSP = "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'none'; img-src 'self' data:"
GONE = (
    "//script|//template|//form|//meta[@name='htmx-config']"
    "|//*[@id='told' or @id='oops-unheard' or @id='oops-fault']"
    "|//*[contains(concat(' ', normalize-space(@class), ' '), ' chart__files ')]"
    "|//*[contains(concat(' ', normalize-space(@class), ' '), ' shot__cards ')]"
    "|//*[contains(concat(' ', normalize-space(@class), ' '), ' footing__leave ')]"
)
ONLY_LIVE = "//@*[{}]".format(" or ".join(f"starts-with(name(), '{name}')" for name in ("hx-", "data-live", "data-glyphs", "data-held")))
SVG = "http://www.w3.org/2000/svg"
WAYS = frozenset({"masthead__link", "siblings__link", "button"})  # what looks as if it led somewhere
# Spaces at the start of a line, which nobody sees, except where a text is shown as it was typed: 2 bytes in 100 of a site.
INDENT = re.compile(rb"(<(pre|textarea|script|style)\b.*?</\2>)|\n\s+", re.DOTALL)


def parsed(content: bytes) -> Any:
    """A page as a tree."""
    import lxml.html

    return lxml.html.document_fromstring(content, parser=lxml.html.HTMLParser(encoding="utf-8"))


def links_of(page: Any) -> list[str]:
    """Where its links lead, once each, in their order."""
    return list(dict.fromkeys(link.get("href") for link in page.iter("a") if link.get("href")))


def rewritten(page: Any, *, here: str, file_of: Callable[[str], str | None], symbols: Mapping[str, str], search: str = "") -> bytes:
    """The page as the bytes of its file.

    here     its own file, from the site's folder
    file_of  a link, a sheet or a photo of the app -> its file in the site, with the place on the page; None: not there
    symbols  what the page may show of the sheet of symbols, by name
    search   where the app's search is, which `file_of` knows; empty: no search
    """
    _search_instead_of_its_form(page, search)
    for gone in page.xpath(GONE):
        gone.drop_tree()
    for held in page.xpath(ONLY_LIVE):
        del held.getparent().attrib[held.attrname]
    _bring_symbols(page, symbols)
    _rewrite_links(page, here, file_of)
    _say_what_may_run(page)
    page.attrib.pop("data-theme", None)
    return written(page)


def written(page: Any) -> bytes:
    """A tree as the bytes of a file."""
    import lxml.html

    whole = bytes(lxml.html.tostring(page, encoding="utf-8", doctype="<!doctype html>"))
    return INDENT.sub(lambda found: found[1] or b"\n", whole) + b"\n"


def _search_instead_of_its_form(page: Any, search: str) -> None:
    for form in page.xpath("//header//form[@role='search']"):
        if search:
            link = form.makeelement("a", {"class": "masthead__link", "href": search})
            link.text = "Search"
            form.addprevious(link)


def _bring_symbols(page: Any, symbols: Mapping[str, str]) -> None:
    import lxml.html

    wanted: dict[str, str] = {}
    for use in page.iter("use"):
        name = use.get("href", "").partition("#")[2]
        if name in symbols:
            use.set("href", f"#g-{name}")
            wanted[name] = symbols[name]
    if wanted:
        sheet = f'<svg xmlns="{SVG}" width="0" height="0" class="tools-unseen" aria-hidden="true">{"".join(wanted.values())}</svg>'
        page.body.insert(0, lxml.html.fragment_fromstring(sheet))


def _rewrite_links(page: Any, here: str, file_of: Callable[[str], str | None]) -> None:
    for link in list(page.iter("a")):
        href = link.get("href")
        if href is None or href.startswith("#") or _is_outside(href):
            continue
        found = file_of(href)
        if found is None and WAYS.intersection(link.get("class", "").split()):
            _drop_way(link)
        elif found is None:
            _no_link(link)
        else:
            link.set("href", _from(here, found))
    for tag, name in (("link", "href"), ("img", "src"), ("image", "href")):
        for element in list(page.iter(tag)):
            found = file_of(element.get(name, ""))
            if found is None and not element.get(name, "").startswith("data:"):
                element.drop_tree()
            elif found is not None:
                element.set(name, _from(here, found))


def _drop_way(link: Any) -> None:
    """A way of the menu, or a button, that leads nowhere is none; nor is a row of buttons without one."""
    row = link.getparent()
    link.drop_tree()
    if "button__row" in row.get("class", "").split() and not len(row) and not row.text_content().strip():
        row.drop_tree()


def _is_outside(href: str) -> bool:
    return href.startswith(("http://", "https://", "mailto:"))


def _no_link(link: Any) -> None:
    """Its words stay, where they are more than a name for a picture."""
    link.tag = "g" if link.getparent() is not None and any(one.tag == "svg" for one in link.iterancestors()) else "span"
    for name in ("href", "download", "aria-current", "rel", "target"):
        link.attrib.pop(name, None)


def _from(here: str, there: str) -> str:
    path, _, place = there.partition("#")
    way = _way(path, posixpath.dirname(here) or ".")
    return f"{way}#{place}" if place else way


@lru_cache(maxsize=4096)  # all pages of a folder lead to the same ones of the menu
def _way(path: str, folder: str) -> str:
    return posixpath.relpath(path, folder)


def _say_what_may_run(page: Any) -> None:
    head = page.head
    head.insert(1, head.makeelement("meta", {"http-equiv": "Content-Security-Policy", "content": CSP}))
