"""Groups compared: what so many could show, size and doubt, the order of questions, and each refusal, worked by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from server.findings.bands import Band
from server.findings.cells import CountedShot
from server.findings.comparison.asked import CompareAsked, declared_of
from server.findings.comparison.groups import Comparison, PairComparison, ShotGroup, compare_groups
from server.findings.comparison.kinds import KINDS
from server.findings.comparison.levels import ShareGap
from server.findings.comparison.page import CompareFindings, comparison_of
from server.findings.comparison.ranks import smallest_by_order
from server.findings.comparison.sentences import (
    could_lines,
    could_tell,
    level_sentence,
    more_of,
    question_lines,
    size_words,
    title_of,
    unjudged_words,
    unlike_lines,
)
from server.findings.loosed import Loosed, LoosedShot
from server.findings.through import Through
from server.quantities import Uncertain
from server.statistics.comparing_by_ranks import compare_depths, compare_ladders
from server.statistics.refusals import CantTell

# The fixtures of the filled book are imported by name, and pytest hands them in by the same name.
# ruff: noqa: F811
from tests.results_for_tests import Filled, book, filled, filled_once, loosed  # noqa: F401

LOW, HIGH = Band(40, 60), Band(60, 90)


@pytest.fixture
def one(loosed: Loosed) -> LoosedShot:
    """A fair shot with the long needle at plate, which the made-up ones are copies of."""
    return next(shot for shot in loosed.shots if shot.fact.label == "A1")


def counted(
    one: LoosedShot, rungs: str, *, energy: float = 50.0, u: float | None = 1.0, depths: Sequence[float | None] = (), **fact: object
) -> list[CountedShot]:
    """A shot for each letter of rungs: "4" sure, "o" for 3 or 4."""
    made = []
    for n, letter in enumerate(rungs):
        low, high = (3, 4) if letter == "o" else (int(letter), int(letter))
        depth = depths[n] if n < len(depths) else None
        changed = replace(one.fact, outcome_low=low, outcome_high=high, depth_m=depth, depth_bound=None, **fact)  # type: ignore[arg-type]
        made.append(CountedShot(replace(one, fact=changed), "", Uncertain(energy, u, None, 3), low >= 4, high >= 4, None))
    return made


def group(form: str, *shots: list[CountedShot], kind: str = "form") -> ShotGroup:
    every = [one for some in shots for one in some]
    every = [replace(one, shot=replace(one.shot, fact=replace(one.shot.fact, form=form))) for one in every] if kind == "form" else every
    return ShotGroup(KINDS[kind].group(every[0].shot.fact), tuple(every))


def compared(*groups: ShotGroup, bands: Sequence[Band] = (LOW, HIGH), kind: str = "form", **more: object) -> Comparison:
    found = compare_groups(groups, bands=bands, kind=KINDS[kind], **more)  # type: ignore[arg-type]
    assert isinstance(found, Comparison)
    return found


def pair_of(found: Comparison) -> PairComparison:
    assert len(found.pairs) == 1
    return found.pairs[0]


def p_of(found: Comparison, sort: str) -> float:
    return next(question.p_value for question in found.questions if question.sort == sort)


def test_nine_of_ten_against_three_of_ten_is_the_handbooks(one: LoosedShot) -> None:
    """Newcombe, Statistics in Medicine 1998 17:873, method 10: 0.1705 to 0.8090; Boschloo 0.007956 as scipy prints it."""
    found = compared(group("needle", counted(one, "4" * 9 + "2")), group("stout", counted(one, "4" * 3 + "2" * 7)))
    gap = pair_of(found).alike[0].gap
    assert gap is not None
    assert (round(gap.low, 4), round(gap.high, 4)) == (0.1705, 0.8090)
    assert p_of(found, "level") == pytest.approx(0.007956, abs=5e-7)
    words = level_sentence(pair_of(found), pair_of(found).alike[0], through=Through())
    assert words == (
        "At 40 to 60\N{NO-BREAK SPACE}J: the long needle 9 of 10 behind, the short stout 3 of 10. That is 60 points more; "
        "the true difference may be from 17 to 81 points more (95\N{NO-BREAK SPACE}%)."
    )
    assert title_of(found, Through()).startswith("At 40 to 60\N{NO-BREAK SPACE}J the long needle stood behind")


def test_size_and_doubt_are_said_in_words() -> None:
    assert "anything from 12 points less to 61 points more" in size_words(ShareGap(-0.12, 0.61, 0.3, 0.3, 0.2))
    assert "That is 30 points less; the true difference may be from 4 to 61 points less" in size_words(ShareGap(-0.61, -0.04, -0.3, -0.3, 0.01))
    assert "That is 17 to 50 points more, as some are still open" in size_words(ShareGap(-0.1, 0.8, 0.17, 0.5, 0.2))
    assert "That is no difference" in size_words(ShareGap(-0.4, 0.4, 0.0, 0.0, 1.0))
    assert "1 point more" in size_words(ShareGap(-0.4, 0.4, 0.01, 0.01, 1.0))


def test_three_against_three_can_tell_only_all_against_none(one: LoosedShot) -> None:
    """All against none of 3 and 3: the unconditional test's p is twice 1/2^6, at a common share of a half: 0.03125."""
    found = compared(group("needle", counted(one, "444")), group("stout", counted(one, "222")))
    line = could_lines(found)[0]
    assert line.alone == "3 against 3: only all against none could tell"
    question = next(one for one in found.questions if one.sort == "level")
    assert question.smallest_p == question.p_value == pytest.approx(2 / 2**6, rel=1e-3)


def test_what_no_result_could_answer_is_not_asked(one: LoosedShot) -> None:
    """Two against three: whatever came of them, p is above 0.05."""
    found = compared(group("needle", counted(one, "44")), group("stout", counted(one, "222")))
    assert found.questions == ()
    assert could_lines(found)[0].alone == "2 against 3: no result could tell"
    assert title_of(found, Through()) == "So few shots can’t tell these apart, however they had turned out"
    assert "2 against 3: no result could tell" in level_sentence(pair_of(found), pair_of(found).alike[0], through=Through())


def test_how_shots_ended_never_decides_what_is_asked(one: LoosedShot) -> None:
    """Else a test would be chosen by its answer."""
    asked = [
        [(question.key, question.smallest_p) for question in compared(group("needle", counted(one, ours)), group("stout", counted(one, theirs))).questions]
        for ours, theirs in (("55555", "11111"), ("11111", "55555"), ("44444", "44411"))
    ]
    assert asked[0] == asked[1] == asked[2]


def test_a_level_whose_mean_energies_differ_is_not_ranked(one: LoosedShot) -> None:
    """50 and 55 J, each known to 1 J: 5 apart where 1.4 is the doubt of the difference."""
    found = compared(group("needle", counted(one, "44444", energy=55.0)), group("stout", counted(one, "22222", energy=50.0)))
    pair = pair_of(found)
    assert pair.alike == () and found.questions == () and pair.levels[0].gap is None
    assert "differ by more than their doubt, 55.0 ± 1.0 J and 50.0 ± 1.0 J" in unlike_lines(pair)[0].replace("\N{NO-BREAK SPACE}", " ")
    assert title_of(found, Through()) == "These can’t be ranked"
    assert "differ by more than their doubt" in more_of(found)[0]


def test_energies_of_unknown_doubt_rank_nothing(one: LoosedShot) -> None:
    found = compared(group("needle", counted(one, "44444", u=None)), group("stout", counted(one, "22222")))
    assert found.questions == () and "may be off isn’t known" in unlike_lines(pair_of(found))[0]


def test_heads_shot_at_different_sorts_of_panel_are_not_ranked(one: LoosedShot) -> None:
    found = compared(group("needle", counted(one, "44444", construction="mail")), group("stout", counted(one, "22222")))
    assert found.questions == () and "the sort of panel differs too" in unlike_lines(pair_of(found))[0]


def test_a_mixture_of_heads_ranks_no_panels(one: LoosedShot) -> None:
    mixed = counted(one, "444", panel_id="a", panel_name="A") + counted(one, "44", panel_id="a", panel_name="A", form="stout")
    found = compared(group("", mixed, kind="panel"), group("", counted(one, "22222", panel_id="b", panel_name="B"), kind="panel"), kind="panel")
    assert "mixes head forms" in unlike_lines(pair_of(found))[0]
    alone = compared(group("", mixed[:3], kind="panel"), group("", counted(one, "22222", panel_id="b", panel_name="B"), kind="panel"), kind="panel")
    assert pair_of(alone).alike and alone.questions


def test_two_trials_may_differ_in_head_or_in_panel_but_not_in_both(one: LoosedShot) -> None:
    first = group("", counted(one, "44444", trial_id="t1", question="One?"), kind="trial")
    other_panel = group("", counted(one, "22222", trial_id="t2", question="Two?", construction="mail"), kind="trial")
    both = group("", counted(one, "22222", trial_id="t2", question="Two?", construction="mail", form="leaf"), kind="trial")
    assert pair_of(compared(first, other_panel, kind="trial")).alike
    assert "the head form and the sort of panel differ too" in unlike_lines(pair_of(compared(first, both, kind="trial")))[0]


def test_a_level_with_one_of_the_two_alone_says_so(one: LoosedShot) -> None:
    found = compared(group("needle", counted(one, "4444")), group("stout", counted(one, "2222", energy=70.0)))
    assert unlike_lines(pair_of(found)) == [
        "Only the long needle was shot at 40 to 60\N{NO-BREAK SPACE}J.", "Only the short stout was shot at 60 to 90\N{NO-BREAK SPACE}J.",
    ]  # fmt: skip
    assert "nothing tells them from the energy" in more_of(found)[0]


def test_levels_are_joined_by_order_within_each(one: LoosedShot) -> None:
    """Three against three at two levels, all of one through and none of the other: 2 of C(6,3)^2 = 400 ways, 0.005."""
    found = compared(
        group("needle", counted(one, "555"), counted(one, "555", energy=70.0)),
        group("stout", counted(one, "111"), counted(one, "111", energy=70.0)),
    )
    assert p_of(found, "through") == p_of(found, "ladder") == pytest.approx(2 / 400)
    question = next(one for one in found.questions if one.sort == "through")
    assert question.smallest_p == question.p_value


@pytest.mark.parametrize("sizes", [[(3, 3)], [(2, 4)], [(3, 3), (2, 2)], [(3, 2), (1, 4)], [(5, 1)]])
def test_the_least_p_by_order_is_what_counting_every_order_gives(sizes: list[tuple[int, int]]) -> None:
    rungs, is_first, levels = [], [], []
    for n, (first, second) in enumerate(sizes):
        rungs += [(5, 5)] * first + [(1, 1)] * second
        is_first += [True] * first + [False] * second
        levels += [f"level {n}"] * (first + second)
    counted_out = compare_ladders(rungs, is_first, energy_levels=levels)
    assert not isinstance(counted_out, CantTell)
    assert smallest_by_order(sizes) == pytest.approx(counted_out.p_value)


def test_so_many_shots_are_not_asked_how_few_would_do(one: LoosedShot) -> None:
    found = compared(group("needle", counted(one, "4" * 20 + "2" * 10)), group("stout", counted(one, "4" * 10 + "2" * 20)))
    assert could_lines(found)[0].alone == "30 against 30: enough for a clear difference"
    assert p_of(found, "level") < 0.05 and all(could_tell(question, found) for question in found.questions)


def test_energy_is_not_taken_for_the_head(one: LoosedShot) -> None:
    """The needle was shot mostly at the strong level, the stout mostly at the weak one; within each they are alike."""
    found = compared(
        group("needle", counted(one, "11"), counted(one, "5" * 8, energy=70.0)),
        group("stout", counted(one, "1" * 8), counted(one, "55", energy=70.0)),
    )
    assert p_of(found, "ladder") == p_of(found, "through") == 1.0
    ladder = pair_of(found).ladder
    assert not isinstance(ladder, CantTell) and ladder.higher_share == 0.5


def test_depth_by_ranks_at_one_level_is_mann_and_whitneys(one: LoosedShot) -> None:
    """Four against four, wholly apart: 2 of 70 ways, 0.0286; the same p as compare_depths gives."""
    ours, theirs = [0.012, 0.020, 0.025, 0.031], [0.005, 0.006, 0.008, 0.011]
    found = compared(group("needle", counted(one, "4444", depths=ours)), group("stout", counted(one, "4444", depths=theirs)))
    direct = compare_depths(ours, theirs)
    assert not isinstance(direct, CantTell)
    assert p_of(found, "depth") == pytest.approx(2 / 70) == pytest.approx(direct.p_value)


def test_a_tip_that_is_not_behind_is_the_least_deep_of_all(one: LoosedShot) -> None:
    found = compared(group("needle", counted(one, "4444", depths=[0.004, 0.005, None, 0.01])), group("stout", counted(one, "2222")))
    depth = pair_of(found).depth
    assert not isinstance(depth, CantTell)
    # The one behind that nobody measured is still deeper than what is not behind.
    assert depth.higher_share == 1.0


def test_depth_says_nothing_while_nothing_is_behind_or_measured(one: LoosedShot) -> None:
    none = pair_of(compared(group("needle", counted(one, "2222")), group("stout", counted(one, "3333"))))
    assert isinstance(none.depth, CantTell) and "no tip stood behind" in none.depth.reason
    unmeasured = pair_of(compared(group("needle", counted(one, "4444")), group("stout", counted(one, "3333"))))
    assert isinstance(unmeasured.depth, CantTell) and "nobody measured" in unmeasured.depth.reason


def test_an_open_outcome_widens_the_range_and_is_taken_as_alike_in_the_test(one: LoosedShot) -> None:
    """3 or 4 of 4 against 0 of 4: the range holds both, and p is that of 3 of 4."""
    open_one = compared(group("needle", counted(one, "444o")), group("stout", counted(one, "2222")))
    three = compared(group("needle", counted(one, "4442")), group("stout", counted(one, "2222")))
    four = compared(group("needle", counted(one, "4444")), group("stout", counted(one, "2222")))
    gaps = [pair_of(found).alike[0].gap for found in (open_one, three, four)]
    assert gaps[0] and gaps[1] and gaps[2]
    assert (gaps[0].low, gaps[0].high) == (gaps[1].low, gaps[2].high)
    assert (gaps[0].difference_low, gaps[0].difference_high) == (0.75, 1.0)
    assert p_of(open_one, "level") == p_of(three, "level") > p_of(four, "level")


def test_which_group_stands_first_changes_only_the_sign(one: LoosedShot) -> None:
    groups = group("needle", counted(one, "44442", energy=50.5)), group("stout", counted(one, "42222"))
    there, back = compared(*groups), compared(*reversed(groups))
    assert [question.p_value for question in there.questions] == [question.p_value for question in back.questions]
    gaps = [pair_of(found).alike[0].gap for found in (there, back)]
    assert gaps[0] and gaps[1] and (gaps[0].low, gaps[0].high) == pytest.approx((-gaps[1].high, -gaps[1].low))


def test_the_declared_question_is_judged_first_and_alone(one: LoosedShot) -> None:
    groups = [group(form, counted(one, rungs)) for form, rungs in (("needle", "44444"), ("stout", "22222"), ("leaf", "22244"))]
    plain, named = compared(*groups), compared(*groups, declared=("stout", "needle"))
    question = named.questions[0]
    assert question.declared and question.pair == "needle~stout" and question.sort == "level"
    assert question.judged and question.judged.adjusted == question.p_value
    before = next(one for one in plain.questions if one.key == question.key)
    # All the questions of three pairs pay for each other where none was declared (Holm: the smallest p times all).
    assert before.judged and before.judged.adjusted == pytest.approx(min(1.0, before.p_value * len(plain.questions)), rel=0.2)
    assert before.judged.adjusted > question.judged.adjusted
    assert named.rest == len(plain.questions) - 1
    assert "asked beforehand" in question_lines(named)[0].words


def test_a_declared_question_that_cannot_be_judged_says_why(one: LoosedShot) -> None:
    few = compared(group("needle", counted(one, "44")), group("stout", counted(one, "222")), declared=("needle", "stout"))
    assert unjudged_words(few) == "It can’t be judged here: no result of so many shots could tell."
    apart = compared(group("needle", counted(one, "44444", energy=55.0)), group("stout", counted(one, "22222")), declared=("needle", "stout"))
    assert unjudged_words(apart) == "It can’t be judged here: at no energy level may the two be ranked."
    judged = compared(group("needle", counted(one, "44444")), group("stout", counted(one, "22222")), declared=("needle", "stout"))
    assert unjudged_words(judged) == "" and judged.questions[0].declared


def test_a_question_that_could_tell_alone_may_not_among_many(one: LoosedShot) -> None:
    groups = [group(form, counted(one, "444")) for form in ("needle", "stout", "leaf")]
    found = compared(*groups)
    assert found.questions and not any(could_tell(question, found) for question in found.questions)
    assert {line.among for line in could_lines(found)} <= {"no result could tell", "not asked"}


def test_what_goes_together_with_the_groups_is_said(one: LoosedShot) -> None:
    found = compared(group("needle", counted(one, "44444", archer="Wren")), group("stout", counted(one, "22222", archer="Tallow")))
    assert pair_of(found).beside == ("archer",)


@pytest.mark.parametrize("groups, reason", [(0, "none of these has a shot"), (1, "only one of these has shots")])
def test_one_group_has_nothing_to_be_compared_with(one: LoosedShot, groups: int, reason: str) -> None:
    some = [group("needle", counted(one, "44")), ShotGroup(KINDS["form"].group(replace(one.fact, form="leaf")), ())][1 - groups :]
    found = compare_groups(some, bands=(LOW,))
    assert isinstance(found, CantTell) and found.reason.startswith(reason)


# The page's findings, on the filled book


def page(loosed: Loosed, **query: object) -> CompareFindings:
    return comparison_of(loosed, {name: [value] if isinstance(value, str) else value for name, value in query.items()})  # type: ignore[misc]


def test_the_groups_counts_are_those_of_the_results_page(loosed: Loosed) -> None:
    """The same hand count as in test_results: one-piece plate, bands at 70, 90, 110 J."""
    found = page(loosed, construction="plate", edges="70, 90, 110, 130")
    assert found.comparison is not None
    counts = {group.key: [cell.tally.words for cell in group.cells] for group in found.comparison.groups}
    assert counts["needle"] == ["1 of 5", "6 of 8", "5 of 5"] and counts["barbed"] == ["0 of 3", "0 of 5", "0 of 5"]
    assert found.counted + sum(row.count for row in found.left_out) == found.loosed


def test_every_group_says_what_of_it_counts_and_what_does_not(loosed: Loosed, filled: Filled) -> None:
    found = page(loosed, by="panel", of=[filled.panels[name].panel for name in ("P1", "P5", "L1")])
    words = {one.row.words: one.words for one in found.groups}
    assert words["P5"] == "none of 1 loosed count; 1 fair or not: not known (not tested)"
    assert words["L1"] == "none of 1 loosed count; 1 by a gap"


def test_nothing_read_and_all_on_damaged_spots_are_said_so(loosed: Loosed) -> None:
    blind = [replace(shot, fact=replace(shot.fact, hit=None, outcome_low=None)) for shot in loosed.shots]
    found = page(replace(loosed, shots=tuple(blind)))
    assert found.finding.title == "Nothing to compare: none of these has a shot that counts here"
    assert all("unread" in words for words in found.finding.more)
    worn = [
        replace(shot, fair=replace(shot.fair, answer="not_fair", sort="near")) if shot.fair else shot for shot in loosed.shots
    ]
    assert any("not fair" in words for words in page(replace(loosed, shots=tuple(worn))).finding.more)


def test_wrong_answers_get_a_sentence_and_the_rest_is_kept(loosed: Loosed) -> None:
    found = page(loosed, by="colour", of="needle", first="a~b", edges="low", construction="plate")
    assert set(found.compare.problems) == {"by", "of", "first"} and set(found.asked.problems) == {"edges"}
    assert found.settings.only == {"construction": "plate"} and found.compare.kind.key == "form"
    assert page(loosed, of=["needle", "dragon"]).compare.problems["of"].startswith("One that you ticked")


def test_more_groups_than_questions_can_bear_are_cut_by_number_alone(loosed: Loosed) -> None:
    found = page(loosed, by="head")
    assert len(found.compare.groups) == 5 and found.compare.unpicked == len(found.compare.offered) - 5
    every = [row.key for row in found.compare.offered]
    assert "6" not in page(loosed, by="head", of=every[:5]).compare.problems.get("of", "")
    assert page(loosed, by="head", of=every[:6]).compare.problems["of"].startswith("6 at once")


def declared(loosed: Loosed, varied: str | None, *, question: str = "What gets through?", shots: Sequence[str] | None = None, **query: object) -> tuple[object, str]:
    for trial in loosed.trials.values():
        trial.varied, trial.question = varied, question
    mine = [shot for shot in loosed.shots if shots is None or shot.fact.form in shots]
    kept = replace(loosed, shots=tuple(mine))
    asked: CompareAsked = page(kept, construction="plate", **query).compare
    found = declared_of(asked, kept, counted=[shot for shot in mine if shot.fact.construction == "plate"])
    return found.pair, found.words


def test_what_the_trial_varies_is_its_question_only_where_it_means_one_pair(loosed: Loosed) -> None:
    pair, words = declared(loosed, "head form")
    assert pair is None and "no two of these head forms alone" in words
    # Two picked out of four after the fact are not what the trial asked about.
    assert declared(loosed, "head form", of=["needle", "leaf"])[0] is None
    assert declared(loosed, "head form", question="Is the leaf worse than the needle?")[0] == ("needle", "leaf")
    assert declared(loosed, "head form", shots=("needle", "leaf"))[0] == ("needle", "leaf")
    assert declared(loosed, "bow")[0] is None and "not head forms" in declared(loosed, "bow")[1]
    assert "doesn’t say what it varies" in declared(loosed, None)[1]


def test_the_reader_may_say_what_was_asked_beforehand(loosed: Loosed) -> None:
    found = page(loosed, construction="plate", first="needle~leaf")
    assert found.declared.pair == ("needle", "leaf") and "You say" in found.declared.words
    assert page(loosed, construction="plate", first="none").declared.pair is None


def test_several_trials_declare_nothing(loosed: Loosed) -> None:
    assert "2 trials" in page(loosed).declared.words


def test_energies_chosen_by_the_outcomes_are_told_by_level_or_not_at_all(loosed: Loosed) -> None:
    for trial in loosed.trials.values():
        trial.next_shot_rule = "up_and_down"
    by_level = page(loosed, construction="plate", edges="70, 90, 110, 130")
    assert by_level.to_mind[0].kind == "chosen_energies" and not by_level.finding.title.startswith("Energies were chosen")
    assert page(loosed, construction="plate", edges="0").finding.title.startswith("Energies were chosen by the outcomes so far")


def test_what_the_tool_minds_stands_beside_the_comparison(loosed: Loosed) -> None:
    """The broad barbed of one bow were all one arrow's, and every shot of the day was Wren's or without an energy."""
    kinds = {caveat.kind for caveat in page(loosed, construction="plate").to_mind}
    assert kinds, "a hundred shots of a dozen arrows on a few panels without anything to mind"
    assert not {caveat.kind for caveat in page(loosed, by="panel").to_mind} & {"one_panel", "head_and_panel"}
