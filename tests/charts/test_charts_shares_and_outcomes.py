"""Shares as a forest and the outcome as stacked counts: every mark where a ruler would put it, the words and the table agree."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.charts.figure import WIDTH, Figure, Group, Rect, Text
from proofyard.charts.group_rows import GroupRow
from proofyard.charts.outcome_stack import BAR, GLYPH, MOST_A_SHOT, outcome_stack
from proofyard.charts.outcome_words import FIRST_THROUGH, Share, counts_of
from proofyard.charts.share_forest import BAR as SHARE_BAR
from proofyard.charts.share_forest import LEFT, RIGHT, share_forest
from proofyard.charts.text_room import text_width, wrapped

from tests.charts.marks_of import dashed, ends, glyphs, having, level_of, paths, rects, said, texts

OUTCOMES = ("No mark", "Marked", "Dented", "Opened", "Point through", "Head through")


def row(
    words: str, hits_low: int, hits_high: int, shots: int, low: float | None, high: float | None, heading: str = "", **more: Any
) -> GroupRow:
    return GroupRow(words, Share(hits_low, hits_high, shots, low, high), heading=heading, **more)


def levels_row(words: str, levels: list[tuple[int, int]], heading: str = "") -> GroupRow:
    return GroupRow(words, levels=levels, heading=heading)


def forest(*rows: GroupRow) -> Figure:
    return share_forest("Heads", rows)


def points(row: Figure | Group) -> list[float]:
    return [upright[0][0] for upright in paths(row, "chart__cell")]


def count(row: Group) -> Text:
    return texts(row, "chart__count")[0]


def ticks(drawn: Figure) -> list[Text]:
    return [one for one in texts(drawn) if one.anchor == "middle"]


def headings(drawn: Figure) -> list[Text]:
    return texts(drawn.marks[0], "chart__count")


def test_a_share_stands_at_its_part_of_the_scale() -> None:
    """The scale is 302 units from 16 to 318. 2 of 5 is 40 %: 16 + 0.4 x 302 = 136.8. An interval of 12 to 90 %: 52.2, 287.8."""
    assert (LEFT, RIGHT) == (16, 318)
    (drawn,) = said(forest(row("Leaf", 2, 3, 5, 0.12, 0.9)))
    assert points(drawn) == [136.8, 197.2] and ends(paths(drawn, "chart__line")[0]) == (136.8, 197.2)
    assert [(reach.x, reach.width) for reach in rects(drawn, "chart__reach")] == [(52.2, 235.6)]
    assert count(drawn).text == "2 or 3 of 5" and count(drawn).x == WIDTH


def test_none_and_all_stand_at_the_ends_with_their_numbers() -> None:
    none, whole = said(forest(row("Leaf", 0, 0, 4, 0.0, 0.5), row("Stout", 4, 4, 4, 0.5, 1.0)))
    assert points(none) == [LEFT] and points(whole) == [RIGHT]
    drawn = forest(row("Leaf", 0, 0, 4, 0.0, 0.5))
    assert [(tick.text, tick.x) for tick in ticks(drawn)] == [
        ("0\N{NO-BREAK SPACE}%", 16),
        ("25", 91.5),
        ("50", 167),
        ("75", 242.5),
        ("100\N{NO-BREAK SPACE}%", 318),
    ]
    assert [hair[0][0] for hair in paths(drawn, "chart__hair")] == [tick.x for tick in ticks(drawn)]


def test_a_group_without_a_shot_has_its_row_and_no_bar() -> None:
    drawn = forest(row("Leaf", 0, 0, 0, None, None))
    assert having(drawn, "chart__reach") == [] and points(drawn) == []
    assert drawn.rows == (("Leaf", "none shot", "can’t be told"),)
    assert drawn.words.startswith("Leaf: none shot.")


def test_the_forest_says_the_same_in_words_and_as_a_table() -> None:
    rows = (row("Leaf", 2, 3, 5, 0.12, 0.9, "80 to 105 J"), row("Leaf", 3, 3, 3, 0.37, 1.0, "105 to 130 J"))
    drawn = share_forest("Heads", rows, through_words="opened", level="90 %")
    assert drawn.columns == ("Compared at", "Group", "Opened", "90 % interval, %")
    assert drawn.rows == (("80 to 105 J", "Leaf", "2 or 3 of 5", "12 to 90"), ("105 to 130 J", "Leaf", "3 of 3", "37 to 100"))
    for cells, share in zip(drawn.rows, said(drawn), strict=True):
        assert cells[0] in share.words and cells[2] in share.words and cells[3] in share.words
        assert share.words in drawn.words and cells[2] == count(share).text
    assert drawn.words.endswith("Grey: 90 % intervals.") and "Grey: its 90 % interval." in drawn.key
    assert [one.text for one in headings(drawn)] == ["80 to 105 J", "105 to 130 J"]


def test_a_heading_stands_once_over_its_groups_and_rows_follow_downwards() -> None:
    drawn = forest(*(row(name, 1, 1, 3, 0.02, 0.87, heading) for heading in ("low", "high") for name in ("Leaf", "Stout", "Needle")))
    assert [one.text for one in headings(drawn)] == ["low", "high"]
    tops = [reach.y for reach in rects(drawn, "chart__reach")]
    assert tops == sorted(tops) and len(set(tops)) == 6
    assert tops[2] < headings(drawn)[1].y < texts(said(drawn)[3], "")[0].y
    assert tops[-1] + SHARE_BAR < paths(drawn, "chart__axis")[0][0][1] < drawn.height


def test_a_long_name_wraps_and_never_runs_into_its_count() -> None:
    (share,) = said(forest(row("Barbed broadhead, forged, with a socket and a long story", 12, 12, 30, 0.2, 0.6, glyph="head-barbed")))
    lines = texts(share, "")
    assert len(lines) > 1 and " ".join(line.text for line in lines).endswith("a long story")
    for line in lines:
        assert line.x + text_width(line.text, 13.5) < WIDTH - text_width(count(share).text, 15, bold=True)
    assert rects(share, "chart__reach")[0].y > lines[-1].y


@pytest.mark.parametrize("counts", [(3, 2, 5), (0, 6, 5), (-1, 0, 5)])
def test_counts_that_cannot_be_are_refused(counts: tuple[int, int, int]) -> None:
    with pytest.raises(ValueError, match="counts go"):
        row("Leaf", *counts, None, None)
    with pytest.raises(ValueError, match="two ends"):
        row("Leaf", 1, 1, 2, 0.1, None)


@given(st.integers(0, 40).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_a_share_stands_inside_its_frame_whatever_the_counts(counts: tuple[int, int]) -> None:
    hits, shots = counts
    drawn = points(forest(row("Leaf", hits, hits, shots, 0.0, 1.0)))
    assert all(LEFT <= x <= RIGHT for x in drawn) and len(drawn) == (1 if shots else 0)
    # hits and misses swapped: the mirror
    mirrored = points(forest(row("Leaf", shots - hits, shots - hits, shots, 0.0, 1.0)))
    assert [LEFT + RIGHT - x for x in drawn] == pytest.approx(mirrored, abs=0.1)


# The outcome


def stack(*rows: GroupRow) -> Figure:
    return outcome_stack("Heads", rows, outcome_words=OUTCOMES)


def pieces(row: Group) -> list[Group]:
    """A bar's pieces, with their labels."""
    return [one for one in row.marks if isinstance(one, Group)]


def bar(piece: Group) -> Rect:
    return rects(piece)[0]


def many(piece: Group) -> int:
    return int(texts(piece)[0].text)


def levels(piece: Group) -> tuple[int, int]:
    found = [level_of(glyph) for glyph in glyphs(piece)]
    return found[0], found[-1]


def face(row: Group) -> list[float]:
    return [upright[0][0] for upright in paths(row, "chart__face")]


def test_each_shot_is_as_long_as_any_other() -> None:
    """26 shots share 338 units: 13 each. 3 marked: 1 to 40; 14 dented: 40 to 222; 9 behind from 222 on, where the line stands."""
    drawn = stack(levels_row("Leaf", [(1, 1)] * 3 + [(2, 2)] * 14 + [(4, 4)] * 9), levels_row("Stout", [(5, 5)] * 13))
    leaf, stout = said(drawn)
    assert [(bar(piece).x, bar(piece).width, many(piece)) for piece in pieces(leaf)] == [(1, 39, 3), (40, 182, 14), (222, 117, 9)]
    assert face(leaf) == [222]
    assert [(bar(piece).x, bar(piece).width) for piece in pieces(stout)] == [(1, 169)] and face(stout) == [1]
    assert count(leaf).text == "26 shots" and count(stout).text == "13 shots"


def test_few_shots_make_no_wall() -> None:
    (one,) = said(stack(levels_row("Leaf", [(2, 2)])))
    assert bar(pieces(one)[0]).width == MOST_A_SHOT and face(one) == [1 + MOST_A_SHOT] and count(one).text == "1 shot"


def test_what_may_be_behind_stands_left_of_the_line_and_dashed() -> None:
    (outcomes,) = said(stack(levels_row("Leaf", [(3, 4), (2, 2), (4, 5), (5, 5), (3, 5)])))
    # Each label's glyphs are the lowest and the highest level that it may be.
    assert [(*levels(piece), bar(piece).look.endswith("--open")) for piece in pieces(outcomes)] == [
        (2, 2, False),
        (3, 4, True),
        (3, 5, True),
        (4, 5, True),
        (5, 5, False),
    ]
    for piece in pieces(outcomes):
        assert (bar(piece).x >= face(outcomes)[0]) == (level_of(bar(piece)) >= FIRST_THROUGH)
        assert len(glyphs(piece)) == (2 if dashed(piece) else 1)


def test_no_head_without_shots_has_a_bar() -> None:
    drawn = stack(levels_row("Leaf", []))
    (only,) = said(drawn)
    assert pieces(only) == [] and face(only) == []
    assert drawn.rows == (("Leaf", "0", "0", "0", "0", "0", "0", "0", "0"),)
    assert drawn.words == "Leaf: none shot."
    assert outcome_stack("Heads", [], outcome_words=OUTCOMES).words == "Heads: no shots to show."


def test_the_stack_says_the_same_in_words_and_as_a_table() -> None:
    drawn = stack(levels_row("Leaf", [(0, 0), (2, 2), (2, 2), (3, 4), (3, 5), (5, 5)], "80 to 105 J"))
    assert drawn.columns == ("Compared at", "Head", *(f"{words} ({n})" for n, words in enumerate(OUTCOMES)), "Undecided", "Shots")
    assert drawn.rows == (
        ("80 to 105 J", "Leaf", "1", "0", "2", "0", "0", "1", "1 opened or point through (3 or 4), 1 opened to head through (3 to 5)", "6"),
    )
    assert drawn.words == (
        "80 to 105 J, Leaf: 6 shots: 1 no mark (0), 2 dented (2), 1 opened or point through (3 or 4), 1 opened to "
        "head through (3 to 5), 1 head through (5)."
    )
    told = {levels(piece): many(piece) for piece in pieces(said(drawn)[0])}
    assert told == {(0, 0): 1, (2, 2): 2, (3, 4): 1, (3, 5): 1, (5, 5): 1}


@given(st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)).map(lambda one: (min(one), max(one))), max_size=60))
def test_labels_under_a_bar_lie_on_no_other_and_stay_in_the_drawing(outcome_levels: list[tuple[int, int]]) -> None:
    outcomes, _ = said(stack(levels_row("Leaf", outcome_levels), levels_row("Stout", [(2, 2)] * 60)))
    found = pieces(outcomes)
    assert sum(map(many, found)) == len(outcome_levels) == sum(many for _, many in counts_of(outcome_levels))
    spans = []
    for piece in found:
        own, label, leaders = bar(piece), texts(piece)[0], having(piece, "chart__run")
        first = (rects(piece)[1:] or glyphs(piece))[0]
        right = label.x + text_width(label.text, 15, bold=True)
        if not leaders:
            assert own.x <= first.x and right <= own.x + own.width
        else:
            spans.append((first.x, right))
            assert first.y > own.y + BAR
    if sum(b - a for a, b in spans) + 4 * len(spans) < WIDTH:
        assert all(a >= -0.5 and b <= WIDTH + 0.5 for a, b in spans)
        assert all(left[1] <= right[0] + 0.2 for left, right in zip(spans, spans[1:], strict=False))
    assert GLYPH <= BAR


def test_what_no_outcome_level_is_is_refused() -> None:
    with pytest.raises(ValueError, match="low one first"):
        levels_row("Leaf", [(4, 3)])
    with pytest.raises(ValueError, match="six words"):
        outcome_stack("Heads", [], outcome_words=OUTCOMES[:5])


@given(st.lists(st.text("abcdefgh", min_size=1, max_size=12), min_size=1, max_size=12))
def test_wrapping_loses_no_word(words: list[str]) -> None:
    text = " ".join(words)
    lines = wrapped(text, 60.0, size=13.5)
    assert " ".join(lines) == text
    assert all(text_width(line, 13.5) <= 60.0 or " " not in line for line in lines)
