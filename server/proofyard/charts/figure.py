"""What every chart is: a title, words, tables and marks. One template draws it on a page, one renderer into a file.

Places are units of the drawing, x to the right and y down; a mark keeps them to a tenth, finer than any phone shows.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from typing import ClassVar

from proofyard.charts.scale import LinearScale

WIDTH = 340.0
TEXT, COUNT = 13.5, 15.0  # sizes of a drawing's words, as chart.css has them


@dataclass(frozen=True)
class Mark:
    """One shape. `look`: its classes in the style sheets, which alone give it ink."""

    shape: ClassVar[str]

    def __post_init__(self) -> None:
        for one in fields(self):
            if isinstance(value := getattr(self, one.name), float):
                object.__setattr__(self, one.name, tenth(value))


@dataclass(frozen=True)
class Path(Mark):
    """`d` as SVG writes it."""

    shape = "path"
    d: str
    look: str


@dataclass(frozen=True)
class Rect(Mark):
    shape = "rect"
    x: float
    y: float
    width: float
    height: float
    look: str


@dataclass(frozen=True)
class Circle(Mark):
    shape = "circle"
    x: float
    y: float
    r: float
    look: str = ""


@dataclass(frozen=True)
class Text(Mark):
    """A line of words; `anchor`: whether x is its start, middle or end."""

    shape = "text"
    text: str
    x: float
    y: float
    look: str = ""
    anchor: str = "start"


@dataclass(frozen=True)
class Glyph(Mark):
    """A glyph of static/glyphs.svg, by name."""

    shape = "glyph"
    name: str
    x: float
    y: float
    width: float
    height: float
    look: str = ""


@dataclass(frozen=True)
class Group(Mark):
    """Marks that belong together. `words` are said of them, `href` is where they lead; `hidden`: from a screen reader,
    since the figure's words say the same."""

    shape = "group"
    marks: tuple[Mark, ...]
    look: str = ""
    words: str = ""
    href: str = ""
    hidden: bool = False


@dataclass(frozen=True)
class Table:
    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Figure:
    """`marks` is empty where there is nothing to draw: then the words say so. `words`: the finding, for who can't see the
    marks; `key`: how they are read; `columns` and `rows`, and `more` tables: the same as numbers. `x`, `y`: the scales of a
    chart with one pair of axes; `data`: what a script needs."""

    title: str
    words: str
    height: float
    marks: tuple[Mark, ...]
    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    more: tuple[Table, ...] = ()
    key: str = ""
    look: str = "chart"
    width: float = WIDTH
    data: tuple[tuple[str, float], ...] = ()
    x: LinearScale | None = None
    y: LinearScale | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "height", tenth(self.height))

    @property
    def tables(self) -> tuple[Table, ...]:
        """Its own table under its title, and what stands beside that."""
        return (*((Table(self.title, self.columns, self.rows),) if self.columns else ()), *self.more)

    def each(self) -> Iterator[Mark]:
        """Every mark, and after a group those in it."""
        yield from each(self.marks)

    @property
    def leads_on(self) -> bool:
        """Whether any mark is a link: then it is no mere image to a screen reader."""
        return any(isinstance(one, Group) and one.href for one in self.each())


def each(marks: Sequence[Mark]) -> Iterator[Mark]:
    for one in marks:
        yield one
        if isinstance(one, Group):
            yield from each(one.marks)


def tenth(value: float) -> float:
    return round(value, 1)


def path(points: Sequence[tuple[float, float]], *, closed: bool = False) -> str:
    """The points as the d of an SVG path."""
    return "M" + "L".join(f"{tenth(x):g} {tenth(y):g}" for x, y in points) + ("Z" if closed else "") if points else ""


def line(points: Sequence[tuple[float, float]], look: str) -> tuple[Path, ...]:
    """A line through points; none through fewer than two."""
    return (Path(path(points), look),) if len(points) > 1 else ()


def area(upper: Sequence[tuple[float, float]], lower: Sequence[tuple[float, float]], look: str) -> tuple[Path, ...]:
    """What lies between two lines of the same direction."""
    return (Path(path([*upper, *reversed(lower)], closed=True), look),) if len(upper) > 1 else ()


def level(left: float, right: float, y: float, look: str) -> Path:
    return Path(path([(left, y), (right, y)]), look)


def upright(x: float, top: float, bottom: float, look: str) -> Path:
    return Path(path([(x, top), (x, bottom)]), look)


def hidden(marks: Sequence[Mark]) -> Group:
    """What a screen reader passes over: axes, names and numbers that the figure's words say."""
    return Group(tuple(marks), hidden=True)


def many(count: int, noun: str) -> str:
    """ "1 shot", "4 shots"."""
    return f"{count} {noun}" + ("" if count == 1 else "s")


def text_lines(first: float, lines: Sequence[str], *, step: float, x: float = 0.0, look: str = "") -> tuple[Text, ...]:
    """Words on lines under each other; `first` is the base of the first."""
    return tuple(Text(text, x, first + n * step, look) for n, text in enumerate(lines))
