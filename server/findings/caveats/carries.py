"""One arrow, bow or panel behind more than half of a count: such shots are no strangers to each other."""

from collections import Counter
from collections.abc import Sequence

from server.findings.caveats.caveat import Caveat, rests_on, some
from server.findings.caveats.view import FEW, Group, View
from server.findings.loosed import LoosedShot
from server.findings.through import Through, may_be_through
from server.quantities import plainly
from server.statistics.clustered_shares import ClusteredInterval, clustered_interval

# What may carry a count: the fact that tells one from another, its name in words, and what it is called.
CARRIERS = (("arrow_id", "arrow_tag", "arrow"), ("bow_id", "bow_name", "bow"), ("panel_id", "panel_name", "panel"))


def one_carries(view: View) -> list[Caveat]:
    """One caveat for all counts that one arrow, bow or panel carries over half of; beside each its range if alike."""
    counts: Counter[str] = Counter()
    notes, touched = [], []
    full = [group for group in view.groups if len(group.shots) >= FEW]
    panels = len({shot.fact.panel_id for shot in view.shots})
    for group in full:
        found = _carriers(group.shots, but=() if panels > 1 else ("panel",))
        if found:
            counts.update(what for what, _, _ in found)
            touched.append(group)
            if view.alike is not None:
                notes.append((group.key, _note(group, found, through=view.through, alike=view.alike)))
    if not touched:
        return []
    said = ", ".join(f"one {what} in {counts[what]}" for _, _, what in CARRIERS if counts[what])
    words = (
        f"More than half of the shots come from {said} of {some(len(full), 'count')} of {FEW} shots or more. Shots of one arrow, bow or panel resemble "
        f"each other, so {'such counts say less than their number' if view.alike is None else 'the ranges may be too narrow'}."
    )
    if view.alike is not None:
        words += f" Beside each such count stands its range if they are alike to {plainly(view.alike)} (0: strangers, 1: the first tells all the others)."
    shots = [shot for group in touched for shot in group.shots]
    return [Caveat("one_carries", words, _touches(touched), rests_on(shots), tuple(notes))]


def _touches(groups: Sequence[Group]) -> str:
    return groups[0].words if len(groups) == 1 else f"{len(groups)} counts"


def _carriers(shots: Sequence[LoosedShot], *, but: Sequence[str]) -> list[tuple[str, str, int]]:
    """(what it is, its name, how many of the shots) of each that carries over half."""
    found = []
    for fact, name, what in CARRIERS:
        (most, count), *_ = Counter(getattr(shot.fact, fact) for shot in shots).most_common(1)
        if 2 * count > len(shots) and what not in but:
            named = next(getattr(shot.fact, name) for shot in shots if getattr(shot.fact, fact) == most)
            found.append((what, f"arrow {named}" if what == "arrow" else named, count))
    return found


def _note(group: Group, found: Sequence[tuple[str, str, int]], *, through: Through, alike: float) -> str:
    """ "5 of 6 with arrow 5; if alike to 0.2: may be 21 to 97 %"."""
    total = len(group.shots)
    said = ", ".join(f"{'all' if count == total else f'{count} of'} {total} {'on' if what == 'panel' else 'with'} {name}" for what, name, count in found)
    carriers = {what for what, _, _ in found}
    ends = (_alike(group.shots, fact, through=through, alike=alike) for fact, _, what in CARRIERS if what in carriers)
    low, high = max(ends, key=lambda two: two[1] - two[0])
    return f"{said}; if alike to {plainly(alike)}, may be {100 * low:.0f} to {100 * high:.0f}\N{NO-BREAK SPACE}%"


def _alike(shots: Sequence[LoosedShot], fact: str, *, through: Through, alike: float) -> tuple[float, float]:
    sizes = tuple(Counter(getattr(shot.fact, fact) for shot in shots).values())
    hits = [may_be_through(shot.fact, through) for shot in shots]
    ends = [clustered_interval(sum(one[side] for one in hits), sizes, intraclass_correlation=alike) for side in (0, 1)]
    assert isinstance(ends[0], ClusteredInterval) and isinstance(ends[1], ClusteredInterval)
    return ends[0].low, ends[1].high


def one_panel(view: View) -> list[Caveat]:
    """Everything on one panel speaks of that panel."""
    panels = {shot.fact.panel_id: shot.fact.panel_name for shot in view.shots}
    if len(panels) != 1 or len(view.shots) < FEW or "panel" in view.varied:
        return []
    name = next(iter(panels.values()))
    words = f"All {len(view.shots)} counted shots struck one panel, {name}. They speak of {name}; another of the same sort may do otherwise."
    return [Caveat("one_panel", words, "every share here")]
