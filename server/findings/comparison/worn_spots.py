"""Does an earlier hit nearby matter? Shots that struck near one, or where one had been, against the fair ones.

Only what was so before the arrow struck makes a shot "near an earlier hit". Shots not fair for another reason (the
panel's edge, an arrow that was not sound) are in neither group.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.findings.axes import AXES
from server.findings.bands import Band, bands_of, edges_text
from server.findings.caveats.chosen_energies import energies_chosen
from server.findings.caveats.of_results import view_of_results
from server.findings.cells import Cell, CountedShot, Tally, counted_shot, make_cell, tally_of
from server.findings.comparison.levels import ShareGap, unlike_energies
from server.findings.comparison.page import compare_address
from server.findings.comparison.sentences import p_words, size_words
from server.findings.fair_hits import FAIR, NOT_FAIR, NOT_KNOWN
from server.findings.left_out import LeftOut, left_out_rows
from server.findings.loosed import Loosed, LoosedShot, load_loosed
from server.findings.results import ask, setting_names, sort_shots, suggested_edges
from server.findings.row_groups import RowGroup
from server.findings.sentences import settings_words
from server.findings.through import Through
from server.findings.view_settings import Asked, Choices, Query, form_of, sort_of, wants_pool
from server.records.caveat_facts import CaveatFacts
from server.statistics.refusals import CantTell
from server.statistics.wear import CAVEAT, Wear, wear
from server.storage import Storage

# Sorts of FairMark that speak of an earlier hit; the others speak of the edge, the arrow, or of what isn't known.
EARLIER_HIT = frozenset({"old_hit", "same_plate", "near"})
_HIDDEN = "Energies were chosen by the outcomes so far, so one share over all of them means nothing"
NEAR = RowGroup("near", "Near an earlier hit", "those near an earlier hit")
FRESH = RowGroup("fresh", "Fair", "the fair ones")


@dataclass(frozen=True)
class WearLevel:
    """One energy level: both counts."""

    band: str
    near: Cell
    fresh: Cell

    @property
    def row(self) -> tuple[str, str, str]:
        return self.band, _count(self.near.tally), _count(self.fresh.tally)


@dataclass(frozen=True)
class WornSpots:
    """What the page shows. counted + neither + the counts of left_out = loosed.

    open       shots whose outcome is still open ("3 or 4"): in no test
    not_known  shots of which nobody knows whether an earlier hit was near
    neither    not fair for a reason that is no earlier hit, or overruled
    """

    asked: Asked
    choices: Choices
    showing: str
    edges: tuple[float, ...]
    title: str
    before: str
    sentences: tuple[str, ...]
    mixed: tuple[str, ...]
    caveat: str
    near: Tally
    fresh: Tally
    levels: tuple[WearLevel, ...]
    totals_hidden: bool
    counted: int
    neither: int
    not_known: int
    open: int
    left_out: tuple[LeftOut, ...]
    loosed: int
    compare_href: str

    @property
    def edges_words(self) -> str:
        return edges_text(self.edges)

    @property
    def rows(self) -> tuple[tuple[str, ...], ...]:
        return tuple(level.row for level in self.levels)

    @property
    def unit(self) -> str:
        return AXES[self.asked.settings.axis].unit


def read_worn_spots(book: Storage, query: Query, *, only_trial: str | None = None) -> WornSpots:
    """Fair against near an earlier hit, as an address asks for it. `only_trial`: all that this viewer may see."""
    with book.read() as session:
        loosed = load_loosed(session, pool=wants_pool(query))
    return worn_spots_of(loosed.of_trial(only_trial), query)


def nearness(shot: LoosedShot) -> bool | None | str:
    """True near an earlier hit, False fair, None not known; "neither" for what is not fair for another reason."""
    if shot.fair is None or shot.fair.answer == NOT_KNOWN:
        return None
    if shot.fair.answer == FAIR:
        return False
    return True if shot.fair.answer == NOT_FAIR and shot.fair.sort in EARLIER_HIT else "neither"


def worn_spots_of(loosed: Loosed, query: Query) -> WornSpots:
    """Fair against near an earlier hit among these shots. Any is let in, fair or not: that is what is asked about."""
    choices, asked = ask(loosed, {**query, "fair": ["any"]})
    settings = replace(asked.settings, rows="form", row_edges=None)
    asked = replace(asked, settings=settings)
    shots = sort_shots(loosed, settings)
    edges = settings.edges or suggested_edges(settings, shots.counted)
    counted = [counted_shot(shot, settings, edges=edges) for shot in shots.counted]
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
        asked=asked,
        choices=choices,
        showing=settings_words(settings, setting_names(settings, choices)),
        edges=tuple(edges),
        title=_HIDDEN if hidden and not isinstance(found, CantTell) else _title(found),
        before=_before(found),
        sentences=() if isinstance(found, CantTell) else tuple(_sentences(found, near, fresh, through=settings.through, hidden=hidden)),
        mixed=_mixed([*near, *fresh]),
        caveat=CAVEAT,
        near=tally_of(near, settings.method),
        fresh=tally_of(fresh, settings.method),
        levels=_levels(near, fresh, edges=edges, unit=AXES[settings.axis].unit, method=settings.method),
        totals_hidden=hidden,
        counted=len(near) + len(fresh),
        neither=len(counted) - len(near) - len(fresh) - len(not_known),
        not_known=len(not_known),
        open=len(still_open),
        left_out=left_out_rows(shots.apart, settings, edges=edges),
        loosed=shots.loosed,
        compare_href=compare_address(replace(settings, fair="fair")),
    )


def _fair(one: CountedShot) -> bool | None:
    answer = nearness(one.shot)
    return None if answer is None else not answer


def _levels(
    near: Sequence[CountedShot], fresh: Sequence[CountedShot], *, edges: Sequence[float], unit: str, method: str
) -> tuple[WearLevel, ...]:
    placed = [one.energy.value for one in (*near, *fresh) if one.energy]
    levels = []
    for band in bands_of(edges, placed, unit=unit):
        cells = [
            make_cell(row, band, counted=shots, not_known=(), method=method, href="") for row, shots in ((NEAR, near), (FRESH, fresh))
        ]
        if cells[0].shots or cells[1].shots:
            levels.append(WearLevel(band.words, *cells))
    return tuple(levels)


def _count(tally: Tally) -> str:
    return f"{tally.words} ({tally.may_be}\N{NO-BREAK SPACE}%)" if tally.shots else "none shot"


def _title(found: Wear | CantTell) -> str:
    if isinstance(found, CantTell):
        return f"Can’t be told: {found.reason}"
    if not found.could_show.can_tell:
        return "So few can’t tell whether an earlier hit nearby matters"
    if found.test.p_value > 1 - found.could_show.level:
        return "These shots don’t show that an earlier hit nearby matters"
    return f"Near an earlier hit shots got through {'more' if found.difference.difference > 0 else 'less'} often; why is another matter"


def _before(found: Wear | CantTell) -> str:
    """What these n could show, said before the counts are told apart."""
    if isinstance(found, CantTell):
        return "Both sorts of shot are needed: fair ones, and some that struck near an earlier hit. Look at other panels, or let in more by the settings."
    return f"Near an earlier hit against fair, {found.could_show.words}."


def _sentences(
    found: Wear, near: Sequence[CountedShot], fresh: Sequence[CountedShot], *, through: Through, hidden: bool
) -> list[str]:
    if hidden:
        return ["Totals over energies then mean nothing and are hidden; look at one energy level at a time.", _at_like_energy(found)]
    gap = found.difference
    size = size_words(ShareGap(gap.low, gap.high, gap.difference, gap.difference, found.test.p_value))
    said = [
        f"Near an earlier hit {gap.hits} of {gap.shots} {through.past}, of the fair ones {gap.other_hits} of {gap.other_shots}. {size}",
        f"Chance alone parts two such groups so far with p = {p_words(found.test.p_value)} (exact, both sides). "
        "A large p doesn’t show that an earlier hit makes no difference.",
        _energies(near, fresh),
    ]
    return [*said, _at_like_energy(found)]


def _energies(near: Sequence[CountedShot], fresh: Sequence[CountedShot]) -> str:
    """Whether the two groups were shot at like energy at all."""
    every = Band(-math.inf, math.inf)
    one, other = (make_cell(row, every, counted=shots, not_known=(), method="mid-p", href="") for row, shots in ((NEAR, near), (FRESH, fresh)))
    unlike = unlike_energies(one, other)
    if unlike is None:
        return "Their mean energies are alike."
    said = unlike.full
    return f"{said[:1].upper()}{said[1:]}: so the energy may be behind any difference."


def _at_like_energy(found: Wear) -> str:
    if isinstance(found.at_like_energy, CantTell):
        return f"With the energy taken into account: can’t be told; {found.at_like_energy.reason}."
    term = found.at_like_energy.terms[0]
    ends = [f"{end:.2f}" if end is not None else "no bound" for end in (term.energy_low, term.energy_high)]
    return (
        f"With the energy taken into account, near an earlier hit an arrow needs {term.energy_factor:.2f} times the energy for half to get "
        f"through; that factor may be from {ends[0]} to {ends[1]} (95\N{NO-BREAK SPACE}%, {found.at_like_energy.shots} shots)."
    )


def _mixed(shots: Sequence[CountedShot]) -> tuple[str, ...]:
    sorts = sorted({sort_of(one.shot.fact)[1] for one in shots})
    forms = {form_of(one.shot.fact) for one in shots}
    said = []
    if len(sorts) > 1:
        said.append(f"This mixes {len(sorts)} sorts of panel ({', '.join(sorts)}): what an earlier hit does to one it need not do to another. Pick one.")
    if len(forms) > 1:
        said.append(f"This mixes {len(forms)} head forms: if those shot late were other heads than those shot first, the head may be behind any difference.")
    return tuple(said)
