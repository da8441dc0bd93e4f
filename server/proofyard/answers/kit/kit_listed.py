"""The kit as its page lists it: noun by noun, the first of each that there are many of, and one noun page by page."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from proofyard.answers.kit.kit_state import Kit
from proofyard.quantities.reason import Reason, because
from proofyard.views.address import PAGE, AskedPage, Choice, Query, Reading, address

A_PAGE = 100  # records of one noun: a row is half a kilobyte
RETIRED = "retired"


@dataclass(frozen=True)
class KitRow:
    """One record: of which noun, itself, and how it stands today."""

    noun: str
    record: Any
    state: Any


@dataclass(frozen=True)
class KitPart:
    """One noun's records in use, or all retired ones.

    rows      those that are shown; count: how many there are; to_check: arrows among all of them that want a check
    page      which page of it is shown, of `pages`
    """

    noun: str
    rows: tuple[KitRow, ...]
    count: int
    to_check: int
    page: int
    pages: int

    @property
    def told(self) -> Reason:
        first = (self.page - 1) * A_PAGE + 1
        return because("shots_on_page", first=first, last=first + len(self.rows) - 1, count=self.count)

    @property
    def all_href(self) -> str:
        """Where the rest of them is; "" where all are shown."""
        return address("/kit", [("noun", self.noun), (PAGE.name, "2")]) if self.pages > 1 else ""


@dataclass(frozen=True, kw_only=True)
class AskedKit(AskedPage):
    """only: the one noun asked for, or ""."""

    only: str


def asked_kit(query: Query, nouns: Sequence[str]) -> AskedKit:
    """What an address asks of the list. A noun that there isn't shows all."""
    reading = Reading(query)
    noun = Choice(name="noun", label="Kit", blank="All kit", choices={one: one for one in (*nouns, RETIRED)})
    return AskedKit(only=reading.one(noun), page=reading.one(PAGE), **reading.as_typed())


def kit_listed(kit: Kit, asked: AskedKit) -> tuple[KitPart, ...]:
    """The parts in the order of the page; with one noun asked for, that one alone."""
    every = {noun: [KitRow(noun, record, state) for record, state in some] for noun, some in kit.by_noun.items()}
    parts = {noun: [row for row in rows if not row.record.retired] for noun, rows in every.items()}
    parts[RETIRED] = [row for rows in every.values() for row in rows if row.record.retired]
    return tuple(_part(noun, rows, asked) for noun, rows in parts.items() if asked.only in ("", noun))


def _part(noun: str, rows: Sequence[KitRow], asked: AskedKit) -> KitPart:
    pages = max(1, -(-len(rows) // A_PAGE))
    page = min(asked.page, pages) if asked.only else 1
    to_check = sum(bool(row.state.sound.need) for row in rows) if noun == "arrow" else 0
    return KitPart(noun, tuple(rows[(page - 1) * A_PAGE : page * A_PAGE]), len(rows), to_check, page, pages)
