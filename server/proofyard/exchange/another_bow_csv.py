"""another_bow.csv: from a draw weight to the share through with each head, a step of ten pounds after another, or as one page asks."""

from collections.abc import Iterable
from typing import Any

from proofyard.answers.another_bow.by_weight import AtWeight, by_weight
from proofyard.answers.another_bow.flown import Flown, Ranged
from proofyard.answers.another_bow.heads import HeadThere
from proofyard.answers.another_bow.own_bows import own_bows
from proofyard.answers.another_bow.page import AnotherBowFound
from proofyard.exchange.csv_writing import Column, Table, Value
from proofyard.exchange.fetched import Fetched
from proofyard.exchange.fifty_percent_columns import OF_A_HEAD_AT_A_TYPE, WHY_NOT, number
from proofyard.quantities.reason import CantTell
from proofyard.records.archer import Archer
from proofyard.records.bow import Bow, BowBuild, BowCheck, DrawPoint
from proofyard.records.columns import Noun
from proofyard.shots.bow_records import BowRecords
from proofyard.wording.reasons.said import said

NAME = "another_bow.csv"
WORDS = (
    "What another bow would do: from its draw weight to the share through with each head, by your own bows and shots. "
    "A step of ten pounds after another, with the arrow and the distance that the page takes where nothing is typed."
)
TABLES: tuple[type[Noun], ...] = (Bow, BowBuild, Archer, DrawPoint, BowCheck)


def _ranged(name: str, unit_ending: str, meaning: str, unit: str) -> tuple[Column, ...]:
    return (
        number(f"{name}_{unit_ending}", meaning, unit),
        number(f"{name}_low_{unit_ending}", "Its lower end, 95 % range", unit),
        number(f"{name}_high_{unit_ending}", "Its upper end, likewise", unit),
    )


_CHAIN = (
    number("bow_weight_n", "Draw weight that is asked about, at full draw", "N"),
    number("bow_draw_m", "Draw length", "m"),
    number("arrow_mass_kg", "Mass of the arrow", "kg"),
    number("shaft_diameter_m", "Shaft diameter of the arrow", "m"),
    number("distance_m", "From the bow to the panel", "m"),
    number("own_bows", "How many of your own bows the speed rests on", "1"),
    number("own_arrows", "How many of their arrows", "1"),
    Column("beyond_own", "What lies outside what was shot: an extrapolation", "", "worked out", values="weight; stroke; arrow"),
    number("speed_read_at_m", "How far from the bow the speed holds, as your own were read", "m"),
    *_ranged("speed", "m_s", "Speed there", "m/s"),
    *_ranged("energy_leaving", "j", "Energy there", "J"),
    *_ranged("speed_at_target", "m_s", "Speed at the panel", "m/s"),
    *_ranged("energy_at_target", "j", "Energy at the panel", "J"),
)
_HEAD = (
    *OF_A_HEAD_AT_A_TYPE,
    number("share", "Share through at that energy; empty under ten shots, or without a 50 % energy", "1"),
    number("share_low", "Least share, 95 % range, the energy’s own range in it", "1"),
    number("share_high", "Greatest share, likewise", "1"),
    Column(
        "energy_beyond_shot",
        "Whether the range of the energy lies outside the energies that were shot: an extrapolation",
        "",
        "worked out",
        values="no; partly; all",
    ),
    Column(
        "verdict",
        "What the range of the share says",
        "",
        "worked out",
        values="through = more than half; held = fewer than half; open; none = nothing can be told",
    ),
)
COLUMNS = (*_CHAIN, *_HEAD, WHY_NOT)


def another_bow_table(fetched: Fetched) -> Table:
    """One row a draw weight, head form and panel type."""
    records = BowRecords(
        fetched.by_id(Bow), fetched.by_id(BowBuild), fetched.by_id(Archer), _standing(fetched, DrawPoint), _standing(fetched, BowCheck)
    )
    usable = [fact for key, fact in fetched.combinations.items() if fetched.may_see(key)]
    own = own_bows(records, fetched.impacts, usable)
    return _table(by_weight(fetched.loosed, own))


def table_of_page(found: AnotherBowFound) -> Table:
    """The same columns for what one page was asked; no row where it was asked nothing."""
    weight = found.asked.weight_n
    return _table([] if weight is None else [AtWeight(weight, found.way, found.why_not, found.heads)])


def _standing(fetched: Fetched, table: type[Noun]) -> list[Any]:
    return [one for one in fetched.of(table) if one.voided_rev is None]


def _table(weights: Iterable[AtWeight]) -> Table:
    rows = [row for one in weights for row in _rows(one)]
    return Table(NAME, WORDS, COLUMNS, tuple(rows))


def _rows(one: AtWeight) -> list[tuple[Value, ...]]:
    if one.way is None:
        return [(one.weight_n, *(None,) * (len(COLUMNS) - 2), said(one.why_not) or None)]
    chain = _chain(one.way)
    if not one.heads:
        return [(*chain, *(None,) * (len(_HEAD) + 1))]
    return [(*chain, *_head(head)) for head in one.heads]


def _chain(way: Flown) -> tuple[Value, ...]:
    asked, bow = way.question, way.bow
    return (
        asked.weight_n,
        asked.draw_m,
        asked.mass_kg,
        asked.shaft_m,
        asked.distance_m,
        bow.bows,
        bow.arrows,
        "; ".join(bow.beyond) or None,
        way.from_m,
        *(bow.speed.value, bow.low_m_s, bow.high_m_s),
        *_three(way.leaving_j),
        *_three(way.speed_there),
        *_three(way.at_target_j),
    )


def _three(ranged: Ranged) -> tuple[float, float, float]:
    return ranged.value, ranged.low, ranged.high


def _head(head: HeadThere) -> tuple[Value, ...]:
    found, point = head.found, head.fifty_percent.point
    told = None if isinstance(found, CantTell) else found
    return (
        head.on,
        head.panel_type,
        head.row.key,
        head.fifty_percent.shots,
        head.fifty_percent.hits,
        *((point.energy_j, point.low_j, point.high_j) if point else (None, None, None)),
        head.middle,
        *((told.low, told.high, head.beyond or "no") if told else (None, None, None)),
        head.verdict,
        said(found.reason) if isinstance(found, CantTell) else None,
    )
