"""What the person said of a sheet, and one row of it read by that: values, notes, troubles."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from dataclasses import field as made_by

from proofyard.exchange.bring_in.said_words import NO_OUTCOME, plain_words
from proofyard.exchange.bring_in.table import Line, Table
from proofyard.exchange.bring_in.targets import NOTE, Target, targets_of
from proofyard.exchange.bring_in.values import Answer, value_of


@dataclass(frozen=True)
class Said:
    """All answers of a person about one sheet.

    answers    one for each column
    all_rows   target -> what holds for every row that says nothing of it
    mended     (row of the sheet, column of the table) -> what stands there instead
    left_out   rows that are not taken; `leave_wrong`: nor any with a trouble
    trial      the open trial that shots go to; "" for one of their own, with `question`
    in_order   shots stand in the order that they were shot
    method     how speeds were measured; "" if nobody knows
    """

    holds: str
    answers: tuple[Answer, ...]
    all_rows: Mapping[str, str] = made_by(default_factory=dict)
    mended: Mapping[tuple[int, int], str] = made_by(default_factory=dict)
    left_out: frozenset[int] = frozenset()
    leave_wrong: bool = False
    trial: str = ""
    question: str = ""
    in_order: bool = False
    method: str = ""


@dataclass(frozen=True)
class Trouble:
    """What is wrong with a row, in words; `column` of the table, or None where it is the whole row."""

    row: int
    column: int | None
    sentence: str


@dataclass
class RowRead:
    """A row: target -> text for the book, where each came from, its notes, what is wrong with it."""

    number: int
    values: dict[str, str] = made_by(default_factory=dict)
    columns: dict[str, int] = made_by(default_factory=dict)
    notes: list[str] = made_by(default_factory=list)
    troubles: list[Trouble] = made_by(default_factory=list)

    def wrong(self, key: str, sentence: str) -> None:
        self.troubles.append(Trouble(self.number, self.columns.get(key), sentence))

    @property
    def note(self) -> str:
        return "\n".join(self.notes)


def read_row(table: Table, said: Said, line: Line) -> RowRead:
    """One row by the answers, with what holds for all rows where it says nothing."""
    targets, made = targets_of(said.holds), RowRead(line.number)
    for at, answer in enumerate(said.answers):
        target = targets.get(answer.target)
        if target is None:
            continue
        made.columns.setdefault(target.key, at)
        text = said.mended.get((line.number, at), line.cells[at])
        value = value_of(target, answer, text)
        if value.problem:
            made.troubles.append(Trouble(line.number, at, value.problem))
        elif value.text is not None and target.key == NOTE:
            heading = table.headings[at].words
            own = plain_words(heading) in ("note", "notes", "comment", "comments", "remark", "remarks", "")
            made.notes.append(value.text if own else f"{heading}: {value.text}")
        elif value.text in NO_OUTCOME and target.key == "outcome":
            made.values["hit"] = value.text
        elif value.text is not None:
            made.values[target.key] = value.text
    for key, text in said.all_rows.items():
        _holds_for_all(made, targets.get(key), text)
    for target in targets.values():
        if target.needed and target.key not in made.values and not any(one.column == made.columns.get(target.key) for one in made.troubles):
            made.wrong(target.key, needs(target, target.key in made.columns))
    return made


def _holds_for_all(made: RowRead, target: Target | None, text: str) -> None:
    if target is None or target.key in made.values or not text.strip():
        return
    value = value_of(target, Answer(target.key, days="dmy"), text)
    if value.problem:
        made.troubles.append(Trouble(made.number, None, f"{target.label} of all rows: {value.problem}"))
    elif value.text is not None:
        made.values[target.key] = value.text


def needs(target: Target, has_column: bool) -> str:
    """What to do about something that every row must have."""
    if has_column:
        return f"{target.label}: nothing stands here. Fill it, or leave this row out."
    return f"{target.label} is missing: say which column it is, or what holds for all rows."


# --- kept for the next sheet with the same headings


def fingerprint(table: Table) -> str:
    """The same for the same headings in the same order, whatever stands below them."""
    return hashlib.sha256("\n".join(plain_words(one.shown) for one in table.headings).encode()).hexdigest()


def answers_json(answers: Sequence[Answer]) -> str:
    kept = {}
    for at, one in enumerate(answers):
        said = {"target": one.target, "unit": one.unit, "numbers": one.numbers, "days": one.days, "words": dict(one.words)}
        kept[str(at)] = {name: value for name, value in said.items() if value}
    return json.dumps(kept, ensure_ascii=False, sort_keys=True)


def answers_of(text: str) -> dict[str, Answer]:
    """Column -> answer, as they were kept. What a stranger's book may hold instead counts as nothing."""
    try:
        return {str(at): _answer_of(one) for at, one in json.loads(text).items()}
    except (ValueError, TypeError, AttributeError):
        return {}


def _answer_of(held: Mapping[str, object]) -> Answer:
    said = {name: str(held.get(name, "")) for name in ("target", "unit", "numbers", "days")}
    words = held.get("words", {})
    return Answer(**said, words={str(word): str(one) for word, one in words.items()} if isinstance(words, dict) else {})
