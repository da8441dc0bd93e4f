"""A panel drawn to scale: hits where they were, words beside them, a tap turned back into metres."""

from __future__ import annotations

import itertools
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.charts.panel_drawing import (
    TEXT,
    TILE,
    AimSpot,
    Features,
    Here,
    Hit,
    PanelDrawing,
    draw_panel,
    panel_plan,
    where_text,
)
from server.charts.panel_outline import OUTLINES
from server.charts.text_room import Box, text_box

RUNGS = ("No mark", "Marked", "Dented", "Opened", "Point behind", "Head behind")
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


def draw(hits: list[Hit] | None = None, outline: str = "breastplate", **more: object) -> PanelDrawing:
    given_values = {**P3, "hits": HITS if hits is None else hits, **more}
    return draw_panel("Panel P3", outline, rung_words=RUNGS, **given_values)  # type: ignore[arg-type]


@given(sizes, sizes, st.floats(-1, 1), st.floats(-1, 1))
def test_a_tap_leads_back_to_the_spot_it_was_drawn_from(width: float, height: float, x: float, y: float) -> None:
    plan = panel_plan(width, height)
    assert plan.to_panel(*plan.to_view(x, y)) == pytest.approx((x, y), abs=1e-9)


@given(sizes, sizes)
def test_a_hands_breadth_is_as_long_across_as_up(width: float, height: float) -> None:
    plan = panel_plan(width, height)
    middle, right, up = plan.to_view(0, 0), plan.to_view(0.1, 0), plan.to_view(0, 0.1)
    assert right[0] - middle[0] == pytest.approx(middle[1] - up[1])
    assert right[1] == middle[1] and up[0] == middle[0]


@given(sizes, sizes, st.sampled_from(sorted(OUTLINES)))
def test_the_outline_fills_the_panels_width_and_height_and_stays_in_the_picture(w: float, h: float, name: str) -> None:
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
    for hit, mark in zip(HITS, drawn.hits, strict=True):
        left, right = mark.tiles[0].x, mark.tiles[-1].x + mark.tiles[-1].size
        middle = drawn.plan.to_panel((left + right) / 2, mark.tiles[0].y + mark.tiles[0].size / 2)
        assert middle == pytest.approx((hit.x_m, hit.y_m), abs=2e-4)
        assert mark.text == f"{hit.order} {hit.label}"
    assert drawn.hits[0].href == "/shots/A1"


def _boxes(drawn: PanelDrawing) -> tuple[list[Box], list[Box]]:
    words = [text_box(h.text, h.text_x, h.text_y, size=TEXT, anchor=h.anchor, bold=True) for h in drawn.hits]
    tiles = [
        Box(h.tiles[0].x, h.tiles[0].y, h.tiles[-1].x + h.tiles[-1].size, h.tiles[0].y + h.tiles[0].size)
        for h in drawn.hits
    ]
    return words, tiles


def test_on_a_plausible_day_no_word_lies_on_a_word_or_on_a_hit() -> None:
    drawn = draw()
    words, tiles = _boxes(drawn)
    assert all(hit.clear for hit in drawn.hits)
    assert all(one.shared_area(other) == 0 for one, other in itertools.combinations(words, 2))
    assert all(word.shared_area(tile) == 0 for word in words for tile in tiles)


places = st.floats(-0.15, 0.15)


@given(st.lists(st.tuples(places, places), max_size=14))
def test_words_stay_in_the_picture_and_own_up_where_they_lie_on_something(spots: list[tuple[float, float]]) -> None:
    drawn = draw([Hit(n, f"A{n}", x, y, 3, 3) for n, (x, y) in enumerate(spots, start=1)], "rectangle")
    words, tiles = _boxes(drawn)
    for place, (hit, word) in enumerate(zip(drawn.hits, words, strict=True)):
        assert word.left >= 0 and word.right <= drawn.width and word.top >= 0 and word.bottom <= drawn.height
        if hit.clear:
            others = words[:place] + words[place + 1 :] + tiles[:place] + tiles[place + 1 :]
            assert all(word.shared_area(other) == 0 for other in others)


def test_hits_that_lie_close_get_smaller_tiles_and_keep_their_spots() -> None:
    drawn = draw([Hit(1, "A1", 0.0, 0.0, 3, 3), Hit(2, "A2", 0.017, 0.0, 4, 4), Hit(3, "A3", 0.1, 0.1, 4, 4)])
    first, second, third = (hit.tiles[0] for hit in drawn.hits)
    assert first.size == second.size < TILE == third.size
    assert first.x + first.size <= second.x


def test_an_outcome_between_two_rungs_is_two_dashed_tiles_and_an_unread_one_is_dashed_too() -> None:
    drawn = draw()
    between, unread = drawn.hits[4], drawn.hits[7]
    assert [tile.rung for tile in between.tiles] == [3, 4] and between.dashed
    assert [tile.rung for tile in unread.tiles] == [None] and unread.dashed
    assert not drawn.hits[0].dashed
    assert between.words == "5 B2: opened or point behind, 27 mm right, 95 mm down"
    assert unread.words == "8 A8: not read yet, 49 mm right, 36 mm up"


def test_a_hit_whose_place_nobody_knows_is_told_and_not_drawn() -> None:
    drawn = draw([Hit(1, "A1", None, None, 4, 4), Hit(2, "A2", 0.0, 0.0, 4, 4)])
    assert [hit.label for hit in drawn.hits] == ["A2"]
    assert drawn.rows[0] == ("1", "A1", "place not known", "point behind")
    assert "A1: point behind, place not known" in drawn.words


def test_a_hit_beside_the_panel_is_drawn_in_the_picture_and_says_so() -> None:
    drawn = draw([Hit(1, "A1", 0.5, 0.0, 1, 1)])
    tile = drawn.hits[0].tiles[0]
    assert drawn.hits[0].off_panel
    assert tile.x >= 0 and tile.x + tile.size <= drawn.width
    assert drawn.hits[0].words == "1 A1: marked, 500 mm right, beside the panel"


@given(sizes, sizes)
def test_the_scale_bar_is_as_long_as_it_says(width: float, height: float) -> None:
    drawn = draw([], "rectangle", width_m=width, height_m=height)
    long = float(re.search(r"h([\d.]+)", drawn.scale_bar).group(1))  # type: ignore[union-attr]
    millimetres = float(drawn.scale_text.removesuffix("\N{NO-BREAK SPACE}mm"))
    assert long / drawn.plan.units_per_m * 1000 == pytest.approx(millimetres, rel=0.01)
    words = text_box(drawn.scale_text, drawn.scale_text_x, drawn.scale_text_y, size=TEXT, anchor="end", bold=True)
    assert words.left > 0 and long < 0.35 * drawn.width


def test_the_spot_being_placed_is_a_cross_around_it() -> None:
    drawn = draw(here=Here("A9", 0.052, 0.042))
    assert drawn.here is not None
    x, y = drawn.plan.to_view(0.052, 0.042)
    assert drawn.here.path.startswith(f"M{x - 22:.1f} {y:.1f}h17")
    assert drawn.here.label == "A9"
    assert drawn.words.endswith("A9 is marked 52 mm right, 42 mm up.")
    assert draw(here=Here("A9", 0.159, 0.0)).here.anchor == "end"  # type: ignore[union-attr]


def test_words_keep_off_the_spot_being_placed() -> None:
    """Right of the hit is where its word would stand; the cross is there."""
    hit = [Hit(1, "A1", 0.0, 0.0, 3, 3)]
    assert draw(hit).hits[0].anchor == "start"
    drawn = draw(hit, here=Here("A9", 0.04, 0.0))
    assert drawn.here is not None
    word = _boxes(drawn)[0][0]
    assert drawn.hits[0].clear
    assert all(word.shared_area(box) == 0 for box in drawn.here.boxes())


def test_words_keep_off_rivets_and_aim_spots_where_that_costs_nothing() -> None:
    hit = [Hit(1, "A1", 0.0, 0.0, 3, 3)]
    assert draw(hit, features=Features(rivets=((0.03, 0.0),))).hits[0].anchor == "end"
    ringed = tuple((x / 100, y / 100) for x in range(-6, 7) for y in range(-4, 5))
    assert draw(hit, features=Features(rivets=ringed)).hits[0].clear


def test_ridge_rivets_aim_spots_and_rows_of_plates_are_drawn_inside_the_outline() -> None:
    features = Features(
        ridge=True,
        rolled_edge=True,
        rivets=((-0.13, 0.09),),
        aim_spots=(AimSpot("1", 0.0, 0.05),),
        rows_of_plates=5,
        plates_a_row=6,
    )
    drawn = draw([], "disc", features=features)
    assert drawn.rivets == (tuple(round(v, 1) for v in drawn.plan.to_view(-0.13, 0.09)),)
    assert (drawn.aim_spots[0].x, drawn.aim_spots[0].y) == pytest.approx(drawn.plan.to_view(0, 0.05), abs=0.06)
    starts = re.findall(r"[ML]([\d.]+) ([\d.]+)", drawn.folds)
    assert len(starts) > 4 + 2 * 4 + 2 * 20
    for x, y in starts:
        x_m, y_m = drawn.plan.to_panel(float(x), float(y))
        assert OUTLINES["disc"].holds(0.99 * x_m / 0.32, 0.96 * y_m / 0.30)
    assert draw([], "disc").folds == ""


def test_the_panel_is_told_in_words_and_as_a_table() -> None:
    drawn = draw(list(reversed(HITS[:2])))
    assert drawn.title == "Panel P3, from the front"
    assert drawn.words == (
        "2 hits, in order, from the middle. 1 A1: dented, 83 mm left, 70 mm down; 2 A2: opened, 49 mm left, 63 mm up."
    )
    assert drawn.rows == (
        ("1", "A1", "83 mm left, 70 mm down", "dented"),
        ("2", "A2", "49 mm left, 63 mm up", "opened"),
    )
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
    assert [hit.clipped for hit in drawn.hits] == [True, False]
    assert drawn.rows[0][-1] == "clipped the edge, no rung" and drawn.rows[1][-1] == "not read yet"
    assert "1 A1: clipped the edge, no rung" in drawn.words
