"""Depths by energy, hits in order, speeds in order: marks at their own numbers, and the same in words and as tables."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.charts.depth_by_energy import DepthGroup, DepthMark, depth_by_energy
from server.charts.hits_in_order import FEW, LEFT, MANY, RIGHT, HitInOrder, hits_in_order
from server.charts.speeds_in_order import SpeedLine, SpeedMark, SpeedStrip, speeds_in_order

RUNGS = ("No mark", "Marked", "Dented", "Opened", "Point behind", "Head behind")


def depth(label: str, energy: float, mm: float | None, rung: int | tuple[int, int] = 4, *, at_least: bool = False) -> DepthMark:
    low, high = rung if isinstance(rung, tuple) else (rung, rung)
    return DepthMark(label, f"/shots/{label}", energy, None if mm is None else mm / 1000, at_least, low, high)


def depths(*marks: DepthMark, **more):
    return depth_by_energy("Heads", [DepthGroup("Leaf", marks, "head-leaf")], rung_words=RUNGS, **more)


def test_a_depth_stands_at_its_energy_and_depth() -> None:
    """Bands 60 to 130 J over 282 units from 40: 88 J is 40 + 28/70 x 282 = 152.8. Deepest 50 mm, drawn 12 % further: 56 mm over 92."""
    drawn = depths(depth("A1", 88, 28), depth("A2", 130, 50), edges=(60, 80, 105, 130))
    strip = drawn.strips[0]
    first, second = strip.marks
    assert first.x == 152.8 and second.x == 322
    assert strip.face_y - first.y == pytest.approx(46.0, abs=0.1)  # half of 56 mm, half of 92
    assert strip.face_y - second.y == pytest.approx(92 * 50 / 56, abs=0.1)
    assert [(tick.text, round(strip.face_y - tick.y, 1)) for tick in strip.ticks] == [("0", 0), ("20", 32.9), ("40", 65.7)]
    assert drawn.edges == (120.6, 221.3)


def test_each_sort_of_depth_has_its_own_mark_and_place() -> None:
    drawn = depths(
        depth("A1", 70, None, 3), depth("A2", 80, 20), depth("A3", 90, 20, at_least=True), depth("A4", 100, None),
        depth("A5", 110, None, (3, 4)), depth("A6", 120, 15, (3, 4)),
    )  # fmt: skip
    strip = drawn.strips[0]
    assert [mark.sort for mark in strip.marks] == ["stopped", "measured", "at_least", "unknown", "maybe", "measured"]
    stopped, measured, at_least, unknown, maybe, _ = strip.marks
    assert strip.face_y < stopped.y < strip.bottom, "what stood behind with nothing is under the face"
    assert measured.y == at_least.y < strip.face_y
    assert unknown.y == maybe.y == strip.unknown_y < strip.top
    assert depths(depth("A1", 70, 20)).strips[0].unknown_y is None


def test_depths_are_told_in_words_and_as_a_table() -> None:
    drawn = depths(depth("A3", 90, 31, at_least=True), depth("A1", 70.4, None, 3), depth("A4", 100, None), depth("A5", 110, None, (3, 4)))
    assert drawn.rows == (
        ("Leaf", "A1", "70", "nothing behind", "opened"),
        ("Leaf", "A3", "90", "≥ 31", "point behind"),
        ("Leaf", "A4", "100", "not measured", "point behind"),
        ("Leaf", "A5", "110", "not measured", "opened or point behind"),
    )
    assert drawn.words.startswith("Leaf: 2 or 3 of 4 behind. A3: 90 J, point behind, ≥ 31 mm behind; A4: 100 J")
    assert drawn.strips[0].count == "2 or 3 of 4 behind"
    for row, mark in zip(drawn.rows, drawn.strips[0].marks, strict=True):
        assert mark.words.startswith(f"{row[1]}: {row[2]} J, {row[4]}") and mark.href == f"/shots/{row[1]}"


def test_inches_move_no_mark() -> None:
    marks = (depth("A1", 88, 28), depth("A2", 130, 50.8, at_least=True))
    mm, inch = depths(*marks), depths(*marks, depth_unit="in")
    assert [mark.y for mark in mm.strips[0].marks] == [mark.y for mark in inch.strips[0].marks]
    assert inch.rows[1][3] == "≥ 2.00" and inch.depth_words.endswith("in")


def test_heads_share_one_scale_of_energy_and_of_depth() -> None:
    groups = [DepthGroup("Leaf", [depth("A1", 80, 10)]), DepthGroup("Stout", [depth("B1", 80, 10), depth("B2", 120, 60)]), DepthGroup("Blunt", [])]
    drawn = depth_by_energy("Heads", groups, rung_words=RUNGS)
    leaf, stout, blunt = drawn.strips
    assert leaf.marks[0].x == stout.marks[0].x
    assert leaf.face_y - leaf.marks[0].y == pytest.approx(stout.face_y - stout.marks[0].y, abs=0.11)
    assert blunt.count == "none shot" and blunt.marks == ()
    assert leaf.bottom < stout.title_y and stout.bottom < blunt.title_y < drawn.height


def test_no_depths_make_a_frame_and_say_so() -> None:
    assert depth_by_energy("Heads", [], rung_words=RUNGS).words == "Heads: no shots to show."
    for wrong in ({"energy": -1.0}, {"energy": float("nan")}):
        with pytest.raises(ValueError, match="0 or more"):
            depth("A1", wrong["energy"], 3)
    with pytest.raises(ValueError, match="0 or more"):
        depth("A1", 80, -3)
    with pytest.raises(ValueError, match="low one first"):
        depth("A1", 80, 3, (4, 3))


# Hits in order


def hit(order: int, rung: int | tuple[int, int] | None, fair: str = "", note: str = "") -> HitInOrder:
    low, high = rung if isinstance(rung, tuple) else (rung, rung)
    return HitInOrder(order, f"A{order}", low, high, f"/shots/A{order}", fair, note)


def order_of(*hits: HitInOrder):
    return hits_in_order("Panel P3", hits, rung_words=RUNGS)


def test_hits_stand_by_number_and_rung() -> None:
    """Twelve places share 290 units from 40: the first stands at 40 + 290/24 = 52.1, the third at 100.4."""
    drawn = order_of(hit(1, 2), hit(3, 5))
    first, third = drawn.strips[0].hits
    assert (LEFT, RIGHT, FEW) == (40, 330, 12)
    assert (first.x, third.x) == (52.1, 100.4), "a gap in the numbers stays a gap"
    glyphs = dict(drawn.strips[0].rungs)
    for one, rung in ((first, 2), (third, 5)):
        assert one.squares[0].y + drawn.mark / 2 == pytest.approx(glyphs[rung] + drawn.glyph / 2, abs=0.1)
    face = drawn.strips[0].face_y
    assert glyphs[4] + drawn.glyph <= face <= glyphs[3]
    assert [number.text for number in drawn.strips[0].numbers] == ["1", "3"]


def test_what_may_be_either_is_dashed_and_what_has_no_rung_stands_lowest() -> None:
    drawn = order_of(hit(1, (3, 4)), hit(2, None), hit(3, 1), HitInOrder(4, "A4", None, None, clipped=True))
    either, unread, sure, clipped = drawn.strips[0].hits
    assert [square.rung for square in either.squares] == [3, 4] and either.dashed and either.join is not None
    assert either.join[1] < either.join[2], "the line runs from the upper square's foot to the lower one's head"
    assert not sure.dashed and (unread.glyph, clipped.glyph, sure.glyph) == ("unread", "partial", "")
    assert unread.squares[0].y == clipped.squares[0].y > sure.squares[0].y
    assert unread.words.endswith("not read yet") and clipped.words.endswith("clipped the edge, no rung")
    assert drawn.strips[0].bare_y is not None and "Lowest row: clipped the edge, no rung or not read yet." in drawn.key
    assert order_of(hit(1, 3)).strips[0].bare_y is None and "Lowest" not in order_of(hit(1, 3)).key


def test_many_hits_go_on_in_another_strip() -> None:
    drawn = order_of(*(hit(n, 3) for n in range(1, 46)))
    assert [len(strip.hits) for strip in drawn.strips] == [MANY, MANY, 5]
    assert [strip.numbers[0].text for strip in drawn.strips] == ["1", "21", "41"]
    assert drawn.strips[0].hits[0].x == drawn.strips[1].hits[0].x
    gaps = [b.x - a.x for a, b in zip(drawn.strips[0].hits, drawn.strips[0].hits[1:], strict=False)]
    assert min(gaps) > drawn.mark, "no mark lies on its neighbour"
    # another trial's hits, unseen here: no strip stands empty
    assert [len(strip.hits) for strip in order_of(hit(1, 3), hit(45, 3)).strips] == [1, 1]


def test_order_is_told_in_words_and_as_a_table() -> None:
    drawn = order_of(hit(2, (2, 4), "not_fair", "18 mm from A1"), hit(1, 3, "fair"), hit(3, None, "not_known"))
    assert drawn.rows == (
        ("1", "A1", "opened", "fair"),
        ("2", "A2", "dented to point behind", "not fair: 18 mm from A1"),
        ("3", "A3", "not read yet", "not known"),
    )
    assert drawn.words == "3 hits, in order. 1 A1: opened, fair; 2 A2: dented to point behind, not fair: 18 mm from A1; 3 A3: not read yet, not known."
    assert [one.fair_glyph for one in drawn.strips[0].hits] == ["fair", "not-fair", "not-known"]
    assert order_of().words == "Panel P3: no hits yet." and order_of().strips == ()
    assert order_of(hit(1, 3)).rows == (("1", "A1", "opened", "not asked"),) and order_of(hit(1, 3)).strips[0].fair_y is None


def test_hits_that_cannot_be_are_refused() -> None:
    for wrong in (lambda: hit(0, 3), lambda: hit(1, (4, 3)), lambda: HitInOrder(1, "A1", 3, None)):
        with pytest.raises(ValueError):
            wrong()


# Speeds in order


def speed(order: int, value: float, left_out: str = "") -> SpeedMark:
    return SpeedMark(order, f"A{order}", value, left_out, f"/shots/A{order}")


def speeds(*marks: SpeedMark, **more):
    return speeds_in_order("Yew bow", [SpeedStrip("", [SpeedLine("", marks)])], **more)


def test_a_reading_stands_at_its_place_and_speed() -> None:
    """Four readings share 282 units from 46: the second at 46 + 1.5/4 x 282 = 151.8. 50 to 54 m/s, 8 % further either way: 4.64 m/s over 112."""
    drawn = speeds(speed(1, 50), speed(2, 52), speed(3, 53), speed(4, 54))
    strip = drawn.strips[0]
    assert [mark.x for mark in strip.marks] == [81.2, 151.8, 222.2, 292.8]
    middle = (strip.top + strip.bottom) / 2
    assert strip.marks[1].y == pytest.approx(middle, abs=0.1)
    assert strip.marks[0].y - middle == pytest.approx(112 * 2 / 4.64, abs=0.1)
    assert middle - strip.marks[3].y == pytest.approx(112 * 2 / 4.64, abs=0.1)
    left, right, y = strip.runs[0].mean or (0, 0, 0)
    assert (left, right) == (81.2, 292.8)
    assert strip.speed_scale.back(y) == pytest.approx(52.25, abs=0.01)


def test_what_is_left_out_moves_neither_mean_nor_scale() -> None:
    kept = [speed(1, 50), speed(2, 52), speed(4, 54)]
    without, with_one = speeds(*kept), speeds(*kept, speed(3, 99.5, "misread"))
    one, other = without.strips[0], with_one.strips[0]
    assert [mark.y for mark in one.marks] == [mark.y for mark in other.marks if not mark.left_out]
    assert one.runs == other.runs
    lost = next(mark for mark in other.marks if mark.left_out)
    assert other.top < lost.y < other.top + 10, "it stands at the edge"
    assert [word.text for word in other.figures] == ["99.5"] and one.figures == ()
    assert with_one.rows[2] == ("3", "A3", "", "99.5", "no: misread")
    assert "50.0 to 54.0 m/s, mean 52.0 m/s; 1 left out" in with_one.words
    assert "left out: misread" in lost.words


def test_a_drift_is_seen_and_said() -> None:
    drawn = speeds(*(speed(n, 53 - 0.1 * n) for n in range(1, 9)))
    heights = [mark.y for mark in drawn.strips[0].marks]
    assert heights == sorted(heights), "slower is lower"
    assert "mean of the first 4 52.8 m/s, of the last 4 52.4 m/s" in drawn.words  # 52.75 and 52.35
    assert "first" not in speeds(speed(1, 50), speed(2, 52)).words


def test_strips_share_places_and_height_of_a_metre_a_second() -> None:
    slow = SpeedStrip("Ash", [SpeedLine("arrow 1", [speed(1, 50), speed(3, 53)])])
    fast = SpeedStrip("Yew", [SpeedLine("arrow 1", [speed(2, 60), speed(4, 61)]), SpeedLine("arrow 2", [speed(5, 60.5)], "2")])
    drawn = speeds_in_order("Day", [slow, SpeedStrip("Elm", []), fast])
    assert len(drawn.strips) == 2, "a bow without a speed has no strip"
    one, other = drawn.strips
    assert one.speed_scale(50) - one.speed_scale(51) == pytest.approx(other.speed_scale(60) - other.speed_scale(61))
    assert [mark.x for mark in one.marks] + [mark.x for mark in other.marks] == [74.2, 187, 130.6, 243.4, 299.8]
    assert [word.text for word in other.names] == ["arrow 1", "2"] and one.names == ()
    assert [row[:3] for row in drawn.rows] == [(str(n), f"A{n}", of) for n, of in ((1, "Ash, arrow 1"), (2, "Yew, arrow 1"), (3, "Ash, arrow 1"), (4, "Yew, arrow 1"), (5, "Yew, arrow 2"))]


def test_feet_move_no_mark() -> None:
    marks = (speed(1, 50), speed(2, 52), speed(3, 51, "short draw"))
    metric, feet = speeds(*marks), speeds(*marks, unit="ft/s")
    assert [mark.y for mark in metric.strips[0].marks] == [mark.y for mark in feet.strips[0].marks]
    assert feet.rows[0][3] == "164.0"  # 50 / 0.3048
    for tick in feet.strips[0].ticks:
        assert feet.strips[0].speed_scale.back(tick.at) / 0.3048 == pytest.approx(float(tick.text), abs=0.1)


def test_no_speeds_are_said_to_be_none() -> None:
    assert speeds_in_order("Yew bow", []).words == "Yew bow: no speeds to show."
    only = speeds(speed(1, 99, "misread"))
    assert "no reading that counts" in only.words and only.strips[0].runs[0].path == "" and only.strips[0].figures == ()
    for wrong in (lambda: speed(0, 50), lambda: speed(1, -1), lambda: speed(1, float("inf"))):
        with pytest.raises(ValueError):
            wrong()


@given(st.lists(st.tuples(st.floats(20, 100), st.booleans()), min_size=1, max_size=40))
def test_every_reading_is_inside_its_frame(found: list[tuple[float, bool]]) -> None:
    drawn = speeds(*(speed(n, value, "misread" if out else "") for n, (value, out) in enumerate(found, 1)))
    strip = drawn.strips[0]
    assert len(strip.marks) == len(found) == len(drawn.rows)
    assert all(drawn.left <= mark.x <= drawn.right and strip.top <= mark.y <= strip.bottom for mark in strip.marks)
    assert all(not mark.left_out or "left out" in mark.words for mark in strip.marks)


# How each is read


def test_a_key_tells_of_no_mark_that_is_not_there() -> None:
    assert depths(depth("A1", 80, 20)).key == "Heavy line: the rear face. Full mark: depth measured."
    assert depths(depth("A1", 80, None, (3, 4)), depth("A2", 80, None, 2)).key.endswith("Dashed ring: perhaps behind. Stroke under the line: nothing stood behind.")
    one, three = speeds(speed(1, 50)), speeds(speed(1, 50), speed(2, 51), speed(3, 52), speed(4, 99, "misread"))
    assert "Dashed" not in one.key and "Crossed" not in one.key
    assert three.key.endswith("Dashed: their mean. Crossed: left out of it. With a figure: beyond this scale.")
    assert "fair" not in order_of(hit(1, 3)).key and "cross not fair" in order_of(hit(1, 3, "fair")).key
