"""The shots behind one number of a results page: those of a cell, or those left out for one reason."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.axes import AXES, on_axis
from server.findings.bands import Band
from server.findings.left_out import OFF_AXIS, REASONS
from server.findings.loosed import Loosed, LoosedShot, load_loosed
from server.findings.results import ask, sort_shots
from server.findings.row_groups import group_of, is_row, row_key
from server.findings.view_settings import Asked, Query, ViewSettings, wants_pool
from server.quantities import written, written_with_uncertainty
from server.records.shot import ALL_WAYS_IN, HITS, PURPOSES
from server.records.shot_facts import ShotFact
from server.records.trial import rung_name
from server.storage import Storage


@dataclass(frozen=True)
class ShotLine:
    """One shot as a row of a list."""

    label: str
    href: str
    words: str
    small: str
    rung_low: int | None
    rung_high: int | None
    struck: bool
    glyph: str


def shot_line(shot: LoosedShot, *, place: str = "chronograph") -> ShotLine:
    """What a reader needs to pick a shot out of a list; its energy at that place."""
    fact = shot.fact
    parts = [
        fact.archer,
        fact.bow_name,
        f"arrow {fact.arrow_tag}",
        _energy(shot, place),
        fact.panel_name,
        ALL_WAYS_IN.get(fact.way_in or "", "").lower(),
        _depth(fact),
        f"{FAIR_WORDS[shot.fair.answer]}: {shot.fair.reason}" if shot.fair else "",
        fact.day,
    ]
    small = ", ".join(part for part in parts if part)
    return ShotLine(
        fact.label, f"/shots/{fact.shot_id}", _ended(fact), small, fact.outcome_low, fact.outcome_high, fact.struck, _glyph(fact)
    )


def _glyph(fact: ShotFact) -> str:
    """For a shot without a rung."""
    if fact.struck:
        return "struck"
    if fact.outcome_low is not None or fact.purpose != "counted":
        return ""
    return fact.hit if fact.hit in ("partial", "missed", "spoiled") else "unread"


FAIR_WORDS = {"fair": "fair", "not_fair": "not fair", "not_known": "fair or not: not known"}


def _ended(fact: ShotFact) -> str:
    if fact.outcome_low is not None:
        return rung_name(fact.outcome_low, fact.outcome_high)
    if fact.purpose != "counted":
        return PURPOSES[fact.purpose]
    if fact.hit is None:
        return "Unread"
    return HITS[fact.hit] + (f", {fact.why}" if fact.why else "")


def _energy(shot: LoosedShot, place: str) -> str:
    energy = shot.impact.energy_at(place)
    if energy is None:
        return "energy not measured" if not shot.impact.measured else f"energy at the {place} can’t be told"
    return f"{written_with_uncertainty(energy, 'J', figures=3)} at the {place}"


def _depth(fact: ShotFact) -> str:
    if not fact.depth_m:
        return ""
    at_least = "at least " if fact.depth_bound == "at_least" else ""
    return f"{at_least}{written(fact.depth_m, 'mm', figures=3)} behind"


@dataclass(frozen=True)
class ShotList:
    """What was asked for, and its shots. `why_none`: the address names nothing that there is."""

    asked: Asked
    title: str
    shots: tuple[LoosedShot, ...]
    not_known: tuple[LoosedShot, ...] = ()
    why_none: str = ""

    @property
    def lines(self) -> tuple[ShotLine, ...]:
        return tuple(shot_line(shot, place=self.asked.settings.place) for shot in self.shots)

    @property
    def not_known_lines(self) -> tuple[ShotLine, ...]:
        return tuple(shot_line(shot, place=self.asked.settings.place) for shot in self.not_known)


def read_shot_list(book: Storage, query: Query, *, only_trial: str | None = None) -> ShotList:
    """The shots that an address asks for: `cell=needle:80-105`, `cell=needle:not_measured`, `out=missed`."""
    with book.read() as session:
        loosed = load_loosed(session, pool=wants_pool(query))
    return shot_list_of(loosed.of_trial(only_trial), query)


def shot_list_of(loosed: Loosed, query: Query) -> ShotList:
    """The shots of a cell, of a reason, or all that are counted."""
    _, asked = ask(loosed, query)
    sorted_shots = sort_shots(loosed, asked.settings)
    out, cell = (next(iter(query.get(name, ())), "") for name in ("out", "cell"))
    if out == "struck":
        return ShotList(asked, "Struck through", sorted_shots.struck)
    if out:
        if out not in REASONS:
            return ShotList(asked, "No such list", (), why_none="This address names no reason for leaving shots out.")
        return ShotList(asked, REASONS[out].words, sorted_shots.apart.get(out, ()))
    if not cell:
        return ShotList(asked, "All that are counted", sorted_shots.counted)
    row, _, where = cell.partition(":")
    settings = asked.settings
    if not is_row(row, settings):
        return ShotList(asked, "No such cell", (), why_none="This address names no row of heads that the book knows.")
    words = group_of(row, settings).words
    if where == "not_measured":
        apart = [shot for key in OFF_AXIS for shot in sorted_shots.apart.get(key, ())]
        why = "energy not measured" if set(OFF_AXIS[1:]).isdisjoint(sorted_shots.apart) else "not to be placed by " + AXES[settings.axis].words
        return ShotList(asked, f"{words}, {why}", _of_row(apart, row, settings))
    band = band_from(where, unit=AXES[settings.axis].unit)
    if band is None:
        return ShotList(asked, "No such cell", (), why_none="This address names no energy band.")
    return ShotList(
        asked,
        f"{words}, {band.with_unit}",
        _in_band(_of_row(sorted_shots.counted, row, settings), band, settings),
        _in_band(_of_row(sorted_shots.apart.get("not_known", ()), row, settings), band, settings),
    )


def band_from(text: str, *, unit: str = "J") -> Band | None:
    """ "80-105", "-60", "130-" as they stand in an address."""
    low, dash, high = text[:40].partition("-")
    try:
        edges = (float(low) if low else -math.inf, float(high) if high else math.inf)
    except ValueError:
        return None
    return Band(*edges, unit) if dash and edges[0] < edges[1] else None


def _of_row(shots: Sequence[LoosedShot], row: str, settings: ViewSettings) -> tuple[LoosedShot, ...]:
    return tuple(shot for shot in shots if row_key(shot, settings) == row)


def _in_band(shots: Sequence[LoosedShot], band: Band, settings: ViewSettings) -> tuple[LoosedShot, ...]:
    placed = [(shot, on_axis(shot, AXES[settings.axis], place=settings.place)) for shot in shots]
    return tuple(shot for shot, at in placed if at is not None and band.holds(at.value))
