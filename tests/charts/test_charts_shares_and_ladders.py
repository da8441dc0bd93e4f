"""Shares as a forest and the ladder as stacked counts: every mark where a ruler would put it, the words and the table agree."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.charts.ladder_stack import BAR, FIRST_BEHIND, GLYPH, MOST_A_SHOT, WIDTH, LadderRow, counts_of, ladder_stack
from server.charts.share_forest import LEFT, RIGHT, ShareRow, share_forest
from server.charts.text_room import text_width, wrapped

RUNGS = ("No mark", "Marked", "Dented", "Opened", "Point behind", "Head behind")


def forest(*rows: ShareRow):
    return share_forest("Heads", rows)


def test_a_share_stands_at_its_part_of_the_scale() -> None:
    """The scale is 302 units from 16 to 318. 2 of 5 is 40 %: 16 + 0.4 x 302 = 136.8. An interval of 12 to 90 %: 52.2, 287.8."""
    assert (LEFT, RIGHT) == (16, 318)
    drawn = forest(ShareRow("Leaf", 2, 3, 5, 0.12, 0.9)).shares[0]
    assert drawn.points == (136.8, 197.2)
    assert drawn.reach == (52.2, 235.6)
    assert drawn.count.text == "2 or 3 of 5" and drawn.count.x == WIDTH


def test_none_and_all_stand_at_the_ends_with_their_numbers() -> None:
    none, whole = forest(ShareRow("Leaf", 0, 0, 4, 0.0, 0.5), ShareRow("Stout", 4, 4, 4, 0.5, 1.0)).shares
    assert none.points == (LEFT,) and whole.points == (RIGHT,)
    drawn = forest(ShareRow("Leaf", 0, 0, 4, 0.0, 0.5))
    assert [(tick.text, tick.x) for tick in drawn.ticks] == [("0\N{NO-BREAK SPACE}%", 16), ("25", 91.5), ("50", 167), ("75", 242.5), ("100\N{NO-BREAK SPACE}%", 318)]
    assert drawn.hairs == tuple(tick.x for tick in drawn.ticks)


def test_a_group_without_a_shot_has_its_row_and_no_bar() -> None:
    drawn = forest(ShareRow("Leaf", 0, 0, 0, None, None))
    assert drawn.shares[0].reach is None and drawn.shares[0].points == ()
    assert drawn.rows == (("Leaf", "none shot", "can’t be told"),)
    assert drawn.words.startswith("Leaf: none shot.")


def test_the_forest_says_the_same_in_words_and_as_a_table() -> None:
    rows = (ShareRow("Leaf", 2, 3, 5, 0.12, 0.9, "80 to 105 J"), ShareRow("Leaf", 3, 3, 3, 0.37, 1.0, "105 to 130 J"))
    drawn = share_forest("Heads", rows, through_words="opened", level="90 %")
    assert drawn.columns == ("Compared at", "Group", "Opened", "May be, %")
    assert drawn.rows == (("80 to 105 J", "Leaf", "2 or 3 of 5", "12 to 90"), ("105 to 130 J", "Leaf", "3 of 3", "37 to 100"))
    for row, share in zip(drawn.rows, drawn.shares, strict=True):
        assert row[0] in share.words and row[2] in share.words and row[3] in share.words
        assert share.words in drawn.words and row[2] == share.count.text
    assert "(90 %)" in drawn.words and "(90 %)" in drawn.key
    assert [one.text for one in drawn.headings] == ["80 to 105 J", "105 to 130 J"]


def test_a_heading_stands_once_over_its_groups_and_rows_follow_downwards() -> None:
    drawn = forest(*(ShareRow(name, 1, 1, 3, 0.02, 0.87, heading) for heading in ("low", "high") for name in ("Leaf", "Stout", "Needle")))
    assert [one.text for one in drawn.headings] == ["low", "high"]
    tops = [share.bar_y for share in drawn.shares]
    assert tops == sorted(tops) and len(set(tops)) == 6
    assert drawn.shares[2].bar_y < drawn.headings[1].y < drawn.shares[3].lines[0].y
    assert drawn.shares[-1].bar_y + drawn.bar < drawn.bottom < drawn.height


def test_a_long_name_wraps_and_never_runs_into_its_count() -> None:
    share = forest(ShareRow("Broad barbed, forged, with a socket and a long story", 12, 12, 30, 0.2, 0.6, glyph="head-barbed")).shares[0]
    assert len(share.lines) > 1 and " ".join(line.text for line in share.lines).endswith("a long story")
    for line in share.lines:
        assert line.x + text_width(line.text, 13.5) < WIDTH - text_width(share.count.text, 15, bold=True)
    assert share.bar_y > share.lines[-1].y


@pytest.mark.parametrize("counts", [(3, 2, 5), (0, 6, 5), (-1, 0, 5)])
def test_counts_that_cannot_be_are_refused(counts: tuple[int, int, int]) -> None:
    with pytest.raises(ValueError, match="counts go"):
        ShareRow("Leaf", *counts, None, None)
    with pytest.raises(ValueError, match="two ends"):
        ShareRow("Leaf", 1, 1, 2, 0.1, None)


@given(st.integers(0, 40).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_a_share_stands_inside_its_frame_whatever_the_counts(counts: tuple[int, int]) -> None:
    hits, shots = counts
    drawn = forest(ShareRow("Leaf", hits, hits, shots, 0.0, 1.0)).shares[0]
    assert all(LEFT <= x <= RIGHT for x in drawn.points)
    # hits and misses swapped: the mirror
    mirrored = forest(ShareRow("Leaf", shots - hits, shots - hits, shots, 0.0, 1.0)).shares[0]
    assert [LEFT + RIGHT - x for x in drawn.points] == pytest.approx(list(mirrored.points), abs=0.1)


# The ladder


def stack(*rows: LadderRow):
    return ladder_stack("Heads", rows, rung_words=RUNGS)


def test_each_shot_is_as_long_as_any_other() -> None:
    """26 shots share 338 units: 13 each. 3 marked: 1 to 40; 14 dented: 40 to 222; 9 behind from 222 on, where the line stands."""
    drawn = stack(LadderRow("Leaf", [(1, 1)] * 3 + [(2, 2)] * 14 + [(4, 4)] * 9), LadderRow("Stout", [(5, 5)] * 13))
    leaf, stout = drawn.ladders
    assert drawn.a_shot == 13
    assert [(piece.x, piece.width, piece.count) for piece in leaf.pieces] == [(1, 39, 3), (40, 182, 14), (222, 117, 9)]
    assert leaf.face == 222
    assert [(piece.x, piece.width) for piece in stout.pieces] == [(1, 169)] and stout.face == 1
    assert leaf.count.text == "26 shots" and stout.count.text == "13 shots"


def test_few_shots_make_no_wall() -> None:
    one = stack(LadderRow("Leaf", [(2, 2)])).ladders[0]
    assert one.pieces[0].width == MOST_A_SHOT and one.face == 1 + MOST_A_SHOT and one.count.text == "1 shot"


def test_what_may_be_behind_stands_left_of_the_line_and_dashed() -> None:
    ladder = stack(LadderRow("Leaf", [(3, 4), (2, 2), (4, 5), (5, 5), (3, 5)])).ladders[0]
    assert [(piece.low, piece.high, piece.dashed) for piece in ladder.pieces] == [(2, 2, False), (3, 4, True), (3, 5, True), (4, 5, True), (5, 5, False)]
    for piece in ladder.pieces:
        assert (piece.x >= ladder.face) == (piece.low >= FIRST_BEHIND)
        assert [one.rung for one in piece.glyphs] == ([piece.low] if piece.low == piece.high else [piece.low, piece.high])


def test_no_head_without_shots_has_a_bar() -> None:
    drawn = stack(LadderRow("Leaf", []))
    assert drawn.ladders[0].pieces == () and drawn.ladders[0].face is None
    assert drawn.rows == (("Leaf", "0", "0", "0", "0", "0", "0", "0", "0"),)
    assert drawn.words == "Leaf: none shot."
    assert ladder_stack("Heads", [], rung_words=RUNGS).words == "Heads: no shots to show."


def test_the_ladder_says_the_same_in_words_and_as_a_table() -> None:
    drawn = stack(LadderRow("Leaf", [(0, 0), (2, 2), (2, 2), (3, 4), (3, 5), (5, 5)], "80 to 105 J"))
    assert drawn.columns == ("Compared at", "Head", *RUNGS, "One of several", "Shots")
    assert drawn.rows == (("80 to 105 J", "Leaf", "1", "0", "2", "0", "0", "1", "1 opened or point behind, 1 opened to head behind", "6"),)
    assert drawn.words == "80 to 105 J, Leaf: 6 shots: 1 no mark, 2 dented, 1 opened or point behind, 1 opened to head behind, 1 head behind."
    told = {(piece.low, piece.high): piece.count for piece in drawn.ladders[0].pieces}
    assert told == {(0, 0): 1, (2, 2): 2, (3, 4): 1, (3, 5): 1, (5, 5): 1}


@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)).map(lambda one: (min(one), max(one))), max_size=60))
def test_labels_under_a_bar_lie_on_no_other_and_stay_in_the_picture(rungs: list[tuple[int, int]]) -> None:
    ladder = stack(LadderRow("Leaf", rungs), LadderRow("Stout", [(2, 2)] * 60)).ladders[0]
    assert sum(piece.count for piece in ladder.pieces) == len(rungs) == sum(many for _, many in counts_of(rungs))
    spans = []
    for piece in ladder.pieces:
        right = piece.text_x + text_width(str(piece.count), 15, bold=True)
        if piece.inside:
            assert piece.x <= piece.glyphs[0].x and right <= piece.x + piece.width
        else:
            spans.append((piece.glyphs[0].x, right))
            assert piece.glyphs[0].y > ladder.bar_y + BAR and piece.leader is not None
    if sum(b - a for a, b in spans) + 4 * len(spans) < WIDTH:
        assert all(a >= -0.5 and b <= WIDTH + 0.5 for a, b in spans)
        assert all(left[1] <= right[0] + 0.2 for left, right in zip(spans, spans[1:], strict=False))
    assert GLYPH <= BAR


def test_what_the_ladder_cannot_hold_is_refused() -> None:
    with pytest.raises(ValueError, match="low one first"):
        LadderRow("Leaf", [(4, 3)])
    with pytest.raises(ValueError, match="six words"):
        ladder_stack("Heads", [], rung_words=RUNGS[:5])


@given(st.lists(st.text("abcdefgh", min_size=1, max_size=12), min_size=1, max_size=12))
def test_wrapping_loses_no_word(words: list[str]) -> None:
    text = " ".join(words)
    lines = wrapped(text, 60.0, size=13.5)
    assert " ".join(lines) == text
    assert all(text_width(line, 13.5) <= 60.0 or " " not in line for line in lines)
