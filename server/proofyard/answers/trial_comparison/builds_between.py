"""What was done to panels, arrows and bows between trials, from their builds; and how worn a panel was when it was met again."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import because
from proofyard.records.kit_between import BuildMade
from proofyard.shots.loosed import LoosedShot, on_the_panel
from proofyard.wording.builds import worked_on_words
from proofyard.wording.reasons.said import said

NOUNS = {"panel": "Panel", "arrow": "Arrow", "bow": "Bow"}


@dataclass(frozen=True)
class BuildLine:
    """One thing that was met in more than one build, or a panel met again: what it is called, and what was done or not."""

    noun: str
    thing: str
    words: str
    href: str = ""


def builds_used(shots: Sequence[LoosedShot]) -> Mapping[str, str]:
    """Thing -> its builds as they were shot, for panels, arrows and bows: build id -> thing id."""
    found: dict[str, str] = {}
    for shot in shots:
        fact = shot.fact
        found |= {fact.panel_build_id: fact.panel_id, fact.arrow_build_id: fact.arrow_id, fact.bow_build_id: fact.bow_id}
    return found


def build_lines(
    trials: Sequence[Sequence[LoosedShot]],
    builds: Sequence[BuildMade],
    *,
    names: Sequence[str],
    everything: Sequence[LoosedShot],
    reader: str,
) -> tuple[BuildLine, ...]:
    """Panels first, then bows and arrows. `names`: of the trials; `everything`: every shot of the book, in order."""
    used = [builds_used(mine) for mine in trials]
    lines: list[BuildLine] = []
    for of_id in dict.fromkeys(one.of_id for one in builds):
        mine = [one for one in builds if one.of_id == of_id]
        shot_in = [[one for one in mine if one.build_id in some] for some in used]
        met = [build for some in shot_in for build in some]
        if not met:
            continue
        if len({one.build_id for one in met}) > 1:
            lines.append(_worked_on(mine, shot_in, names=names, trials=trials, reader=reader))
        elif met[0].noun == "panel" and sum(map(bool, shot_in)) > 1:
            lines.append(_met_again(met[0], trials, names=names, everything=everything))
    order = ("panel", "bow", "arrow")
    return tuple(sorted(lines, key=lambda line: order.index(line.noun)))


def _worked_on(
    builds: Sequence[BuildMade],
    shot_in: Sequence[Sequence[BuildMade]],
    *,
    names: Sequence[str],
    trials: Sequence[Sequence[LoosedShot]],
    reader: str,
) -> BuildLine:
    """Shot as build 1 in trial 1, as build 3 in trial 2; and what each later build was."""
    numbers = [one.number for some in shot_in for one in some]
    later = [one for one in builds if min(numbers) < one.number <= max(numbers)]
    first = builds[0]
    words = worked_on_words(zip(names, shot_in, strict=True), later, builds=builds, reader=reader)
    return BuildLine(first.noun, f"{NOUNS[first.noun]} {first.name}", words, _href(later[-1] if later else first))


def _met_again(
    build: BuildMade, trials: Sequence[Sequence[LoosedShot]], *, names: Sequence[str], everything: Sequence[LoosedShot]
) -> BuildLine:
    """The same build in more than one trial: how many hits it had when each began."""
    on_it = on_the_panel([shot for shot in everything if shot.fact.panel_build_id == build.build_id])
    met = []
    for name, mine in zip(names, trials, strict=True):
        ids = {shot.fact.shot_id for shot in mine}
        places = [n for n, shot in enumerate(on_it) if shot.fact.shot_id in ids]
        if places:
            met.append(because("hits_when_it_began", trial=name, hits=places[0], day=on_it[places[0]].fact.day))
    words = said(because("same_build_again", number=build.number, met=tuple(met)))
    return BuildLine("panel", f"{NOUNS['panel']} {build.name}", words, _href(build))


def _href(build: BuildMade) -> str:
    return f"/panels/{build.build_id}" if build.noun == "panel" else f"/kit/{build.noun}/{build.of_id}"
