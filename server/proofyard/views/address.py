"""What a page is asked through its address: a Setting says how one part is read, written back, and what its control looks like.

A page lists its settings once. `Reading` reads them from an address: what can't be used gets a sentence beside its control and the
default in its place, and the rest is kept. `address` writes them back.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Generic, Self, TypeVar
from urllib.parse import urlencode

from proofyard.quantities import KINDS, Empty, Read, Refused, read, sentence
from proofyard.quantities.reason import Reason, because
from proofyard.wording.reasons.said import said

T = TypeVar("T")
Query = Mapping[str, Sequence[str]]


@dataclass(frozen=True)
class Unusable:
    """Why what was typed can't be used, as the sentence beside its control."""

    sentence: str


@dataclass(frozen=True, kw_only=True)
class Setting(Generic[T]):
    """One thing that an address may ask.

    name     in the address, and of its control
    default  holds where nothing was typed, or what was typed can't be used; an address leaves it out
    label, hint, unit   beside the control
    control  text, number, select, choice, several or tick
    choices, glyphs     value -> its words, its sign; none: anything may be typed
    blank    of a select: the words of the empty answer
    """

    name: str
    default: T
    label: str = ""
    hint: str = ""
    unit: str = ""
    control: str = "text"
    choices: Mapping[str, str] = field(default_factory=dict)
    glyphs: Mapping[str, str] = field(default_factory=dict)
    blank: str = ""

    def parse(self, text: str) -> T | Unusable:
        """The value of what was typed, or what is wrong with it. Never asked of an empty text."""
        raise NotImplementedError

    def shown(self, text: str, value: T) -> str:
        """What stands in the control: what was typed."""
        return text

    def warning(self, text: str) -> str:
        """What to check about a text that can be used."""
        return ""

    def of(self, choices: Mapping[str, str], **more: Any) -> Self:
        """The same setting with the answers that the data has."""
        return replace(self, choices=choices, **more)


@dataclass(frozen=True, kw_only=True)
class Free(Setting[str]):
    """Words as they stand: what they mean is looked up later."""

    default: str = ""

    def parse(self, text: str) -> str:
        return text


@dataclass(frozen=True, kw_only=True)
class Choice(Setting[str]):
    """One of a few. For another, `wrong` is the sentence, {} where it is quoted; or `is_no` says what it is not: "a form of head"."""

    default: str = ""
    control: str = "select"
    wrong: str = ""
    is_no: str = ""

    def parse(self, text: str) -> str | Unusable:
        if text in self.choices:
            return text
        if self.wrong:
            return Unusable(self.wrong.replace("{}", cut(text)))
        if self.is_no:
            return Unusable(said(because("asked_is_not", typed=cut(text), what=self.is_no)))
        return Unusable(said(because("asked_no_choice", typed=cut(text), shown=self.choices[self.default] if self.default else "")))

    def shown(self, text: str, value: str) -> str:
        """One answer of a few has to stand chosen; where none need be, what was typed stays."""
        return text if self.blank else value


@dataclass(frozen=True, kw_only=True)
class Tick(Setting[bool]):
    """Yes, or nothing."""

    default: bool = False
    control: str = "tick"

    def parse(self, text: str) -> bool:
        return text == "yes"


@dataclass(frozen=True, kw_only=True)
class Amount(Setting[float | None]):
    """A quantity, in SI. `fits`: what else has to be true of it, with the sentence `outside` where it is not.

    warns    says so beside the control where it is unusual
    """

    default: float | None = None
    control: str = "number"
    kind: str
    fits: Callable[[float], bool] = lambda value: True
    outside: str = ""
    warns: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "unit", self.unit or KINDS[self.kind].unit)

    def parse(self, text: str) -> float | None | Unusable:
        found = read(text, self.kind)
        if isinstance(found, Refused):
            return Unusable(sentence(found))
        if isinstance(found, Empty):
            return None
        return found.value_si if self.fits(found.value_si) else Unusable(self.outside)

    def warning(self, text: str) -> str:
        found = read(text, self.kind)
        return " ".join(found.warnings) if self.warns and isinstance(found, Read) else ""


def more_than_nothing(name: str, label: str, kind: str, *, hint: str = "", warns: bool = False) -> Amount:
    """A quantity above 0, in SI."""
    outside = said(because("asked_nothing"))
    return Amount(name=name, label=label, kind=kind, hint=hint, fits=lambda value: value > 0, outside=outside, warns=warns)


@dataclass(frozen=True, kw_only=True)
class Written(Setting[T]):
    """What its own reader makes of the words."""

    reader: Callable[[str], T | Unusable]

    def parse(self, text: str) -> T | Unusable:
        return self.reader(text)


@dataclass(frozen=True, kw_only=True)
class Several(Setting[tuple[str, ...]]):
    """As many as are ticked, in the order of the choices. `wrong`: the sentence where one of them is no choice."""

    default: tuple[str, ...] = ()
    control: str = "several"
    wrong: str

    def of_ticked(self, ticked: Sequence[str]) -> tuple[tuple[str, ...], str]:
        """Those ticked that are choices, and the sentence where others were ticked too."""
        known = tuple(value for value in self.choices if value in ticked)
        return known, self.wrong if len(known) < len(ticked) else ""


@dataclass(frozen=True, kw_only=True)
class AsTyped:
    """What was asked, setting by setting: the setting itself, what was typed or ticked, and what is wrong with it."""

    schema: Mapping[str, Setting[Any]] = field(default_factory=dict)
    typed: Mapping[str, str] = field(default_factory=dict)
    ticked: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    problems: Mapping[str, str] = field(default_factory=dict)
    warnings: Mapping[str, str] = field(default_factory=dict)

    def pairs(self, **instead: str) -> list[tuple[str, str]]:
        """What an address needs to ask the same again, as it was typed; what stands at its default is left out."""
        pairs = []
        for name, setting in self.schema.items():
            text = instead.get(name, self.typed.get(name, ""))
            pairs += [(name, value) for value in self.ticked.get(name, ())] if name in self.ticked else []
            pairs += [(name, text)] if text and text != setting.default else []
        return pairs


class Reading:
    """One address while it is read; `as_typed` is what a page needs of it afterwards."""

    def __init__(self, query: Query) -> None:
        self.query = query
        self.schema: dict[str, Setting[Any]] = {}
        self.typed: dict[str, str] = {}
        self.ticked: dict[str, tuple[str, ...]] = {}
        self.problems: dict[str, str] = {}
        self.warnings: dict[str, str] = {}

    def one(self, setting: Setting[T]) -> T:
        """The value that holds. What was typed last counts, as in a form that is sent twice."""
        text = last(self.query, setting.name)
        found = setting.parse(text) if text else setting.default
        if isinstance(found, Unusable):
            self.problems[setting.name] = found.sentence
            found = setting.default
        elif text and (warning := setting.warning(text)):
            self.warnings[setting.name] = warning
        self.schema[setting.name], self.typed[setting.name] = setting, setting.shown(text, found)
        return found

    def refuse(self, setting: Setting[Any], why: Reason) -> None:
        """Say beside this control what is wrong with what was read of it, unless something is said there already."""
        self.problems.setdefault(setting.name, said(why))

    def unread(self, setting: Setting[T]) -> T:
        """The default; what was typed is kept, but bears on nothing here."""
        self.schema[setting.name], self.typed[setting.name] = setting, last(self.query, setting.name)
        return setting.default

    def many(self, setting: Several) -> tuple[str, ...]:
        """Those that hold, in the order of the choices."""
        ticked = tuple(dict.fromkeys(value.strip() for value in self.query.get(setting.name, ()) if value.strip()))
        found, wrong = setting.of_ticked(ticked)
        if wrong:
            self.problems[setting.name] = wrong
        self.schema[setting.name], self.ticked[setting.name] = setting, ticked
        return found

    def as_typed(self) -> dict[str, Any]:
        """The fields of AsTyped."""
        return {"schema": self.schema, "typed": self.typed, "ticked": self.ticked, "problems": self.problems, "warnings": self.warnings}


def last(query: Query, name: str) -> str:
    values = query.get(name, ())
    return values[-1].strip() if values else ""


def cut(text: str) -> str:
    """What was typed, short enough to be quoted."""
    shown = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text[:40])
    return shown + ("…" if len(text) > 40 else "")


def address(path: str, pairs: Iterable[tuple[str, str]]) -> str:
    """An address with these settings; empty ones are left out."""
    query = urlencode([(name, value) for name, value in pairs if value])
    return f"{path}?{query}" if query else path


def _page(text: str) -> int | Unusable:
    number = int(text) if text.isascii() and text.isdecimal() and len(text) < 7 else 0
    return number or Unusable(said(because("asked_no_page", typed=cut(text))))


# Which part of a list that is cut into pages, counted from 1.
PAGE = Written(name="page", label="Page", default=1, reader=_page)


def asked_page_of(query: Query) -> "AskedPage":
    """Of a list that is asked for nothing but one of its pages."""
    reading = Reading(query)
    return AskedPage(page=reading.one(PAGE), **reading.as_typed())


@dataclass(frozen=True, kw_only=True)
class AskedPage(AsTyped):
    """What was asked of a list that is cut into pages, and which of them."""

    page: int

    def address(self, path: str, *, page: int = 1, **instead: str) -> str:
        """The same again, at another page of it; `instead`: settings that differ."""
        pairs = [pair for pair in self.pairs(**instead) if pair[0] != PAGE.name]
        return address(path, [*pairs, (PAGE.name, str(page) if page > 1 else "")])
