"""A drawing of the book as a file of its own: an SVG that needs no style sheet, no glyph file and no server beside it.

What a page shows takes its colours from the app's sheets and its glyphs from a file. Here both are written into the
drawing: each element gets the values that the sheets say for print, as plain attributes, since many programs that
open an SVG know no variables. Links are taken out: they lead to a laptop that the reader of the file doesn't have.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

from proofyard.settings import data_folder

SVG = "http://www.w3.org/2000/svg"
SHEETS = ("parts/glyph.css", "parts/outcome.css", "parts/chart.css", "parts/panel.css")
DRAWINGS = ("chart__drawing", "panel__drawing")
# Named one by one, for there is no face that every machine has; the generic name comes last.
FACES = "Segoe UI, Roboto, Noto Sans, Helvetica Neue, Arial, Liberation Sans, DejaVu Sans, sans-serif"
MARGIN = 14.0
HEADING, NOTE = 17.0, 12.0
# What an SVG may say of itself; all else in the sheets is for a page.
KEPT = frozenset(["color", "fill", "stroke", "stroke-width", "stroke-dasharray", "font-size", "font-weight", "text-anchor", "paint-order"])
LEFT_AWAY = frozenset(["class", "href", "aria-label", "aria-hidden", "tabindex"])

_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
_COMPOUND = re.compile(r"([a-z]*)((?:\.[\w-]+)*)")
_VAR = re.compile(r"var\((--[\w-]+)(?:,\s*([^()]*(?:\([^()]*\))?[^()]*))?\)")
_BY_LIGHT = re.compile(r"light-dark\(([^,()]+),[^()]*\)")


@dataclass(frozen=True)
class Compound:
    """One element of a selector: its tag, or any, and the classes that it must have."""

    tag: str
    classes: frozenset[str]

    def fits(self, element: ElementTree.Element) -> bool:
        have = (element.get("class") or "").split()
        return (not self.tag or self.tag == element.tag) and self.classes <= set(have)


@dataclass(frozen=True)
class Rule:
    """`path`: from the outermost element that must stand around to the element itself."""

    path: tuple[Compound, ...]
    said: tuple[tuple[str, str], ...]
    place: int

    @property
    def weight(self) -> tuple[int, int, int]:
        return sum(len(one.classes) for one in self.path), sum(bool(one.tag) for one in self.path), self.place

    def fits(self, line: Sequence[ElementTree.Element]) -> bool:
        """Whether it holds for the last of a line of elements, each inside the one before."""
        if not self.path[-1].fits(line[-1]):
            return False
        wanted = list(self.path[:-1])
        for around in reversed(line[:-1]):
            if wanted and wanted[-1].fits(around):
                wanted.pop()
        return not wanted


@cache
def _sheets() -> tuple[Mapping[str, str], tuple[Rule, ...]]:
    """Values by name as they are in print, and the rules for what stands in a drawing."""
    folder = data_folder("static") / "css"
    values: dict[str, str] = {}
    for name in ("tokens.css", "print.css"):
        for selector, said in _rules_of(folder / name):
            if ":root" in selector:
                values |= {key: _BY_LIGHT.sub(r"\1", value) for key, value in said if key.startswith("--")}
    rules: list[Rule] = []
    for name in SHEETS:
        for selector, said in _rules_of(folder / name):
            for single in selector.split(","):
                path = _path_of(single.split())
                if path:
                    rules.append(Rule(path, said, len(rules)))
    return values, tuple(rules)


def _rules_of(sheet: Path) -> list[tuple[str, tuple[tuple[str, str], ...]]]:
    """The rules that hold always; those inside @media hold for somebody else."""
    text = _COMMENT.sub("", sheet.read_text(encoding="utf-8"))
    text = re.sub(r"@media[^{]*\{(?:[^{}]*\{[^{}]*\})*[^{}]*\}", "", text)
    found = []
    for selector, block in _RULE.findall(text):
        pairs = (one.partition(":") for one in block.split(";") if ":" in one)
        found.append((selector.strip(), tuple((key.strip(), value.strip()) for key, _, value in pairs)))
    return found


def _path_of(words: Sequence[str]) -> tuple[Compound, ...]:
    """Empty for a selector that asks for more than tags and classes, such as a:hover: nothing hovers in a file."""
    path = []
    for word in words:
        found = _COMPOUND.fullmatch(word)
        if found is None:
            return ()
        path.append(Compound(found[1], frozenset(found[2].split(".")) - {""}))
    return tuple(path)


def _resolved(text: str, values: Mapping[str, str]) -> str:
    """With every var() replaced; empty where a name has no value and no other is offered."""
    for _ in range(8):
        found = _VAR.search(text)
        if found is None:
            return text
        text = text[: found.start()] + values.get(found[1], found[2] or "") + text[found.end() :]
    return text


def _dress(line: Sequence[ElementTree.Element], values: Mapping[str, str], rules: Sequence[Rule]) -> None:
    """Write onto an element and all in it what the sheets say of them."""
    element = line[-1]
    said: dict[str, str] = {}
    for rule in sorted((rule for rule in rules if rule.fits(line)), key=lambda rule: rule.weight):
        said |= dict(rule.said)
    own = {key: value for key, value in said.items() if key.startswith("--")}
    here = {**values, **own}
    for key, value in said.items():
        if key in KEPT and (told := _resolved(value, here).removesuffix("px")):
            element.set(key, told)
    for child in element:
        _dress([*line, child], here, rules)


@cache
def _glyphs() -> Mapping[str, ElementTree.Element]:
    root = ElementTree.parse(data_folder("static") / "glyphs.svg").getroot()
    return {str(one.get("id")): one for one in root.iter(f"{{{SVG}}}symbol")}


def standalone_svg(figure: str, *, heading: Sequence[str], notes: Sequence[str] = ()) -> str:
    """The drawing in a figure's markup as an SVG document, the lines of a heading over it and those of notes under it.

    Refuses
        ValueError  the markup holds no drawing
    """
    root = ElementTree.fromstring(figure.replace("&nbsp;", "\N{NO-BREAK SPACE}"))
    drawing = next((one for one in root.iter("svg") if (one.get("class") or "") in DRAWINGS), None)
    if drawing is None:
        raise ValueError("this markup holds no drawing")
    values, rules = _sheets()
    _dress([drawing], values, rules)
    named = _undressed(drawing)
    return _document(drawing, heading, notes, used=named, values=values)


def _undressed(drawing: ElementTree.Element) -> list[str]:
    """Take out what only a page can use. Gives the names of the glyphs that are drawn."""
    used: list[str] = []
    for parent in list(drawing.iter()):
        for child in [one for one in parent if one.tag == "image"]:
            parent.remove(child)
    for one in drawing.iter():
        glyph = (one.get("href") or "").rpartition("#")[2] if one.tag == "use" else ""
        for key in [key for key in one.attrib if key in LEFT_AWAY or key.startswith("data-")]:
            del one.attrib[key]
        if glyph:
            used.append(glyph)
            one.set("href", f"#{glyph}")
        if one.tag == "a":
            one.tag = "g"
    return list(dict.fromkeys(used))


def _document(
    drawing: ElementTree.Element, over: Sequence[str], under: Sequence[str], *, used: Sequence[str], values: Mapping[str, str]
) -> str:
    _, _, wide, high = (float(one) for one in str(drawing.get("viewBox")).split())
    top = MARGIN + 1.3 * HEADING * len(over) + 8.0
    whole_wide, whole_high = math.ceil(wide + 2 * MARGIN), math.ceil(top + high + 1.4 * NOTE * len(under) + MARGIN + 6.0)
    ink, paper = _resolved("var(--text)", values), _resolved("var(--page)", values)
    head = [one for one in drawing if one.tag in ("title", "desc")]
    document = ElementTree.Element(
        "svg",
        {
            "xmlns": SVG,
            "viewBox": f"0 0 {whole_wide:g} {whole_high:g}",
            "width": f"{2 * whole_wide:g}",
            "height": f"{2 * whole_high:g}",
            "role": "img",
            **_told(head),
            "font-family": FACES,
            "color": ink,
            "fill": ink,
        },
    )
    document.extend(head)
    if used:
        defs = ElementTree.SubElement(document, "defs")
        defs.extend(_plain(_glyphs()[name]) for name in used)
    ElementTree.SubElement(document, "rect", {"width": f"{whole_wide:g}", "height": f"{whole_high:g}", "fill": paper})
    for n, line in enumerate(over):
        _text(document, line, MARGIN, MARGIN + HEADING * (1 + 1.3 * n), size=HEADING, strong=True)
    drawn = ElementTree.SubElement(document, "g", {"transform": f"translate({MARGIN:g} {top:g})"})
    drawn.extend(one for one in drawing if one.tag not in ("title", "desc"))
    for n, line in enumerate(under):
        _text(document, line, MARGIN, top + high + 6.0 + NOTE * (1 + 1.4 * n), size=NOTE)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(document, encoding="unicode") + "\n"


def _told(head: Sequence[ElementTree.Element]) -> dict[str, str]:
    """The title is the drawing's name, the words its description: a name of a hundred words is none."""
    sorts = {"title": "aria-labelledby", "desc": "aria-describedby"}
    return {sorts[one.tag]: str(one.get("id")) for one in head}


def _plain(symbol: ElementTree.Element) -> ElementTree.Element:
    """A copy without the namespace on each tag: the document says it once."""
    made = ElementTree.Element(symbol.tag.rpartition("}")[2], dict(symbol.attrib))
    made.extend(_plain(one) for one in symbol)
    return made


def _text(document: ElementTree.Element, words: str, x: float, y: float, *, size: float, strong: bool = False) -> None:
    more = {"font-weight": "700"} if strong else {}
    one = ElementTree.SubElement(document, "text", {"x": f"{x:g}", "y": f"{y:.1f}", "font-size": f"{size:g}", **more})
    one.text = words
