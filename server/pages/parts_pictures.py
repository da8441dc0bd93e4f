"""Pictures in their states for the page of all parts: with nothing, with one, with many. Figures are invented."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from server.charts.curve_by_energy import CurveByEnergy, CurveMark, draw_curve_by_energy
from server.charts.curve_shape import CurveShape
from server.charts.depth_by_energy import DepthGroup, DepthMark, depth_by_energy
from server.charts.hits_in_order import HitInOrder, hits_in_order
from server.charts.ladder_stack import LadderRow, ladder_stack
from server.charts.share_forest import ShareRow, share_forest
from server.charts.speeds_in_order import SpeedLine, SpeedMark, SpeedStrip, speeds_in_order
from server.records.trial import RUNG_WORDS

LOW, HIGH = "80 to 105\N{NO-BREAK SPACE}J", "105 to 130\N{NO-BREAK SPACE}J"


@dataclass(frozen=True)
class PictureState:
    """One state of a picture; `drawing` is what its macro takes."""

    drawing: object


def picture_states() -> Mapping[str, tuple[PictureState, ...]]:
    """Macro -> its picture with nothing, one and many."""
    made: dict[str, Sequence[object]] = {
        "share_forest": [share_forest("Heads", some) for some in ((), _shares()[:1], _shares())],
        "ladder_stack": [ladder_stack("Heads", some, rung_words=RUNG_WORDS) for some in ((), _ladders()[:1], _ladders())],
        "depth_by_energy": [depth_by_energy("Heads", some, rung_words=RUNG_WORDS, edges=(60, 80, 105, 130)) for some in ((), _one_depth(), _depths())],
        "hits_in_order": [hits_in_order("Panel P3", some, rung_words=RUNG_WORDS) for some in ((), _hits()[:1], _hits())],
        "curve_by_energy": [_curve(some) for some in ((), (30.0, 60.0), (28.0, 35.0, 38.0, 44.0, 44.0, 47.0, 52.0, 61.0))],
        "speeds_in_order": [speeds_in_order("Yew bow", some) for some in ((), _one_speed(), _speeds())],
    }
    return {name: tuple(map(PictureState, some)) for name, some in made.items()}


def _curve(energies: tuple[float, ...]) -> CurveByEnergy:
    """An invented curve through invented shots: half at 45 J, got through from there on."""
    marks = [CurveMark(f"A{place}", f"#shot-A{place}", energy, energy >= 44) for place, energy in enumerate(energies, 1)]
    at = tuple(float(energy) for energy in range(25, 66))
    chances = tuple(1 / (1 + (45.0 / energy) ** 8) for energy in at)
    lows, highs = tuple(one**2 for one in chances), tuple(1 - (1 - one) ** 2 for one in chances)
    shape = CurveShape(at, chances, lows, highs, (energies[0], energies[-1]), 45.0, (38.0, 52.0)) if energies else None
    words = "Half get through at 45 J, 38 to 52 J." if energies else "Not placed: no shots."
    return draw_curve_by_energy("Leaf", marks, shape, unit="J", curve_words=words, range_j=(25.0, 65.0))


def _shares() -> tuple[ShareRow, ...]:
    return (
        ShareRow("Leaf", 2, 3, 5, 0.09, 0.93, LOW, "head-leaf", "#p-share_forest"),
        ShareRow("Short stout", 4, 4, 11, 0.13, 0.66, LOW, "head-stout", "#p-share_forest"),
        ShareRow("Broad barbed, forged, with a socket", 0, 0, 0, None, None, LOW, "head-barbed"),
        ShareRow("Leaf", 3, 3, 3, 0.37, 1.0, HIGH, "head-leaf", "#p-share_forest"),
    )


def _ladders() -> tuple[LadderRow, ...]:
    long = [(1, 1)] * 3 + [(2, 2)] * 14 + [(3, 3)] * 5 + [(3, 4)] + [(4, 4)] * 2 + [(5, 5)]
    return (
        LadderRow("Leaf", [(0, 0), (2, 2), (2, 2), (3, 3), (3, 4), (4, 4), (5, 5)], LOW, "head-leaf", "#p-ladder_stack"),
        LadderRow("Short stout", long, LOW, "head-stout", "#p-ladder_stack"),
        LadderRow("Broad barbed", [], LOW, "head-barbed"),
        LadderRow("Leaf", [(4, 4)] * 3, HIGH, "head-leaf", "#p-ladder_stack"),
    )


def _one_depth() -> tuple[DepthGroup, ...]:
    return (DepthGroup("Leaf", [DepthMark("A1", "#shot-A1", 88.0, 0.021, False, 4, 4)], "head-leaf"),)


def _depths() -> tuple[DepthGroup, ...]:
    leaf = [
        DepthMark("A1", "#shot-A1", 66.0, None, False, 2, 2),
        DepthMark("A2", "#shot-A2", 88.0, 0.021, False, 4, 4),
        DepthMark("A3", "#shot-A3", 97.0, 0.030, True, 4, 5),
        DepthMark("A4", "#shot-A4", 101.0, None, False, 4, 4),
        DepthMark("A5", "#shot-A5", 112.0, None, False, 3, 4),
        DepthMark("A6", "#shot-A6", 124.0, 0.044, False, 5, 5),
    ]
    stout = [DepthMark("B1", "#shot-B1", 90.0, None, False, 3, 3), DepthMark("B2", "#shot-B2", 118.0, 0.012, False, 4, 4)]
    return (DepthGroup("Leaf", leaf, "head-leaf"), DepthGroup("Short stout", stout, "head-stout"))


def _hits() -> tuple[HitInOrder, ...]:
    rungs = (2, 3, 2, 4, (3, 4), None, 1, 3, 3, 5, 2, 3, 4, 3, 4, None, 5, 4, 3, 4, 5, 4, 5)
    made = []
    for n, rung in enumerate(rungs, 1):
        low, high = rung if isinstance(rung, tuple) else (rung, rung)
        fair, note = ("not_fair", "18 mm from A4") if n % 6 == 0 else ("not_known", "place not known") if n % 7 == 0 else ("fair", "")
        made.append(HitInOrder(n, f"A{n}", low, high, f"#shot-A{n}", fair, note))
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
