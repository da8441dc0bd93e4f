"""What is said of another group's book that was brought in."""

from collections.abc import Sequence
from typing import Protocol

from proofyard.wording.counts import counted
from proofyard.wording.when import day_words, moment_words


class Told(Protocol):
    """What is known of it."""

    @property
    def whose(self) -> str: ...
    @property
    def citation(self) -> str: ...
    @property
    def state(self) -> str: ...
    @property
    def stood_at(self) -> str: ...
    @property
    def brought_in_at(self) -> int: ...
    @property
    def one_trial(self) -> bool: ...
    @property
    def demo(self) -> bool: ...
    @property
    def trials(self) -> int: ...
    @property
    def shots(self) -> int: ...


INVENTED = "Demo: the people, places, makers and figures of that book are invented."
NO_LICENCE = "none was chosen: ask them before you pass anything of it on"


def brought_in_words(one: Told) -> str:
    """The line of the list: "3 trials, 151 shots, as they stood on 17 October 2026"."""
    return f"{counted(one.trials, 'trial')}, {counted(one.shots, 'shot')}{_stood(one)}{'; invented' if one.demo else ''}"


def _stood(one: Told) -> str:
    return f", as they stood on {day_words(one.stood_at[:10])}" if one.stood_at else ""


def head_of_other_book(one: Told) -> str:
    """What stands at the head of each of its trials."""
    part = " The package held this trial alone; figures that rest on other trials of that book may differ there." if one.one_trial else ""
    invented = f" {INVENTED}" if one.demo else ""
    return f"It is read from their data package{_stood(one)}, and counts in no result of your own book.{part}{invented}"


def facts_of_other_book(one: Told, licence: str) -> Sequence[tuple[str, str]]:
    """Its facts, term and words."""
    return (
        ("Holds", f"{counted(one.trials, 'trial')}, {counted(one.shots, 'shot')}{', in a package of one trial' if one.one_trial else ''}"),
        ("Stood so on", day_words(one.stood_at[:10]) if one.stood_at else "not recorded"),
        ("Brought in", moment_words(one.brought_in_at)),
        ("Licence", licence or NO_LICENCE),
        ("To be cited as", one.citation or "not recorded"),
        ("State (SHA-256)", one.state[:12]),
    )
