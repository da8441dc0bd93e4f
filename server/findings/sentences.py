"""What a results page says in words. It is careful: it ranks no heads whose energies differ, and says when shots are few."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.axes import AXES
from server.findings.bands import SURE
from server.findings.cells import FEWEST_FOR_PERCENT, Cell, CountedShot, joules
from server.findings.through import Through
from server.findings.view_settings import METHOD_WORDS, ViewSettings, sort_of
from server.quantities import with_unit
from server.records.panel import CONSTRUCTIONS
from server.records.shot_facts import ShotFact

FEW = 5  # fewer shots than this carry no share: with 4, even none of 4 leaves it anywhere up to a half


@dataclass(frozen=True)
class Finding:
    """The one finding and what it leaves open. `weight`: how much it says, to choose between several."""

    title: str
    more: tuple[str, ...]
    weight: tuple[int, int] = (0, 0)


# Where energies were chosen by the outcomes so far, one share over all of them says nothing of the head.
NO_TOTALS = Finding(
    "Energies were chosen by the outcomes so far, so one share over all of them means nothing",
    ("Give edges of bands under “Change what is shown”, or look at the energy to get through, which such shots can tell.",),
)


def target_words(facts: Sequence[ShotFact]) -> str:
    """What was shot at, as far as one name covers it: "1.6 mm one-piece plate", "mail", "these panels"."""
    sorts = {sort_of(fact)[1] for fact in facts}
    made = {fact.construction for fact in facts}
    if len(made) > 1:
        return "these panels"
    only = made.pop()
    if only not in CONSTRUCTIONS or only == "other":
        return "the panel"
    return sorts.pop() if len(sorts) == 1 else CONSTRUCTIONS[only].lower()


def energies_alike(one: Cell, other: Cell) -> bool:
    """Whether two cells' mean energies differ by no more than their combined standard uncertainty."""
    if one.energy is None or other.energy is None:
        return False
    a, b = one.energy.mean, other.energy.mean
    if a.standard_uncertainty is None or b.standard_uncertainty is None:
        return False
    return abs(a.value - b.value) <= math.hypot(a.standard_uncertainty, b.standard_uncertainty)


def same_target(one: Cell, other: Cell) -> bool:
    """Whether both were shot at one sort of panel."""
    return len({sort_of(shot.shot.fact) for shot in (*one.shots, *other.shots)}) == 1


def apart(one: Cell, other: Cell) -> bool:
    """Whether the first lies wholly above the other: their intervals, those with the not known in them, don't meet."""
    low, high = (one.bounds or one.tally).interval_low, (other.bounds or other.tally).interval_high
    return low is not None and high is not None and low > high


def finding_of(cells: Sequence[Cell], through: Through, *, loosed: int, counted: int) -> Finding:
    """The page's one finding, and what it leaves open."""
    if loosed == 0:
        return Finding("No shots here yet", ("Nothing in the book answers to what you picked.",))
    if counted == 0:
        return Finding(
            f"Nothing to count yet in {_shots(loosed)}",
            ("Every one of them is left out, for the reasons below.",),
        )
    full = [cell for cell in cells if cell.shots]
    biggest = max(full, key=lambda cell: cell.tally.shots, default=None)
    if biggest is None:
        return Finding(f"{_shots(counted)}, none with a measured energy", ("So no band can hold them: see the table.",))
    if biggest.tally.shots < FEW:
        return Finding(
            f"Too few to tell: the most in one band is {_shots(biggest.tally.shots)}, and so few can’t carry a share",
            (_plain(biggest, through),),
            weight=(0, biggest.tally.shots),
        )
    pair = _telling_pair(full)
    first = pair[0] if pair else biggest
    title = _sentence(first, through)
    more = []
    if pair:
        title += f" {_cap(pair[1].who)} did in {_of(pair[1])}."
        more.append(_why_comparable(*pair))
    more.append(_how_sure(first))
    beside = _beside(first, pair[1] if pair else None, full)
    more += [" ".join(beside)] if beside else []
    return Finding(title, tuple(more), weight=(len(pair or ()), first.tally.shots))


def _telling_pair(cells: Sequence[Cell]) -> tuple[Cell, Cell] | None:
    """Two heads in one band that may be ranked: alike in energy and target, apart in share, enough shots each."""
    found = [
        (one, other)
        for one in cells
        for other in cells
        if one.form != other.form
        and one.band == other.band
        and min(one.tally.shots, other.tally.shots) >= FEW
        and energies_alike(one, other)
        and same_target(one, other)
        and apart(one, other)
    ]
    return max(found, key=lambda two: two[0].tally.shots + two[1].tally.shots, default=None)


def _sentence(cell: Cell, through: Through) -> str:
    on = target_words([one.shot.fact for one in cell.shots])
    return f"{_cap(cell.band.where)} {cell.who} {through.did(on)} in {_of(cell)}{_one_panel(cell)}."


def _one_panel(cell: Cell) -> str:
    """What was seen on one panel is said of that panel."""
    panels = {one.shot.fact.panel_name for one in cell.shots}
    return f", all on {panels.pop()}" if len(panels) == 1 and cell.tally.shots > 1 else ""


def _of(cell: Cell) -> str:
    """ "4 of 6 shots"; "none of 5"."""
    if cell.tally.hits_high == 0:
        return f"none of {cell.tally.shots}"
    return f"{cell.tally.words} shots" if cell.tally.shots != 1 else cell.tally.words


def _plain(cell: Cell, through: Through) -> str:
    return f"{_cap(cell.who)}, {cell.band.with_unit}: {cell.tally.words} {through.past}."


def _why_comparable(one: Cell, other: Cell) -> str:
    assert one.energy is not None and other.energy is not None
    first, second = (_mean(cell) for cell in (one, other) if cell.energy)
    said = f"Their mean {_figures(one)} there are alike, {first} and {second}, and the ranges of the two shares don’t meet."
    if one.depths and other.depths:
        said += (
            f" Depth past the rear face: {one.who} {one.depths.words}; {other.who} {other.depths.words}."
        )
    return said


def _figures(cell: Cell) -> str:
    return "energies" if cell.band.unit == "J" else "figures"


def _mean(cell: Cell) -> str:
    assert cell.energy is not None
    value, plus, doubt = joules(cell.energy.mean).partition(" ±")
    return with_unit(value, cell.band.unit) + plus + doubt


def _how_sure(cell: Cell) -> str:
    few = "So few shots leave much open: the" if cell.tally.shots < FEWEST_FOR_PERCENT else "The"
    return f"{few} true share of {cell.who} may lie anywhere from {cell.tally.may_be}\N{NO-BREAK SPACE}%."


def _beside(first: Cell, second: Cell | None, cells: Sequence[Cell]) -> list[str]:
    """The other heads of the same band: what was counted, and why that ranks nothing."""
    others = [c for c in cells if c.band == first.band and c.form != first.form and (second is None or c.form != second.form)]
    said = []
    for cell in others:
        counts = f"{_cap(cell.who)} there: {cell.tally.words}"
        if cell.tally.shots < FEW:
            why = f"{_shots(cell.tally.shots)} can’t carry a share"
        elif not same_target(first, cell):
            why = "not the same sort of panel, so the two don’t compare"
        elif not energies_alike(first, cell):
            why = f"the mean {_figures(cell)} differ by more than their doubt, or the doubt isn’t known, so the two don’t compare"
        else:
            why = "too few to tell the two apart" if not (apart(first, cell) or apart(cell, first)) else "the ranges of their shares don’t meet"
        said.append(f"{counts}; {why}.")
    return said


def caveats_of(cells: Sequence[Cell], shots: Sequence[CountedShot], *, settings: ViewSettings) -> list[str]:
    """What to mind in reading this view, as sentences; those that don't apply are not there."""
    said = [*_mixed_bows(cells), *_mixed_panels(shots)]
    near = sum(cell.near_an_edge for cell in cells)
    if near:
        said.append(
            f"{_shots(near)} may belong to the next band: so marked, they stand within {SURE:g} times their energy’s doubt of its edge."
        )
    blind = sum(one.energy is not None and not one.energy.standard_uncertainty for one in shots)
    if blind:
        said.append(f"How far the energy may be off can’t be told for {_shots(blind)}: nobody wrote down what the instruments are good for.")
    taken = sum(settings.place == "target" and one.shot.impact.at_target is not None and not one.shot.impact.at_target.drag.fitted for one in shots)
    if taken:
        said.append(f"For {_shots(taken)} what the air took was reckoned with a drag that was taken, not measured: an arrow with tall feathers or a broad head may have lost more.")
    if AXES[settings.axis].note:
        said.append(AXES[settings.axis].note)
    pooled = sum(one.shot.impact.basis == "pooled" for one in shots)
    if pooled:
        said.append(f"{_shots(pooled)} took the speed of like pairings (same bow, archer and fletching, mass within 2 %), with a wider doubt.")
    short = sum(one.shot.fact.short_draw for one in shots)
    if short:
        said.append(f"{_shots(short)} loosed at a short draw {_is(short)} counted: the speed was read on the shot itself.")
    no_way = sum(one.shot.fact.way_in is None for one in shots)
    if no_way and settings.way == "no_gap":
        said.append(f"Nobody gave the way in for {_shots(no_way)}; counted as not by a gap.")
    return said


def _mixed_bows(cells: Sequence[Cell]) -> list[str]:
    by_band: dict[object, set[str]] = {}
    for cell in cells:
        by_band.setdefault(cell.band, set()).update(cell.bows)
    mixed = [(band, sorted(bows)) for band, bows in by_band.items() if len(bows) > 1]
    if not mixed:
        return []
    where = "; ".join(f"{band.with_unit}: {', '.join(bows)}" for band, bows in mixed)  # type: ignore[attr-defined]
    one = "A band mixes bows" if len(mixed) == 1 else "Bands mix bows"
    return [f"{one} ({where}). Energy and bow go together here, so this can’t tell what one does from what the other does."]


def _mixed_panels(shots: Sequence[CountedShot]) -> list[str]:
    names = sorted({sort_of(one.shot.fact)[1] for one in shots})
    if len(names) < 2:
        return []
    return [f"These counts mix {len(names)} sorts of panel ({', '.join(names)}). Pick one to compare heads on it."]


def settings_words(settings: ViewSettings, names: dict[str, str]) -> str:
    """The filters in one line: "Showing: fair hits, not by a gap, on P16; through means point behind, or more"."""
    fair = {"fair": "fair hits", "fair_or_not_known": "fair hits and those not known", "any": "hits, fair or not"}[settings.fair]
    way = {"no_gap": "not by a gap", "by_gap": "only by a gap", "any": "any way in"}.get(settings.way, names.get("way", ""))
    parts = [fair, way, *(names[name] for name in names if name != "way")]
    by = "" if settings.axis == "energy" else f", {AXES[settings.axis].words.removeprefix('energy ')}"
    return f"Showing: {', '.join(parts)}. Energy at the {settings.place}{by}. Through means {settings.through.meaning}. Ranges: {METHOD_WORDS[settings.method]}, 95 %."


def head_note(cells: Sequence[Cell], *, totals: bool = True) -> str:
    """One careful line under a head's picture. `totals`: whether a count over all energies means anything."""
    full = [cell for cell in cells if cell.shots]
    if not full:
        return "No shots to count."
    total = sum(cell.tally.shots for cell in full)
    low, high = (sum(hits) for hits in zip(*((c.tally.hits_low, c.tally.hits_high) for c in full), strict=True))
    most = max(full, key=lambda cell: cell.tally.shots)
    if most.tally.shots < FEW:
        return f"Too few to tell: {_shots(most.tally.shots)} in a band can’t carry a share."
    if not totals:
        return "No count over all energies: they were chosen by the outcomes so far."
    if high == 0:
        return f"None of {total} at any energy that was shot."
    if low == total:
        return f"All {total}, at every energy that was shot."
    return f"Most in one band: {most.tally.words}, {most.band.with_unit}."


def _shots(count: int) -> str:
    return "1 shot" if count == 1 else f"{count} shots"


def _is(count: int) -> str:
    return "is" if count == 1 else "are"


def _cap(text: str) -> str:
    return text[:1].upper() + text[1:]
