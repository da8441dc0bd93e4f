"""What columns of strangers' sheets are taken for: most rightly, few wrongly, and what can't be told is left to the person."""

from __future__ import annotations

import pytest
from proofyard.exchange.bring_in.guess import Guess, guesses, known_words
from proofyard.exchange.bring_in.table import COMMENT, SECOND, TOTAL, UNITS, Table, heading_row, table_of
from proofyard.exchange.bring_in.targets import targets_of
from proofyard.exchange.bring_in.text_file import read_text
from proofyard.exchange.bring_in.values import Answer, value_of

from tests.exchange.bring_in.held_out_sheets import HELD_OUT
from tests.exchange.bring_in.public_sheets import PUBLIC


def read(holds: str, content: str | bytes) -> tuple[Table, tuple[Guess, ...]]:
    sheet = read_text(content.encode() if isinstance(content, str) else content)
    words = known_words(holds)
    table = table_of(sheet, heading_row(sheet, words), words)
    return table, guesses(table, holds)


def guessed(holds: str, content: str | bytes) -> list[str]:
    return [one.answer.target for one in read(holds, content)[1]]


def tally(sheets: dict[str, tuple[str, str, tuple[str, ...]]]) -> tuple[float, float, int]:
    """Shares of columns that are right and wrong, and how many there are."""
    right = wrong = count = 0
    for holds, content, expected in sheets.values():
        found = guessed(holds, content)
        assert len(found) == len(expected)
        count += len(found)
        right += sum(one == other for one, other in zip(found, expected, strict=True))
        wrong += sum(one not in ("", other) for one, other in zip(found, expected, strict=True))
    return right / count, wrong / count, count


def test_of_sheets_never_seen_before_four_in_five_columns_are_right_and_hardly_one_is_wrong() -> None:
    right, wrong, count = tally(HELD_OUT)
    assert count > 100
    assert right >= 0.80
    assert wrong <= 0.03


def test_of_ten_public_tables_no_column_is_wrong() -> None:
    right, wrong, count = tally(PUBLIC)
    assert len(PUBLIC) == 10 and count > 45
    assert right >= 0.90
    assert wrong == 0


@pytest.mark.parametrize("name", PUBLIC)
def test_the_headings_of_a_public_table_are_found(name: str) -> None:
    holds, content, expected = PUBLIC[name]
    table, _ = read(holds, content)
    assert table.heading_row == 1 and len(table.lines) == content.count("\n") - 1 and not table.beside
    assert len(table.headings) == len(expected)


def column(holds: str, heading: str, *values: str) -> Guess:
    """One column beside another that names the row."""
    rows = "".join(f"n{at};{value}\n" for at, value in enumerate(values))
    return read(holds, f"name;{heading}\n{rows}")[1][1]


def test_a_comma_is_decided_by_what_is_possible_in_the_whole_column() -> None:
    guess = column("arrow", "Arrow weight", "1,120 gr", "1,065 gr")
    assert (guess.answer.target, guess.answer.numbers, guess.asks) == ("mass", "point", "")
    assert value_of(targets_of("arrow")["mass"], guess.answer, "1,120 gr").text == "1120 gr"
    guess = column("arrow", "Arrow weight", "1.120 gr", "1.065 gr")
    assert guess.answer.numbers == "comma"
    assert value_of(targets_of("arrow")["mass"], guess.answer, "1.065 gr").text == "1065 gr"


def test_a_number_alone_takes_the_unit_of_its_heading_and_else_the_one_in_which_all_are_possible() -> None:
    assert column("arrow", "Arrow weight (gr)", "1120", "1065").answer.unit == "gr"
    assert column("arrow", "Arrow weight", "1120", "1065").answer.unit == "gr"
    assert column("arrow", "Arrow weight", "72", "65.5").answer.unit == "g"
    assert column("arrow", "Shaft length", "31", "30.5").answer.unit == "in"


def test_which_of_two_figures_is_the_month_is_asked_only_where_no_day_tells() -> None:
    assert column("shot", "Date", "3/4/2025", "5/4/2025").asks == "days"
    assert column("shot", "Date", "3/4/2025", "25/4/2025").answer.days == "dmy"
    assert column("shot", "Date", "3/4/2025", "4/25/2025").answer.days == "mdy"
    assert column("shot", "Date", "3.4.2025", "5.4.2025").asks == ""


def test_counts_of_several_shots_become_a_note_never_shots() -> None:
    for values in (("5/8", "2/8"), ("2 of 8", "0 of 8")):
        guess = column("shot", "Hits", *values)
        assert (guess.answer.target, guess.asks) == ("note", "group")
    assert not any("unread" in guessed(holds, content) for holds, content, _ in (*HELD_OUT.values(), *PUBLIC.values()))


def test_a_bows_mark_goes_to_the_reader_that_takes_weight_and_draw() -> None:
    guess = column("bow", "Poundage", '112 lb @ 30"', "110@31")
    assert guess.answer.target == "weight"
    assert [value_of(targets_of("bow")["weight"], guess.answer, text).problem for text in ('112 lb @ 30"', "110@31")] == ["", ""]


def test_a_yes_and_a_no_are_no_levels_of_the_outcome() -> None:
    outcome = targets_of("shot")["outcome"]
    assert value_of(outcome, Answer("outcome"), "1").problem
    guess = column("shot", "Result", "0", "1", "4")
    assert value_of(outcome, guess.answer, "1").text == "1"


def test_totals_comments_units_and_second_tables_are_seen_and_not_taken() -> None:
    table, _ = read(
        "arrow",
        "My arrows\nTag;Mass;Wood\n;g;\n1;60;ash\n;;\n2;62;ash\nthese two are for the windy days;;\n"
        "Total;122;\n;;\nString;Strands;Colour\nS1;12;red\n",
    )
    assert [line.cells[0] for line in table.lines] == ["1", "2"]
    assert [line.why_not for line in table.beside][1:] == [UNITS, COMMENT, TOTAL, SECOND, SECOND]
    assert table.headings[1].unit == "g"


def test_a_table_beside_another_is_not_mixed_with_it() -> None:
    table, found = read("arrow", "Tag;Mass (g);Wood;;Bow;Draw weight\n1;60;ash;;Yew;110\n2;62;ash;;Ash;70\n")
    assert [one.answer.target for one in found] == ["tag", "mass", "material"] and table.second == ("Bow", "Draw weight")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_letters_of_any_usual_encoding_are_read(encoding: str) -> None:
    table, _ = read("bow", "Name;Brace height (mm)\nÉlan – Eibe;165,5\n".encode(encoding))
    assert table.lines[0].cells == ("Élan – Eibe", "165,5")
