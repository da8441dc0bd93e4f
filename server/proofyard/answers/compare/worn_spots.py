"""Does an earlier hit nearby matter? Shots that hit near one, or where one had been, against the fair ones.

Only what was so before the arrow hit makes a shot "near an earlier hit". Shots not fair for another reason (the
panel's edge, an arrow that was not sound) are in neither group.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from proofyard.answers.compare.page import compare_address
from proofyard.caveats.caveat import view_of_results
from proofyard.caveats.over_time import energies_chosen
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.caveat_facts import CaveatFacts
from proofyard.shots.fair_hits import FAIR, NOT_FAIR, NOT_KNOWN
from proofyard.shots.loosed import Loosed, LoosedShot, load_loosed
from proofyard.statistics.one_comparison import alike_margin
from proofyard.statistics.wear import CAVEAT, Wear, wear
from proofyard.storage import Storage
from proofyard.views.address import Query
from proofyard.views.cells import Cell, CountedShot, RowGroup, Tally, make_cell, tally_of
from proofyard.views.counted import CountedView, count_shots
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import Through, asked_trial, form_of, wants_pool
from proofyard.wording.reasons.said import said

# Kinds of FairMark that speak of an earlier hit; the others speak of the edge, the arrow, or of what isn't known.
EARLIER_HIT = frozenset({"old_hit", "same_plate", "near"})
NEAR = RowGroup("near", said(because("near_name")), said(because("near_who")))
FRESH = RowGroup("fresh", said(because("fresh_name")), said(because("fresh_who")))


@dataclass(frozen=True)
class WearLevel:
    """One energy level: both counts."""

    band: str
    near: Cell
    fresh: Cell

    @property
    def row(self) -> tuple[str, Reason, Reason]:
        return self.band, _count(self.near.tally), _count(self.fresh.tally)


@dataclass(frozen=True)
class WornSpots(CountedView):
    """What the page shows. compared + neither + not_known + the counts of left_out = loosed.

    open       shots whose outcome is still open ("3 or 4"): in no test
    not_known  shots of which nobody knows whether an earlier hit was near
    neither    not fair for a reason that is no earlier hit, or overruled
    """

    title: Reason
    before: Reason
    told: tuple[Reason, ...]
    caveat: Reason
    near: Tally
    fresh: Tally
    levels: tuple[WearLevel, ...]
    totals_hidden: bool
    not_known: int
    open: int

    @property
    def compared(self) -> int:
        return self.near.shots + self.fresh.shots

    @property
    def neither(self) -> int:
        return self.counted - self.compared - self.not_known

    @property
    def rows(self) -> tuple[tuple[str, Reason, Reason], ...]:
        return tuple(level.row for level in self.levels)

    @property
    def compare_href(self) -> str:
        return compare_address(replace(self.settings, fair="fair"))


def read_worn_spots(book: Storage, query: Query, *, only_trial: str | None = None, reader: str = "metric") -> WornSpots:
    """Fair against near an earlier hit, as an address asks for it. `only_trial`: all that this viewer may see."""
    with book.read() as session:
        loosed = load_loosed(session, pool=wants_pool(query), trial_id=asked_trial(query, only_trial))
    return worn_spots_of(loosed.of_trial(only_trial), query, reader=reader)


def nearness(shot: LoosedShot) -> bool | None | str:
    """True near an earlier hit, False fair, None not known; "neither" for what is not fair for another reason."""
    if shot.fair is None or shot.fair.answer == NOT_KNOWN:
        return None
    if shot.fair.answer == FAIR:
        return False
    return True if shot.fair.answer == NOT_FAIR and shot.fair.sort in EARLIER_HIT else "neither"


def worn_spots_of(loosed: Loosed, query: Query, *, reader: str = "metric") -> WornSpots:
    """Fair against near an earlier hit among these shots. Any is let in, fair or not: that is what is asked about."""
    view = count_shots(loosed, {**query, "fair": ["any"]}, by_form=True, reader=reader)
    settings, counted = view.settings, view.counted_shots
    near, fresh, not_known = ([one for one in counted if nearness(one.shot) is answer] for answer in (True, False, None))
    still_open = [one for one in (*near, *fresh) if one.through_low != one.through_high]
    settled = [one for one in (*near, *fresh, *not_known) if one.through_low == one.through_high]
    found = wear(
        [int(one.through_low) for one in settled],
        [_fair(one) for one in settled],
        energies_j=[one.energy.value if one.energy and one.energy.value > 0 else None for one in settled],
    )
    # Shots that are not fair were seen too by whoever chose the next energy, so all that were let in are looked at.
    hidden = energies_chosen(view_of_results(loosed, counted, facts=CaveatFacts(), settings=settings))
    return WornSpots(
        **view.as_fields,
        title=because("no_totals") if hidden and not isinstance(found, CantTell) else _title(found),
        before=because("two_kinds_needed") if isinstance(found, CantTell) else because("near_against_fair", could=found.could_show.reason),
        told=() if isinstance(found, CantTell) else _told(found, near, fresh, through=settings.through, hidden=hidden),
        caveat=CAVEAT,
        near=tally_of(near, settings.method),
        fresh=tally_of(fresh, settings.method),
        levels=_levels(near, fresh, view),
        totals_hidden=hidden,
        not_known=len(not_known),
        open=len(still_open),
    )


def _fair(one: CountedShot) -> bool | None:
    answer = nearness(one.shot)
    return None if answer is None else not answer


def _levels(near: Sequence[CountedShot], fresh: Sequence[CountedShot], view: CountedView) -> tuple[WearLevel, ...]:
    placed = [one.energy.value for one in (*near, *fresh) if one.energy]
    method = view.settings.method
    levels = []
    for band in view.bands_for(placed):
        cells = [make_cell(row, band, counted=shots, not_known=(), method=method, href="") for row, shots in ((NEAR, near), (FRESH, fresh))]
        if cells[0].shots or cells[1].shots:
            levels.append(WearLevel(band.words, *cells))
    return tuple(levels)


def _count(tally: Tally) -> Reason:
    if not tally.shots:
        return because("none_shot")
    return because("count_with_interval", counted=tally.words, interval=tally.interval_words)


def _title(found: Wear | CantTell) -> Reason:
    if isinstance(found, CantTell):
        return because("no_answer_yet", why=found.reason)
    if not found.could_show.can_tell:
        return because("too_few_near")
    if found.p_value > 1 - found.could_show.level:
        return because("no_effect_of_near_shown")
    return because("near_differs", more=found.difference.difference > 0)


def _told(found: Wear, near: Sequence[CountedShot], fresh: Sequence[CountedShot], *, through: Through, hidden: bool) -> tuple[Reason, ...]:
    """The difference, what chance alone gives, whether the energies were alike, and what is mixed."""
    mixed = _mixed([*near, *fresh])
    if hidden:
        return because("totals_hidden"), _at_like_energy(found), *mixed
    gap = found.difference
    size = because("gap_size", low=gap.low, high=gap.high, difference=gap.difference)
    counts = because(
        "near_and_fair_counts", near=gap.hits, of_near=gap.shots, past=through.past, fair=gap.other_hits, of_fair=gap.other_shots, size=size
    )
    return counts, because("near_by_chance", p=found.p_value), _energies(near, fresh), _at_like_energy(found), *mixed


def _energies(near: Sequence[CountedShot], fresh: Sequence[CountedShot]) -> Reason:
    """Whether the two groups were shot at like energy at all: by the measured gap, as both are shot with the same bows and arrows."""
    logs = [[math.log(one.energy.value) for one in some if one.energy and one.energy.value > 0] for some in (near, fresh)]
    if not all(logs):
        return because("near_energies_not_measured")
    gap = math.fsum(logs[0]) / len(logs[0]) - math.fsum(logs[1]) / len(logs[1])
    return because("near_energies_alike") if abs(gap) <= alike_margin(None) else because("near_energies_unlike", gap=gap)


def _at_like_energy(found: Wear) -> Reason:
    if isinstance(found.at_like_energy, CantTell):
        return because("near_no_curve", why=found.at_like_energy.reason)
    term = found.at_like_energy.terms[0]
    shots = found.at_like_energy.shots
    return because("near_at_equal_energy", times=term.energy_factor, low=term.energy_low, high=term.energy_high, shots=shots)


def _mixed(shots: Sequence[CountedShot]) -> tuple[Reason, ...]:
    types = tuple(sorted({panel_type_of(one.shot.fact)[1] for one in shots}))
    forms = {form_of(one.shot.fact) for one in shots}
    return (
        *([because("near_mixes_types", types=types)] if len(types) > 1 else []),
        *([because("near_mixes_forms", forms=len(forms))] if len(forms) > 1 else []),
    )
