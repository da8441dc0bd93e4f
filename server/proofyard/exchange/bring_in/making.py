"""The records that a sheet makes, in the order that they must be written: the batch first, then what others stand on."""

from collections.abc import Mapping
from dataclasses import dataclass
from dataclasses import field as made_by
from typing import Any

from proofyard.exchange.bring_in.said import RowRead, Trouble
from proofyard.records.columns import meanings
from proofyard.records.ids import new_id
from proofyard.records.import_facts import KnownKit
from proofyard.records.nouns import TABLES
from proofyard.records.typed_values import take

KIT = frozenset({"bow", "panel", "head"})  # things, of which every row must say the same; a day's weather may change


@dataclass(frozen=True)
class Made:
    """One record to be: its body as typed, and the row of the sheet that it comes from."""

    noun: str
    record_id: str
    body: Mapping[str, Any]
    row: int
    base_rev: int = 0


@dataclass
class Making:
    """What is made so far. `known`: noun -> names that the book had already."""

    kit: KnownKit
    made: list[Made] = made_by(default_factory=list)
    troubles: list[Trouble] = made_by(default_factory=list)
    known: dict[str, dict[str, None]] = made_by(default_factory=dict)
    ids: dict[tuple[str, str], str] = made_by(default_factory=dict)
    first_row: dict[tuple[str, str], int] = made_by(default_factory=dict)
    said: dict[tuple[str, str], Mapping[str, Any]] = made_by(default_factory=dict)

    def put(self, noun: str, body: Mapping[str, Any], row: RowRead, *, record_id: str | None = None) -> str:
        """One more record; what its fields are refused for is a trouble of the row."""
        body = {name: value for name, value in body.items() if value not in (None, "")}
        said = {problem.sentence for problem in take(TABLES[noun], body).problems}
        told = {one.sentence for one in row.troubles}
        row.troubles += [Trouble(row.number, None, sentence) for sentence in sorted(said - told)]
        made = Made(noun, record_id or new_id(), body, row.number)
        self.made.append(made)
        return made.record_id

    def once(self, noun: str, key: str, body: Mapping[str, Any], row: RowRead) -> str:
        """The same record for the same key, made when it is first needed."""
        if (noun, key) not in self.ids:
            self.ids[(noun, key)] = self.put(noun, body, row)
            self.first_row[(noun, key)] = row.number
            self.said[(noun, key)] = body
        elif noun in KIT:
            self._unlike(noun, key, body, row)
        return self.ids[(noun, key)]

    def _unlike(self, noun: str, key: str, body: Mapping[str, Any], row: RowRead) -> None:
        """What this row says of a thing otherwise than the first row that named it: one of the two is wrong, and nobody may guess which."""
        before, first = self.said[(noun, key)], self.first_row[(noun, key)]
        for name, (_, meaning) in meanings(TABLES[noun]).items():
            here, there = body.get(name) or "", before.get(name) or ""
            if name != "name" and here and here != there:
                said = f"says “{there}”" if there else "says nothing of it"
                label = meaning.label.lower()
                row.troubles.append(
                    Trouble(row.number, None, f"The {noun}’s {label} is “{here}” here, and row {first} {said}. Make them agree.")
                )

    def has(self, noun: str, name: str) -> bool:
        """Whether the book has kit of this name; remembers that it was asked for."""
        there: Mapping[str, str] = getattr(self.kit, noun)
        if name.casefold() in there:
            self.known.setdefault(noun, {})[name] = None
            return True
        return False

    def named(self, noun: str, name: str) -> str:
        """The id of what the book has: of the thing, or of its newest build."""
        found: Mapping[str, str] = getattr(self.kit, noun)
        return found[name.casefold()]

    def mark(self) -> tuple[int, int, int]:
        """How far it is, to come back to."""
        return len(self.made), len(self.ids), len(self.first_row)

    def back_to(self, mark: tuple[int, int, int]) -> None:
        """Forget what was made since: a row that is not taken leaves nothing."""
        del self.made[mark[0] :]
        for held, most in ((self.ids, mark[1]), (self.first_row, mark[2])):
            while len(held) > most:
                held.popitem()


def taken_already(making: Making, row: RowRead, noun: str, key: str, name: str) -> bool:
    """A name of new kit that the book or an earlier row has: said at the row."""
    if making.has(noun, name):
        row.wrong(key, f"The book has a “{name}” already. Give it another name, or leave this row out.")
        return True
    if (noun, name.casefold()) in making.first_row:
        row.wrong(
            key, f"Row {making.first_row[(noun, name.casefold())]} has the name “{name}” already. Give it another, or leave this row out."
        )
        return True
    making.first_row[(noun, name.casefold())] = row.number
    return False


def some(values: Mapping[str, str], **fields: str) -> dict[str, str]:
    """Field of the book -> what a row says of it, for those that it says something of."""
    return {name: values[key] for name, key in fields.items() if key in values}
