"""A page's markup as one file that needs nothing else: styles, glyphs and photos within, every link inside it, no script.

What leads out of the file leads nowhere once the laptop is gone, so such a link becomes plain words.
"""

import base64
import hashlib
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from html import escape
from html.parser import HTMLParser

from proofyard.settings import data_folder

VOID = frozenset({"br", "hr", "img", "wbr", "col", "meta", "link", "input"})
NOT_IN_A_FILE = frozenset({"script", "form", "input", "button", "select", "textarea", "iframe", "template", "link", "style"})
POINTS = frozenset({"id", "for", "aria-labelledby", "aria-describedby", "aria-controls"})  # they hold ids, apart by spaces
PREFIX = "data-ids"
OF_THE_APP = "data-app"  # on what only the app can do: left out
_SYMBOL = re.compile(r'<symbol id="([\w-]+)".*?</symbol>', re.DOTALL)


@dataclass
class _Open:
    """An element that is not closed yet: its own name, what is written for it, what ids within it begin with."""

    tag: str
    written: str
    prefix: str


@dataclass(frozen=True)
class Inlined:
    """Markup that stands by itself, and the glyphs that it draws."""

    markup: str
    glyphs: tuple[str, ...]


@dataclass(frozen=True)
class Margins:
    """What stands in the margins of each printed page; the last corner has the page's number and how many there are."""

    top_left: str
    top_right: str
    bottom_left: str


class _Inliner(HTMLParser):
    def __init__(self, links: Callable[[str], str | None], photos: Callable[[str], bytes | None]) -> None:
        super().__init__(convert_charrefs=False)
        self.links, self.photos = links, photos
        self.out: list[str] = []
        self.glyphs: dict[str, None] = {}
        self.open: list[_Open] = []
        self.skipped = 0  # how many elements deep in what is left out

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if self.skipped or any(name == OF_THE_APP for name, _ in attrs):
            self.skipped += tag not in VOID
            return
        if tag in NOT_IN_A_FILE:
            raise ValueError(f"a file that stands by itself has no <{tag}>")
        said = {name: value or "" for name, value in attrs if not name.startswith("hx-") and (name, value) != ("tabindex", "-1")}
        prefix = (self.open[-1].prefix if self.open else "") + said.pop(PREFIX, "")
        said = {name: value for name, value in said.items() if not name.startswith("data-")}
        written = tag
        if tag == "a":
            written, said = self._link(said, prefix)
        elif tag == "use":
            said["href"] = f"#{self._glyph(said.get('href', ''))}"
        elif tag in ("img", "image"):
            name = "src" if tag == "img" else "href"
            said[name] = self._photo(said.get(name, ""))
        elif tag == "details":
            said["open"] = ""
        for name in POINTS & said.keys():
            said[name] = " ".join(prefix + one for one in said[name].split())
        if written:
            self.out.append(f"<{written}" + "".join(_attribute(name, value) for name, value in said.items()) + ">")
        if tag not in VOID:
            self.open.append(_Open(tag, written, prefix))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag in VOID:
            return
        if self.skipped:
            self.skipped -= 1
            return
        one = self.open.pop()
        if one.tag != tag:
            raise ValueError(f"<{one.tag}> is closed by </{tag}>")
        if one.written:
            self.out.append(f"</{one.written}>")

    def handle_data(self, data: str) -> None:
        if not self.skipped:
            self.out.append(re.sub(r"\s*\n\s*", "\n", data))  # the margins of nested templates: a tenth of the file

    def handle_entityref(self, name: str) -> None:
        self.handle_data(f"&{name};")

    def handle_charref(self, name: str) -> None:
        self.handle_data(f"&#{name};")

    def _link(self, said: dict[str, str], prefix: str) -> tuple[str, dict[str, str]]:
        href = said.get("href", "")
        to = f"#{prefix}{href[1:]}" if href.startswith("#") and len(href) > 1 else self.links(href)
        if to:
            return "a", {**said, "href": to}
        in_drawing = any(one.tag == "svg" for one in self.open)
        return "g" if in_drawing else "span", {name: value for name, value in said.items() if name in ("class", "id")}

    def _glyph(self, href: str) -> str:
        name = href.rpartition("#")[2]
        self.glyphs[name] = None
        return f"glyph-{name}"

    def _photo(self, address: str) -> str:
        content = self.photos(address)
        if content is None:
            raise ValueError(f"nothing is known of the photo {address}")
        return f"data:image/jpeg;base64,{base64.b64encode(content).decode()}"


def _attribute(name: str, value: str) -> str:
    return f' {name}="{escape(value)}"' if value or name not in ("open", "hidden") else f" {name}"


def inlined(
    markup: str, *, links: Callable[[str], str | None] = lambda _: None, photos: Callable[[str], bytes | None] = lambda _: None
) -> Inlined:
    """The markup with nothing left that would be fetched.

    links   address of the app -> where that stands in the file ("#shot-A40"); None: the link becomes words
    photos  address of the app -> the photo's bytes
    An element with data-ids="…" puts that before every id within it, so that one part may stand in a file twice; one with data-app
    is left out.

    Refuses
        ValueError  a form or a script in it, elements that don't close in order, a photo that nobody knows
    """
    reading = _Inliner(links, photos)
    reading.feed(markup)
    reading.close()
    if reading.open:
        raise ValueError(f"<{reading.open[-1].tag}> is never closed")
    return Inlined("".join(reading.out), tuple(reading.glyphs))


@cache
def _symbols() -> Mapping[str, str]:
    text = (data_folder("static") / "glyphs.svg").read_text(encoding="utf-8")
    return {found[1]: found[0].replace(f'id="{found[1]}"', f'id="glyph-{found[1]}"', 1) for found in _SYMBOL.finditer(text)}


def drawn_glyphs(names: Iterable[str]) -> str:
    """The glyphs themselves, unseen: what an inlined markup draws has to stand in the same document."""
    symbols = "".join(_symbols()[name] for name in names)
    return f'<svg width="0" height="0" hidden aria-hidden="true">{symbols}</svg>' if symbols else ""


def css_text(words: str) -> str:
    """Words as a style sheet takes them between quotes; nothing in them may end the quotes or the sheet."""
    return '"' + "".join(sign if sign.isalnum() or sign in " .,:;·-–’" else f"\\{ord(sign):06x}" for sign in words) + '"'


def paged(margins: Margins) -> str:
    """The sheet that puts words into the margins of the printed pages."""
    corners = (("top-left", margins.top_left), ("top-right", margins.top_right), ("bottom-left", margins.bottom_left))
    font = "font: 7.5pt sans-serif"
    boxes = [f"@{place} {{ content: {css_text(words)}; {font}; }}" for place, words in corners]
    boxes.append(f'@bottom-right {{ content: "Page " counter(page) " of " counter(pages); {font}; }}')
    return f"@page {{ size: A4; margin: 17mm 14mm 15mm; {' '.join(boxes)} }}"


def document(inside: Inlined, *, title: str, sheets: Sequence[str], body_class: str = "layout") -> str:
    """The whole file. Its own policy allows nothing but its styles and its photos, whoever serves or opens it."""
    style = re.sub(r"\s*\n\s*", "\n", "\n".join(sheets))
    policy = policy_of(style)
    return (
        '<!doctype html>\n<html lang="en-GB" data-theme="paper">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{escape(policy)}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{style}</style>\n</head>\n"
        f'<body class="{escape(body_class)}">\n{drawn_glyphs(inside.glyphs)}\n{inside.markup}\n</body>\n</html>\n'
    )


def policy_of(style: str) -> str:
    """What a browser may do with the file: show this one style sheet and photos that are within."""
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; form-action 'none'"
