"""What the macros take: small shapes that a page fills and a template prints."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NamedTuple


@dataclass(frozen=True)
class FieldState:
    """One control as it stands: what was typed, and what the book says about it."""

    typed: str = ""
    said: str = ""
    warning: str = ""
    error: str = ""


class Option(NamedTuple):
    """One answer of a choice or a select."""

    value: str
    words: str
    glyph: str = ""
    need: bool = False
    disabled: bool = False
    unseen: str = ""


class Wrong(NamedTuple):
    """One line of the summary of errors: the id of the control, its label, the message as it stands beside it."""

    id: str
    label: str
    message: str


class Column(NamedTuple):
    """One heading of a table; numbers stand to the right, and their unit stands here."""

    words: str
    number: bool = False


@dataclass(frozen=True)
class Step:
    """One line of how a figure came about; `method` is where its formula stands."""

    words: str
    value: str
    plus_minus: str = ""
    note: str = ""
    href: str = ""
    href_words: str = ""
    last: bool = False
    method: str = ""


@dataclass(frozen=True)
class Change:
    """One field of a revision: what it said, and what it says now."""

    label: str
    before: str = ""
    after: str = ""


def as_options(given: Iterable[object] | Mapping[str, str]) -> list[Option]:
    """Options from any of: a mapping value -> words, pairs, words alone, or Options."""
    if isinstance(given, Mapping):
        return [Option(str(value), str(words)) for value, words in given.items()]
    options = []
    for one in given:
        if isinstance(one, Option):
            options.append(one)
        elif isinstance(one, tuple):
            options.append(Option(str(one[0]), str(one[1]), *one[2:]))
        else:
            options.append(Option(str(one), str(one)))
    return options


def as_columns(given: Iterable["Column | str"]) -> list[Column]:
    """Columns from words alone, too: nothing is known of them, so they stand as words do."""
    return [one if isinstance(one, Column) else Column(str(one)) for one in given]


def chosen_values(chosen: object) -> frozenset[str]:
    """What is chosen, as the texts a form sends: one value, several, or nothing."""
    if chosen is None or chosen == "":
        return frozenset()
    if isinstance(chosen, (list, tuple, set, frozenset)):
        return frozenset(str(one) for one in chosen)
    return frozenset({str(chosen)})


def as_state(given: "FieldState | str | int | float | None") -> FieldState:
    """The state of a control; a plain text stands for "as typed", nothing for an empty control."""
    if isinstance(given, FieldState):
        return given
    return FieldState() if given is None else FieldState(typed=str(given))
