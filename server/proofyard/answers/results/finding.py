"""What a results page finds, and what to know of its counts. It ranks no heads but those of a pair that is shown.

Where no pair is shown, the two heads whose counts differ most in one band are named, because "which head got through what?" is what
an archer asks, and "none of 6 shots" of one head is no answer. They were picked for their difference, so the next sentence calls
it a hint.
"""

from collections.abc import Sequence

from proofyard.quantities.reason import Reason, because
from proofyard.views.axes import AXES, SURE, Band
from proofyard.views.cells import FEWEST_FOR_PERCENT, Cell, CountedShot
from proofyard.views.counted import Finding
from proofyard.views.pair_comparison import Pair, PairFamily, pair_told, pair_verdict
from proofyard.views.panel_type import panel_type_of, target_words
from proofyard.views.settings import Through, ViewSettings

FEW = 5  # under five shots no share is given: with 4, even none of 4 leaves it anywhere up to a half
FEWEST_TO_NAME = 2  # of each head, to set it beside another


def finding_of(cells: Sequence[Cell], through: Through, *, loosed: int, counted: int, family: PairFamily | None = None) -> Finding:
    """The page's one finding, and what it leaves open. `family`: how these heads stand to each other at this panel type."""
    if loosed == 0:
        return Finding(because("no_shots_yet"), (because("no_shot_matches"),))
    if counted == 0:
        return Finding(because("none_counted", loosed=loosed), (because("reasons_below"),))
    full = [cell for cell in cells if cell.shots]
    biggest = max(full, key=lambda cell: cell.tally.shots, default=None)
    if biggest is None:
        return Finding(because("none_measured", counted=counted), (because("table_lists_them"),))
    pair = _shown_pair(family, {cell.form for cell in full})
    apart = _most_apart(full) if pair is None else None
    if apart:
        return _hint(*apart, through, full, family)
    if pair is None and biggest.tally.shots < FEW:
        too_few = because("too_few_for_percent", most=biggest.tally.shots, on=_on(biggest))
        return Finding(_share(biggest, through), (too_few,), weight=(0, biggest.tally.shots))
    two = _cells_of(pair, full) if pair else None
    if pair and two is None:
        return Finding(pair_told(pair), (), weight=(2, biggest.tally.shots))
    first = two[0] if two else biggest
    title = _share(first, through)
    more: list[Reason] = []
    if pair and two:
        other, tally = two[1], two[1].tally
        title = because("two_cells", first=title, who=other.who, low=tally.hits_low, high=tally.hits_high, shots=tally.shots)
        more.append(because("sentence_of_its_own", why=pair_told(pair)))
    few = first.tally.shots < FEWEST_FOR_PERCENT
    more.append(because("how_sure", who=first.who, on=_on(first), interval=first.tally.interval_words, few=few))
    beside = _other_heads(first, two[1] if two else None, full, family)
    more += [because("others_at_that_energy", on=_on(first), heads=beside)] if beside else []
    return Finding(title, tuple(more), weight=(2 if two else 0, first.tally.shots))


def _shown_pair(family: PairFamily | None, forms: set[str]) -> Pair | None:
    """A pair of the family whose corrected interval leaves out 1: the one named in advance, else the one shot most."""
    found = [pair for pair in family.pairs if pair.shown and {pair.first.row.key, pair.second.row.key} <= forms] if family else []
    return max(found, key=lambda pair: (pair.named, len(pair.first.shots) + len(pair.second.shots)), default=None)


def _cells_of(pair: Pair, cells: Sequence[Cell]) -> tuple[Cell, Cell] | None:
    """The band in which both were shot most, the one that gets through more easily first; None where no band holds both."""
    easier, other = (pair.first, pair.second) if pair.verdict == "first" else (pair.second, pair.first)
    found = [
        (one, two) for one in cells for two in cells if one.form == easier.row.key and two.form == other.row.key and one.band == two.band
    ]
    return max(found, key=lambda two: min(two[0].tally.shots, two[1].tally.shots), default=None)


def _most_apart(cells: Sequence[Cell]) -> tuple[Cell, Cell] | None:
    """The two heads of one band whose intervals overlap least, the one that was through more often first; None where none was.

    One shot of a head is no count, and where open readings could turn the order round nothing is said of it.
    """
    more = [cell for cell in cells if cell.tally.shots >= FEWEST_TO_NAME and cell.tally.interval]
    found = [(one, two) for one in more for two in more if one.band == two.band and one.tally.parts[0] > two.tally.parts[-1]]
    return max(found, key=_gap, default=None)


def _gap(two: tuple[Cell, Cell]) -> tuple[float, int]:
    """How far the interval of the first begins above the end of the other's, mostly below 0; then how many shots stand behind it."""
    first, second = (one.tally for one in two)
    low, high = (first.interval or (0.0, 0.0))[0], (second.interval or (0.0, 1.0))[1]
    return low - high, first.shots + second.shots


def _hint(first: Cell, other: Cell, through: Through, cells: Sequence[Cell], family: PairFamily | None) -> Finding:
    """Two heads as they were counted, and that nobody asked for these two in advance."""
    intervals, tally = (first.tally.interval_words, other.tally.interval_words), other.tally
    few = min(first.tally.shots, tally.shots) < FEWEST_FOR_PERCENT
    title = because("two_seen", first=_share(first, through), who=other.who, low=tally.hits_low, high=tally.hits_high, shots=tally.shots)
    beside = _other_heads(first, other, cells, family)
    others = [because("others_at_that_energy", on=_on(first), heads=beside)] if beside else []
    return Finding(title, (because("picked_for_difference", few=few, intervals=intervals), *others), (1, first.tally.shots + tally.shots))


def _on(cell: Cell) -> str:
    """What its shots were shot at, so that every sentence says it."""
    return target_words([one.shot.fact for one in cell.shots])


def _share(cell: Cell, through: Through) -> Reason:
    panels = {one.shot.fact.panel_name for one in cell.shots}
    tally = cell.tally
    return because(
        "cell_share",
        where=cell.band.where,
        who=cell.who,
        did=through.did(_on(cell)),
        low=tally.hits_low,
        high=tally.hits_high,
        shots=tally.shots,
        panel=panels.pop() if len(panels) == 1 and tally.shots > 1 else "",
    )


def _other_heads(first: Cell, second: Cell | None, cells: Sequence[Cell], family: PairFamily | None) -> tuple[Reason, ...]:
    """The other heads of the same band: what was counted, and how they stand to the first over all energies."""
    others = [c for c in cells if c.band == first.band and c.form != first.form and (second is None or c.form != second.form)]
    return tuple(because("other_head", who=cell.who, counted=cell.tally.words, why=_how_it_stands(first, cell, family)) for cell in others)


def _how_it_stands(first: Cell, cell: Cell, family: PairFamily | None) -> Reason:
    if cell.tally.shots < FEW:
        return because("other_too_few")
    pair = family.pair(first.form, cell.form) if family else None
    return because("other_not_compared") if pair is None else because("other_compared", verdict=pair_verdict(pair))


def about_counts(cells: Sequence[Cell], shots: Sequence[CountedShot], *, settings: ViewSettings) -> list[Reason]:
    """What to know of the counts in this view; what doesn't apply is not there."""
    near = sum(cell.near_an_edge for cell in cells)
    blind = sum(one.energy is not None and not one.energy.standard_uncertainty for one in shots)
    taken = sum(one.shot.drag_fitted is False for one in shots) if settings.place == "target" else 0
    pooled = sum(one.shot.basis == "pooled" for one in shots)
    short = sum(one.shot.fact.short_draw for one in shots)
    no_entry = sum(one.shot.fact.entry is None for one in shots) if settings.entry == "no_gap" else 0
    note = AXES[settings.axis].note
    return [
        *_mixed(cells, shots),
        *([because("near_a_limit", shots=near, sure=SURE)] if near else []),
        *([because("blind_energies", shots=blind)] if blind else []),
        *([because("drag_assumed", shots=taken)] if taken else []),
        *([note] if note else []),
        *([because("speeds_of_like_pooled", shots=pooled)] if pooled else []),
        *([because("short_draws_counted", shots=short)] if short else []),
        *([because("entry_not_recorded", shots=no_entry)] if no_entry else []),
    ]


def _mixed(cells: Sequence[Cell], shots: Sequence[CountedShot]) -> list[Reason]:
    """Bands that mix bows, and counts that mix panel types."""
    by_band: dict[Band, set[str]] = {}
    for cell in cells:
        by_band.setdefault(cell.band, set()).update(cell.bows)
    mixed = tuple(f"{band.with_unit}: {', '.join(sorted(bows))}" for band, bows in by_band.items() if len(bows) > 1)
    types = tuple(sorted({panel_type_of(one.shot.fact)[1] for one in shots}))
    return [
        *([because("mixed_bows", bands=mixed)] if mixed else []),
        *([because("mixed_panel_types", types=types)] if len(types) > 1 else []),
    ]


def head_note(cells: Sequence[Cell], *, totals: bool = True) -> Reason:
    """One line under a head's drawing. `totals`: whether a count over all energies means anything."""
    full = [cell for cell in cells if cell.shots]
    if not full:
        return because("no_shots_to_count")
    total = sum(cell.tally.shots for cell in full)
    most = max(full, key=lambda cell: cell.tally.shots)
    if most.tally.shots < FEW:
        return because("too_few_in_a_band", most=most.tally.shots)
    if not totals:
        return because("no_total")
    if not any(cell.tally.hits_high for cell in full):
        return because("none_at_any_energy", shots=total)
    if all(cell.tally.hits_low == cell.tally.shots for cell in full):
        return because("all_at_every_energy", shots=total)
    return because("most_in_one_band", counted=most.tally.words, band=most.band.with_unit)
