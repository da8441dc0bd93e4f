"""From one trial to the next: which changes could explain a difference, and which their shots can't tell apart."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.answers.trial_comparison.factors import EVERY, FACTORS, SOME, Around, Contrast, Factor, contrast
from proofyard.quantities.reason import Reason, because
from proofyard.shots.loosed import LoosedShot
from proofyard.wording.reasons.said import said

# The day brings its weather, and whatever else a day brings: said as one thing.
DAY_WITH = {"weather": said(because("day_with_its_weather"))}


@dataclass(frozen=True)
class Between:
    """Two trials, the earlier first. `every` and `some`: names of what changed for every shot and for some; `told`: with care.

    alike  shots of each that are alike in all that changed for some only; None where nothing did
    """

    first: int
    second: int
    every: tuple[str, ...]
    some: tuple[str, ...]
    told: tuple[Reason, ...]
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
    return Between(first, second, every, words, _told(every, words, alike), alike)


def news(found: Sequence[Contrast]) -> list[Contrast]:
    """What changed, without what follows of itself: other panels are no news where the panel type is another."""
    changed = {one.factor.key: one.status for one in found if one.status in (EVERY, SOME)}
    return [
        one
        for one in found
        if one.factor.key in changed
        and not any(changed.get(key) == changed[one.factor.key] or changed.get(key) == EVERY for key in one.factor.follows)
    ]


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


def _told(every: tuple[str, ...], some: tuple[str, ...], alike: tuple[int, int] | None) -> tuple[Reason, ...]:
    if not every and not some:
        return because("nothing_changed_between"), because("cause_not_recorded")
    if not every:
        told = [because("nothing_changed_for_every_shot")]
    elif len(every) == 1:
        told = [because("only_one_thing_changed", factor=every[0])]
    else:
        told = [because("changed_together", every=every), because("how_to_separate_them")]
    told += [because("some_could_explain_part", factors=some)] if some else []
    if alike is not None:
        told.append(because("so_many_alike", first=alike[0], second=alike[1]) if all(alike) else because("none_alike"))
    return tuple(told)
