"""A panel drawn to scale: hits where they were, words beside them, a tap turned back into metres."""

from __future__ import annotations

import itertools
import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from proofyard.charts.figure import TEXT, Figure, Group, Path, Text
from proofyard.charts.outcome_words import Hit
from proofyard.charts.panel_drawing import TILE, AimSpot, Features, PanelPlan, draw_panel, panel_plan
from proofyard.charts.panel_labels import SPOT_TEXT
from proofyard.charts.panel_outline import OUTLINES
from proofyard.charts.panel_words import Here, where_text
from proofyard.charts.text_room import Box, text_box

from tests.charts.marks_of import dashed, glyphs, having, level_of, rects, said, texts

OUTCOMES = ("No mark", "Marked", "Dented", "Opened", "Point through", "Head through")
P3 = {"width_m": 0.32, "height_m": 0.30}

sizes = st.floats(0.05, 1.5)
# Eight hits of a plausible day, none within 20 mm of another.
HITS = [
    Hit(1, "A1", -0.083, -0.070, 2, 2, "/shots/A1"),
    Hit(2, "A2", -0.049, 0.063, 3, 3),
    Hit(3, "A3", 0.093, -0.041, 2, 2),
    Hit(4, "B1", -0.064, -0.004, 4, 4),
    Hit(5, "B2", 0.027, -0.095, 3, 4),
    Hit(6, "A5", 0.083, 0.095, 5, 5),
    Hit(7, "A6", -0.039, -0.038, 4, 4),
    Hit(8, "A8", 0.049, 0.036, None, None),
]


def draw(hits: list[Hit] | None = None, outline: str = "breastplate", **more: object) -> Figure:
    given_values = {**P3, "hits": HITS if hits is None else hits, **more}
    return draw_panel("Panel P3", outline, outcome_words=OUTCOMES, **given_values)


def plan_of(width_m: float = 0.32, height_m: float = 0.30) -> PanelPlan:
    return panel_plan(width_m, height_m)


def label(hit: Group) -> Text:
    return texts(hit, "panel__label")[0]


def d_of(drawn: Figure, look: str) -> str:
    """The path of this look; empty where there is none."""
    return "".join(one.d for one in having(drawn, look) if isinstance(one, Path))


def on_panel(plan: PanelPlan, x: float, y: float) -> tuple[float, float]:
    """A place of the drawing in metres from the panel's middle, right and up, as the phones' script reads a tap."""
    return (x - plan.middle_x) / plan.units_per_m, (plan.middle_y - y) / plan.units_per_m


@given(sizes, sizes, st.floats(-1, 1), st.floats(-1, 1))
def test_a_tap_leads_back_to_the_spot_it_was_drawn_from(width: float, height: float, x: float, y: float) -> None:
    plan = panel_plan(width, height)
    assert on_panel(plan, *plan.to_view(x, y)) == pytest.approx((x, y), abs=1e-9)


@given(sizes, sizes)
def test_a_hands_breadth_is_as_long_across_as_up(width: float, height: float) -> None:
    plan = panel_plan(width, height)
    middle, right, up = plan.to_view(0, 0), plan.to_view(0.1, 0), plan.to_view(0, 0.1)
    assert right[0] - middle[0] == pytest.approx(middle[1] - up[1])
    assert right[1] == middle[1] and up[0] == middle[0]


@given(sizes, sizes, st.sampled_from(sorted(OUTLINES)))
def test_the_outline_fills_the_panels_width_and_height_and_stays_in_the_drawing(w: float, h: float, name: str) -> None:
    plan = panel_plan(w, h)
    drawn = draw([], name, width_m=w, height_m=h)
    points = [plan.to_view(x * w, y * h) for x, y in OUTLINES[name].points()]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    assert (max(xs) - min(xs)) / plan.units_per_m == pytest.approx(w, rel=2e-3)
    assert (max(ys) - min(ys)) / plan.units_per_m == pytest.approx(h, rel=2e-3)
    assert min(xs) > 0 and max(xs) < drawn.width and min(ys) > 0 and max(ys) < drawn.height


@pytest.mark.parametrize("name", OUTLINES)
def test_an_outline_is_one_closed_line_and_the_same_left_as_right(name: str) -> None:
    curves = OUTLINES[name].curves
    for one, following in zip(curves, curves[1:] + curves[:1], strict=True):
        assert one[-1] == following[0]
    for y in (-0.4, -0.1, 0.2, 0.45):
        left, right = OUTLINES[name].chord(y) or (0, 0)
        assert left == pytest.approx(-right, abs=2e-3)


def test_what_is_inside_an_outline_is_told_from_what_is_beside_it() -> None:
    disc = OUTLINES["disc"]
    assert disc.holds(0, 0) and disc.holds(0.35, 0.35)
    assert not disc.holds(0.36, 0.36) and not disc.holds(0, 0.51) and disc.chord(0.6) is None


def test_every_hit_with_a_place_is_drawn_on_its_spot() -> None:
    drawn = draw()
    assert dict(drawn.data) == {"units-per-m": plan_of().units_per_m, "middle-x": plan_of().middle_x, "middle-y": plan_of().middle_y}
    for hit, mark in zip(HITS, said(drawn), strict=True):
        tiles = rects(mark)
        middle = on_panel(plan_of(), (tiles[0].x + tiles[-1].x + tiles[-1].width) / 2, tiles[0].y + tiles[0].height / 2)
        assert middle == pytest.approx((hit.x_m, hit.y_m), abs=2e-4)
        assert label(mark).text == f"{hit.order} {hit.label}"
    assert said(drawn)[0].href == "/shots/A1"


def _boxes(drawn: Figure) -> tuple[list[Box], list[Box]]:
    labels = [label(hit) for hit in said(drawn)]
    words = [text_box(one.text, one.x, one.y, size=TEXT, anchor=one.anchor, bold=True) for one in labels]
    tiles = [(rects(hit)[0], rects(hit)[-1]) for hit in said(drawn)]
    return words, [Box(first.x, first.y, last.x + last.width, first.y + first.height) for first, last in tiles]


def on_others(drawn: Figure) -> list[float]:
    """How much of each word lies on another word or on a hit of another."""
    words, tiles = _boxes(drawn)
    return [sum(word.shared_area(one) for n, one in [*enumerate(words), *enumerate(tiles)] if n != m) for m, word in enumerate(words)]


def test_on_a_plausible_day_no_word_lies_on_a_word_or_on_a_hit() -> None:
    words, tiles = _boxes(draw())
    assert all(one.shared_area(other) == 0 for one, other in itertools.combinations(words, 2))
    assert all(word.shared_area(tile) == 0 for word in words for tile in tiles)


places = st.floats(-0.15, 0.15)


@given(st.lists(st.tuples(places, places), max_size=14))
def test_words_stay_in_the_drawing_however_many_there_are(spots: list[tuple[float, float]]) -> None:
    drawn = draw([Hit(n, f"A{n}", x, y, 3, 3) for n, (x, y) in enumerate(spots, start=1)], "rectangle")
    assert len(_boxes(drawn)[0]) == len(spots)
    for word in _boxes(drawn)[0]:
        assert word.left >= 0 and word.right <= drawn.width and word.top >= 0 and word.bottom <= drawn.height


@given(st.lists(st.tuples(st.floats(-0.07, 0.07), st.floats(-0.07, 0.07)), max_size=2))
def test_two_words_away_from_the_rim_lie_on_nothing(spots: list[tuple[float, float]]) -> None:
    drawn = draw([Hit(n, f"A{n}", x, y, 3, 3) for n, (x, y) in enumerate(spots, start=1)], "rectangle")
    assert on_others(drawn) == [0] * len(spots), "eight places to choose from"


def test_hits_that_lie_close_get_smaller_tiles_and_keep_their_spots() -> None:
    drawn = draw([Hit(1, "A1", 0.0, 0.0, 3, 3), Hit(2, "A2", 0.017, 0.0, 4, 4), Hit(3, "A3", 0.1, 0.1, 4, 4)])
    first, second, third = rects(drawn)
    assert first.width == second.width < TILE == third.width
    assert first.x + first.width <= second.x


def test_an_outcome_between_two_outcome_levels_is_two_dashed_tiles_and_an_unread_one_is_dashed_too() -> None:
    hits = said(draw())
    between, unread = hits[4], hits[7]
    assert [level_of(glyph) for glyph in glyphs(between)] == [3, 4] and dashed(between)
    assert [glyph.name for glyph in glyphs(unread)] == ["unread"] and dashed(unread)
    assert not dashed(hits[0])
    assert between.words == "5 B2: opened or point through (3 or 4), 27 mm right, 95 mm down"
    assert unread.words == "8 A8: not read yet, 49 mm right, 36 mm up"


def test_a_hit_whose_place_nobody_knows_is_told_and_not_drawn() -> None:
    drawn = draw([Hit(1, "A1", None, None, 4, 4), Hit(2, "A2", 0.0, 0.0, 4, 4)])
    assert [label(hit).text for hit in said(drawn)] == ["2 A2"]
    assert drawn.rows[0] == ("1", "A1", "place not known", "point through (4)")
    assert "A1: point through (4), place not known" in drawn.words


def test_a_hit_beside_the_panel_is_drawn_in_the_drawing_and_says_so() -> None:
    drawn = draw([Hit(1, "A1", 0.5, 0.0, 1, 1)])
    (tile,) = rects(drawn)
    assert tile.x >= 0 and tile.x + tile.width <= drawn.width
    assert said(drawn)[0].words == "1 A1: marked (1), 500 mm right, beside the panel"


@given(sizes, sizes)
def test_the_scale_bar_is_as_long_as_it_says(width: float, height: float) -> None:
    drawn = draw([], "rectangle", width_m=width, height_m=height)
    long = float(re.search(r"h([\d.]+)", d_of(drawn, "panel__scale")).group(1))
    (scale,) = texts(drawn)
    millimetres = float(scale.text.removesuffix("\N{NO-BREAK SPACE}mm"))
    assert long / plan_of(width, height).units_per_m * 1000 == pytest.approx(millimetres, rel=0.01)
    words = text_box(scale.text, scale.x, scale.y, size=TEXT, anchor=scale.anchor, bold=True)
    assert words.left > 0 and long < 0.35 * drawn.width


def test_the_spot_being_placed_is_a_cross_around_it() -> None:
    drawn = draw(here=Here("A9", 0.052, 0.042))
    x, y = plan_of().to_view(0.052, 0.042)
    assert d_of(drawn, "panel__here").startswith(f"M{x - 22:.1f} {y:.1f}h17")
    assert [one.text for one in texts(drawn, "panel__now")] == ["A9"]
    assert drawn.words.endswith("A9 is marked 52 mm right, 42 mm up.")
    assert texts(draw(here=Here("A9", 0.159, 0.0)), "panel__now")[0].anchor == "end"


def test_words_keep_off_the_spot_being_placed() -> None:
    """Right of the hit is where its word would stand; the cross is there."""
    hit = [Hit(1, "A1", 0.0, 0.0, 3, 3)]
    assert label(said(draw(hit))[0]).anchor == "start"
    drawn = draw(hit, here=Here("A9", 0.04, 0.0))
    (word,), (now,), (x, y) = _boxes(drawn)[0], texts(drawn, "panel__now"), plan_of().to_view(0.04, 0.0)
    cross = [Box(x - 22, y - 2, x + 22, y + 2), Box(x - 2, y - 22, x + 2, y + 22)]
    cross.append(text_box(now.text, now.x, now.y, size=17, anchor=now.anchor, bold=True))
    assert all(word.shared_area(box) == 0 for box in cross)


def test_words_keep_off_rivets_and_aim_spots_where_that_costs_nothing() -> None:
    hit = [Hit(1, "A1", 0.0, 0.0, 3, 3)]
    assert label(said(draw(hit, features=Features(rivets=((0.03, 0.0),))))[0]).anchor == "end"
    ringed = tuple((x / 100, y / 100) for x in range(-6, 7) for y in range(-4, 5))
    assert label(said(draw(hit, features=Features(rivets=ringed)))[0]).text == "1 A1", "a word that has no clear place is still written"


TWELVE = tuple(AimSpot(str(n + 1), (-0.11, 0, 0.11)[n % 3], (0.15, 0.05, -0.05, -0.15)[n // 3]) for n in range(12))


def covered_names(drawn: Figure) -> list[str]:
    """The spots whose name lies on a hit, on a hit's words or on another spot's name."""
    words, tiles = _boxes(drawn)
    names = [(one.text, text_box(one.text, one.x, one.y, size=SPOT_TEXT, anchor=one.anchor)) for one in texts(drawn, "panel__spot")]
    others = [[*words, *tiles, *(box for m, (_, box) in enumerate(names) if m != n)] for n in range(len(names))]
    return [name for (name, box), around in zip(names, others, strict=True) if any(box.shared_area(one) for one in around)]


def test_a_spot_that_a_hit_lies_on_keeps_its_name_in_sight() -> None:
    hit = [Hit(1, "A1", 0.002, 0.051, 3, 3)]
    drawn = draw(hit, "rectangle", width_m=0.36, height_m=0.42, features=Features(aim_spots=TWELVE))
    assert sorted(one.text for one in texts(drawn, "panel__spot")) == sorted(spot.label for spot in TWELVE)
    assert covered_names(drawn) == []
    fifth = next(one for one in texts(drawn, "panel__spot") if one.text == "5")
    assert fifth.anchor == "start", "right of its ring: within it lies the hit"


@given(st.lists(st.tuples(st.floats(-0.02, 0.02), st.floats(-0.02, 0.02)), max_size=12))
@example([(0.0, -0.01679757246596644)])  # a name judged at 62.04 and drawn at 62.0 touched the hit's words
def test_no_spot_is_unseen_when_each_was_shot_at_once(off: list[tuple[float, float]]) -> None:
    hits = [Hit(n, f"A{n}", spot.x_m + x, spot.y_m + y, 3, 3) for n, (spot, (x, y)) in enumerate(zip(TWELVE, off, strict=False), 1)]
    drawn = draw(hits, "rectangle", width_m=0.36, height_m=0.42, features=Features(aim_spots=TWELVE))
    assert covered_names(drawn) == []


def test_ridge_rivets_aim_spots_and_rows_of_plates_are_drawn_inside_the_outline() -> None:
    features = Features(
        ridge=True, rolled_edge=True, rivets=((-0.13, 0.09),), aim_spots=(AimSpot("1", 0.0, 0.05),), rows_of_plates=5, plates_a_row=6
    )
    drawn = draw([], "disc", features=features)
    (rivet,), (aim,) = having(drawn, "panel__rivet"), having(drawn, "panel__aim")
    assert (rivet.x, rivet.y) == tuple(round(v, 1) for v in plan_of().to_view(-0.13, 0.09))
    ring, name = aim.marks
    assert (ring.x, ring.y) == pytest.approx(plan_of().to_view(0, 0.05), abs=0.06) and name.text == "1"
    starts = re.findall(r"[ML]([\d.]+) ([\d.]+)", d_of(drawn, "panel__fold"))
    assert len(starts) > 4 + 2 * 4 + 2 * 20
    for x, y in starts:
        x_m, y_m = on_panel(plan_of(), float(x), float(y))
        assert OUTLINES["disc"].holds(0.99 * x_m / 0.32, 0.96 * y_m / 0.30)
    assert d_of(draw([], "disc"), "panel__fold") == ""


def test_the_panel_is_told_in_words_and_as_a_table() -> None:
    drawn = draw(list(reversed(HITS[:2])))
    assert drawn.title == "Panel P3, from the front"
    assert drawn.words == (
        "2 hits, in order, from the middle. 1 A1: dented (2), 83 mm left, 70 mm down; 2 A2: opened (3), 49 mm left, 63 mm up."
    )
    assert drawn.rows == (("1", "A1", "83 mm left, 70 mm down", "dented (2)"), ("2", "A2", "49 mm left, 63 mm up", "opened (3)"))
    assert draw([]).words == "No hits yet."
    assert where_text(0.0001, 0.0) == "in the middle"


def test_a_panel_without_a_size_or_of_an_unknown_outline_is_refused() -> None:
    with pytest.raises(ValueError, match="width_m"):
        panel_plan(0.0, 0.3)
    with pytest.raises(ValueError, match="height_m"):
        panel_plan(0.3, float("nan"))
    with pytest.raises(ValueError, match="breastplate, rectangle, disc"):
        draw(outline="kite")


def test_a_hit_that_clipped_the_edge_is_not_called_unread() -> None:
    drawn = draw([Hit(1, "A1", -0.083, -0.070, None, None, clipped=True), Hit(2, "A2", 0.05, 0.06, None, None)])
    assert [glyph.name for glyph in glyphs(drawn)] == ["partial", "unread"]
    assert having(drawn, "panel__clipped") and having(drawn, "panel__unread")
    assert drawn.rows[0][-1] == "clipped the edge, no outcome" and drawn.rows[1][-1] == "not read yet"
    assert "1 A1: clipped the edge, no outcome" in drawn.words
