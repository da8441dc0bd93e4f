"""What the results count, what they leave out, and what they dare to say. The expected counts are counted by hand."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from proofyard.answers.results.arrows import HEADINGS, arrows_of
from proofyard.answers.results.drawings import drawn_heads
from proofyard.answers.results.first_page import first_page_of
from proofyard.answers.results.listed_shots import shot_list_of
from proofyard.answers.results.page import Results, read_results, results_of
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import because
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.storage import Storage
from proofyard.views.cells import FEWEST_FOR_PERCENT, depths_of, mean_energy, tally_of
from proofyard.views.counted import sort_shots, standing
from proofyard.views.pair_comparison import pair_families, pair_told
from proofyard.views.settings import ViewSettings
from proofyard.wording.left_out import REASONS
from proofyard.wording.reasons.said import said as reason_words

from tests import kit_for_tests as kit
from tests.charts.marks_of import said

# The fixtures of the filled book are imported by name, and pytest hands them in by the same name.
# ruff: noqa: F811
from tests.results_for_tests import Filled, book, filled, filled_once, loosed  # noqa: F401

BANDS = {"edges": ["70, 90, 110, 130"]}


def counts(results: Results) -> dict[str, list[str]]:
    return {group.form: [cell.tally.words for cell in group.cells] for group in results.groups}


def labels(loosed: Loosed, *wanted: str) -> list[LoosedShot]:
    return [shot for shot in (*loosed.shots, *loosed.voided) if shot.fact.label in wanted]


def test_the_counts_are_those_counted_by_hand(loosed: Loosed) -> None:
    """One-piece plate alone: the fixture’s OUTCOMES and, for the needle, of the odd ones A60 (fair), A63 (overruled) and A68 (short, own
    speed)."""
    found = results_of(loosed, BANDS | {"construction": ["plate"]})
    assert counts(found) == {
        "needle": ["1 of 5", "6 of 8", "5 of 5"],
        "short_bodkin": ["0 of 4", "2 of 5", "5 of 6"],
        "leaf": ["0 of 3", "1 of 3", "1 or 2 of 3"],
        "barbed": ["0 of 3", "0 of 5", "0 of 5"],
    }


def test_every_loose_is_counted_or_left_out_once(loosed: Loosed) -> None:
    for query in ({}, {"fair": ["any"]}, {"entry": ["by_gap"]}, {"entry": ["rivet"]}, {"fair": ["fair_or_not_known"], "entry": ["any"]}):
        found = results_of(loosed, query)
        assert (
            found.counted + sum(row.count for row in found.left_out) == found.loosed == len(loosed.shots) - 1
        )  # A58 was let down: no shot
        assert found.counted == sum(group.shots for group in found.groups)


REASON_OF = {
    "A53": "partial",
    "A54": "missed",
    "A55": "missed",
    "A56": "spoiled",
    "A57": "sighter",
    "A58": "let_down",
    "A59": "speed_only",
    "A60": None,
    "A61": "not_fair",
    "A62": "not_known",
    "A63": None,
    "A64": "by_gap",
    "A65": "by_gap",
    "A66": "not_measured",
    "A67": "not_measured",
    "A68": None,
    "A69": None,
    "A70": "cant_tell_way",
    "A71": "no_outcome",
    "A73": "unread",
}


@pytest.mark.parametrize("label", REASON_OF)
def test_each_odd_shot_is_left_out_for_its_own_reason(loosed: Loosed, label: str) -> None:
    assert standing(labels(loosed, label)[0], ViewSettings()) == REASON_OF[label]


def test_every_reason_has_a_shot_here_but_those_that_need_a_setting(loosed: Loosed) -> None:
    """No shaft here was measured, and no tip."""
    asked = {"other_entry": {"entry": ["rivet"]}, "no_target": {"at": ["target"]}, "no_measure": {"axis": ["tip"]}}
    assert set(REASONS) - {reason for reason in REASON_OF.values() if reason} == set(asked)
    for reason, query in asked.items():
        assert reason in {row.key for row in results_of(loosed, query).left_out}


def test_a_crossed_out_shot_is_in_no_count_and_still_listed(loosed: Loosed) -> None:
    found = results_of(loosed, {})
    assert found.voided == 1
    assert [shot.fact.label for shot in shot_list_of(loosed, {"out": ["voided"]}).shots] == ["A72"]
    assert found.loosed == len(loosed.shots) - 1 and found.let_down == 1  # A58 was let down: no shot


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
    assert found.finding.title == because("none_counted", loosed=2)


def test_a_short_draw_with_its_own_speed_is_counted_and_said(loosed: Loosed) -> None:
    found = results_of(loosed, {})
    assert "short_draws_counted" in {one.code for one in found.about}


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
    from proofyard.views.cells import CountedShot

    none, through = (CountedShot(one, "needle", None, hit, hit, None) for hit in (False, True))
    assert tally_of([none] * 20, "mid-p").interval_words == "0 to 14"
    assert tally_of([none] * 28 + [through], "mid-p").interval_words == "0 to 16"


def test_the_uncertainty_of_a_mean_is_not_lessened_by_more_shots() -> None:
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


def test_only_a_pair_that_is_shown_ranks_two_heads(loosed: Loosed) -> None:
    """The finding ranks two heads where their corrected interval leaves out 1; two that only look apart are called a hint."""
    query = {"edges": ["110, 150"], "construction": ["plate"]}
    told = results_of(loosed, query)
    (family,) = pair_families(loosed, told.settings)
    shown = [pair for pair in family.pairs if pair.shown]
    assert (told.finding.title.code == "two_cells") == bool(shown)
    assert "other_apart" not in {one.code for one in told.finding.more}
    assert (told.finding.title.code == "two_seen") == (told.finding.more[0].code == "picked_for_difference")
    for trial in loosed.trials.values():
        trial.stop_rule, trial.stop_shots = "shots", 1
    many = replace(loosed, shots=loosed.shots * 4)
    clear = results_of(many, query)
    (family,) = pair_families(many, clear.settings)
    pair = next(pair for pair in family.pairs if pair.shown)
    assert clear.finding.title.code == "two_cells"
    assert clear.finding.more[0].parts["why"] in {pair_told(one) for one in family.pairs if one.shown} and pair.shown


def test_two_heads_that_differ_most_in_one_band_are_told_as_a_hint(loosed: Loosed) -> None:
    """By hand, from OUTCOMES above 110 J with 1.6 mm plate: needle 5 of 5, broadhead 0 of 5; leaf and short bodkin lie between.
    With two shots each of four heads none is shown to differ after correction."""
    picked = ("A24", "A25", "A52", "A51")
    few = [shot for shot in loosed.shots if shot.fact.label in picked]
    forms = Counter(shot.fact.form for shot in few)
    told = results_of(replace(loosed, shots=tuple(few)), {"edges": ["0, 200"], "construction": ["plate"]})
    assert len(forms) == 2 and set(forms.values()) == {2}
    assert told.finding.title.code == "two_seen" and told.finding.more[0].code == "picked_for_difference"
    assert "none of 2 shots" in reason_words(told.finding.title)
    one_each = replace(loosed, shots=tuple(shot for shot in few if shot.fact.label in picked[1:3]))
    alone = results_of(one_each, {"edges": ["0, 200"], "construction": ["plate"]})
    assert alone.finding.title.code == "cell_share", "one shot of a head is no count"


def test_an_unknown_uncertainty_is_said(loosed: Loosed) -> None:
    def blind(shot: LoosedShot) -> LoosedShot:
        energy = shot.impact.energy_at_chronograph_j
        return shot if energy is None else replace(shot, impact=replace(shot.impact, energy_at_chronograph_j=Uncertain(energy.value, None)))

    found = results_of(replace(loosed, shots=tuple(map(blind, loosed.shots))), BANDS | {"construction": ["plate"]})
    assert "blind_energies" in {one.code for one in found.about}


def test_three_shots_carry_no_share(loosed: Loosed) -> None:
    found = results_of(loosed, BANDS | {"head": ["leaf"]})
    assert found.finding.more == (because("too_few_for_percent", most=3, on="1.6\xa0mm one-piece plate"),)
    assert "of 3 shots" in reason_words(found.finding.title), "a count leads, not a percentage"


def test_a_band_that_mixes_bows_says_so(loosed: Loosed) -> None:
    wide = results_of(loosed, {"edges": ["60, 150"]})
    assert because("mixed_bows", bands=("60 to 150\N{NO-BREAK SPACE}J: Ash bow, Elm bow, Yew bow",)) in wide.about
    assert "mixed_bows" not in {one.code for one in results_of(loosed, BANDS | {"head": ["short_bodkin"]}).about}


def test_shots_near_an_edge_are_marked(loosed: Loosed) -> None:
    found = results_of(loosed, {"edges": ["60, 97, 130"]})
    marked = [one for g in found.groups for c in g.cells for one in c.shots if one.near_edge_j == 97.0]
    assert marked
    assert because("near_a_limit", shots=len(marked), sure=2.0) in found.about
    drawn = [shot for one in drawn_heads(found) for shot in said(one.drawing)]
    assert sum("perhaps in the next band, at 97 J" in shot.words for shot in drawn) == len(marked)


def test_an_empty_book_says_so(empty: Storage) -> None:
    found = read_results(empty, {})
    assert found.finding.title == because("no_shots_yet")
    assert not found.groups and not found.left_out


@pytest.fixture
def empty(tmp_path_factory: pytest.TempPathFactory):  # type: ignore[no-untyped-def]
    from proofyard.opening import open_book

    storage = open_book(tmp_path_factory.mktemp("empty"))
    yield storage
    storage.close()


def test_a_head_without_a_form_has_a_group_of_its_own(book: Storage, filled: Filled) -> None:
    nameless = kit.put(book, "head", {"name": "found in a drawer"})
    arrow = kit.arrow(book, "X1", head_id=nameless)
    bow = filled.bows["Elm bow"]
    with book.read() as session:
        from proofyard.records.listing import all_of
        from proofyard.records.trial import ShootingEnd

        shooting_end = all_of(session, ShootingEnd)[0].id
    made = kit.put(
        book,
        "shot",
        {
            "label": "Z1",
            "shooting_end": shooting_end,
            "bow_build": bow.build,
            "arrow_build": arrow.build,
            "archer": filled.archers["Wren"],
            "purpose": "counted",
        },
    )
    kit.reading(book, made, outcome_low="2", entry="plate", fair_overrule="fair", fair_reason="alone there")
    kit.shot_speed(book, made, "50 m/s")
    found = read_results(book, {})
    assert found.groups[-1].words == "Head form not recorded"
    assert found.groups[-1].shots == 1


def test_a_viewer_of_one_trial_sees_no_other(book: Storage, filled: Filled) -> None:
    found = read_results(book, {}, only_trial=filled.other_trial)
    assert set(found.asked.schema["trial"].choices) == {filled.other_trial}
    assert set(found.asked.schema["panel"].choices.values()) == {"M1"}
    asked = read_results(book, {"trial": [filled.trial]}, only_trial=filled.other_trial)
    assert "trial" in asked.asked.problems
    assert asked.loosed == found.loosed == 2


def test_of_mixed_panels_the_finding_speaks_of_one_sort(loosed: Loosed) -> None:
    """A share over plate and mail together says little of either."""
    mixed = results_of(loosed, BANDS | {"fair": ["any"]})
    assert "1.6\xa0mm one-piece plate" in reason_words(mixed.finding.title)
    alone = results_of(loosed, BANDS | {"fair": ["any"], "panel_type": ["plate-1.6"]})
    assert alone.finding == mixed.finding
    assert "mixed_panel_types" not in {one.code for one in alone.about}


def test_a_page_shows_the_panel_type_that_was_hit_most_and_names_the_others(loosed: Loosed) -> None:
    found = results_of(loosed, {}, one_type=True)
    assert list(found.types) == ["plate-1.6", "mail", "scale"]
    assert found.settings.only == {"panel_type": "plate-1.6"} and found.asked.typed["panel_type"] == "plate-1.6"
    assert {one.shot.fact.construction for one in found.counted_shots} == {"plate"}
    asked = results_of(loosed, {"panel_type": ["mail"]}, one_type=True)
    assert {shot.fact.panel_name for shot in asked.shots.in_order} == {"M1"} and list(asked.types) == list(found.types)


def test_panel_types_together_hold_every_shot_once(loosed: Loosed) -> None:
    types = results_of(loosed, {}, one_type=True).types
    parts = [results_of(loosed, {"panel_type": [value]}, one_type=True) for value in types]
    assert sum(one.loosed for one in parts) == results_of(loosed, {}).loosed
    assert sum(one.counted for one in parts) == results_of(loosed, {}).counted


def test_a_wrong_panel_type_is_said_and_the_one_hit_most_is_shown(loosed: Loosed) -> None:
    found = results_of(loosed, {"panel_type": ["paper"]}, one_type=True)
    assert "panel_type" in found.asked.problems and found.asked.typed["panel_type"] == "paper"
    assert found.settings.only == {"panel_type": "plate-1.6"}


def plain(loosed: Loosed, **query: str) -> dict[tuple[str, str], tuple[str, ...]]:
    found = first_page_of(results_of(loosed, {name: [value] for name, value in query.items()}, one_type=True)).plain
    return {(words, row.bow): tuple(count for count, _ in row.counts) for words, _, rows in found.heads for row in rows}


def test_the_plain_count_counts_every_shot_by_head_and_bow(loosed: Loosed) -> None:
    """The fixture's OUTCOMES, and of the needle with the 112 lb bow 17 odd ones (A53 to A73, without those that are not counted shots,
    not at plate or crossed out): 5 that missed the panel or wait to be read, A71 without an outcome, the rivet hit A64 apart."""
    found = plain(loosed)
    assert found["Short bodkin", "82\xa0lb"][:3] == ("4 of 4", "1", "0")
    assert found["Leaf", "145\xa0lb"][:3] == ("3 of 3", "1 or 2", "1 or 2"), "3, 3 or 4, 4"
    assert found["Barbed broadhead", "145\xa0lb"] == ("5 of 5", "3", "0", "", "0"), "A64 went in by a rivet, so there is a column of gaps"
    needle = found["Long needle bodkin", "112\xa0lb"]
    odd = [shot.fact for shot in labels(loosed, *(f"A{n}" for n in range(53, 74))) if shot.fact.construction == "plate"]
    odd = [fact for fact in odd if fact.purpose == "counted" and fact.form == "needle" and not fact.voided]
    assert needle[0] == f"{6 + sum(fact.hit == 'on_panel' for fact in odd)} of {6 + len(odd)}"


def test_a_hit_by_a_gap_stands_in_its_own_column_alone(loosed: Loosed) -> None:
    assert plain(loosed, panel_type="scale") == {("Leaf", "112\xa0lb"): ("1 of 1", "0", "0", "", "1")}, "level 5 by a gap, 60 mm deep"


def test_every_number_of_the_plain_count_and_of_the_arrows_lists_its_shots(loosed: Loosed) -> None:
    from urllib.parse import parse_qs, urlsplit

    for panel_type in ("plate-1.6", "mail", "scale"):
        found = results_of(loosed, {"panel_type": [panel_type]}, one_type=True)
        plain_rows = [row for _, _, rows in first_page_of(found).plain.heads for row in rows]
        for count, href in (pair for row in (*plain_rows, *arrows_of(found)) for pair in row.counts):
            if href:
                listed = shot_list_of(loosed, parse_qs(urlsplit(href).query))
                most = count.split(" of ")[-1 if href.endswith(":all") else 0].split(" ")[-1]
                assert len(listed.shots) == int(most), (href, count)


def test_what_became_of_the_arrows_is_counted_by_head(loosed: Loosed) -> None:
    """A69 at mail: head curled and loose, shaft cracked."""
    (row,) = [one for one in arrows_of(results_of(loosed, {"panel_type": ["mail"]}, one_type=True)) if one.words == "Short bodkin"]
    found = dict(zip(HEADINGS, (count for count, _ in row.counts), strict=True))
    assert found["Noted, of shots"] == "1 of 1" and found["Sound"] == "0"
    assert found["Head curled or blunted"] == found["Head or shaft broken"] == found["Head loose or off"] == "1"
    assert row.details == "1 point curled, 1 loose, 1 shaft cracked"


def test_the_grid_says_what_the_table_counts(loosed: Loosed) -> None:
    found = results_of(loosed, BANDS, one_type=True)
    first = first_page_of(found)
    for group, row in zip(found.groups, first.rows, strict=True):
        for cell, drawn in zip(group.cells, row.cells, strict=True):
            assert drawn.href == (cell.href if cell.shots or cell.not_known else "")
            if cell.shots:
                squares = (*drawn.held, *drawn.through)
                assert drawn.count == cell.tally.words and sum(one.count or 1 for one in squares) == len(cell.shots)
                assert sum(one.count or 1 for one in drawn.through) == cell.tally.hits_low
    assert [band.bows.replace("\xa0", " ") for band in first.bands] == ["mostly the 82 lb bow", "the 112 lb bow", "the 145 lb bow"]


def test_a_reader_of_foot_pounds_sees_the_same_bands_in_foot_pounds(loosed: Loosed) -> None:
    metric, imperial = (results_of(loosed, BANDS, one_type=True, reader=reader) for reader in ("metric", "archery"))
    assert imperial.bands == metric.bands, "a result does not depend on the units that it is read in"
    assert [band.with_unit.replace("\xa0", " ") for band in imperial.bands] == ["52 to 66 ft·lbf", "66 to 81 ft·lbf", "81 to 96 ft·lbf"]
    assert "ft·lbf" in reason_words(imperial.finding.title) and " J" not in reason_words(imperial.finding.title)
    assert "Deepest in" in first_page_of(imperial).plain.columns and "Deepest mm" in first_page_of(metric).plain.columns
    one, other = (next(cell for cell in found.groups[0].cells if cell.depths) for found in (metric, imperial))
    assert one.depths and other.depths and "\xa0mm" in one.depths.words and "\xa0in" in other.depths.words
