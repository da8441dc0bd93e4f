"""One cell, by what its column was said to be, as the text that the book's own reader takes; or what is wrong with it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from dataclasses import field as made_by

from proofyard.exchange.bring_in.days import day_said
from proofyard.exchange.bring_in.said_words import choice_said, plain_words
from proofyard.exchange.bring_in.targets import NOTE, UNREAD, Target
from proofyard.quantities import KINDS
from proofyard.quantities.kinds import Kind
from proofyard.records.nouns import TABLES
from proofyard.records.typed_values import kind_of, take

POINT, COMMA = "point", "comma"
NUMBERS = {POINT: "1,120 is 1120; a point begins the decimals", COMMA: "1.120 is 1120; a comma begins the decimals"}
MOST_UNREAD = 100  # shots that one row can stand for
NOT_KNOWN = "“{}” is none of the answers here. Say under its column what it means."
NO_COUNT = "“{}” tells no number of shots. Type a number, or leave it empty."
_HAS_UNIT = re.compile(r"[A-Za-zµ°%\"'#@″′]")
_GROUPED_BY_COMMA = re.compile(r"(?<![\d.,])[1-9]\d{0,2}(?:,\d{3})+(?!\d)", re.ASCII)
_GROUPED_BY_POINT = re.compile(r"(?<![\d.,])[1-9]\d{0,2}(?:\.\d{3})+(?!\d)", re.ASCII)
GROUP = re.compile(r"(\d{1,3}) ?(?:/|of|out of) ?(\d{1,3})", re.ASCII | re.IGNORECASE)


@dataclass(frozen=True)
class Answer:
    """What a column was said to be.

    target   a key of its targets; "" where it is not taken
    unit     that a bare number takes
    numbers  what a comma and a point mean in it: "" as the reader takes them
    days     which of day and month comes first
    words    what people wrote -> a stored choice, or "" for leaving it empty
    """

    target: str = ""
    unit: str = ""
    numbers: str = ""
    days: str = ""
    words: Mapping[str, str] = made_by(default_factory=dict)


@dataclass(frozen=True)
class Value:
    """A cell made ready: its text for the book (None where there is nothing), and what is wrong."""

    text: str | None
    problem: str = ""


NOTHING = Value(None)


def kind_of_target(target: Target) -> Kind | None:
    """The kind of a quantity; None for anything else."""
    meaning = target.meaning
    if meaning is None or meaning.value != "quantity":
        return None
    return KINDS.get(kind_of(meaning, target.beside) or "")


def value_of(target: Target, answer: Answer, text: str) -> Value:
    """Read one cell."""
    text = text.strip()
    if not text:
        return NOTHING
    if target.key == NOTE or (target.value == "words" and target.key != UNREAD):
        return Value(_whole_of(text))
    if target.key == UNREAD:
        count = count_said(text)
        return Value(str(count)) if count is not None else Value(None, NO_COUNT.format(text[:40]))
    return _READERS[target.value](target, answer, text)


def count_said(text: str) -> int | None:
    """How many shots a row stands for: "5/8" and "8" say eight.

    >>> count_said("5/8"), count_said("2 of 8"), count_said("many")
    (8, 8, None)
    """
    found = GROUP.fullmatch(text.strip())
    whole = found[2] if found else _whole_of(text.strip())
    return int(whole) if whole.isascii() and whole.isdigit() and len(whole) <= 3 and 0 < int(whole) <= MOST_UNREAD else None


def typed_quantity(text: str, answer: Answer) -> str:
    """The text with its column's unit and its column's way of writing numbers.

    >>> typed_quantity("1,120", Answer(unit="gr", numbers="point"))
    '1120 gr'
    """
    if answer.numbers == POINT:
        text = _GROUPED_BY_COMMA.sub(lambda found: found[0].replace(",", ""), text)
    elif answer.numbers == COMMA:
        text = _GROUPED_BY_POINT.sub(lambda found: found[0].replace(".", ""), text).replace(",", ".")
    return text if not has_no_unit(text) or not answer.unit else f"{text} {answer.unit}"


def has_no_unit(text: str) -> bool:
    """Whether a number stands alone."""
    return bool(text) and not _HAS_UNIT.search(text)


def _whole_of(text: str) -> str:
    """12.0 is what some programs write for 12."""
    return text[:-2] if re.fullmatch(r"\d+\.0", text, re.ASCII) else text


def _quantity(target: Target, answer: Answer, text: str) -> Value:
    return _tried(target, typed_quantity(text, answer))


def _tried(target: Target, text: str) -> Value:
    taken = take(TABLES[target.noun], {**target.beside, target.field: text})
    wrong = " ".join(problem.sentence for problem in taken.problems if problem.field == target.field)
    return Value(text, wrong)


def _choice(target: Target, answer: Answer, text: str) -> Value:
    wanted = plain_words(text)
    if wanted in answer.words:
        return Value(answer.words[wanted] or None)
    stored = choice_said(target, text)
    return Value(stored) if stored else Value(None, NOT_KNOWN.format(text[:40]))


def _day(_: Target, answer: Answer, text: str) -> Value:
    day, why = day_said(text, answer.days)
    return Value(day, why)


def _whole(target: Target, _: Answer, text: str) -> Value:
    return _tried(target, _whole_of(text))


_READERS = {"quantity": _quantity, "choice": _choice, "day": _day, "whole": _whole}
