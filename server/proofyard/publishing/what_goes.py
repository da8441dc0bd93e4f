"""What would go out with some choices, before anything does: each name with what stands for it, each place, notes, photos."""

from dataclasses import dataclass

from sqlmodel import Session

from proofyard.publishing.choices import Choices
from proofyard.publishing.names_in_book import people_in, places_in, replaced
from proofyard.publishing.notes import is_note
from proofyard.records.columns import meanings
from proofyard.records.listing import all_of
from proofyard.records.nouns import TABLES
from proofyard.records.photo import Photo
from proofyard.records.trial import Trial


@dataclass(frozen=True)
class OnePhoto:
    """A photo that may go out."""

    id: str
    note: str


@dataclass(frozen=True)
class WhatGoes:
    """names, places: (as it stands in the book, as it goes out). notes: (what it is of, the note) of all free notes."""

    trials: tuple[tuple[str, str], ...]
    names: tuple[tuple[str, str], ...]
    places: tuple[tuple[str, str], ...]
    notes: tuple[tuple[str, str], ...]
    photos: tuple[OnePhoto, ...]


def what_goes(session: Session, choices: Choices) -> WhatGoes:
    """Read out of the book with these choices; nothing is copied or made."""
    words = replaced(session, choices).words
    return WhatGoes(
        trials=tuple((one.id, one.question) for one in all_of(session, Trial)),
        names=tuple((name, words[name]) for name in people_in(session)),
        places=tuple((place, words[place]) for place in places_in(session)),
        notes=tuple(_notes(session)),
        photos=tuple(OnePhoto(one.id, one.note or "") for one in all_of(session, Photo)),
    )


def _notes(session: Session) -> list[tuple[str, str]]:
    """Every free note of the book, with what it is of: what an archer must have read before it goes out."""
    found = []
    for noun, table in TABLES.items():
        columns = [(column, meaning) for column, meaning in meanings(table).values() if is_note(column, meaning)]
        if columns:
            for one in all_of(session, table, voided=True):
                found += [(f"{noun.replace('_', ' ')}, {m.label.lower()}", getattr(one, c)) for c, m in columns if getattr(one, c)]
    return found
