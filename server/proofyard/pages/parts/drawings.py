"""Drawings in their states for the page of all parts: with nothing, with one, with many. Figures are invented."""

from collections.abc import Mapping, Sequence

from proofyard.charts.curves import CurveMark, CurveShape, draw_curve_by_energy
from proofyard.charts.depth_by_energy import DepthGroup, depth_by_energy
from proofyard.charts.figure import Figure
from proofyard.charts.group_rows import GroupRow
from proofyard.charts.hits_in_order import hits_in_order
from proofyard.charts.outcome_stack import outcome_stack
from proofyard.charts.outcome_words import Hit, Share, ShotMark
from proofyard.charts.share_forest import share_forest
from proofyard.charts.speeds_in_order import SpeedLine, SpeedMark, SpeedStrip, speeds_in_order
from proofyard.records.trial import OUTCOME_WORDS

LOW, HIGH = "80 to 105\N{NO-BREAK SPACE}J", "105 to 130\N{NO-BREAK SPACE}J"


def drawing_states() -> Mapping[str, Sequence[Figure]]:
    """Each chart with nothing, one and many."""
    return {
        "share_forest": [share_forest("Heads", some) for some in ((), _shares()[:1], _shares())],
        "outcome_stack": [outcome_stack("Heads", some, outcome_words=OUTCOME_WORDS) for some in ((), _stack()[:1], _stack())],
        "depth_by_energy": [
            depth_by_energy("Heads", some, outcome_words=OUTCOME_WORDS, edges=(60, 80, 105, 130)) for some in ((), _one_depth(), _depths())
        ],
        "hits_in_order": [hits_in_order("Panel P3", some, outcome_words=OUTCOME_WORDS) for some in ((), _hits()[:1], _hits())],
        "curve_by_energy": [_curve(some) for some in ((), (30.0, 60.0), (28.0, 35.0, 38.0, 44.0, 44.0, 47.0, 52.0, 61.0))],
        "speeds_in_order": [speeds_in_order("Yew bow", some) for some in ((), _one_speed(), _speeds())],
    }


def _curve(energies: tuple[float, ...]) -> Figure:
    """An invented curve through invented shots: half at 45 J, got through from there on."""
    marks = [CurveMark(f"A{place}", f"#shot-A{place}", energy, energy >= 44) for place, energy in enumerate(energies, 1)]
    at = tuple(float(energy) for energy in range(25, 66))
    chances = tuple(1 / (1 + (45.0 / energy) ** 8) for energy in at)
    lows, highs = tuple(one**2 for one in chances), tuple(1 - (1 - one) ** 2 for one in chances)
    shape = CurveShape(at, chances, lows, highs, (energies[0], energies[-1]), 45.0, (38.0, 52.0)) if energies else None
    words = "50\N{NO-BREAK SPACE}% energy 45 J, 38 to 52 J." if energies else "No estimate yet: no shots."
    return draw_curve_by_energy("Leaf", marks, shape, unit="J", curve_words=words, range_j=(25.0, 65.0))


def _shares() -> tuple[GroupRow, ...]:
    return (
        GroupRow("Leaf", Share(2, 3, 5, 0.09, 0.93), heading=LOW, glyph="head-leaf", href="#p-share_forest"),
        GroupRow("Short bodkin", Share(4, 4, 11, 0.13, 0.66), heading=LOW, glyph="head-short_bodkin", href="#p-share_forest"),
        GroupRow("Barbed broadhead, forged, with a socket", Share(0, 0, 0, None, None), heading=LOW, glyph="head-barbed"),
        GroupRow("Leaf", Share(3, 3, 3, 0.37, 1.0), heading=HIGH, glyph="head-leaf", href="#p-share_forest"),
    )


def _stack() -> tuple[GroupRow, ...]:
    long = [(1, 1)] * 3 + [(2, 2)] * 14 + [(3, 3)] * 5 + [(3, 4)] + [(4, 4)] * 2 + [(5, 5)]
    return (
        GroupRow(
            "Leaf", levels=[(0, 0), (2, 2), (2, 2), (3, 3), (3, 4), (4, 4), (5, 5)], heading=LOW, glyph="head-leaf", href="#p-outcome_stack"
        ),
        GroupRow("Short bodkin", levels=long, heading=LOW, glyph="head-short_bodkin", href="#p-outcome_stack"),
        GroupRow("Barbed broadhead", levels=[], heading=LOW, glyph="head-barbed"),
        GroupRow("Leaf", levels=[(4, 4)] * 3, heading=HIGH, glyph="head-leaf", href="#p-outcome_stack"),
    )


def _shot(label: str, energy: float, depth_m: float | None, low: int, high: int, *, at_least: bool = False) -> ShotMark:
    return ShotMark(label, f"#shot-{label}", energy, None, low, high, depth_m=depth_m, at_least=at_least)


def _one_depth() -> tuple[DepthGroup, ...]:
    return (DepthGroup("Leaf", [_shot("A1", 88.0, 0.021, 4, 4)], "head-leaf"),)


def _depths() -> tuple[DepthGroup, ...]:
    leaf = [
        _shot("A1", 66.0, None, 2, 2),
        _shot("A2", 88.0, 0.021, 4, 4),
        _shot("A3", 97.0, 0.030, 4, 5, at_least=True),
        _shot("A4", 101.0, None, 4, 4),
        _shot("A5", 112.0, None, 3, 4),
        _shot("A6", 124.0, 0.044, 5, 5),
    ]
    stout = [_shot("B1", 90.0, None, 3, 3), _shot("B2", 118.0, 0.012, 4, 4)]
    return (DepthGroup("Leaf", leaf, "head-leaf"), DepthGroup("Short bodkin", stout, "head-short_bodkin"))


def _hits() -> tuple[Hit, ...]:
    outcome_levels = (2, 3, 2, 4, (3, 4), None, 1, 3, 3, 5, 2, 3, 4, 3, 4, None, 5, 4, 3, 4, 5, 4, 5)
    made = []
    for n, outcome_level in enumerate(outcome_levels, 1):
        low, high = outcome_level if isinstance(outcome_level, tuple) else (outcome_level, outcome_level)
        fair, note = ("not_fair", "18 mm from A4") if n % 6 == 0 else ("not_known", "place not known") if n % 7 == 0 else ("fair", "")
        made.append(Hit(n, f"A{n}", None, None, low, high, f"#shot-A{n}", False, fair, note))
    return tuple(made)


def _one_speed() -> tuple[SpeedStrip, ...]:
    return (SpeedStrip("", [SpeedLine("", [SpeedMark(1, "A1", 52.6, href="#shot-A1")])]),)


def _speeds() -> tuple[SpeedStrip, ...]:
    fifth = [52.9, 52.8, 52.6, 52.7, 52.4, 52.3, 52.0, 52.1]
    marks = [SpeedMark(2 * n + 1, f"A{n + 1}", speed, href=f"#shot-A{n + 1}") for n, speed in enumerate(fifth)]
    marks[3] = SpeedMark(7, "A4", 99.4, "misread: two flashes", "#shot-A4")
    seventh = [SpeedMark(2 * n + 2, f"B{n + 1}", speed, href=f"#shot-B{n + 1}") for n, speed in enumerate((51.4, 51.5, 51.1, 50.9))]
    other = [SpeedMark(n, f"C{n}", 57.2 + 0.1 * (n % 3), href=f"#shot-C{n}") for n in range(10, 19, 2)]
    return (
        SpeedStrip("Yew bow, Wren", [SpeedLine("arrow 5", marks, "5"), SpeedLine("arrow 7, build 2", seventh, "7 (2)")]),
        SpeedStrip("Ash bow, Tallow", [SpeedLine("arrow 7", other)]),
    )
