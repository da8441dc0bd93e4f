"""Which people and places a book names, and what stands for them in what goes out."""

import re

from sqlmodel import Session

from proofyard.publishing.choices import WITHHELD, Choices, Replaced
from proofyard.records.published_facts import archers_called, phones_called, who_was_there

SOMEBODY = "Somebody"


def people_in(session: Session) -> tuple[str, ...]:
    """Archers in the order that they were entered, then others: range officers, who was there, phones' call names."""
    found = list(archers_called(session))
    for _, officer, present in who_was_there(session):
        found += [officer, *_listed(present)]
    found += phones_called(session)
    return tuple(dict.fromkeys(name.strip() for name in found if name.strip()))


def places_in(session: Session) -> tuple[str, ...]:
    """The places of the sessions, as typed, and the first part of each: a note may name only that."""
    found = [place.strip() for place, _, _ in who_was_there(session) if place.strip()]
    first = [place.split(",")[0].strip() for place in found]
    return tuple(dict.fromkeys([*found, *(part for part in first if len(part) > 2)]))


def replaced(session: Session, choices: Choices) -> Replaced:
    """Each word that the book names, with what stands for it; equal to itself where it may stay."""
    words: dict[str, str] = {}
    archers = set(archers_called(session))
    for number, name in enumerate(people_in(session), 1):
        words[name] = _person(name, number, choices.names, archer=name in archers)
    for place in places_in(session):
        words[place] = {"exact": place, "region": choices.region or WITHHELD}.get(choices.places, WITHHELD)
    words.update({word: WITHHELD for word in choices.also_withheld if word.strip()})
    return Replaced(words)


def _listed(text: str) -> list[str]:
    """Names out of a list as people write it.

    >>> _listed("Tallow, Wren and Marrow")
    ['Tallow', 'Wren', 'Marrow']
    """
    return [part.strip() for part in re.split(r",|;|&|\band\b", text) if part.strip()]


def _person(name: str, number: int, how: str, *, archer: bool) -> str:
    if how == "as_they_are":
        return name
    if how == "initials":
        return " ".join(f"{part[0].upper()}." for part in name.split())
    return f"{'Archer' if archer else SOMEBODY} {number}"
