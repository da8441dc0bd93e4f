"""What the results count, what they leave out, and what they dare to say. The expected counts are counted by hand."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from server.findings.cells import FEWEST_FOR_PERCENT, depths_of, mean_energy, tally_of
from server.findings.left_out import REASONS, standing
from server.findings.listed_shots import shot_list_of
from server.findings.loosed import Loosed, LoosedShot
from server.findings.results import Results, read_results, results_of, sort_shots
from server.findings.sentences import energies_alike
from server.findings.view_settings import ViewSettings
from server.quantities import Uncertain
from server.storage import Storage
from tests import kit_for_tests as kit

# The fixtures of the filled book are imported by name, and pytest hands them in by the same name.
# ruff: noqa: F811
from tests.results_for_tests import Filled, book, filled, filled_once, loosed  # noqa: F401

BANDS = {"edges": ["70, 90, 110, 130"]}


def counts(results: Results) -> dict[str, list[str]]:
    return {group.form: [cell.tally.words for cell in group.cells] for group in results.groups}


def labels(loosed: Loosed, *wanted: str) -> list[LoosedShot]:
    return [shot for shot in (*loosed.shots, *loosed.struck) if shot.fact.label in wanted]


def test_the_counts_are_those_counted_by_hand(loosed: Loosed) -> None:
    """One-piece plate alone: the fixture’s OUTCOMES and, for the needle, of the odd ones A60 (fair), A63 (overruled) and A68 (short, own speed)."""
    found = results_of(loosed, BANDS | {"construction": ["plate"]})
    assert counts(found) == {
        "needle": ["1 of 5", "6 of 8", "5 of 5"],
        "stout": ["0 of 4", "2 of 5", "5 of 6"],
        "leaf": ["0 of 3", "1 of 3", "1 or 2 of 3"],
        "barbed": ["0 of 3", "0 of 5", "0 of 5"],
    }


def test_every_loose_is_counted_or_left_out_once(loosed: Loosed) -> None:
    for query in ({}, {"fair": ["any"]}, {"way": ["by_gap"]}, {"way": ["rivet"]}, {"fair": ["fair_or_not_known"], "way": ["any"]}):
        found = results_of(loosed, query)
        assert found.counted + sum(row.count for row in found.left_out) == found.loosed == len(loosed.shots)
        assert found.counted == sum(group.shots for group in found.groups)


REASON_OF = {
    "A53": "partial", "A54": "missed", "A55": "missed", "A56": "spoiled", "A57": "sighter", "A58": "let_down", "A59": "speed_only",
    "A60": None, "A61": "not_fair", "A62": "not_known", "A63": None, "A64": "by_gap", "A65": "by_gap", "A66": "not_measured",
    "A67": "not_measured", "A68": None, "A69": None, "A70": "cant_tell_way", "A71": "no_outcome", "A73": "unread",
}  # fmt: skip


@pytest.mark.parametrize("label", REASON_OF)
def test_each_odd_shot_is_left_out_for_its_own_reason(loosed: Loosed, label: str) -> None:
    assert standing(labels(loosed, label)[0], ViewSettings()) == REASON_OF[label]


def test_every_reason_has_a_shot_here_but_those_that_need_a_setting(loosed: Loosed) -> None:
    """No shaft here was measured, and no tip."""
    asked = {"other_way": {"way": ["rivet"]}, "no_target": {"at": ["target"]}, "no_measure": {"axis": ["tip"]}}
    assert set(REASONS) - {reason for reason in REASON_OF.values() if reason} == set(asked)
    for reason, query in asked.items():
        assert reason in {row.key for row in results_of(loosed, query).left_out}


def test_a_struck_shot_is_in_no_count_and_still_listed(loosed: Loosed) -> None:
    found = results_of(loosed, {})
    assert found.struck == 1
    assert [shot.fact.label for shot in shot_list_of(loosed, {"out": ["struck"]}).shots] == ["A72"]
    assert found.loosed == len(loosed.shots)


def test_a_cell_lists_the_very_shots_that_it_counts(loosed: Loosed) -> None:
    from urllib.parse import parse_qs, urlsplit

    found = results_of(loosed, {"fair": ["fair"], "edges": ["66 ft·lbf, 97.3, 120"]})
    for group in found.groups:
        for cell in group.cells:
            listed = shot_list_of(loosed, parse_qs(urlsplit(cell.href).query))
            assert [shot.fact.shot_id for shot in listed.shots] == [one.shot.fact.shot_id for one in cell.shots]
            assert len(listed.not_known) == len(cell.not_known)


def test_a_reason_lists_the_very_shots_that_it_counts(loosed: Loosed) -> None:
    for row in results_of(loosed, {}).left_out:
        assert len(shot_list_of(loosed, {"out": [row.key]}).shots) == row.count


def test_sub_reasons_are_said_with_their_counts(loosed: Loosed) -> None:
    said = {row.key: row.small for row in results_of(loosed, {}).left_out}
    assert said["not_fair"] == "1 too near an earlier hit"
    assert said["not_known"] == "1 place not known"
    assert said["by_gap"].startswith("1 by rivet, 1 by gap between plates")
    assert said["not_measured"].startswith("1 no speed read for that bow, arrow and archer, 1 short draw with no speed of its own")
    assert said["missed"] == "1 over the top, 1 =HYPERLINK(1)"


def test_shots_whose_fairness_is_not_known_are_bounds_not_counts(loosed: Loosed) -> None:
    """A62 got through and nobody knows its place: 6 of 8, and 6 to 7 of 9 with it counted through and none."""
    cell = next(c for g in results_of(loosed, BANDS).groups if g.form == "needle" for c in g.cells if c.not_known)
    assert (cell.tally.words, cell.bounds.words if cell.bounds else "") == ("6 of 8", "6 or 7 of 9")
    assert cell.bounds is not None and cell.tally.interval_low is not None
    assert cell.bounds.interval_low <= cell.tally.interval_low


def test_unfair_hits_count_when_the_view_takes_any(loosed: Loosed) -> None:
    fair, every = (sort_shots(loosed, ViewSettings(fair=fair)) for fair in ("fair", "any"))
    more = {shot.fact.label for shot in every.counted} - {shot.fact.label for shot in fair.counted}
    assert more == {"A61", "A62"}


def test_nothing_without_an_energy_stands_in_a_band(loosed: Loosed) -> None:
    found = results_of(loosed, {})
    assert all(one.energy is not None for group in found.groups for cell in group.cells for one in cell.shots)
    needle = next(group for group in found.groups if group.form == "needle")
    assert {one.shot.fact.label for one in needle.unmeasured} == {"A66", "A67"}
    assert needle.unmeasured_tally.words == "2 of 2"


def test_a_head_with_no_measured_shot_is_still_shown(loosed: Loosed) -> None:
    only = [shot for shot in loosed.shots if shot.fact.label in ("A66", "A67")]
    found = results_of(replace(loosed, shots=tuple(only)), {})
    assert [group.form for group in found.groups] == ["needle"]
    assert "Nothing to count" in found.finding.title


def test_a_short_draw_with_its_own_speed_is_counted_and_said(loosed: Loosed) -> None:
    found = results_of(loosed, {})
    assert any("short draw" in words for words in found.caveats)


def test_results_do_not_depend_on_the_order_of_rows(loosed: Loosed) -> None:
    there, back = results_of(loosed, BANDS), results_of(replace(loosed, shots=loosed.shots[::-1]), BANDS)
    assert counts(there) == counts(back)
    assert Counter(row.key for row in there.left_out) == Counter(row.key for row in back.left_out)
    assert there.finding == back.finding


def test_a_percentage_waits_for_ten_shots(loosed: Loosed) -> None:
    wide = results_of(loosed, {"edges": ["0, 200"], "construction": ["plate"]})
    for group in wide.groups:
        for cell in group.cells:
            assert bool(cell.tally.percent) == (cell.tally.shots >= FEWEST_FOR_PERCENT)
    assert any(cell.tally.percent for group in wide.groups for cell in group.cells)
    assert not any(cell.tally.percent for group in results_of(loosed, BANDS).groups for cell in group.cells)


def test_the_share_of_the_mid_p_is_the_printed_one(loosed: Loosed) -> None:
    """0 of 20 and 1 of 29 at 95 %: Newcombe, Statistics in Medicine 1998 17:857, Table I, method 6, are 0.0000 to
    0.1391 and 0.0017 to 0.1585 (mid-P); here to whole percents."""
    one = sort_shots(loosed, ViewSettings()).counted[0]
    from server.findings.cells import CountedShot

    none, through = (CountedShot(one, "needle", None, hit, hit, None) for hit in (False, True))
    assert tally_of([none] * 20, "mid-p").may_be == "0 to 14"
    assert tally_of([none] * 28 + [through], "mid-p").may_be == "0 to 16"


def test_the_doubt_of_a_mean_is_not_lessened_by_more_shots() -> None:
    """One chronograph is off for all of them alike."""
    few, many = (mean_energy([Uncertain(98.0, 1.5)] * n) for n in (2, 50))
    assert few is not None and many is not None
    assert few.mean.standard_uncertainty == pytest.approx(1.5)
    assert many.mean.standard_uncertainty == pytest.approx(1.5)
    unknown = mean_energy([Uncertain(98.0, 1.5), Uncertain(99.0, None)])
    assert unknown is not None and unknown.mean.standard_uncertainty is None


def test_depths_at_least_make_the_median_at_least(loosed: Loosed) -> None:
    shot = labels(loosed, "A60")[0]

    def deep(millimetres: float, bound: str = "equal") -> LoosedShot:
        return replace(shot, fact=replace(shot.fact, depth_m=millimetres / 1000, depth_bound=bound))

    found = depths_of([deep(10), deep(20), deep(30)])
    assert found is not None and found.words.replace("\xa0", " ") == "median 20 mm, 10 to 30, 3 of 3 measured"
    found = depths_of([deep(10, "at_least"), deep(20), deep(30)])
    assert found is not None and found.words.replace("\xa0", " ").startswith("median ≥ 20 mm, 10 to 30 or more")
    found = depths_of([deep(10), deep(20), deep(30, "at_least")])
    assert found is not None and found.words.replace("\xa0", " ").startswith("median 20 mm"), "the middle stays where it is"
    assert depths_of([]) is None


def test_two_heads_are_ranked_only_at_like_energies(loosed: Loosed) -> None:
    """In one wide band the needle's shots are moved 8 J up: the words then compare nothing."""
    query = {"edges": ["110, 150"], "construction": ["plate"]}
    told = results_of(loosed, query)
    assert "long needle" in told.finding.title and "broad barbed did in none of 5" in told.finding.title

    def moved(shot: LoosedShot) -> LoosedShot:
        energy = shot.impact.energy_at_chronograph_j
        if shot.fact.form != "needle" or energy is None:
            return shot
        return replace(shot, impact=replace(shot.impact, energy_at_chronograph_j=replace(energy, value=energy.value + 8)))

    apart = results_of(replace(loosed, shots=tuple(map(moved, loosed.shots))), query)
    needle, barbed = (next(g.cells[-1] for g in apart.groups if g.form == form) for form in ("needle", "barbed"))
    assert not energies_alike(needle, barbed)
    sentences = (apart.finding.title, *apart.finding.more)
    assert not any("needle" in s.lower() and "barbed" in s.lower() and "did in" in s for s in sentences)


def test_an_unknown_doubt_ranks_nothing(loosed: Loosed) -> None:
    def blind(shot: LoosedShot) -> LoosedShot:
        energy = shot.impact.energy_at_chronograph_j
        return shot if energy is None else replace(shot, impact=replace(shot.impact, energy_at_chronograph_j=Uncertain(energy.value, None)))

    found = results_of(replace(loosed, shots=tuple(map(blind, loosed.shots))), BANDS | {"construction": ["plate"]})
    assert " did in " not in found.finding.title
    assert any("can’t be told" in words for words in found.caveats)


def test_three_shots_carry_no_share(loosed: Loosed) -> None:
    found = results_of(loosed, BANDS | {"head": ["leaf"]})
    assert found.finding.title == "Too few to tell: the most in one band is 3 shots, and so few can’t carry a share"


def test_a_band_that_mixes_bows_says_so(loosed: Loosed) -> None:
    wide = results_of(loosed, {"edges": ["60, 150"]})
    assert any(words.startswith("A band mixes bows") and "Ash bow, Elm bow, Yew bow" in words for words in wide.caveats)
    assert not any("mixes bows" in words for words in results_of(loosed, BANDS | {"head": ["stout"]}).caveats)


def test_shots_near_an_edge_are_marked(loosed: Loosed) -> None:
    found = results_of(loosed, {"edges": ["60, 97, 130"]})
    marked = [one for g in found.groups for c in g.cells for one in c.shots if one.near_edge_j == 97.0]
    assert marked
    assert any("may belong to the next band" in words for words in found.caveats)
    drawn = [shot for group in found.groups for shot in group.picture.shots]
    assert sum("may lie on the other side of 97 J" in shot.words for shot in drawn) == len(marked)


def test_an_empty_book_says_so(empty: Storage) -> None:
    found = read_results(empty, {})
    assert found.finding.title == "No shots here yet"
    assert not found.groups and not found.left_out


@pytest.fixture
def empty(tmp_path_factory: pytest.TempPathFactory):  # type: ignore[no-untyped-def]
    from server.opening import open_book

    storage = open_book(tmp_path_factory.mktemp("empty"))
    yield storage
    storage.close()


def test_a_head_without_a_form_has_a_group_of_its_own(book: Storage, filled: Filled) -> None:
    nameless = kit.put(book, "head", {"name": "found in a drawer"})
    arrow = kit.arrow(book, "X1", head_id=nameless)
    bow = filled.bows["Elm bow"]
    with book.read() as session:
        from server.records.listing import all_of
        from server.records.trial import Walk

        walk = all_of(session, Walk)[0].id
    made = kit.put(book, "shot", {"label": "Z1", "walk": walk, "bow_build": bow.build, "arrow_build": arrow.build, "archer": filled.archers["Wren"], "purpose": "counted"})
    kit.reading(book, made, outcome_low="2", way_in="plate", fair_overrule="fair", fair_reason="alone there")
    kit.shot_speed(book, made, "50 m/s")
    found = read_results(book, {})
    assert found.groups[-1].words == "Head form not said"
    assert found.groups[-1].shots == 1


def test_a_viewer_of_one_trial_sees_no_other(book: Storage, filled: Filled) -> None:
    found = read_results(book, {}, only_trial=filled.other_trial)
    assert set(found.choices["trial"]) == {filled.other_trial}
    assert set(found.choices["panel"].values()) == {"M1"}
    asked = read_results(book, {"trial": [filled.trial]}, only_trial=filled.other_trial)
    assert "trial" in asked.asked.problems
    assert asked.loosed == found.loosed == 2


def test_of_mixed_panels_the_finding_speaks_of_one_sort_and_leads_to_it(loosed: Loosed) -> None:
    """A share over plate and mail together says little of either."""
    from urllib.parse import parse_qs, urlsplit

    mixed = results_of(loosed, BANDS | {"fair": ["any"]})
    assert mixed.alone is not None and mixed.alone.sorts == 2
    assert "1.6\xa0mm one-piece plate" in mixed.finding.title
    alone = results_of(loosed, parse_qs(urlsplit(mixed.alone.href).query))
    assert alone.alone is None
    assert alone.finding == mixed.finding
    assert not any("sorts of panel" in words for words in alone.caveats)
