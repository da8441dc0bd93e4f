"""Spots to aim at on a panel, drawn so that hits stay fair: far enough from each other, the edge and earlier hits.

As many as there is room for: of many ways to lay an even net over the panel, the one that leaves most spots.
"""

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from proofyard.charts.panel_words import where_text
from proofyard.quantities.reason import Reason, because
from proofyard.records.panel import Panel
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.fair_hits import FairRules, from_edge_m

_OFFSETS = 8
_NUMBERED = re.compile(r"\bspot (\w+)$")
MOST_SPOTS = 60
ROUNDING_M = 0.001  # a spot is told to a tenth of a millimetre: at the very limit that could cost a hit its fairness
UNREAD_OUTCOME_LEVEL = 3  # a hit that nobody has read may have opened it


@dataclass(frozen=True)
class Spot:
    """Metres from the panel's middle. name: as it is called on the line, "upper left, spot 3"."""

    x_m: float
    y_m: float
    name: str


@dataclass(frozen=True)
class AimSpots:
    """The spots from the top left down, and what they keep: from each other, from the edge; why there are none."""

    spots: tuple[Spot, ...]
    apart_m: float
    edge_m: float
    unplaced: int
    why_none: Reason | None = None


@dataclass(frozen=True)
class Spoilt:
    """An earlier hit: where, how far it spoils, what it is called."""

    x_m: float
    y_m: float
    reach_m: float
    label: str


def spoilt_spots(facts: Iterable[ShotFact], rules: FairRules) -> tuple[tuple[Spoilt, ...], int]:
    """The hits on a build that spoil the ground about them, and how many more have no known place."""
    found, unplaced = [], 0
    for fact in facts:
        if fact.voided or fact.purpose in ("let_down", "speed_only") or fact.hit in ("missed", "spoiled"):
            continue
        reach = rules.reach_of(fact.outcome_high if fact.outcome_high is not None else UNREAD_OUTCOME_LEVEL)
        if reach == 0:
            continue
        if fact.x_m is None or fact.y_m is None:
            unplaced += fact.hit != "partial"
        else:
            found.append(Spoilt(fact.x_m, fact.y_m, reach, fact.label))
    return tuple(found), unplaced


def aim_spots(panel: Panel, rules: FairRules, *, facts: Iterable[ShotFact] = (), group_m: float = 0.0) -> AimSpots:
    """Every spot there is room for. group_m: how far hits lie from the spot aimed at, at most: two may stray towards
    each other, so it counts twice between spots and once to the edge."""
    spoilt, unplaced = spoilt_spots(facts, rules)
    widest = max((rules.reach_of(outcome_level) for outcome_level in range(6)), default=0.0)
    apart = max(widest + rules.position_accuracy_m + 2 * group_m, 0.010) + ROUNDING_M
    edge = rules.near_edge_m + rules.position_accuracy_m + group_m + ROUNDING_M
    if not panel.width_m or not panel.height_m:
        return AimSpots((), apart, edge, unplaced, because("panel_size_not_in_book"))

    def free(x: float, y: float) -> bool:
        inside = from_edge_m((x, y), panel.outline, width_m=panel.width_m, height_m=panel.height_m)
        if inside is None or inside < edge - 1e-9:
            return False
        return all(math.hypot(x - one.x_m, y - one.y_m) >= one.reach_m + rules.position_accuracy_m + group_m + ROUNDING_M for one in spoilt)

    places = max(_nets(panel.width_m, panel.height_m, apart, free), key=len)
    if not places:
        return AimSpots((), apart, edge, unplaced, because("no_spot_far_enough"))
    ordered = sorted(places, key=lambda place: (-round(place[1], 3), place[0]))[:MOST_SPOTS]
    named = (Spot(round(x, 4), round(y, 4), f"{side_words(panel, (x, y))}, spot {n}") for n, (x, y) in enumerate(ordered, 1))
    return AimSpots(tuple(named), apart, edge, unplaced)


def side_words(panel: Panel, place: tuple[float, float]) -> str:
    """In thirds, as the archer sees it: "upper left", "left", "middle", "lower middle"."""
    (x_m, y_m), width, height = place, panel.width_m or 1.0, panel.height_m or 1.0
    across = "left" if x_m < -width / 6 else "right" if x_m > width / 6 else "middle"
    up = "upper" if y_m > height / 6 else "lower" if y_m < -height / 6 else ""
    return f"{up} {across}".strip()


def spot_words(name: str | None, *, x_m: float | None, y_m: float | None, reader: str) -> str:
    """ "upper left, spot 11 (41 mm right, 79 mm up)", from the panel's middle; empty where no spot was drawn."""
    if x_m is None or y_m is None:
        return name or ""
    where = where_text(x_m, y_m, reader)
    return f"{name} ({where})" if name else where


def ring_label(name: str | None, place: int) -> str:
    """The number that stands in a spot's ring: the one that its words say; a spot without one goes by its place in the order."""
    said = _NUMBERED.search(name or "")
    return said.group(1) if said else str(place)


def no_longer_fair(x_m: float | None, y_m: float | None, *, spoilt: Sequence[Spoilt], rules: FairRules) -> Reason | None:
    """The hit that has come too near a spot since the plan was made."""
    if x_m is None or y_m is None:
        return None
    near = [(math.hypot(x_m - one.x_m, y_m - one.y_m), one) for one in spoilt]
    hurt = [(away, one) for away, one in near if away < one.reach_m + rules.position_accuracy_m]
    if not hurt:
        return None
    away, one = min(hurt, key=lambda pair: pair[0])
    return because("no_longer_fair", label=one.label, away_m=away)


def _nets(width_m: float, height_m: float, apart_m: float, free: object) -> list[list[tuple[float, float]]]:
    """Nets of equal triangles, lying and standing, at many offsets; each cut down to its free places."""
    assert callable(free)
    row = apart_m * math.sqrt(3) / 2
    found = []
    for turned in (False, True):
        across, up = (height_m, width_m) if turned else (width_m, height_m)
        for nth in range(_OFFSETS * _OFFSETS):
            dx, dy = apart_m * (nth % _OFFSETS) / _OFFSETS, row * (nth // _OFFSETS) / _OFFSETS
            net = []
            for line in range(-int(up / row) - 2, int(up / row) + 3):
                for step in range(-int(across / apart_m) - 2, int(across / apart_m) + 3):
                    a, b = (step + (0.5 if line % 2 else 0.0)) * apart_m + dx, line * row + dy
                    x, y = (b, a) if turned else (a, b)
                    if abs(x) <= width_m / 2 and abs(y) <= height_m / 2 and free(x, y):
                        net.append((x, y))
            found.append(net)
    return found
