"""What each column of a table probably is: words of its heading, weighed by the share of its values that the book's reader takes."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from proofyard.exchange.bring_in.days import DAY_FIRST, day_said, order_of
from proofyard.exchange.bring_in.said_words import YES_AND_NO, choice_said, plain_words
from proofyard.exchange.bring_in.table import Heading, Table, is_number
from proofyard.exchange.bring_in.targets import NOTE, UNREAD, Target, targets_of
from proofyard.exchange.bring_in.values import COMMA, GROUP, POINT, Answer, kind_of_target, typed_quantity, value_of
from proofyard.quantities.kinds import Kind
from proofyard.quantities.typed import Read, read

MOST_VALUES = 60  # different ones, of each column
ENOUGH = 0.34  # below this a column is left to the person
FEW_WORDS = 20  # so many different words or fewer may be a choice in somebody's own words
_MAY_BE = 0.6  # of a choice whose words are not known: the person says what they mean
_POINT = re.compile(r"\d\.(?:\d{1,2}|\d{4,})(?!\d)", re.ASCII)
_COMMA = re.compile(r"\d,(?:\d{1,2}|\d{4,})(?!\d)", re.ASCII)
_NAMES = frozenset({"tag", "name", "arrow", "bow", "panel", "head", "number", "place", "string", "nock", "fletching", "cloth", "material"})


@dataclass(frozen=True)
class Guess:
    """What one column may be, how sure that is (0 to 1), and what has to be asked: days, numbers, group."""

    answer: Answer
    score: float = 0.0
    asks: str = ""


def known_words(holds: str) -> list[str]:
    """Every word of a heading that such a sheet may have."""
    return [word for one in targets_of(holds).values() for word in (*one.words, one.label.lower())]


def guesses(table: Table, holds: str) -> tuple[Guess, ...]:
    """One for each column, in order. No two columns are the same thing, but for notes."""
    columns = [_different(line.cells[at] for line in table.lines) for at in range(len(table.headings))]
    scored: list[tuple[float, int, str]] = []
    for at, heading in enumerate(table.headings):
        for target in targets_of(holds).values():
            words = word_score(heading.words, target) * _by_unit(heading, target)
            words = max(words, _by_its_unit(heading, target))
            if words:
                score = words * share_taken(target, heading, columns[at], table)
                if score >= ENOUGH:
                    scored.append((score, at, target.key))
    found: dict[int, tuple[float, str]] = {}
    used = set[str]()
    for score, at, key in sorted(scored, key=lambda one: (-one[0], one[1])):
        if at not in found and (key == NOTE or key not in used):
            found[at] = (score, key)
            used.add(key)
    _both_or_none(found)
    return tuple(_guess(holds, table.headings[at], columns[at], *found.get(at, (0.0, ""))) for at in range(len(columns)))


def _both_or_none(found: dict[int, tuple[float, str]]) -> None:
    """A place on the panel has two figures; x alone is something else."""
    places = {key: at for at, (_, key) in found.items() if key in ("x", "y")}
    if len(places) == 1:
        del found[places.popitem()[1]]


def _different(cells: Iterable[str]) -> list[str]:
    found: dict[str, None] = {}
    for cell in cells:
        if cell:
            found[cell] = None
            if len(found) >= MOST_VALUES:
                break
    return list(found)


def _stem(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def _words(text: str) -> list[str]:
    return [_stem(word) for word in plain_words(text).split()]


def word_score(heading: str, target: Target) -> float:
    """0 to 1: 1 where the heading is one of the target's words, less where it holds one, least where it is a part of one."""
    said = _words(heading)
    if not said:
        return 0.0
    best = 0.0
    for known in (*target.words, target.label):
        words = _words(known)
        if words == said:
            return 1.0
        if _within(words, said):
            best = max(best, 0.5 + 0.4 * len(words) / len(said))
        elif _within(said, words) and len(said) > 1:
            best = max(best, 0.6 * len(said) / len(words))
    return best


def _by_unit(heading: Heading, target: Target) -> float:
    """A heading with a unit means a quantity that is measured in it: "Bow (lbf)" is no name of a bow."""
    kind = kind_of_target(target)
    if not heading.unit or target.key == NOTE:
        return 1.0
    if kind is None:
        return 0.3
    return 1.0 if unit_in(kind, heading.unit) else 0.0


def _by_its_unit(heading: Heading, target: Target) -> float:
    """A heading that says one word of a longer name, and the unit that goes with it: "Draw (lbf)" is a draw weight."""
    said, kind = _words(heading.words), kind_of_target(target)
    if not said or kind is None or not unit_in(kind, heading.unit):
        return 0.0
    return 0.5 if any(_within(said, _words(known)) for known in target.words) else 0.0


def _within(part: Sequence[str], whole: Sequence[str]) -> bool:
    return any(list(whole[at : at + len(part)]) == list(part) for at in range(len(whole) - len(part) + 1))


def share_taken(target: Target, heading: Heading, values: Sequence[str], table: Table) -> float:
    """The share of a column's values that the reader of this target takes; 1 where there is none to try."""
    if not values:
        return 0.8
    if target.key == NOTE:
        return 0.9
    if target.key == UNREAD:
        return 0.0  # only if the person asks
    if target.key == "number":
        return len(values) / min(MOST_VALUES, max(1, len(table.lines)))
    kind = kind_of_target(target)
    if kind is not None:
        if set(values) <= {"0", "1"}:
            return 0.0  # a yes and a no, whatever stands above them
        answer = _of_quantity(kind, heading, values)
        return sum(_fits(target, answer, value) for value in values) / len(values)
    if target.value == "choice":
        return _share_of_choice(target, values)
    if target.value == "day":
        return sum(day_said(value, order_of(values) or DAY_FIRST)[0] is not None for value in values) / len(values)
    if target.value == "whole":
        return sum(not value_of(target, Answer(target.key), value).problem for value in values) / len(values)
    if target.key in _NAMES:
        return 1.0
    return sum(not is_number(value) for value in values) / len(values)


def _fits(target: Target, answer: Answer, value: str) -> bool:
    return not value_of(target, replace(answer, target=target.key), value).problem


def _share_of_choice(target: Target, values: Sequence[str]) -> float:
    if target.key == "outcome" and set(values) <= set(YES_AND_NO):
        return _MAY_BE
    levels = YES_AND_NO if target.key == "outcome" else ()
    known = sum(value in levels or choice_said(target, value) is not None for value in values) / len(values)
    if len(values) <= FEW_WORDS and not any(is_number(value) for value in values):
        return max(known, _MAY_BE)
    return known


def _guess(holds: str, heading: Heading, values: Sequence[str], score: float, key: str) -> Guess:
    if holds == "shot" and key in ("", "hit", "outcome", "number", "end", "position") and _groups(values):
        return Guess(Answer(NOTE), max(score, ENOUGH), "group")
    return Guess(answer_for(holds, key, heading, values), score, asked_of(holds, key, values)) if key else Guess(Answer())


def _groups(values: Sequence[str]) -> bool:
    """Whether most values count several shots: 5/8, 2 of 8."""
    return bool(values) and sum(GROUP.fullmatch(value) is not None for value in values) > len(values) / 2


def answer_for(holds: str, key: str, heading: Heading, values: Sequence[str]) -> Answer:
    """How the values of a column would be read if it were this."""
    target = targets_of(holds).get(key)
    if target is None:
        return Answer()
    kind = kind_of_target(target)
    if kind is not None:
        return replace(_of_quantity(kind, heading, values), target=key)
    if key == "outcome" and any(value in ("2", "3", "4", "5") for value in values):
        return Answer(key, words={level: level for level in YES_AND_NO})
    return Answer(key, days=order_of(values) if target.value == "day" else "")


def asked_of(holds: str, key: str, values: Sequence[str]) -> str:
    """What only the person can say of a column."""
    target = targets_of(holds).get(key)
    if target is None:
        return ""
    if target.value == "day" and not order_of(values) and any("two days" in day_said(value)[1] for value in values):
        return "days"
    kind = kind_of_target(target)
    if kind is not None and _both_ways(kind, values):
        return "numbers"
    return ""


def _of_quantity(kind: Kind, heading: Heading, values: Sequence[str]) -> Answer:
    """Unit and way of writing numbers by which most values are possible, those that are usual before those that are unusual."""
    first = unit_in(kind, heading.unit)
    units = [first] if first else [kind.unit, *(unit for unit in kind.entry_units.units if unit != kind.unit)]
    best, most = Answer(unit=units[0]), -1.0
    for unit in units:
        for numbers in _ways(values):
            answer = Answer(unit=unit, numbers=numbers)
            score = sum(_possible(kind, typed_quantity(value, answer)) for value in values)
            if score > most + 1e-9:
                best, most = answer, score
        if most >= len(values) * 0.95:
            break
    return best


def _ways(values: Sequence[str]) -> tuple[str, ...]:
    """How numbers may be meant: where one of a column has 1.5 or 1,5, it says so for all."""
    point, comma = any(map(_POINT.search, values)), any(map(_COMMA.search, values))
    return ("", POINT) if point and not comma else (COMMA,) if comma and not point else ("", POINT, COMMA)


def _possible(kind: Kind, text: str) -> float:
    found = read(text.partition("@")[0].lstrip("≥> "), kind)
    return (0.7 if found.warnings else 1.0) if isinstance(found, Read) else 0.0


def _both_ways(kind: Kind, values: Sequence[str]) -> bool:
    """Whether 1,120 would be possible as 1120 and as 1.120: then only a person knows."""
    if len(_ways(values)) < 3:
        return False
    for value in values:
        point, comma = (typed_quantity(value, Answer(numbers=numbers)) for numbers in (POINT, COMMA))
        if point != comma and isinstance(read(point, kind), Read) and isinstance(read(comma, kind), Read):
            return point.replace(",", ".") != comma
    return False


def unit_in(kind: Kind, said: str) -> str:
    """The unit that a heading names, if a field of this kind takes it; else ""."""
    text = {"gn": "gr", "grs": "gr"}.get(said.strip(" .").lower(), said.strip(" ."))
    return kind.entry_units.find(text) or "" if text else ""
