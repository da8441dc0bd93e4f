"""Counts and lists in words: the one place that makes a plural. What is counted as through, and how a bow is called in a list."""

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from proofyard.quantities import from_si, plainly, with_unit
from proofyard.records.trial import outcome_name
from proofyard.wording.when import day_words

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


# The columns of the plain count of shots.
PLAIN_COUNTS = {
    "all": "all shots",
    "on_panel": "on the panel",
    "opened": "opened, not through",
    "through": "through",
    "gaps": "through a gap or lace hole",
}


def counted(count: int, word: str = "shot", many: str = "") -> str:
    """How many of what; `many` is the plural where it isn't the word and an s.

    >>> counted(1), counted(3), counted(2, "panel type"), counted(0, "mass", "masses")
    ('1 shot', '3 shots', '2 panel types', '0 masses')
    """
    return f"{count} {word if count == 1 else many or word + 's'}"


def be(count: int) -> str:
    return "is" if count == 1 else "are"


def number(count: int) -> str:
    """
    >>> number(0), number(3), number(12)
    ('no', 'three', '12')
    """
    return NUMBERS[count] if count < len(NUMBERS) else str(count)


def hits_of(low: int, high: int, shots: int) -> str:
    """How many of how many, where some may still be undecided.

    >>> hits_of(4, 4, 6), hits_of(0, 0, 5), hits_of(1, 2, 3), hits_of(2, 5, 9)
    ('4 of 6', 'none of 5', '1 or 2 of 3', '2 to 5 of 9')
    """
    if high == 0:
        return f"none of {shots}"
    return f"{low if low == high else f'{low} or {high}' if high - low == 1 else f'{low} to {high}'} of {shots}"


def all_listed(words: Iterable[str], joint: str = "and") -> str:
    """ "A, B and C", however many."""
    found = list(words)
    return f"{', '.join(found[:-1])} {joint} {found[-1]}" if len(found) > 1 else "".join(found)


def listed(words: Iterable[str], *, most: int = 4) -> str:
    """ "A, B and C"; beyond `most` the rest as a number."""
    found = list(words)
    return all_listed([*found[: most - 1], f"{len(found) - most + 1} more"] if len(found) > most else found)


def capital(words: str) -> str:
    """With a capital first, the rest as it stands."""
    return words[:1].upper() + words[1:]


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


# Meaning of through, as it stands in an address, and its words.
THROUGHS: Mapping[str, str] = MappingProxyType(
    {str(level): outcome_name(level) for level in range(1, 6)} | {"depth": "Tip past the rear face by", "body_line": "Past the body line"}
)
_MEANS = {level: outcome_name(level).lower() + (" or more" if level < 5 else "") for level in range(1, 6)}
_PAST = {1: "marked or more", 2: "dented or more", 3: "opened or more", 4: "through", 5: "head through"}
_DID = {
    1: "marked {} or more",
    2: "dented {} or more",
    3: "opened {} or more",
    4: "went through {}",
    5: "went through {} with the whole head",
}


def past_words(how: str, level: int, depth_m: float) -> str:
    """How a count of such shots goes on: "4 of 6 through"."""
    if how == "depth":
        return f"{_depth(depth_m)} or more past the rear face"
    return "past the body line" if how == "body_line" else _PAST[level]


def meaning_words(how: str, level: int, depth_m: float) -> str:
    """After "through means"."""
    if how == "outcome_level":
        return _MEANS[level]
    return f"the tip {past_words(how, level, depth_m)}" if how == "depth" else "past the body line"


def did_words(how: str, level: int, depth_m: float, *, on: str) -> str:
    """What such a shot did, with what it was done to: "went through the plate"."""
    if how == "depth":
        return f"went {_depth(depth_m)} or more through {on}"
    return f"went through {on} and past the body line" if how == "body_line" else _DID[level].format(on)


def _depth(depth_m: float) -> str:
    return with_unit(plainly(depth_m * 1000), "mm")


def bow_label(marked_weight_n: float | None, name: str) -> str:
    """The marked weight in pounds of force, as archers call a bow; its name where nothing is marked."""
    return name if marked_weight_n is None else f"{from_si(marked_weight_n, 'lbf'):.0f}"
