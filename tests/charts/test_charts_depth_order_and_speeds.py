"""Depths by energy, hits in order, speeds in order: marks at their own numbers, and the same in words and as tables."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.charts.axes import LEFT as SPEEDS_LEFT
from proofyard.charts.axes import RIGHT as SPEEDS_RIGHT
from proofyard.charts.depth_by_energy import STOPPED, DepthGroup, depth_by_energy
from proofyard.charts.figure import Figure, Group, Path, Text
from proofyard.charts.hits_in_order import FEW, GLYPH, LEFT, MANY, MARK, RIGHT, hits_in_order
from proofyard.charts.outcome_words import Hit, ShotMark
from proofyard.charts.speeds_in_order import PLOT, SpeedLine, SpeedMark, SpeedStrip, speeds_in_order

from tests.charts.marks_of import dashed, dots, glyphs, having, level_of, paths, rects, said, spots, texts

OUTCOMES = ("No mark", "Marked", "Dented", "Opened", "Point through", "Head through")


def depth(label: str, energy: float, mm: float | None, outcome_level: int | tuple[int, int] = 4, *, at_least: bool = False) -> ShotMark:
    low, high = outcome_level if isinstance(outcome_level, tuple) else (outcome_level, outcome_level)
    deep = None if mm is None else mm / 1000
    return ShotMark(label, f"/shots/{label}", energy, None, low, high, depth_m=deep, at_least=at_least)


def depths(*marks: ShotMark, **more: Any) -> Figure:
    return depth_by_energy("Heads", [DepthGroup("Leaf", marks, "head-leaf")], outcome_words=OUTCOMES, **more)


def strips(drawn: Figure) -> list[Group]:
    """What lies under each strip's marks: its axes and names."""
    return [one for one in drawn.marks if isinstance(one, Group) and having(one, "chart__face")]


def face(strip: Group) -> float:
    return paths(strip, "chart__face")[0][0][1]


def place(mark: Group) -> tuple[float, float]:
    """Where a depth or a speed stands: its dot, the foot of its stroke, the tip of its arrow."""
    return (dots(mark)[0].x, dots(mark)[0].y) if dots(mark) else spots(mark.marks[0].d)[0]


def sort_drawn(mark: Group) -> str:
    """Its shape and look, as the key tells them apart."""
    (one,) = mark.marks
    if isinstance(one, Path):
        return "stopped" if one.look == "chart__axis" else "at_least"
    return {"chart__dot": "measured", "chart__dot chart__dot--open": "unknown"}.get(one.look, "maybe")


def scale_of(strip: Group) -> list[tuple[str, float]]:
    """Numbers beside an upright axis, and the height of each one's line."""
    numbers = [one for one in texts(strip, "") if one.anchor == "end" and one.x < LEFT]
    heights = {round(hair[0][1] + 5, 1): hair[0][1] for hair in paths(strip, "chart__hair") if hair[0][1] == hair[1][1]}
    return [(one.text, heights[one.y]) for one in numbers]


def test_a_depth_stands_at_its_energy_and_depth() -> None:
    """Bands 60 to 130 J over 282 units from 40: 88 J is 40 + 28/70 x 282 = 152.8. Deepest 50 mm, drawn 12 % further: 56 mm over 92."""
    drawn = depths(depth("A1", 88, 28), depth("A2", 130, 50), edges=(60, 80, 105, 130))
    (strip,), (first, second) = strips(drawn), said(drawn)
    assert place(first)[0] == 152.8 and place(second)[0] == 322
    assert face(strip) - place(first)[1] == pytest.approx(46.0, abs=0.1)  # half of 56 mm, half of 92
    assert face(strip) - place(second)[1] == pytest.approx(92 * 50 / 56, abs=0.1)
    assert [(text, round(face(strip) - y, 1)) for text, y in scale_of(strip)] == [("0", 0), ("20", 32.9), ("40", 65.7)]
    assert [hair[0][0] for hair in paths(strip, "chart__hair") if hair[0][0] == hair[1][0]] == [120.6, 221.3]


def test_each_sort_of_depth_has_its_own_mark_and_place() -> None:
    drawn = depths(
        depth("A1", 70, None, 3),
        depth("A2", 80, 20),
        depth("A3", 90, 20, at_least=True),
        depth("A4", 100, None),
        depth("A5", 110, None, (3, 4)),
        depth("A6", 120, 15, (3, 4)),
    )
    (strip,) = strips(drawn)
    assert [sort_drawn(mark) for mark in said(drawn)] == ["stopped", "measured", "at_least", "unknown", "maybe", "measured"]
    (_, stopped), (_, measured), (_, at_least), (_, unknown), (_, maybe), _ = map(place, said(drawn))
    assert face(strip) < stopped + 6 < face(strip) + STOPPED, "what stood behind with nothing is under the face"
    assert measured == at_least + 13 < face(strip), "the arrow's foot stands at its depth"
    line = dict(scale_of(strip))["?"]
    assert unknown == maybe == line < min(y for text, y in scale_of(strip) if text != "?")
    assert "?" not in dict(scale_of(strips(depths(depth("A1", 70, 20)))[0]))


def test_depths_are_told_in_words_and_as_a_table() -> None:
    drawn = depths(depth("A3", 90, 31, at_least=True), depth("A1", 70.4, None, 3), depth("A4", 100, None), depth("A5", 110, None, (3, 4)))
    assert drawn.rows == (
        ("Leaf", "A1", "70", "not through", "opened (3)"),
        ("Leaf", "A3", "90", "≥ 31", "point through (4)"),
        ("Leaf", "A4", "100", "not measured", "point through (4)"),
        ("Leaf", "A5", "110", "not measured", "opened or point through (3 or 4)"),
    )
    assert drawn.words.startswith("Leaf: 2 or 3 of 4 through. A3: 90 J, point through (4), ≥ 31 mm past the rear face; A4: 100 J")
    assert "2 or 3 of 4 through" in [one.text for one in texts(drawn)]
    for row, mark in zip(drawn.rows, said(drawn), strict=True):
        assert mark.words.startswith(f"{row[1]}: {row[2]} J, {row[4]}") and mark.href == f"/shots/{row[1]}"


def test_inches_move_no_mark() -> None:
    marks = (depth("A1", 88, 28), depth("A2", 130, 50.8, at_least=True))
    mm, inch = depths(*marks), depths(*marks, depth_unit="in")
    assert list(map(place, said(mm))) == list(map(place, said(inch)))
    assert inch.rows[1][3] == "≥ 2.00" and "past the rear face, in" in [one.text for one in texts(inch)]


def test_heads_share_one_scale_of_energy_and_of_depth() -> None:
    groups = [
        DepthGroup("Leaf", [depth("A1", 80, 10)]),
        DepthGroup("Stout", [depth("B1", 80, 10), depth("B2", 120, 60)]),
        DepthGroup("Blunt", []),
    ]
    drawn = depth_by_energy("Heads", groups, outcome_words=OUTCOMES)
    leaf, stout, blunt = strips(drawn)
    (x1, y1), (x2, y2), _ = map(place, said(drawn))
    assert x1 == x2
    assert face(leaf) - y1 == pytest.approx(face(stout) - y2, abs=0.11)
    assert len(said(drawn)) == 3 and "none shot" in [one.text for one in texts(blunt)]
    titles = [texts(one, "chart__count")[0].y for one in (stout, blunt)]
    assert face(leaf) + STOPPED < titles[0] and face(stout) + STOPPED < titles[1] < drawn.height


def test_no_depths_make_a_frame_and_say_so() -> None:
    assert depth_by_energy("Heads", [], outcome_words=OUTCOMES).words == "Heads: no shots to show."
    for wrong in ({"energy": -1.0}, {"energy": float("nan")}):
        with pytest.raises(ValueError, match="0 or more"):
            depth("A1", wrong["energy"], 3)
    with pytest.raises(ValueError, match="0 or more"):
        depth("A1", 80, -3)
    with pytest.raises(ValueError, match="low one first"):
        depth("A1", 80, 3, (4, 3))


# Hits in order


def hit(order: int, outcome_level: int | tuple[int, int] | None, fair: str = "", note: str = "") -> Hit:
    low, high = outcome_level if isinstance(outcome_level, tuple) else (outcome_level, outcome_level)
    return Hit(order, f"A{order}", None, None, low, high, f"/shots/A{order}", False, fair, note)


def order_of(*hits: Hit) -> Figure:
    return hits_in_order("Panel P3", hits, outcome_words=OUTCOMES)


def across(mark: Group) -> float:
    """The middle of a hit's square or glyph."""
    one = (rects(mark) or glyphs(mark))[0]
    return round(one.x + one.width / 2, 1)


def level_glyphs(strip: Group) -> dict[int, float]:
    """Outcome level -> the top of its tile at the left."""
    return {level_of(group): group.marks[0].y for group in strip.marks if isinstance(group, Group)}


def numbers(strip: Group) -> list[Text]:
    return [one for one in texts(strip) if one.anchor == "middle"]


def hits_of(drawn: Figure) -> list[list[Group]]:
    """The hits of each strip."""
    found: list[list[Group]] = []
    for one in drawn.marks:
        found.append([]) if one.hidden else found[-1].append(one)
    return found


def test_hits_stand_by_number_and_outcome_level() -> None:
    """Twelve places share 290 units from 40: the first stands at 40 + 290/24 = 52.1, the third at 100.4."""
    drawn = order_of(hit(1, 2), hit(3, 5))
    (strip,), (first, third) = strips(drawn), said(drawn)
    assert (LEFT, RIGHT, FEW) == (40, 330, 12)
    assert (across(first), across(third)) == (52.1, 100.4), "a gap in the numbers stays a gap"
    tiles = level_glyphs(strip)
    for one, outcome_level in ((first, 2), (third, 5)):
        assert rects(one)[0].y + MARK / 2 == pytest.approx(tiles[outcome_level] + GLYPH / 2, abs=0.1)
    assert tiles[4] + GLYPH <= face(strip) <= tiles[3]
    assert [number.text for number in numbers(strip)] == ["1", "3"]


def test_what_may_be_either_is_dashed_and_what_has_no_outcome_level_stands_lowest() -> None:
    drawn = order_of(hit(1, (3, 4)), hit(2, None), hit(3, 1), Hit(4, "A4", None, None, None, None, clipped=True))
    either, unread, sure, clipped = said(drawn)
    assert [level_of(square) for square in rects(either)] == [3, 4] and dashed(either)
    ((_, top), (_, bottom)) = paths(either, "chart__line")[0]
    assert top < bottom, "the line runs from the upper square's foot to the lower one's head"
    assert (top, bottom) == (rects(either)[1].y + MARK, rects(either)[0].y)
    assert not dashed(sure) and [[one.name for one in glyphs(mark)] for mark in (unread, clipped, sure)] == [["unread"], ["partial"], []]
    assert glyphs(unread)[0].y == glyphs(clipped)[0].y > rects(sure)[0].y
    assert unread.words.endswith("not read yet") and clipped.words.endswith("clipped the edge, no outcome")
    none, sure_only = ([one.text for one in texts(some)] for some in (drawn, order_of(hit(1, 3))))
    assert "none" in none and "Lowest row: clipped the edge, no outcome or not read yet." in drawn.key
    assert "none" not in sure_only and "Lowest" not in order_of(hit(1, 3)).key


def test_many_hits_go_on_in_another_strip() -> None:
    drawn = order_of(*(hit(n, 3) for n in range(1, 46)))
    assert [len(some) for some in hits_of(drawn)] == [MANY, MANY, 5]
    assert [numbers(strip)[0].text for strip in strips(drawn)] == ["1", "21", "41"]
    first, second, _ = hits_of(drawn)
    assert across(first[0]) == across(second[0])
    gaps = [across(b) - across(a) for a, b in zip(first, first[1:], strict=False)]
    assert min(gaps) > MARK, "no mark lies on its neighbour"
    # another trial's hits, unseen here: no strip stands empty
    assert [len(some) for some in hits_of(order_of(hit(1, 3), hit(45, 3)))] == [1, 1]


def test_order_is_told_in_words_and_as_a_table() -> None:
    drawn = order_of(hit(2, (2, 4), "not_fair", "18 mm from A1"), hit(1, 3, "fair"), hit(3, None, "not_known"))
    assert drawn.rows == (
        ("1", "A1", "opened (3)", "fair"),
        ("2", "A2", "dented to point through (2 to 4)", "not fair: 18 mm from A1"),
        ("3", "A3", "not read yet", "fairness undecided"),
    )
    assert drawn.words == (
        "3 hits, in order. 1 A1: opened (3), fair; 2 A2: dented to point through (2 to 4), not fair: 18 mm from A1; "
        "3 A3: not read yet, fairness undecided."
    )
    assert [[one.name for one in glyphs(mark)][-1] for mark in said(drawn)] == ["fair", "not-fair", "not-known"]
    assert order_of().words == "Panel P3: no hits yet." and order_of().marks == ()
    assert order_of(hit(1, 3)).rows == (("1", "A1", "opened (3)", "not asked"),) and glyphs(said(order_of(hit(1, 3)))[0]) == []


def test_hits_that_cannot_be_are_refused() -> None:
    for wrong in (hit(0, 3), hit(1, (4, 3)), Hit(1, "A1", None, None, 3, None)):
        with pytest.raises(ValueError):
            order_of(wrong)


# Speeds in order


def speed(order: int, value: float, left_out: str = "") -> SpeedMark:
    return SpeedMark(order, f"A{order}", value, left_out, f"/shots/A{order}")


def speeds(*marks: SpeedMark, **more: Any) -> Figure:
    return speeds_in_order("Yew bow", [SpeedStrip("", [SpeedLine("", marks)])], **more)


def plots(drawn: Figure) -> list[Group]:
    """What lies under each strip's readings: its axes, runs and means."""
    return [one for one in drawn.marks if isinstance(one, Group) and having(one, "chart__axis") and not one.words]


def bottom(plot: Group) -> float:
    return paths(plot, "chart__axis")[0][0][1]


def beside(drawn: Figure) -> list[list[str]]:
    """The words beside each strip's readings."""
    return [[one.text for one in texts(group)] for group in drawn.marks[2:-1] if isinstance(group, Group) and group.hidden][::2]


def a_metre_a_second(plot: Group) -> float:
    """How high it is drawn, by the numbers beside the axis."""
    (low, at_low), *_, (high, at_high) = scale_of_speeds(plot)
    return (at_low - at_high) / (float(high) - float(low))


def scale_of_speeds(plot: Group) -> list[tuple[str, float]]:
    numbers = [one for one in texts(plot, "") if one.x < SPEEDS_LEFT]
    return [(one.text, hair[0][1]) for one, hair in zip(numbers, paths(plot, "chart__hair"), strict=True)]


def test_a_reading_stands_at_its_place_and_speed() -> None:
    """Four readings share 282 units from 46: the second at 46 + 1.5/4 x 282 = 151.8. 50 to 54 m/s, 8 % further either way: 4.64 m/s over
    112."""
    drawn = speeds(speed(1, 50), speed(2, 52), speed(3, 53), speed(4, 54))
    (plot,), found = plots(drawn), [place(mark) for mark in said(drawn)]
    assert [x for x, _ in found] == [81.2, 151.8, 222.2, 292.8]
    middle = bottom(plot) - PLOT / 2
    assert found[1][1] == pytest.approx(middle, abs=0.1)
    assert found[0][1] - middle == pytest.approx(112 * 2 / 4.64, abs=0.1)
    assert middle - found[3][1] == pytest.approx(112 * 2 / 4.64, abs=0.1)
    ((left, y), (right, _)) = paths(plot, "chart__run--mean")[0]
    assert (left, right) == (81.2, 292.8)
    assert middle - y == pytest.approx(112 * 0.25 / 4.64, abs=0.1), "52.25 m/s"


def test_what_is_left_out_moves_neither_mean_nor_scale() -> None:
    kept = [speed(1, 50), speed(2, 52), speed(4, 54)]
    without, with_one = speeds(*kept), speeds(*kept, speed(3, 99.5, "misread"))
    (one,), (other,) = plots(without), plots(with_one)
    lost = said(with_one)[2]
    assert having(lost, "chart__dot--open") and "left out: misread" in lost.words
    assert list(map(place, said(without))) == [place(mark) for mark in said(with_one) if mark is not lost]
    assert having(one, "chart__run") == having(other, "chart__run")
    assert bottom(other) - PLOT < place(lost)[1] < bottom(other) - PLOT + 10, "it stands at the edge"
    assert beside(with_one) == [["99.5"]] and beside(without) == [[]]
    assert with_one.rows[2] == ("3", "A3", "", "99.5", "no: misread")
    assert "50.0 to 54.0 m/s, mean 52.0 m/s; 1 left out" in with_one.words


def test_a_drift_is_seen_and_said() -> None:
    drawn = speeds(*(speed(n, 53 - 0.1 * n) for n in range(1, 9)))
    heights = [place(mark)[1] for mark in said(drawn)]
    assert heights == sorted(heights), "slower is lower"
    assert "mean of the first 4 52.8 m/s, of the last 4 52.4 m/s" in drawn.words  # 52.75 and 52.35
    assert "first" not in speeds(speed(1, 50), speed(2, 52)).words


def test_strips_share_places_and_height_of_a_metre_a_second() -> None:
    slow = SpeedStrip("Ash", [SpeedLine("arrow 1", [speed(1, 50), speed(3, 53)])])
    fast = SpeedStrip("Yew", [SpeedLine("arrow 1", [speed(2, 60), speed(4, 61)]), SpeedLine("arrow 2", [speed(5, 60.5)], "2")])
    drawn = speeds_in_order("Day", [slow, SpeedStrip("Elm", []), fast])
    assert len(plots(drawn)) == 2, "a bow without a speed has no strip"
    one, other = plots(drawn)
    assert a_metre_a_second(one) == pytest.approx(a_metre_a_second(other), abs=0.1)
    assert [place(mark)[0] for mark in said(drawn)] == [74.2, 187, 130.6, 243.4, 299.8]
    assert beside(drawn) == [[], ["arrow 1", "2"]]
    assert [row[:3] for row in drawn.rows] == [
        (str(n), f"A{n}", of)
        for n, of in ((1, "Ash, arrow 1"), (2, "Yew, arrow 1"), (3, "Ash, arrow 1"), (4, "Yew, arrow 1"), (5, "Yew, arrow 2"))
    ]


def test_feet_move_no_mark() -> None:
    marks = (speed(1, 50), speed(2, 52), speed(3, 51, "short draw"))
    metric, feet = speeds(*marks), speeds(*marks, unit="ft/s")
    assert list(map(place, said(metric))) == list(map(place, said(feet)))
    assert feet.rows[0][3] == "164.0"  # 50 / 0.3048
    (text, y), *_ = scale_of_speeds(plots(feet)[0])
    (_, y_50), (_, y_52), _ = map(place, said(metric))
    assert (50 + (y_50 - y) / (y_50 - y_52) * 2) / 0.3048 == pytest.approx(float(text), abs=0.1)


def test_no_speeds_are_said_to_be_none() -> None:
    assert speeds_in_order("Yew bow", []).words == "Yew bow: no speeds to show."
    only = speeds(speed(1, 99, "misread"))
    assert "no reading that counts" in only.words and having(only, "chart__run") == [] and beside(only) == [[]]
    wrongs: tuple[Callable[[], object], ...] = (lambda: speed(0, 50), lambda: speed(1, -1), lambda: speed(1, float("inf")))
    for wrong in wrongs:
        with pytest.raises(ValueError):
            wrong()


@given(st.lists(st.tuples(st.floats(20, 100), st.booleans()), min_size=1, max_size=40))
def test_every_reading_is_inside_its_frame(found: list[tuple[float, bool]]) -> None:
    drawn = speeds(*(speed(n, value, "misread" if out else "") for n, (value, out) in enumerate(found, 1)))
    (plot,), marks = plots(drawn), said(drawn)
    assert len(marks) == len(found) == len(drawn.rows)
    places = [place(mark) for mark in marks]
    assert all(SPEEDS_LEFT <= x <= SPEEDS_RIGHT and bottom(plot) - PLOT <= y <= bottom(plot) for x, y in places)
    assert all(not having(mark, "chart__dot--open") or "left out" in mark.words for mark in marks)


# How each is read


def test_a_key_tells_of_no_mark_that_is_not_there() -> None:
    assert (
        depths(depth("A1", 80, 20)).key == "Beside each name: how many were through. Heavy line: the rear face. Full mark: depth measured."
    )
    assert depths(depth("A1", 80, None, (3, 4)), depth("A2", 80, None, 2)).key.endswith(
        "Dashed ring: perhaps through. Stroke under the line: not through."
    )
    one, three = speeds(speed(1, 50)), speeds(speed(1, 50), speed(2, 51), speed(3, 52), speed(4, 99, "misread"))
    assert "Dashed" not in one.key and "Crossed" not in one.key
    assert three.key.endswith("Dashed: their mean. Crossed: left out of it. With a figure: beyond this scale.")
    assert "fair" not in order_of(hit(1, 3)).key and "cross not fair" in order_of(hit(1, 3, "fair")).key
