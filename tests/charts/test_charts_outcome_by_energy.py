"""The drawing of outcomes by energy: marks at their energy, nothing on top of anything, the same in words."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from proofyard.charts.figure import COUNT, TEXT, WIDTH, Figure, Path, Rect, Text
from proofyard.charts.outcome_by_energy import FACE_GAP, MARK, PLOT_LEFT, PLOT_RIGHT, Rows, draw_outcome_by_energy, level_rows, shot_lanes
from proofyard.charts.outcome_words import BandShare, Share, ShotMark, band_text, energy_text
from proofyard.charts.scale import LinearScale
from proofyard.charts.text_room import Box, text_box

from tests.charts.marks_of import dashed, having, inside, level_of, paths, rects, said, spots, texts

OUTCOMES = ("No mark", "Marked", "Dented", "Opened", "Point through", "Head through")


def shot(label: str, energy_j: float, low: int, high: int | None = None, u: float | None = None) -> ShotMark:
    return ShotMark(label, f"/shots/{label}", energy_j, u, low, low if high is None else high)


def band(low_j: float, high_j: float, hits: int, shots: int, *, most: int | None = None) -> BandShare:
    return BandShare(low_j, high_j, Share(hits, hits if most is None else most, shots, 0.1, 0.9))


def draw(shots: list[ShotMark], bands: list[BandShare], **more: object) -> Figure:
    return draw_outcome_by_energy("Leaf", shots, bands, outcome_words=OUTCOMES, **more)


def rows_of(shots: list[ShotMark], x: LinearScale | None) -> Rows:
    """Top and bottom of each outcome level's row, as the drawing of these shots has them."""
    assert x is not None
    return level_rows(shot_lanes(shots, x)[0])


def counts(drawn: Figure) -> list[Text]:
    return texts(drawn, "chart__count")


def ticks(drawn: Figure) -> list[Text]:
    """Numbers under the axis."""
    return [one for one in texts(drawn, "") if one.anchor == "middle"]


def word_boxes(drawn: Figure) -> list[Box]:
    of_counts = [text_box(one.text, one.x, one.y, size=COUNT, anchor="middle", bold=True) for one in counts(drawn)]
    return of_counts + [text_box(one.text, one.x, one.y, size=TEXT, anchor="middle") for one in ticks(drawn)]


LEAF = [shot("A1", 64, 2), shot("A2", 82, 3), shot("B1", 96, 4), shot("B2", 118, 3, 4), shot("B3", 124, 4)]
LEAF_BANDS = [band(60, 80, 0, 1), band(80, 105, 1, 2), band(105, 130, 1, 2, most=2)]


@st.composite
def shot_lists(draw_from: st.DrawFn, most: int = 40) -> list[ShotMark]:
    found = []
    for place in range(draw_from(st.integers(0, most))):
        low = draw_from(st.integers(0, 5))
        high = draw_from(st.integers(low, min(5, low + 1)))
        energy = draw_from(st.floats(0, 300))
        found.append(shot(f"A{place + 1}", energy, low, high, draw_from(st.none() | st.floats(0.01, 20))))
    return found


@st.composite
def band_lists(draw_from: st.DrawFn, most: int = 5) -> list[BandShare]:
    edges = sorted(draw_from(st.sets(st.integers(0, 300), min_size=2, max_size=most + 1)))
    found = []
    for low, high in itertools.pairwise(edges):
        shots = draw_from(st.integers(0, 60))
        hits = draw_from(st.integers(0, shots))
        found.append(band(low, high, hits, shots, most=draw_from(st.integers(hits, shots))))
    return found


@given(shot_lists())
def test_a_mark_stands_at_its_energy_and_in_its_outcome_level(shots: list[ShotMark]) -> None:
    drawn = draw(shots, [])
    row_of = rows_of(shots, drawn.x)
    by_energy = sorted(zip(shots, said(drawn), strict=True), key=lambda pair: pair[0].energy_j)
    for (one, mark), (other, next_mark) in itertools.pairwise(by_energy):
        assert rects(mark)[0].x <= rects(next_mark)[0].x, (one, other)
    for one, mark in zip(shots, said(drawn), strict=True):
        assert [level_of(square) for square in rects(mark)] == list(range(one.outcome_low, one.outcome_high + 1))
        for square in rects(mark):
            top, bottom = row_of[level_of(square)]
            assert top <= square.y
            assert square.y + MARK <= bottom
            assert PLOT_LEFT - MARK / 2 <= square.x <= PLOT_RIGHT - MARK / 2


@given(shot_lists())
def test_no_two_marks_lie_on_each_other_unless_the_chart_says_so(shots: list[ShotMark]) -> None:
    drawn = draw(shots, [])
    assert drawn.x is not None
    _, crowded = shot_lanes(shots, drawn.x)
    squares = [square for n, mark in enumerate(said(drawn)) if n not in crowded for square in rects(mark)]
    for one, other in itertools.combinations(squares, 2):
        # A tenth of rounding either way.
        assert abs(one.x - other.x) >= MARK - 0.2 or abs(one.y - other.y) >= MARK, (one, other)
    assert (f"{len(crowded)} of the marks lie partly on others" in drawn.words) == (len(crowded) > 0)


def test_six_shots_of_one_energy_stand_above_each_other_and_the_seventh_is_owned_up_to() -> None:
    six = draw([shot(f"A{n}", 90, 4) for n in range(6)], [])
    assert "of the marks lie" not in six.words
    assert len({(square.x, square.y) for square in rects(six, "chart__shot")}) == 6
    seven = draw([shot(f"A{n}", 90, 4) for n in range(7)], [])
    assert len({(square.x, square.y) for square in rects(seven, "chart__shot")}) == 6
    assert "1 of the marks lie" in seven.words


@given(shot_lists())
def test_the_rear_face_parts_outcome_levels_0_to_3_from_4_and_5(shots: list[ShotMark]) -> None:
    drawn = draw(shots, [])
    rows = rows_of(shots, drawn.x)
    ((_, face), _) = paths(drawn, "chart__face")[0]
    for outcome_level, (top, bottom) in rows.items():
        if outcome_level >= 4:
            assert bottom < face
        else:
            assert top > face
    assert list(rows) == [5, 4, 3, 2, 1, 0]
    assert rows[3][0] - rows[4][1] == pytest.approx(FACE_GAP)


def test_opened_or_point_through_is_two_dashed_squares_joined_through_the_rear_face() -> None:
    drawn = draw(LEAF, LEAF_BANDS)
    mark = said(drawn)[3]
    assert dashed(mark)
    low, high = rects(mark)
    assert [level_of(low), level_of(high)] == [3, 4]
    ((x, top), (_, bottom)) = paths(mark, "chart__line")[0]
    assert top < paths(drawn, "chart__face")[0][0][1] < bottom
    assert x == pytest.approx(low.x + MARK / 2, abs=0.11)
    assert (top, bottom) == (pytest.approx(high.y + MARK), low.y)
    assert mark.words == "B2: 118 J, opened or point through (3 or 4)"
    assert not any(dashed(one) or having(one, "chart__line") for one in said(drawn) if one is not mark)


def test_a_mark_leads_to_its_shot_and_says_label_energy_and_outcome_level() -> None:
    drawn = draw([replace(shot("A7", 82.6474, 4, u=1.1126), note="may be in the next band")], [])
    assert drawn.leads_on and said(drawn)[0].href == "/shots/A7"
    assert said(drawn)[0].words == "A7: 82.6 ±\u00a01.1 J, point through (4), may be in the next band"


def test_the_plain_case_stands_where_the_drawn_example_has_it() -> None:
    """Three bands from 60 to 130 J, none stacked: 340 by 250, its lines where the sketch has them."""
    drawn = draw([shot("A1", 80, 3)], [band(60, 80, 1, 4), band(80, 105, 4, 6), band(105, 130, 5, 5)])
    assert (drawn.width, drawn.height) == (340, 250)
    assert paths(drawn, "chart__face") == [[(28, 56), (328, 56)]]
    assert [hair[0][0] for hair in paths(drawn, "chart__hair")] == [116.9, 220.4, PLOT_LEFT]
    assert drawn.y is not None and (drawn.y.end, drawn.y.start) == (164, 222)
    assert rects(drawn, "chart__shot")[0].y == 66
    assert [(label.text, label.y) for label in counts(drawn)] == [("1 of 4", 154), ("4 of 6", 154), ("5 of 5", 154)]
    assert [label.text for label in ticks(drawn)] == ["60", "80", "105", "130\N{NO-BREAK SPACE}J"]
    assert [cell[0][1] for cell in paths(drawn, "chart__cell")] == [207.5, 183.3, 164.0]


@settings(max_examples=300)
@given(shot_lists(8), band_lists())
def test_no_words_lie_on_each_other_or_leave_the_drawing_with_up_to_five_bands(shots: list[ShotMark], bands: list[BandShare]) -> None:
    drawn = draw(shots, bands)
    boxes = word_boxes(drawn)
    for one, other in itertools.combinations(boxes, 2):
        assert one.shared_area(other) == 0
    for box in boxes:
        assert box.left >= -0.1 and box.right <= WIDTH + 0.1 and box.bottom <= drawn.height
        assert box.top > rows_of(shots, drawn.x)[0][1] - 1
    # With five bands every count still finds room.
    assert [one.text for one in counts(drawn)] == [one.share.words for one in bands]


@settings(max_examples=50)
@given(band_lists(most=25))
def test_with_many_bands_what_finds_no_room_is_left_to_the_table(bands: list[BandShare]) -> None:
    drawn = draw([], bands)
    assert len(counts(drawn)) <= len(bands)
    assert len(drawn.rows) == len(bands)
    assert len(ticks(drawn)) >= 1
    boxes = [text_box(one.text, one.x, one.y, size=COUNT, anchor="middle", bold=True) for one in counts(drawn)]
    assert all(one.shared_area(other) == 0 for one, other in itertools.combinations(boxes, 2))


@given(band_lists())
def test_a_share_is_drawn_at_its_height(bands: list[BandShare]) -> None:
    drawn = draw([], bands)
    assert drawn.y is not None
    of_bands: list[tuple[Rect, list[list[tuple[float, float]]]]] = []
    for mark in inside(drawn):
        if isinstance(mark, Rect):
            of_bands.append((mark, []))
        elif isinstance(mark, Path) and mark.look == "chart__cell":
            of_bands[-1][1].append(spots(mark.d))
    for given_band, (reach, cells) in zip(bands, of_bands, strict=True):
        hits = sorted({given_band.share.hits_low, given_band.share.hits_high}) if given_band.share.shots else []
        heights = [drawn.y.back(cell[0][1]) for cell in cells]
        assert heights == pytest.approx([count / given_band.share.shots for count in hits], abs=0.01)
        assert drawn.y.end <= reach.y
        assert reach.y + reach.height <= drawn.y.start + 0.1
        assert all(cell[0][0] <= reach.x + reach.width / 2 <= cell[1][0] for cell in cells)


def test_an_empty_band_says_none_shot_and_draws_nothing() -> None:
    drawn = draw(LEAF, [*LEAF_BANDS, BandShare(130, 150, Share(0, 0, 0, None, None))])
    before = draw(LEAF, LEAF_BANDS)
    assert counts(drawn)[-1].text == "none shot"
    for look in ("chart__cell", "chart__reach"):
        assert len(having(drawn, look)) == len(having(before, look))
    assert drawn.rows[-1] == ("130 to 150", "none", "none shot", "can’t be told")
    assert "130 to 150 J: none shot" in drawn.words


def test_the_chart_is_told_in_words_and_as_a_table() -> None:
    drawn = draw(LEAF, LEAF_BANDS)
    assert drawn.title == "Leaf: outcome level and share through, by energy"
    assert drawn.words == ("Leaf, 5 shots. 60 to 80 J: 0 of 1 through; 80 to 105 J: 1 of 2 through; 105 to 130 J: 1 or 2 of 2 through.")
    assert drawn.columns == ("Energy, J", "Each shot", "Through", "95\N{NO-BREAK SPACE}% interval, %")
    assert drawn.rows == (
        ("60 to 80", "1 dented (2)", "0 of 1", "10 to 90"),
        ("80 to 105", "1 opened (3), 1 point through (4)", "1 of 2", "10 to 90"),
        ("105 to 130", "1 opened or point through (3 or 4), 1 point through (4)", "1 or 2 of 2", "10 to 90"),
    )
    shots = drawn.tables[1].rows
    assert shots[3] == ("B2", "118", "opened or point through (3 or 4)")
    assert len(shots) == len(LEAF)


def test_another_meaning_of_through_is_named() -> None:
    drawn = draw(LEAF, LEAF_BANDS, through_words="opened or more")
    assert "0 of 1 opened or more" in drawn.words
    assert drawn.columns[2] == "Opened or more"


@pytest.mark.parametrize("bands", [[], [BandShare(60, 80, Share(0, 0, 0, None, None))]])
def test_nothing_shot_yet_is_a_chart_that_says_so(bands: list[BandShare]) -> None:
    drawn = draw([], bands)
    assert drawn.words == "Leaf: no shots to show."
    assert said(drawn) == []
    assert ticks(drawn)


@given(shot_lists(8))
def test_every_shot_is_inside_the_axis_when_nobody_asked_for_another(shots: list[ShotMark]) -> None:
    assert not any("beyond the end" in mark.words for mark in said(draw(shots, LEAF_BANDS)))


def test_a_shot_beyond_the_axis_that_was_asked_for_says_so() -> None:
    drawn = draw([shot("A1", 150, 4), shot("A2", 100, 4)], LEAF_BANDS, energy_range_j=(60, 130))
    outside, within = said(drawn)
    assert outside.words.endswith("beyond the end of this axis") and "beyond" not in within.words


def test_bands_without_an_end_are_drawn_to_the_end_of_the_axis() -> None:
    drawn = draw(LEAF, [band(-math.inf, 80, 0, 1), band(80, math.inf, 3, 4)])
    assert [row[0] for row in drawn.rows] == ["under 80", "80 and more"]
    assert "1 dented" in drawn.rows[0][1]
    first, second = rects(drawn, "chart__reach")
    assert PLOT_LEFT < first.x < first.x + first.width < second.x < second.x + second.width < PLOT_RIGHT


@given(st.permutations(LEAF), st.permutations(LEAF_BANDS))
def test_the_order_of_rows_changes_no_drawing(shots: list[ShotMark], bands: list[BandShare]) -> None:
    drawn, usual = draw(shots, bands), draw(LEAF, LEAF_BANDS)
    assert {mark.words: mark for mark in said(drawn)} == {mark.words: mark for mark in said(usual)}
    assert set(drawn.marks) == set(usual.marks)
    assert replace(drawn, marks=()) == replace(usual, marks=())


@pytest.mark.parametrize(("low", "most", "shots", "said"), [(4, 4, 6, "4 of 6"), (1, 2, 3, "1 or 2 of 3"), (2, 5, 9, "2 to 5 of 9")])
def test_counts_are_said_before_any_share(low: int, most: int, shots: int, said: str) -> None:
    assert Share(low, most, shots, None, None).words == said


@pytest.mark.parametrize(
    ("energy_j", "u", "said"),
    [
        (82.6474, 1.1126, "82.6 ±\u00a01.1"),
        (98.4, None, "98"),
        (7.26, None, "7.3"),
        (98.4, 0.0, "98"),
        (98.4, 12.0, "98 ±\u00a012"),
        (98.41, 0.013, "98.410 ±\u00a00.013"),
        (98.41, 0.24, "98.4 ±\u00a00.2"),
    ],
)
def test_an_energy_has_no_more_figures_than_its_uncertainty_carries(energy_j: float, u: float | None, said: str) -> None:
    assert energy_text(shot("A1", energy_j, 0, u=u)) == said


def test_bands_are_named_with_as_many_decimals_as_they_have() -> None:
    assert band_text(60, 80) == "60 to 80"
    assert band_text(60.5, 80) == "60.5 to 80.0"
    assert band_text(-math.inf, math.inf) == "any"


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: shot("A1", -1, 3),
        lambda: shot("A1", math.nan, 3),
        lambda: shot("A1", 80, 4, 3),
        lambda: shot("A1", 80, 3, 6),
        lambda: band(80, 80, 0, 1),
        lambda: band(60, 80, 2, 1),
        lambda: band(60, 80, 1, 3, most=0),
        lambda: draw_outcome_by_energy("Leaf", [], [], outcome_words=OUTCOMES[:5]),
    ],
)
def test_what_no_results_page_could_mean_is_refused(wrong: object) -> None:
    with pytest.raises(ValueError):
        wrong()
