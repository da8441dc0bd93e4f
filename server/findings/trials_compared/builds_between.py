"""What was done to panels, arrows and bows between trials, from their builds; and how worn a panel was when it was met again."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.findings.loosed import LoosedShot
from server.findings.panel_hits import struck_panel
from server.findings.trials_compared.confounding import listed
from server.findings.when import day_words
from server.quantities import unit_for_reader, written
from server.records.kit_between import BuildMade
from server.records.panel import WORK

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
    trials: Sequence[Sequence[LoosedShot]], builds: Sequence[BuildMade], *, names: Sequence[str], everything: Sequence[LoosedShot], reader: str
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
    builds: Sequence[BuildMade], shot_in: Sequence[Sequence[BuildMade]], *, names: Sequence[str], trials: Sequence[Sequence[LoosedShot]], reader: str
) -> BuildLine:
    """Shot as build 1 in trial 1, as build 3 in trial 2; and what each later build was."""
    numbers = [one.number for some in shot_in for one in some]
    said = "; ".join(f"{name}: {_numbers(some)}" for name, some in zip(names, shot_in, strict=True) if some)
    later = [one for one in builds if min(numbers) < one.number <= max(numbers)]
    worked = ". ".join(_what_was_done(one, builds, reader=reader) for one in later)
    first = builds[0]
    return BuildLine(first.noun, f"{NOUNS[first.noun]} {first.name}", f"{said}. {worked}.", _href(later[-1] if later else first))


def _numbers(builds: Sequence[BuildMade]) -> str:
    return f"build{'s' if len(builds) > 1 else ''} {listed([str(one.number) for one in builds])}"


def _what_was_done(build: BuildMade, builds: Sequence[BuildMade], *, reader: str) -> str:
    """ "Build 2, re-laced: every lace was renewed"; for an arrow its other head, for a bow its string and brace height."""
    before = next((one for one in reversed(builds) if one.number < build.number), None)
    work = WORK.get(build.work or "", build.work or "").strip()
    said = f"Build {build.number}, {work[:1].lower() + work[1:] or 'no work written down'}"
    if build.noun == "panel" and build.note:
        said += f": {build.note.strip().rstrip('.')}"
    if build.noun == "arrow" and before is not None and build.note and build.note != before.note:
        said += f", with head {build.note}" + (f" for {before.note}" if before.note else "")
    if build.noun == "bow" and before is not None:
        if build.note != before.note:
            said += f", string {build.note or 'not said'}, before {before.note or 'not said'}"
        if build.brace_m != before.brace_m:
            brace = [written(one, unit_for_reader("thickness", reader)) if one is not None else "not said" for one in (build.brace_m, before.brace_m)]
            said += f", braced at {brace[0]}, before {brace[1]}"
    return said


def _met_again(build: BuildMade, trials: Sequence[Sequence[LoosedShot]], *, names: Sequence[str], everything: Sequence[LoosedShot]) -> BuildLine:
    """The same build in more than one trial: how many hits it had when each began."""
    on_it = struck_panel([shot for shot in everything if shot.fact.panel_build_id == build.build_id])
    said = []
    for name, mine in zip(names, trials, strict=True):
        ids = {shot.fact.shot_id for shot in mine}
        places = [n for n, shot in enumerate(on_it) if shot.fact.shot_id in ids]
        if places:
            day = on_it[places[0]].fact.day
            said.append(f"{name}: {places[0]} earlier hit{'' if places[0] == 1 else 's'} when it began on {day_words(day)}")
    work = "nothing was done to it between, as far as the book knows"
    return BuildLine("panel", f"Panel {build.name}", f"The same build {build.number}, {work}. {'; '.join(said)}.", _href(build))


def _href(build: BuildMade) -> str:
    return f"/panels/{build.build_id}" if build.noun == "panel" else f"/kit/{build.noun}/{build.of_id}"
