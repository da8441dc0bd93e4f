"""The kit as its page lists it: noun by noun, the first of each that there are many of, and one noun page by page."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from proofyard.answers.kit.kit_state import LookAgain, kit_states, look_again
from proofyard.quantities.reason import Reason, because
from proofyard.records.kit_named import KIT, Named, arrows_to_check, kit_named, maybe_unusual
from proofyard.records.listing import belonging
from proofyard.storage import Session
from proofyard.views.address import PAGE, AskedPage, Choice, Query, Reading, address

A_PAGE = 100  # records of one noun: a row is half a kilobyte
RETIRED = "retired"
IN_ORDER = ("archer", "bow", "arrow", "head", "panel", "stand", "instrument")
MOST_UNUSUAL = 100  # records told of as unusual


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


@dataclass(frozen=True)
class Kit:
    """What of the kit a page shows, and what is unusual of all of it.

    more_unusual  whether there may be more of that than is told
    """

    parts: tuple[KitPart, ...]
    look_again: tuple[LookAgain, ...]
    more_unusual: bool
    empty: bool


def read_kit(session: Session, asked: AskedKit) -> Kit:
    """The parts in the order of the page, with one noun asked for that one alone; no record is read that this page does not show."""
    every = kit_named(session)
    parts = {noun: [(noun, one.record_id) for one in every[noun] if not one.retired] for noun in IN_ORDER}
    parts[RETIRED] = [(noun, one.record_id) for noun in IN_ORDER for one in every[noun] if one.retired]
    pages = {noun: _page(rows, asked) for noun, rows in parts.items() if asked.only in ("", noun)}
    odd, more = ([], False) if asked.only else _unusual(session, every)
    wanted: dict[str, set[str]] = {}
    for noun, record_id in (*(one for _, shown in pages.values() for one in shown), *odd):
        wanted.setdefault(noun, set()).add(record_id)
    states = kit_states(session, wanted)
    to_check = arrows_to_check(session) if "arrow" in pages else 0
    found = []
    for noun, (page, shown) in pages.items():
        rows = tuple(KitRow(of, *states[record_id]) for of, record_id in shown)
        count = len(parts[noun])
        found.append(KitPart(noun, rows, count, to_check if noun == "arrow" else 0, page, max(1, -(-count // A_PAGE))))
    return Kit(tuple(found), look_again(states[record_id][0] for _, record_id in odd), more, not any(every.values()))


def _page(rows: Sequence[tuple[str, str]], asked: AskedKit) -> tuple[int, Sequence[tuple[str, str]]]:
    page = min(asked.page, max(1, -(-len(rows) // A_PAGE))) if asked.only else 1
    return page, rows[(page - 1) * A_PAGE : page * A_PAGE]


def _unusual(session: Session, every: Mapping[str, Sequence[Named]]) -> tuple[list[tuple[str, str]], bool]:
    """The first records of which something may be unusual, in the order of their names; whether there are more."""
    maybe = maybe_unusual(session, most=MOST_UNUSUAL + 1)
    found = [(noun, one.record_id) for noun, some in every.items() for one in some if one.record_id in maybe.get(noun, ())]
    return found[:MOST_UNUSUAL], len(found) > MOST_UNUSUAL


def kit_unusual(session: Session, every: Mapping[str, Sequence[Named]]) -> tuple[LookAgain, ...]:
    """What is unusual of all kit, as far as a page tells it."""
    odd, _ = _unusual(session, every)
    wanted: dict[str, set[str]] = {}
    for noun, record_id in odd:
        wanted.setdefault(noun, set()).add(record_id)
    rows = {row.id: row for noun, ids in wanted.items() for row in belonging(session, KIT[noun], "id", sorted(ids))}
    return look_again(rows[record_id] for _, record_id in odd)
