"""Several invented groups asked one question: each by the functions of its own pages, together only where that can be told."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, closing
from pathlib import Path

import pytest
from proofyard.answers.fifty_percent.page import read_fifty_percent
from proofyard.answers.pool.page import GroupsBook, Pool, measures_words, read_pool
from proofyard.exchange.pool_csv import COLUMNS, pool_table
from proofyard.quantities.reason import CantTell
from proofyard.records import devices
from proofyard.records.shot_facts import shot_facts
from proofyard.statistics.several_groups import OverGroups, over_groups_with_ends, share_over_groups
from proofyard.wording.reasons.said import said

from tests import kit_for_tests as kit
from tests.conftest import copied, opened
from tests.invented_days import Plan, Truth, shoot_day

pytestmark = pytest.mark.slow  # three books are shot

# What only the armour knows: groups that really differ, about 78 J.
TRUE_J = {"Quarry": 72.0, "Weir": 78.0, "Heath": 84.0}
ALONE = Plan(heads=("needle",), shots_a_head=24, varied="energy", question="At which energy does the needle get through?")


@pytest.fixture(scope="module")
def groups(tmp_path_factory: pytest.TempPathFactory, empty_book_file: Path) -> Iterator[dict[str, GroupsBook]]:
    """The three, and Fen, whose plates are 1.2 mm."""
    folder = tmp_path_factory.mktemp("groups")
    plans = {name: (half, ALONE) for name, half in TRUE_J.items()} | {"Fen": (62.0, Plan(**{**vars(ALONE), "thickness": "1.2 mm"}))}
    with ExitStack() as stack:
        found = {}
        for seed, (name, (half, plan)) in enumerate(plans.items(), start=1):
            book = stack.enter_context(closing(opened(copied(empty_book_file, folder / name))))
            with book.write() as session:
                devices.make_book(session)
            shoot_day(book, Truth({"needle": half}, slope=9.0), plan, seed=seed)
            found[name] = GroupsBook(name, f"/other-books/{name}", book, own=seed == 1)
        yield found


def asked(groups: dict[str, GroupsBook], *names: str, **query: str) -> Pool:
    return read_pool([groups[name] for name in names], {name: [text] for name, text in query.items()}, reader="metric")


def test_each_groups_energy_is_that_of_its_own_page(groups: dict[str, GroupsBook]) -> None:
    found = asked(groups, *TRUE_J)
    for row in found.groups:
        page = read_fifty_percent(groups[row.name].book, {"at": ["target"], "through": ["4"]}, reader="metric")
        (part,) = page.parts
        theirs, ours = part.heads[0].found.point, row.found.point
        assert theirs is not None and ours is not None
        assert (theirs.energy_j, theirs.low_j, theirs.high_j, theirs.chosen) == (ours.energy_j, ours.low_j, ours.high_j, ours.chosen)
        assert (part.heads[0].found.shots, part.heads[0].found.hits) == (row.settled, row.hits)


def test_together_they_are_what_the_statistics_say_and_hold_the_truth(groups: dict[str, GroupsBook]) -> None:
    found = asked(groups, *TRUE_J)
    points = [row.found.point for row in found.groups]
    ends = [(one.energy_j, one.low_j, one.high_j) for one in points if one]
    assert isinstance(found.together, OverGroups)
    assert found.together == over_groups_with_ends(ends, limit_factor=[one.limit_times for one in points if one])
    assert found.together.low < 78.0 < found.together.high and found.together.groups == 3
    words = said(found.finding)
    assert words.startswith("Over 3 groups and 72 shots, the 50\u00a0% energy of the") and "wide by nature" in words


def test_two_groups_are_never_pooled(groups: dict[str, GroupsBook]) -> None:
    found = asked(groups, "Quarry", "Weir")
    assert isinstance(found.together, CantTell)
    assert "it takes 3 groups" in said(found.finding).lower() and "read each by itself" in said(found.finding)
    assert all(row.found.point for row in found.groups), "each group's own figure still stands"


def test_other_armour_by_its_measures_is_refused_until_the_limits_leave_it_out(groups: dict[str, GroupsBook]) -> None:
    names = (*TRUE_J, "Fen")
    words = said(asked(groups, *names).finding)
    assert words.startswith("The armour differs: the thickness of Quarry’s panels is 33\u00a0% more than of Fen’s.")
    narrowed = asked(groups, *names, thickness_from="1.4 mm")
    assert isinstance(narrowed.together, OverGroups) and narrowed.together.groups == 3
    assert [row.settled for row in narrowed.groups] == [24, 24, 24, 0]
    assert said(narrowed.groups[-1].told("energy")) == "no such shots"


def test_milder_steel_is_other_armour_where_every_group_knows_how_hard_its_panels_are(groups: dict[str, GroupsBook]) -> None:
    """Thickness alone would read a panel of 120 HV and one of 200 HV together."""
    told = {"Quarry": "120 HV", "Weir": "200 HV", "Heath": "205 HV"}
    written = [(groups[name], _judge(groups[name], typed)) for name, typed in list(told.items())[:2]]
    assert isinstance(asked(groups, *TRUE_J).together, OverGroups), "what one group doesn't know refuses nothing"
    written.append((groups["Heath"], _judge(groups["Heath"], told["Heath"])))
    try:
        found = asked(groups, *TRUE_J)
        assert said(found.finding).startswith("The armour differs: the hardness of Heath’s panels is 71\u00a0% more than of Quarry’s.")
        assert measures_words(found.groups[0], "metric").endswith("120\u00a0HV") and found.groups[2].hardness_hv == 205
        milder = asked(groups, *TRUE_J, hardness_to="150")
        assert [row.settled for row in milder.groups] == [24, 0, 0] and not milder.asked.problems
        assert [dict(zip((column.name for column in COLUMNS), row, strict=True))["hardness_hv"] for row in pool_table(found).rows] == [
            120.0,
            200.0,
            205.0,
            None,
        ]
    finally:
        for group, readings in written:
            for one in readings:
                kit.void(group.book, "hardness_reading", one)
    assert isinstance(asked(groups, *TRUE_J).together, OverGroups)


def test_another_scale_is_refused_beside_its_box(groups: dict[str, GroupsBook]) -> None:
    problems = asked(groups, *TRUE_J, hardness_from="25 HRC", hardness_to="soft").asked.problems
    assert problems["hardness_from"].startswith("That is in HRC. Groups are asked on one scale, Vickers") and "hardness_to" in problems


def _judge(group: GroupsBook, typed: str) -> list[str]:
    """What a tester says of every panel that this group shot at."""
    with group.book.read() as session:
        builds = sorted({fact.panel_build_id for fact in shot_facts(session)})
    return [kit.put(group.book, "hardness_reading", {"noun": "panel_build", "record": build, "value": typed}) for build in builds]


def test_a_share_holds_at_one_energy_and_none_and_all_count_too(groups: dict[str, GroupsBook]) -> None:
    assert "enter an energy to begin at" in said(asked(groups, *TRUE_J, figure="share").finding)
    found = asked(groups, *TRUE_J, figure="share", energy_from="70 J", energy_to="90 J")
    counts = [(row.hits, row.settled) for row in found.groups]
    assert min(shots for _, shots in counts) >= 5 and found.together == share_over_groups(counts)
    for row in found.groups:
        told = said(row.told("share"))
        assert told.startswith(f"{row.hits} of {row.settled} through, 95\u00a0% interval ") and told.endswith("few shots") is (
            row.settled < 10
        )


def test_limits_that_cross_and_words_that_are_no_measure_are_said_by_their_boxes(groups: dict[str, GroupsBook]) -> None:
    problems = asked(groups, *TRUE_J, thickness_from="2 mm", thickness_to="1 mm", energy_from="much", head="spoon").asked.problems
    assert set(problems) == {"thickness_to", "energy_from", "head"}
    assert problems["thickness_to"] == "Enter a limit that is not below the first one."


def test_methods_are_told_and_what_differs_is_known(groups: dict[str, GroupsBook]) -> None:
    told = {row.term: row for row in asked(groups, *TRUE_J, "Fen").methods}
    assert told["Thickness of the panels"].words == ("1.6\u00a0mm",) * 3 + ("1.2\u00a0mm",) and told["Thickness of the panels"].differs
    assert told["Distance"].words[0] == "14\u00a0m" and not told["Distance"].differs
    assert told["Speed read with"].words[0] == "Chronograph (speed)"
    assert told["Hardness judged with"].words[0] == "panels: not recorded; heads: not recorded"
    assert told["Panels, arrows, bows and days"].words[0].endswith("4 arrows, 3 bows, 1 day")


def test_its_table_has_a_row_a_group_and_one_for_all(groups: dict[str, GroupsBook]) -> None:
    table = pool_table(asked(groups, *TRUE_J))
    places = {one.name: n for n, one in enumerate(COLUMNS)}
    assert [row[places["group"]] for row in table.rows] == [*TRUE_J, None]
    assert all(len(row) == len(COLUMNS) for row in table.rows)
    assert [row[places["shots"]] for row in table.rows] == [24, 24, 24, 72]
    refused = pool_table(asked(groups, "Quarry", "Weir"))
    assert refused.rows[-1][places["value"]] is None and "it takes 3 groups" in str(refused.rows[-1][places["why_not"]])


def test_in_feet_and_pounds_nothing_is_left_in_metric(groups: dict[str, GroupsBook]) -> None:
    found = read_pool([groups[name] for name in TRUE_J], {}, reader="archery")
    assert "ft·lbf" in said(found.finding, "archery") and "ft·lbf" in "".join(str(one) for one in found.drawing.marks)


def test_no_book_with_a_shot_says_so() -> None:
    assert said(read_pool([], {}, reader="metric").finding) == "No group has a counted shot like this."
