"""From one trial to the next: which changes could explain a difference, and which their shots can't tell apart."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.loosed import LoosedShot
from server.findings.trials_compared.factors import EVERY, FACTORS, SOME, Around, Contrast, Factor, contrast

# The day brings its weather, and whatever else a day brings: said as one thing.
DAY_WITH = {"weather": "the day with its weather"}


@dataclass(frozen=True)
class Between:
    """Two trials, the earlier first. `every` and `some`: what changed for every shot and for some, in words.

    alike  shots of each that are alike in all that changed for some only; None where nothing did
    """

    first: int
    second: int
    every: tuple[str, ...]
    some: tuple[str, ...]
    sentences: tuple[str, ...]
    alike: tuple[int, int] | None


def between(first: int, second: int, *, shots: Sequence[Sequence[LoosedShot]], around: Around) -> Between:
    """What changed from one trial to another, said with care."""
    pair = [shots[first], shots[second]]
    found = [contrast(factor, pair, around=around) for factor in FACTORS]
    told = news(found)
    every = as_said([one.factor for one in told if one.status == EVERY])
    some = [one for one in told if one.status == SOME]
    alike = None
    if any(not one.factor.single for one in some):
        counts = [len(alike_shots(mine, found, around=around)) for mine in pair]
        alike = (counts[0], counts[1])
    words = as_said([one.factor for one in some])
    return Between(first, second, every, words, tuple(_sentences(every, words, alike)), alike)


def news(found: Sequence[Contrast]) -> list[Contrast]:
    """What changed, without what follows of itself: other panels are no news where the sort of panel is another."""
    changed = {one.factor.key: one.status for one in found if one.status in (EVERY, SOME)}
    return [
        one for one in found
        if one.factor.key in changed and not any(changed.get(key) == changed[one.factor.key] or changed.get(key) == EVERY for key in one.factor.follows)
    ]  # fmt: skip


def alike_shots(shots: Sequence[LoosedShot], found: Sequence[Contrast], *, around: Around) -> list[LoosedShot]:
    """Those that stand, in everything that changed for some shots only, on an answer that all trials have.

    Single arrows and panels are left out of it: hardly a shot would be left, and no two of them are one anyway.
    """
    kept = list(shots)
    for one in found:
        if one.status != SOME or one.factor.single:
            continue
        common = frozenset.intersection(*(frozenset(level.value for level in some) for some in one.levels))
        kept = [shot for shot in kept if (answer := one.factor.of(shot, around)) is not None and answer[0] in common]
    return kept


def as_said(factors: Sequence[Factor]) -> tuple[str, ...]:
    """Names for a sentence; day and weather in one."""
    keys = {factor.key for factor in factors}
    if not {"day", "weather"} <= keys:
        return tuple(factor.as_said for factor in factors)
    return tuple(DAY_WITH.get(factor.key, factor.as_said) for factor in factors if factor.key != "day")


def _sentences(every: Sequence[str], some: Sequence[str], alike: tuple[int, int] | None) -> list[str]:
    if not every and not some:
        return [
            "Nothing that the book knows of changed between the shots counted here.",
            "If the counts differ by more than chance, it was something that nobody wrote down.",
        ]
    said = []
    if not every:
        said.append("Nothing that is written down changed for every shot, so no one thing goes with the trial.")
    elif len(every) == 1:
        said.append(f"Only one thing changed for every shot: {every[0]}. If the counts differ by more than chance, that may be why; so may what nobody wrote down.")
    else:
        said.append(
            f"{_cap(listed(every))} changed together, for every shot. If the counts differ by more than chance, "
            f"any of them may be why, and these shots can’t tell which: no shot of the one trial shares {'either' if len(every) == 2 else 'any of them'} with the other."
        )
        said.append("To part them, keep all but one as they were, or shoot both ways on one day.")
    if some:
        said.append(f"For some shots only: {listed(some)}. That could explain a part of a difference too.")
    if alike is not None:
        said.append(_alike_words(*alike))
    return said


def _alike_words(first: int, second: int) -> str:
    if not first or not second:
        return "No shots are left on one side if only those are counted that are alike in all of that, so it can’t be left out."
    return f"Alike in all of that, single arrows and panels apart: {first} and {second} shots. Count those alone, and it can’t be the reason."


def listed(words: Sequence[str]) -> str:
    """ "a, b and c"."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _cap(text: str) -> str:
    return text[:1].upper() + text[1:]
