"""The picture of outcomes by energy: marks at their energy, nothing on top of anything, the same in words."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from server.charts.energy_axis import TICK_SIZE
from server.charts.outcome_by_energy import (
    COUNT_SIZE,
    FACE_GAP,
    MARK,
    PLOT_LEFT,
    PLOT_RIGHT,
    WIDTH,
    BandShare,
    OutcomeByEnergy,
    ShotMark,
    draw_outcome_by_energy,
)
from server.charts.outcome_words import band_text, count_text, energy_text
from server.charts.text_room import text_box

RUNGS = ("No mark", "Marked", "Dented", "Opened", "Point behind", "Head behind")


def shot(label: str, energy_j: float, low: int, high: int | None = None, u: float | None = None) -> ShotMark:
    return ShotMark(label, f"/shots/{label}", energy_j, u, low, low if high is None else high)


def band(low_j: float, high_j: float, hits: int, shots: int, *, most: int | None = None) -> BandShare:
    return BandShare(low_j, high_j, hits, hits if most is None else most, shots, 0.1, 0.9)


def draw(shots: list[ShotMark], bands: list[BandShare], **more: object) -> OutcomeByEnergy:
    return draw_outcome_by_energy("Leaf", shots, bands, rung_words=RUNGS, **more)  # type: ignore[arg-type]


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
def test_a_mark_stands_at_its_energy_and_in_its_rung(shots: list[ShotMark]) -> None:
    drawn = draw(shots, [])
    row_of = {row.rung: row for row in drawn.rows_of_rungs}
    by_energy = sorted(zip(shots, drawn.shots, strict=True), key=lambda pair: pair[0].energy_j)
    for (one, mark), (other, next_mark) in itertools.pairwise(by_energy):
        assert mark.squares[0].x <= next_mark.squares[0].x, (one, other)
    for one, mark in zip(shots, drawn.shots, strict=True):
        assert [square.rung for square in mark.squares] == list(range(one.rung_low, one.rung_high + 1))
        for square in mark.squares:
            assert row_of[square.rung].top <= square.y
            assert square.y + MARK <= row_of[square.rung].bottom
            assert PLOT_LEFT - MARK / 2 <= square.x <= PLOT_RIGHT - MARK / 2


@given(shot_lists())
def test_no_two_marks_lie_on_each_other_unless_the_chart_says_so(shots: list[ShotMark]) -> None:
    drawn = draw(shots, [])
    squares = [square for mark in drawn.shots if not mark.crowded for square in mark.squares]
    for one, other in itertools.combinations(squares, 2):
        # A tenth of rounding either way.
        assert abs(one.x - other.x) >= MARK - 0.2 or abs(one.y - other.y) >= MARK, (one, other)
    crowded = sum(mark.crowded for mark in drawn.shots)
    assert (f"{crowded} of the marks lie partly on others" in drawn.words) == (crowded > 0)


def test_six_shots_of_one_energy_stand_above_each_other_and_the_seventh_is_owned_up_to() -> None:
    six = draw([shot(f"A{n}", 90, 4) for n in range(6)], [])
    assert not any(mark.crowded for mark in six.shots)
    assert len({(mark.squares[0].x, mark.squares[0].y) for mark in six.shots}) == 6
    seven = draw([shot(f"A{n}", 90, 4) for n in range(7)], [])
    assert sum(mark.crowded for mark in seven.shots) == 1
    assert "1 of the marks lie" in seven.words


@given(shot_lists())
def test_the_rear_face_parts_rungs_0_to_3_from_4_and_5(shots: list[ShotMark]) -> None:
    drawn = draw(shots, [])
    _, _, face = drawn.face
    for row in drawn.rows_of_rungs:
        if row.rung >= 4:
            assert row.bottom < face
        else:
            assert row.top > face
    assert [row.rung for row in drawn.rows_of_rungs] == [5, 4, 3, 2, 1, 0]
    assert drawn.rows_of_rungs[2].top - drawn.rows_of_rungs[1].bottom == pytest.approx(FACE_GAP)


def test_opened_or_point_behind_is_two_dashed_squares_joined_through_the_rear_face() -> None:
    drawn = draw(LEAF, LEAF_BANDS)
    mark = drawn.shots[3]
    assert mark.dashed
    assert [square.rung for square in mark.squares] == [3, 4]
    assert mark.join is not None
    x, top, bottom = mark.join
    assert top < drawn.face[2] < bottom
    assert x == pytest.approx(mark.squares[0].x + MARK / 2)
    assert (top, bottom) == (pytest.approx(mark.squares[1].y + MARK), mark.squares[0].y)
    assert mark.words == "B2: 118 J, opened or point behind"
    assert not any(one.dashed or one.join for one in drawn.shots if one is not mark)


def test_a_mark_leads_to_its_shot_and_says_label_energy_and_rung() -> None:
    drawn = draw([replace(shot("A7", 82.6474, 4, u=1.1126), note="may be in the next band")], [])
    assert drawn.shots[0].href == "/shots/A7"
    assert drawn.shots[0].words == "A7: 82.6 ± 1.1 J, point behind, may be in the next band"
    left, right = drawn.shots[0].reach or (0, 0)
    assert left < drawn.shots[0].squares[0].x + MARK / 2 < right


def test_the_plain_case_stands_where_the_drawn_example_has_it() -> None:
    """Three bands from 60 to 130 J, none stacked: 340 by 250, its lines where the sketch has them."""
    drawn = draw([shot("A1", 80, 3)], [band(60, 80, 1, 4), band(80, 105, 4, 6), band(105, 130, 5, 5)])
    assert (drawn.width, drawn.height) == (340, 250)
    assert drawn.face == (28, 328, 56)
    assert drawn.edges == (116.9, 220.4)
    assert (drawn.share_top, drawn.share_bottom) == (164, 222)
    assert drawn.shots[0].squares[0].y == 66
    assert [(label.text, label.y) for label in drawn.counts] == [("1 of 4", 154), ("4 of 6", 154), ("5 of 5", 154)]
    assert [label.text for label in drawn.ticks] == ["60", "80", "105", "130\N{NO-BREAK SPACE}J"]
    assert [one.cells for one in drawn.bands] == [(207.5,), (183.3,), (164.0,)]


@settings(max_examples=300)
@given(shot_lists(8), band_lists())
def test_no_words_lie_on_each_other_or_leave_the_picture_with_up_to_five_bands(
    shots: list[ShotMark], bands: list[BandShare]
) -> None:
    drawn = draw(shots, bands)
    boxes = [text_box(one.text, one.x, one.y, size=COUNT_SIZE, anchor="middle", bold=True) for one in drawn.counts]
    boxes += [text_box(one.text, one.x, one.y, size=TICK_SIZE, anchor="middle") for one in drawn.ticks]
    for one, other in itertools.combinations(boxes, 2):
        assert one.shared_area(other) == 0
    for box in boxes:
        assert box.left >= -0.1 and box.right <= WIDTH + 0.1 and box.bottom <= drawn.height
        assert box.top > drawn.rows_of_rungs[-1].bottom - 1
    # With five bands every count still finds room.
    assert [one.text for one in drawn.counts] == [count_text(one) for one in bands]


@settings(max_examples=50)
@given(band_lists(most=25))
def test_with_many_bands_what_finds_no_room_is_left_to_the_table(bands: list[BandShare]) -> None:
    drawn = draw([], bands)
    assert len(drawn.counts) <= len(bands)
    assert len(drawn.rows) == len(drawn.bands) == len(bands)
    assert len(drawn.ticks) >= 1
    boxes = [text_box(one.text, one.x, one.y, size=COUNT_SIZE, anchor="middle", bold=True) for one in drawn.counts]
    assert all(one.shared_area(other) == 0 for one, other in itertools.combinations(boxes, 2))


@given(band_lists())
def test_a_share_is_drawn_at_its_height(bands: list[BandShare]) -> None:
    drawn = draw([], bands)
    tall = drawn.share_bottom - drawn.share_top
    for given_band, one in zip(bands, drawn.bands, strict=True):
        counts = sorted({given_band.hits_low, given_band.hits_high}) if given_band.shots else []
        heights = [(drawn.share_bottom - y) / tall for y in one.cells]
        assert heights == pytest.approx([count / given_band.shots for count in counts], abs=0.01)
        assert one.reach_top is not None and one.reach_height is not None
        assert drawn.share_top <= one.reach_top
        assert one.reach_top + one.reach_height <= drawn.share_bottom
        assert one.cell_x <= one.middle <= one.cell_x + one.cell_width


def test_an_empty_band_says_none_shot_and_draws_nothing() -> None:
    drawn = draw(LEAF, [*LEAF_BANDS, BandShare(130, 150, 0, 0, 0, None, None)])
    last = drawn.bands[-1]
    assert (last.count_text, last.cells, last.reach_top, last.reach_height) == ("none shot", (), None, None)
    assert drawn.rows[-1] == ("130 to 150", "none", "none shot", "can’t be told")
    assert "130 to 150 J: none shot" in drawn.words


def test_the_chart_is_told_in_words_and_as_a_table() -> None:
    drawn = draw(LEAF, LEAF_BANDS)
    assert drawn.title == "Leaf: rung and share behind, by energy"
    assert drawn.words == (
        "Leaf, 5 shots. 60 to 80 J: 0 of 1 behind; 80 to 105 J: 1 of 2 behind; 105 to 130 J: 1 or 2 of 2 behind."
    )
    assert drawn.columns == ("Energy, J", "Each shot", "Behind", "May be, %")
    assert drawn.rows == (
        ("60 to 80", "1 dented", "0 of 1", "10 to 90"),
        ("80 to 105", "1 opened, 1 point behind", "1 of 2", "10 to 90"),
        ("105 to 130", "1 opened or point behind, 1 point behind", "1 or 2 of 2", "10 to 90"),
    )
    assert drawn.shot_rows[3] == ("B2", "118", "opened or point behind")
    assert len(drawn.shot_rows) == len(LEAF)


def test_another_meaning_of_through_is_named() -> None:
    drawn = draw(LEAF, LEAF_BANDS, through_words="opened or more")
    assert "0 of 1 opened or more" in drawn.words
    assert drawn.columns[2] == "Opened or more"


@pytest.mark.parametrize("bands", [[], [BandShare(60, 80, 0, 0, 0, None, None)]])
def test_nothing_shot_yet_is_a_chart_that_says_so(bands: list[BandShare]) -> None:
    drawn = draw([], bands)
    assert drawn.words == "Leaf: no shots to show."
    assert drawn.shots == ()
    assert drawn.ticks


@given(shot_lists(8))
def test_every_shot_is_inside_the_axis_when_nobody_asked_for_another(shots: list[ShotMark]) -> None:
    assert not any(mark.off_axis for mark in draw(shots, LEAF_BANDS).shots)


def test_a_shot_beyond_the_axis_that_was_asked_for_says_so() -> None:
    drawn = draw([shot("A1", 150, 4), shot("A2", 100, 4)], LEAF_BANDS, energy_range_j=(60, 130))
    assert drawn.shots[0].off_axis and not drawn.shots[1].off_axis
    assert drawn.shots[0].words.endswith("beyond the end of this axis")


def test_bands_without_an_end_are_drawn_to_the_end_of_the_axis() -> None:
    drawn = draw(LEAF, [band(-math.inf, 80, 0, 1), band(80, math.inf, 3, 4)])
    assert [row[0] for row in drawn.rows] == ["under 80", "80 and more"]
    assert "1 dented" in drawn.rows[0][1]
    assert PLOT_LEFT < drawn.bands[0].middle < drawn.bands[1].middle < PLOT_RIGHT


@given(st.permutations(LEAF), st.permutations(LEAF_BANDS))
def test_the_order_of_rows_changes_no_picture(shots: list[ShotMark], bands: list[BandShare]) -> None:
    drawn, usual = draw(shots, bands), draw(LEAF, LEAF_BANDS)
    assert {mark.label: mark for mark in drawn.shots} == {mark.label: mark for mark in usual.shots}
    assert replace(drawn, shots=()) == replace(usual, shots=())


@pytest.mark.parametrize(
    ("low", "most", "shots", "said"), [(4, 4, 6, "4 of 6"), (1, 2, 3, "1 or 2 of 3"), (2, 5, 9, "2 to 5 of 9")]
)
def test_counts_are_said_before_any_share(low: int, most: int, shots: int, said: str) -> None:
    assert count_text(band(0, 1, low, shots, most=most)) == said


@pytest.mark.parametrize(
    ("energy_j", "u", "said"),
    [
        (82.6474, 1.1126, "82.6 ± 1.1"),
        (98.4, None, "98"),
        (7.26, None, "7.3"),
        (98.4, 0.0, "98"),
        (98.4, 12.0, "98 ± 12"),
        (98.41, 0.013, "98.410 ± 0.013"),
    ],
)
def test_an_energy_has_no_more_figures_than_its_doubt_carries(energy_j: float, u: float | None, said: str) -> None:
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
        lambda: draw_outcome_by_energy("Leaf", [], [], rung_words=RUNGS[:5]),
    ],
)
def test_what_no_results_page_could_mean_is_refused(wrong: object) -> None:
    with pytest.raises(ValueError):
        wrong()  # type: ignore[operator]
