"""One thing to mind, with what it touches and the shots that it rests on."""

from collections.abc import Iterable
from dataclasses import dataclass
from types import MappingProxyType

from server.findings.loosed import LoosedShot
from server.findings.when import day_words

# What a caveat is called. Those that weigh most come first: they can turn a finding round, the last only widen it.
KINDS = MappingProxyType(
    {
        "chosen_energies": "Energies chosen by the outcomes",
        "hardness_and_day": "Hardness and day go together",
        "one_panel_only": "Shot at one panel only",
        "one_day_only": "Shot on one day only",
        "speed_drift": "Speeds drifted",
        "draw_drift": "The bow changed",
        "used_up": "Little room left on the panel",
        "provisional": "Not settled yet",
        "archers": "Archers not balanced",
        "one_carries": "One arrow, bow or panel carries a count",
        "one_panel": "One panel",
        "second_reader": "Read twice",
    }
)


@dataclass(frozen=True)
class RestsOn:
    """A shot that a caveat rests on, for a reader to tap."""

    shot_id: str
    label: str


@dataclass(frozen=True)
class Caveat:
    """
    kind     a key of KINDS
    words    the sentence
    touches  in words, which result it touches
    shots    what it rests on, in the order loosed
    notes    (key of a group of the view, a few words to stand beside that group's number)
    """

    kind: str
    words: str
    touches: str
    shots: tuple[RestsOn, ...] = ()
    notes: tuple[tuple[str, str], ...] = ()

    @property
    def title(self) -> str:
        return KINDS[self.kind]


def rests_on(shots: Iterable[LoosedShot]) -> tuple[RestsOn, ...]:
    return tuple(dict.fromkeys(RestsOn(shot.fact.shot_id, shot.fact.label) for shot in shots))


def some(count: int, word: str) -> str:
    """ "1 shot", "3 shots"."""
    return f"{count} {word}{'' if count == 1 else 's'}"


def listed(words: Iterable[str], *, most: int = 4) -> str:
    """ "A, B and C"; beyond `most` the rest as a number."""
    found = list(words)
    if len(found) > most:
        found = [*found[: most - 1], f"{len(found) - most + 1} more"]
    return found[0] if len(found) == 1 else f"{', '.join(found[:-1])} and {found[-1]}" if found else ""


def days_listed(days: Iterable[str]) -> str:
    """ "17 October 2026", "10 and 17 October 2026", "30 September and 2 October 2026"."""
    words = [day_words(day) for day in sorted(set(days))]
    short = []
    for n, one in enumerate(words):
        last = words[-1]
        day, _, rest = one.partition(" ")
        same_month, same_year = rest and last.endswith(f" {rest}"), one[-5:] == last[-5:]
        short.append(one if n == len(words) - 1 else day if same_month else one[:-5] if same_year else one)
    return listed(short)
