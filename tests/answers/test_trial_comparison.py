"""Two trials side by side: every kind of change is found, none is made up, and what went together is said to."""

from __future__ import annotations

import pytest
from proofyard.answers.trial_comparison.factors import DiffRow, status_of
from proofyard.answers.trial_comparison.page import TrialComparison, read_trial_comparison
from proofyard.quantities.reason import because
from proofyard.storage import Storage

from tests import kit_for_tests as kit
from tests.bench.page_statements import counted
from tests.trials_for_tests import Shot, Two, plain_shots, shoot, yard_of_two


def compare(book: Storage, *trials: str, **query: str) -> TrialComparison:
    with book.read() as session:
        return read_trial_comparison(session, {"trial": list(trials), **{key: [value] for key, value in query.items()}}, reader="metric")


def changed(found: TrialComparison) -> dict[str, str]:
    """Key -> "some" or "every", without the questions."""
    return {row.key: row.status for row in found.changed}


def row(found: TrialComparison, key: str) -> DiffRow:
    return next(one for one in found.rows if one.key == key)


@pytest.fixture
def two(book: Storage) -> Two:
    return yard_of_two(book)


def test_nothing_is_made_up_where_nothing_changed(book: Storage, two: Two) -> None:
    """The same day, kit, place and question; the second half of one afternoon called another trial."""
    found = compare(book, shoot(book, two), shoot(book, two, spot=8))
    assert changed(found) == {}
    assert found.title == because("nothing_recorded_changed")
    assert found.between[0].every == () and found.between[0].some == () and found.between[0].alike is None
    assert because("cause_not_recorded") in found.between[0].told
    assert {"panel_type", "bow", "archer", "distance", "stand", "weather", "chronograph"} <= {one.key for one in found.same}
    assert [one.key for one in found.not_known] == ["held_fixed", "enough", "hardness"]


CHANGES = {
    "distance": ({"setup": {"distance": "20 m"}}, {"distance"}),
    "angle": ({"setup": {"angle": "30"}}, {"angle"}),
    "chronograph": ({"setup": {"chronograph_at": "3 m"}}, {"chronograph"}),
    "day": ({"day": "2026-10-17"}, {"day"}),
    "weather": ({"weather": {"temperature": "4 °C"}}, {"weather"}),
    "place": ({"weather": {"place": "The other yard"}}, {"place"}),
    "through": ({"through": "3"}, {"through"}),
    "fair distances": ({"near_opened": "80 mm"}, {"fair-plate"}),
    "the rule for the next shot": ({"next_shot_rule": "up_and_down"}, {"next_shot_rule"}),
    "held fixed": ({"held_fixed": "the wind"}, {"held_fixed"}),
}


@pytest.mark.parametrize("what", CHANGES)
def test_one_change_is_found_and_it_alone(book: Storage, two: Two, what: str) -> None:
    more, keys = CHANGES[what]
    trial_more = {name: value for name, value in more.items() if name not in ("setup", "weather", "day")}
    plain = {name: value for name, value in more.items() if name in ("setup", "weather", "day")}
    first = shoot(book, two)
    if "through" in trial_more:
        second = shoot(book, two, spot=8)
        kit.put(book, "trial", {"through": trial_more["through"]}, record_id=second, base_rev=1)
    else:
        second = shoot(book, two, spot=8, **plain, **trial_more)
    found = compare(book, first, second)
    # What was nowhere said in the first trial is a change too once the second says it.
    assert set(changed(found)) == keys
    assert all(status == "every" for status in changed(found).values())


def test_kit_that_changed_for_every_shot(book: Storage, two: Two) -> None:
    other_bow, other_stand = kit.bow(book, "Elm 80"), kit.stand(book, "Bale", gap="0 mm")
    first = shoot(book, two)
    second = shoot(book, two, plain_shots(two.tallow), spot=8, bow_build=other_bow.build, stand=other_stand)
    found = compare(book, first, second)
    # Who shot which bow follows from who and which: it is in the list, and no news in the sentence.
    assert changed(found) == {"bow": "every", "archer": "every", "stand": "every", "who_with": "every"}
    assert found.between[0].every == ("the bow", "who loosed", "the stand")
    assert found.title == because("changed_for_every_shot", factors=found.between[0].every)


def test_what_went_together_is_said_to_and_one_change_alone_is_not(book: Storage, two: Two) -> None:
    first = shoot(book, two)
    both = compare(book, first, shoot(book, two, day="2026-10-17", panel=two.thicker))
    assert both.between[0].every == ("the panel type", "the day")
    assert because("changed_together", every=both.between[0].every) in both.between[0].told
    alone = compare(book, first, shoot(book, two, panel=two.thicker))
    assert alone.between[0].every == ("the panel type",)
    assert alone.between[0].told == (because("only_one_thing_changed", factor="the panel type"),)


def test_other_panels_of_one_sort_are_a_change_of_their_own(book: Storage, two: Two) -> None:
    like = kit.panel(book, "P3", thickness="1.2 mm")
    found = compare(book, shoot(book, two), shoot(book, two, panel=like))
    assert changed(found) == {"panel": "every"} and found.between[0].every == ("the panels themselves",)


def test_a_change_for_some_shots_can_be_left_out_by_counting_like_with_like(book: Storage, two: Two) -> None:
    first = shoot(book, two)
    second = shoot(book, two, [Shot(two.wren, "52.0 m/s", "4")] * 4 + [Shot(two.tallow, "52.0 m/s", "2")] * 2, spot=8)
    found = compare(book, first, second)
    assert changed(found) == {"archer": "some", "who_with": "some"} and found.between[0].some == ("who loosed",)
    assert found.between[0].alike == (6, 4)
    alike = compare(book, first, second, alike="yes")
    assert [len(one.counted.counted) for one in alike.columns] == [6, 4]
    assert alike.columns[1].counted.left_out == (("Not alike", 2),)
    assert all(one.counted.loosed == 6 for one in alike.columns)


def test_of_three_trials_nothing_is_said_of_every_shot_that_two_of_them_share(book: Storage, two: Two) -> None:
    first, second = shoot(book, two), shoot(book, two, spot=8)
    third = shoot(book, two, panel=two.thicker)
    found = compare(book, first, second, third)
    assert found.title == because("different_between_these", factors=("the panel type",))
    assert [(one.every, one.some) for one in found.between] == [((), ()), (("the panel type",), ())]
    assert row(found, "panel_type").words == ("1.2\u00a0mm one-piece plate", "1.2\u00a0mm one-piece plate", "1.6\u00a0mm one-piece plate")


def test_hardness_of_some_heads(book: Storage, two: Two) -> None:
    kit.hardness(book, "head", two.arrow.head, slides="", bites="40")
    hard = kit.arrow(book, "8", masses=("60.0 g",), head_more={"name": "N8"}, diameter="10 mm")
    kit.hardness(book, "head", hard.head, slides="50", bites="55")
    found = compare(book, shoot(book, two), shoot(book, two, spot=8, arrow_build=hard.build))
    assert changed(found) == {"hardness": "every", "arrow": "every"}
    assert row(found, "hardness").words == ("softer than 40\u00a0HRC", "50 to 55\u00a0HRC")


def test_what_only_one_trial_wrote_down_is_not_known_and_no_change(book: Storage, two: Two) -> None:
    found = compare(book, shoot(book, two), shoot(book, two, spot=8, setup={"distance": "", "angle": ""}))
    assert changed(found) == {}
    assert {"distance", "angle"} <= {one.key for one in found.not_known}
    assert row(found, "distance").words == ("14\u00a0m", "not recorded")


def test_builds_between_are_told_with_what_was_done(book: Storage, two: Two) -> None:
    first = shoot(book, two)
    laced = kit.put(book, "panel_build", {"panel": two.panel.panel, "number": "2", "work": "beaten_flat", "note": "Cold, on the stake."})
    string = kit.put(
        book, "bow_build", {"bow": two.bow.bow, "number": "2", "work": "new string", "string": "flax, 20 strands", "brace_height": "170 mm"}
    )
    reground = kit.new_arrow_build(book, two.arrow)
    second = shoot(book, two, panel=kit.Panel(two.panel.panel, laced), bow_build=string, arrow_build=reground.build)
    found = compare(book, first, second)
    lines = {one.noun: one for one in found.builds}
    assert lines["panel"].words == "Trial 1: build 1; Trial 2: build 2. Build 2, beaten flat: Cold, on the stake."
    assert lines["bow"].words == (
        "Trial 1: build 1; Trial 2: build 2. Build 2, new string, string flax, 20 strands, before linen, braced at "
        "170\u00a0mm, before not recorded."
    )
    assert lines["arrow"].words == "Trial 1: build 1; Trial 2: build 2. Build 2, reground."
    assert {"panel", "bow", "arrow"} <= set(changed(found))
    assert lines["panel"].href == f"/panels/{laced}"


def test_a_panel_met_again_says_how_worn_it_was(book: Storage, two: Two) -> None:
    first = shoot(book, two)
    found = compare(book, first, shoot(book, two, day="2026-10-17", spot=8))
    (line,) = found.builds
    assert "The same build 1, nothing was done to it between" in line.words
    assert (
        "Trial 1: 0 earlier hits when it began on 10 October 2026; Trial 2: 6 earlier hits when it began on 17 October 2026" in line.words
    )


def test_a_bow_that_lost_weight_and_energy_is_told_by_its_figures(book: Storage, two: Two) -> None:
    first = shoot(book, two)
    slow = [Shot(two.wren, speed, "3") for speed in ("50.0 m/s", "50.4 m/s", "49.8 m/s", "50.2 m/s", "50.6 m/s", "50.0 m/s")]
    second = shoot(book, two, slow, spot=8)
    sessions = dict(zip((first, second), (_session(book, one) for one in (first, second)), strict=True))
    for trial, weights in ((first, ("95 lb", "94 lb")), (second, ("91 lb", "90 lb"))):
        for weight in weights:
            kit.put(book, "bow_check", {"bow_build": two.bow.build, "session": sessions[trial], "weight": weight})
    found = compare(book, first, second)
    assert set(changed(found)) == {f"weight-{two.bow.build}", f"energy-{two.bow.build}-{two.wren}"}
    # From the speeds themselves: half of 0.060 kg times the mean of their squares.
    energies = [0.5 * 0.060 * v * v for v in (52.0, 52.4, 51.8, 52.2, 52.6, 52.0)]
    words = row(found, f"energy-{two.bow.build}-{two.wren}").words[0]
    assert float(words.split("\u00a0")[0]) == pytest.approx(sum(energies) / 6, abs=0.06)
    # It is a figure, not a thing that a shot has or hasn't: the sentences leave it to the bands of energy.
    assert found.between[0].every == found.between[0].some == ()


def _session(book: Storage, trial: str) -> str:
    from proofyard.records.trial_days import days_of

    with book.read() as session:
        return days_of(session, trial_id=trial)[0].day.id


def test_the_counts_stand_in_the_same_bands_and_add_up(book: Storage, two: Two) -> None:
    first, second = shoot(book, two), shoot(book, two, plain_shots(two.wren, "333433"), panel=two.thicker)
    found = compare(book, first, second, at="chronograph", edges="60, 80, 81, 100")
    (head,) = found.results.heads
    # Of the six speeds only 51.8 m/s is under 81 J with 60 g.
    assert [(line.band.value, [cell.tally.words for cell in line.cells]) for line in head.bands] == [
        ("80-81", ["1 of 1", "0 of 1"]),
        ("81-100", ["4 of 5", "1 of 5"]),
    ]
    for n in (0, 1):
        assert sum(line.cells[n].tally.shots for line in head.bands) == len(found.columns[n].counted.counted) == 6
    hits = [sum(line.cells[n].tally.hits_low for line in head.bands) for n in (0, 1)]
    assert hits == [5, 1]


def test_other_meanings_of_through_are_counted_by_one_and_said(book: Storage, two: Two) -> None:
    first, second = shoot(book, two), shoot(book, two, spot=8)
    kit.put(book, "trial", {"through": "3"}, record_id=second, base_rev=1)
    found = compare(book, first, second)
    assert found.asked.settings.through.outcome_level == 4 and found.cautions[0].code == "through_means_differ"


def test_two_of_nothing_and_more_than_can_be_read(book: Storage, two: Two) -> None:
    with book.read() as session:
        assert read_trial_comparison(session, {}, reader="metric").lead == (because("no_trial_yet"),)
    first = shoot(book, two)
    one = compare(book, first)
    assert one.columns == () and one.lead == (because("only_one_trial"),)
    others = [kit.trial(book, f"Question {n}?") for n in range(5)]
    many = compare(book, first, *others)
    assert len(many.columns) == 4 and "4 at most" in many.picked.problems["trial"]
    lost = compare(book, first, "none")
    assert "does not exist" in lost.picked.problems["trial"]


def test_of_itself_the_newest_pair_that_follows_is_shown(book: Storage, two: Two) -> None:
    first = shoot(book, two)
    shoot(book, two, spot=8, question="Something else?")
    third = shoot(book, two, panel=two.thicker, follows=first, question="And at 1.6 mm?")
    with book.read() as session:
        found = read_trial_comparison(session, {}, reader="metric")
    assert [one.id for one in found.picked.trials] == [first, third] and found.lead[-1] == because("newest_pair_shown", follows=True)


def test_before_anything_is_read_it_speaks_of_what_was_loosed(book: Storage, two: Two) -> None:
    first = shoot(book, two)
    second = kit.trial(book, "Not shot yet?")
    found = compare(book, first, second)
    assert found.basis and row(found, "bow").status == "not_known" and changed(found).keys() <= {"question", "varied", "through"}


def test_it_asks_no_more_of_the_book_with_more_shots(book: Storage, two: Two) -> None:
    first, second = shoot(book, two), shoot(book, two, spot=8)
    with counted(book) as few:
        compare(book, first, second)
    for spot in (6, 12):
        shoot(book, two, panel=two.thicker, spot=spot)
    with counted(book) as many:
        compare(book, first, second)
    assert len(few) == len(many) <= 12


def test_a_shot_of_which_nobody_said_may_stand_on_either_side() -> None:
    assert status_of([{"a"}, {"b"}], [0, 0]) == "every"
    assert status_of([{"a"}, {"b"}], [0, 1]) == "some"
    assert status_of([{"a"}, {"a"}], [0, 1]) == "not_known"
