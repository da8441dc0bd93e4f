"""How hard a piece is, as an interval: from picks and testers together, on another scale, as about a strength.

Every answer holds for steel only, and for the surface only: a skin hardened or softened in the fire says nothing of
what lies under it. A bracket in is a bracket out; an open end stays open.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.physics.hardness_table import BESIDE_VICKERS, THINNEST
from proofyard.quantities import Bracket
from proofyard.quantities.reason import CantTell, OutOfRange, because, must_be_above_zero, must_be_finite_result

STEP_OF_PICKS_HRC = 5.0  # sets of picks and files go in fives (common practice, no source)


@dataclass(frozen=True)
class HardnessRange:
    """From low to high on a scale; None where nothing was found on that side. Equal ends: a tester's own reading."""

    low: float | None
    high: float | None
    scale: str

    def __post_init__(self) -> None:
        for name, end in (("low", self.low), ("high", self.high)):
            if end is not None:
                must_be_above_zero(name, end)
        if self.low is None and self.high is None:
            raise OutOfRange("low", math.nan, because("one_end_at_least"))
        if self.low is not None and self.high is not None and self.low > self.high:
            raise OutOfRange("low", self.low, because("at_most", most=self.high))


@dataclass(frozen=True)
class StrengthRange:
    """Tensile strength from low to high; None where it can't be told on that side. Steel only, about a tenth either way."""

    low_pa: float | None
    high_pa: float | None


def range_of_picks(bracket: Bracket, *, step_hrc: float = STEP_OF_PICKS_HRC) -> HardnessRange:
    """The interval behind what picks did.

    low = hardest that slides, high = softest that bites; one that sticks: half a step either way, within those

    Takes
        bracket   Bracket                   from quantities.bracket_from_picks
        step_hrc  scalar, HRC, above 0      between one pick of the set and the next
    Gives
        HardnessRange in HRC, open where the bracket is
    Refuses
        OutOfRange  step not above 0 or not finite
    Holds while
        the picks are what is stamped on them. A pick is pressed by hand and judged by feel: it brackets and doesn't
        measure
    Source
        SAE J864: a file tells between grades of its set, each some HRC wide, and isn't a measurement. Half a step for one
        that sticks is common practice, no source. Checked in tests/published/test_hardness_conversions.py
    >>> range_of_picks(Bracket(above_hrc=45, below_hrc=50))
    HardnessRange(low=45, high=50, scale='HRC')
    """
    must_be_above_zero("step_hrc", step_hrc)
    low, high = bracket.above_hrc, bracket.below_hrc
    if bracket.near_hrc is not None:
        under, over = bracket.near_hrc - step_hrc / 2, bracket.near_hrc + step_hrc / 2
        low = under if low is None else max(low, under)
        high = over if high is None else min(high, over)
    return HardnessRange(low, high, "HRC")


def combine_hardness(ranges: Sequence[HardnessRange], *, scale: str = "HRC") -> HardnessRange | CantTell:
    """What several picks and testers say of one place together: no more than all of them allow.

    low = greatest of the lows, high = least of the highs, all on one scale

    Takes
        ranges  array of HardnessRange  of the same place on the same piece
        scale   text                    HRC, HV or HBW, of the answer
    Gives
        HardnessRange, open on a side where all are; CantTell when there is none, when none says anything on that scale,
        or when they contradict each other
    Refuses
        KeyError  a scale that isn't in the table
    Holds while
        all are of one place. Places of one piece differ, by quench and by forge: combine each place on its own
    Source
        Meeting of intervals. Conversions as convert_hardness. Checked in tests/published/test_hardness_conversions.py
    >>> combine_hardness([HardnessRange(40, None, "HRC"), HardnessRange(None, 50, "HRC"), HardnessRange(392, 513, "HV")])
    HardnessRange(low=40, high=50, scale='HRC')
    """
    if not ranges:
        return CantTell(because("hardness_never_tried"))
    on_scale = [found for found in (convert_hardness(one, to=scale) for one in ranges) if isinstance(found, HardnessRange)]
    if not on_scale:
        return CantTell(because("hardness_outside_the_table", scale=scale))
    lows = [one.low for one in on_scale if one.low is not None]
    highs = [one.high for one in on_scale if one.high is not None]
    low, high = max(lows, default=None), min(highs, default=None)
    if low is not None and high is not None and low > high:
        return CantTell(because("hardness_contradicts", at_least=low, at_most=high, scale=scale))
    return HardnessRange(low, high, scale)


def convert_hardness(known: HardnessRange, *, to: str) -> HardnessRange | CantTell:
    """The same hardness on another scale, by the printed table and only inside it.

    straight lines between the rows of the table, end by end

    Takes
        known  HardnessRange  on HRC, HV or HBW
        to     text           HRC, HV or HBW
    Gives
        HardnessRange. An end beyond the table is open; a range wholly beyond it keeps the table's own end: what is
        harder than 66 HRC is harder than the last Brinell figure. CantTell when nothing is left
    Refuses
        KeyError  a scale that isn't in the table
    Holds while
        it is steel, not austenitic and not cold-worked. The tables themselves say "approximate", and differ from each
        other by 2 % in HV: never print decimals
    Source
        ASTM E140 Table 1 and SAE J417 (20 to 68 HRC), DIN 50150 / ISO 18265 Table A.1 under 238 HV.
        Checked in tests/published/test_hardness_conversions.py
    >>> convert_hardness(HardnessRange(45, None, "HRC"), to="HV")
    HardnessRange(low=446.0, high=None, scale='HV')
    """
    if known.scale == to:
        # Named at least once: a scale that no table has must not slip through as its own.
        BESIDE_VICKERS[to]
        return known
    low, high = _ends(known, to)
    if low is None and high is None:
        return CantTell(because("hardness_table_ends", scale=known.scale, to=to))
    return HardnessRange(low, high, to)


def strength_of(known: HardnessRange) -> StrengthRange | CantTell:
    """About the tensile strength that goes with a hardness.

    straight lines between the rows of the table, end by end

    Takes
        known  HardnessRange  on HRC, HV or HBW
    Gives
        StrengthRange in Pa, ends as convert_hardness; CantTell when nothing is left. No strength is printed above 55 HRC
    Refuses
        KeyError  a scale that isn't in the table
    Holds while
        it is steel, and as hard within as on its surface. The least reliable of all conversions: two tables differ by
        5 % at 500 HV
    Source
        SAE J417 (20 to 55 HRC), DIN 50150 / ISO 18265 Table A.1 under 238 HV.
        Checked in tests/published/test_hardness_conversions.py
    >>> strength_of(HardnessRange(40, 50, "HRC"))
    StrengthRange(low_pa=1250000000.0, high_pa=1760000000.0)
    """
    low, high = _ends(known, "MPa")
    if low is None and high is None:
        return CantTell(because("strength_table_ends", scale=known.scale))
    return StrengthRange(None if low is None else low * 1e6, None if high is None else high * 1e6)


def thick_enough(thickness_m: float, known: HardnessRange) -> bool | CantTell:
    """Whether a sheet is thick enough for a Rockwell test to mean its hardness and not the anvil's.

    the row of the greatest thickness not above yours; its hardness or more will do

    Takes
        thickness_m  scalar, m, above 0  of the sheet where it was tested
        known        HardnessRange       on HRC, HRA or HRB
    Gives
        True or False; CantTell when the range lies across the limit
    Refuses
        OutOfRange  thickness not above 0 or not finite
        KeyError    another scale: Vickers and Brinell go by the dent, vickers_thinnest_m and brinell_thinnest_m
    Holds while
        the sheet lies flat on the anvil. Picks need no thickness, and mark the surface only
    Source
        ASTM E18, minimum thickness tables, as reprinted in a tester's manual.
        Checked in tests/published/test_hardness_conversions.py
    >>> thick_enough(0.00091, HardnessRange(40, 45, "HRC")), thick_enough(0.00091, HardnessRange(30, 30, "HRC"))
    (True, False)
    """
    must_be_above_zero("thickness_m", thickness_m)
    # A hair of leeway: 0.91 mm arrives as 0.0009099999.
    rows = [hardness for mm, hardness in THINNEST[known.scale] if mm <= thickness_m * 1000 + 1e-6]
    if not rows:
        return False
    least = min(rows)
    if known.low is not None and known.low >= least:
        return True
    if known.high is not None and known.high < least:
        return False
    return CantTell(because("sheet_may_be_too_thin", least=least, scale=known.scale))


def vickers_thinnest_m(hv: float, force_n: float) -> float:
    """Thinnest sheet for a Vickers test.

    t = 1.5 d, d = sqrt(0.1891 F / HV) in mm and N

    Takes
        hv       scalar, HV, above 0  expected, the softest
        force_n  scalar, N, above 0   98.07 for HV10, 9.807 for HV1
    Gives
        scalar, m, above 0
    Refuses
        OutOfRange  either not above 0 or not finite
    Holds while
        the surface is polished and square to the diamond
    Source
        ISO 6507-1, 6.3: thickness at least 1.5 diagonals; HV = 0.1891 F/d^2 with F in N, d in mm.
        Checked in tests/published/test_hardness_conversions.py
    >>> round(vickers_thinnest_m(200.0, 98.07) * 1000, 3)
    0.457
    """
    must_be_above_zero("hv", hv)
    must_be_above_zero("force_n", force_n)
    return must_be_finite_result("vickers_thinnest_m", 1.5 * math.sqrt(0.1891 * force_n / hv) / 1000)


def brinell_thinnest_m(hbw: float, force_n: float, *, ball_m: float) -> float:
    """Thinnest sheet for a Brinell test.

    t = 8 h, h = 0.102 F / (pi D HBW) in mm and N

    Takes
        hbw      scalar, HBW, above 0  expected, the softest
        force_n  scalar, N, above 0    29,420 for HBW 10/3000, 1,839 for HBW 2.5/187.5
        ball_m   scalar, m, above 0    the ball's diameter
    Gives
        scalar, m, above 0
    Refuses
        OutOfRange  any not above 0 or not finite
    Holds while
        the dent is between 0.24 and 0.6 of the ball
    Source
        ISO 6506-1:2014, 6.3: thickness at least 8 times the depth of the dent.
        Checked in tests/published/test_hardness_conversions.py
    >>> round(brinell_thinnest_m(200.0, 1839.0, ball_m=0.0025) * 1000, 3)
    0.955
    """
    for name, value in (("hbw", hbw), ("force_n", force_n), ("ball_m", ball_m)):
        must_be_above_zero(name, value)
    depth_mm = 0.102 * force_n / (math.pi * ball_m * 1000 * hbw)
    return must_be_finite_result("brinell_thinnest_m", 8 * depth_mm / 1000)


def _ends(known: HardnessRange, to: str) -> tuple[float | None, float | None]:
    """Both ends on the other scale; beyond the part that both scales share an end is open, or the table's own end."""
    here, there = BESIDE_VICKERS[known.scale], BESIDE_VICKERS[to]
    least, greatest = max(here[0][1], there[0][1]), min(here[-1][1], there[-1][1])

    def on(end: float | None, *, is_low: bool) -> float | None:
        if end is None:
            return None
        vickers = _along(here, end)
        if is_low:
            # Softer than the table starts: nothing is known below. Harder than it ends: at least its end.
            inside = None if vickers is None and end < here[0][0] else (greatest if vickers is None else vickers)
            inside = None if inside is not None and inside < least else inside
            return None if inside is None else _back(there, min(inside, greatest))
        inside = None if vickers is None and end > here[-1][0] else (least if vickers is None else vickers)
        inside = None if inside is not None and inside > greatest else inside
        return None if inside is None else _back(there, max(inside, least))

    return on(known.low, is_low=True), on(known.high, is_low=False)


def _along(rows: tuple[tuple[float, float], ...], value: float) -> float | None:
    """The second column beside a value of the first; None outside the rows."""
    if not rows[0][0] <= value <= rows[-1][0]:
        return None
    n = max(1, next(n for n, (x, _) in enumerate(rows) if value <= x))
    (a, at_a), (b, at_b) = rows[n - 1], rows[n]
    return at_a + (at_b - at_a) * (value - a) / (b - a)


def _back(rows: tuple[tuple[float, float], ...], vickers: float) -> float | None:
    return _along(tuple((hv, value) for value, hv in rows), vickers)
