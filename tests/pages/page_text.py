"""The whole text of a page as a reader meets it, a line for each paragraph, heading, item, row or control.

    # heading of the first order, ## of the second …
    - an item of a list
    | a cell | a cell |
    Label [what stands in its field]   [x] a choice that is made   * the one that is picked / another   (a key)
    {A drawing: its title. Its words.}

What needs a press to be seen (a fold, the choices of a list) is in it too; scripts, what is hidden until something goes wrong,
and the marks of drawings are not.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

UNREAD = {"script", "style", "template", "head", "noscript"}
VOID = {"input", "br", "img", "hr", "meta", "link", "wbr", "source", "col"}
LINES = re.compile(
    "address|article|aside|blockquote|button|d[dlt]|details|div|fieldset|figcaption|figure|footer|form|h[1-6]|header|legend|li|main|"
    "nav|[ou]l|p|pre|section|select|summary|table|t(body|foot|head|r)|textarea"
)
BEFORE = {**{f"h{n}": "#" * n + " " for n in range(1, 7)}, "li": "- ", "dt": "~ "}


@dataclass
class _Drawing:
    """What is said of the drawing that is being read: its title and its words."""

    depth: int
    said: list[str] = field(default_factory=list)


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.lines: list[str] = []
        self.now = ""
        self.open: list[str] = []
        self.unread = 0
        self.drawing: _Drawing | None = None

    def line(self) -> None:
        words = re.sub(r" (?=[,;.](\s|$))", "", re.sub(r"[ \t\n\r]+", " ", self.now)).strip()
        if words and words.strip("|# -~"):
            self.lines.append(words)
        self.now = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        at = {name: value or "" for name, value in attrs}
        if tag not in VOID:
            self.open.append(tag)
        if tag in UNREAD or self.unread or ("hidden" in at and tag not in VOID):
            self.unread += tag not in VOID
            return
        if tag == "svg" and self.drawing is None:
            self.drawing = _Drawing(len(self.open))
        if self.drawing:
            return
        if LINES.fullmatch(tag) or (tag == "label" and not self.now.endswith("] ")):
            self.line()
            self.now = BEFORE.get(tag, "")
        if tag in ("span", "b", "small", "time", "a") and re.search(r"[\w.?)]$", self.now):
            self.now += " "  # told apart by its looks
        self.now += {"td": " | ", "th": " | ", "button": "(", "br": " / "}.get(tag, "")
        if tag == "img" and at.get("alt"):
            self.now += f"{{{at['alt']}}}"
        if tag == "input" and at.get("type") != "hidden":
            self._input(at)
        if tag == "option":
            self.now += " * " if "selected" in at else " / "

    def _input(self, at: dict[str, str]) -> None:
        if at.get("type") in ("checkbox", "radio"):
            self.now += "[x] " if "checked" in at else "[ ] "
        elif at.get("type") in ("submit", "button"):
            self.now += f"({at.get('value', '')})"
        else:
            self.now += f" [{at.get('value', '')}] "

    def handle_endtag(self, tag: str) -> None:
        if tag in VOID or tag not in self.open:
            return
        while self.open.pop() != tag:
            self.unread = max(0, self.unread - 1)
        if self.unread:
            self.unread -= 1
            return
        if self.drawing:
            if len(self.open) < self.drawing.depth:
                if self.drawing.said:
                    self.line()
                    self.lines.append(f"{{{' '.join(self.drawing.said)}}}")
                self.drawing = None
            return
        self.now += ")" if tag == "button" else " |" if tag == "tr" else ""
        if LINES.fullmatch(tag):
            self.line()

    def handle_data(self, data: str) -> None:
        if self.unread:
            return
        if self.drawing is None:
            self.now += data
        elif self.open[self.drawing.depth :] in (["title"], ["desc"]):
            self.drawing.said.append(" ".join(data.split()) + ("." if self.open[-1] == "title" else ""))


def text_of(html: str, *, frame: bool) -> str:
    """The lines of a page, each ended; no-break spaces as they stand, since where a line may break is part of the text.

    frame  with what stands around the page's own part, the same on every page
    """
    reader = _Reader()
    reader.feed(html if frame else html[html.index("<main") : html.index("</main>")])
    reader.close()
    reader.line()
    return "".join(f"{line}\n" for line in reader.lines)
