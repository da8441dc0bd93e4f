"""Each caveat on shots made to call for it, and on shots that don't. All invented, and made in memory."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields
from itertools import count
from typing import Any

import pytest
from proofyard.caveats.caveat import KINDS, Caveat, Group, View
from proofyard.caveats.collected import (
    ASKED,
    caveats_of,
    hardness_and_day,
    head_goes_with,
    notes_by_group,
    one_carries,
    one_panel,
    provisional,
    second_reader,
    unbalanced_archers,
)
from proofyard.caveats.over_time import chosen_energies, draw_drift, energies_chosen, speed_drift, used_up
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import because
from proofyard.records.caveat_facts import BowChecked, CaveatFacts, HeadHardness, ReadAgain
from proofyard.records.shot_facts import Behind, ShotFact
from proofyard.records.trial import Trial
from proofyard.shots.fair_hits import FairMark
from proofyard.shots.impact import Impact
from proofyard.shots.loosed import LoosedShot
from proofyard.statistics.clustered_shares import ClusteredInterval, clustered_interval
from proofyard.views.chosen_energies import levels_meant

from tests.kit_for_tests import BEGAN

_NTH = count(1)
DAY, OTHER_DAY = "2026-10-24", "2026-10-31"
BLANK: dict[str, Any] = {one.name: None for one in fields(ShotFact)}
PLAIN: dict[str, Any] = {
    "voided": False,
    "purpose": "counted",
    "short_draw": False,
    "session_id": "day 1",
    "day": DAY,
    "trial_id": "T",
    "question": "?",
    "panel_build_id": "P1.1",
    "panel_id": "P1",
    "panel_name": "P1",
    "construction": "plate",
    "combination_id": "yew-5-Wren",
    "bow_build_id": "yew.1",
    "bow_id": "yew",
    "bow_name": "Yew",
    "arrow_build_id": "5.1",
    "arrow_id": "5",
    "arrow_tag": "5",
    "head_id": "N1",
    "head_name": "N1",
    "form": "needle",
    "archer_id": "Wren",
    "archer": "Wren",
    "hit": "on_panel",
    "entry": "plate",
    "outcome_low": 4,
    "rear_check": False,
    "head_fate": (),
    "shaft_fate": (),
    "behind": Behind(),
}


def made(*, speed: float = 50.0, energy: float = 90.0, basis: str = "own", fair: str = "fair", **said: Any) -> LoosedShot:
    """One shot; what isn't said is as in PLAIN. Each in an end of its own unless told otherwise."""
    nth = next(_NTH)
    held = BLANK | PLAIN | {"shot_id": f"shot {nth}", "label": f"A{nth}", "shooting_end_id": f"end {nth}"} | said
    held.setdefault("outcome_high", None)
    held["outcome_high"] = held["outcome_low"] if said.get("outcome_high") is None else said["outcome_high"]
    impact = Impact(basis, None, Uncertain(0.07, 0.0001), Uncertain(speed, 0.3), Uncertain(energy, 1.0), Uncertain(3.5, 0.01))
    return LoosedShot(ShotFact(**held), impact, FairMark(fair, because("fair_first_hit")))


def mixed(shots: int = 12, **said: Any) -> list[LoosedShot]:
    """Shots of several arrows, bows, panels and archers in turn: what none of the caveats minds."""
    return [
        made(
            arrow_id=str(n % 6),
            arrow_tag=str(n % 6),
            bow_id=f"bow {n % 3}",
            bow_build_id=f"bow {n % 3}",
            panel_id=f"P{n % 4}",
            panel_name=f"P{n % 4}",
            panel_build_id=f"P{n % 4}.1",
            archer_id=("Wren", "Tallow")[n % 2],
            archer=("Wren", "Tallow")[n % 2],
            combination_id=f"combination {n % 6}",
            outcome_low=(2, 4)[n % 3 == 0],
            **said,
        )
        for n in range(shots)
    ]


def cell(key: str, shots: Sequence[LoosedShot], level: str = "80 to 105 J") -> Group:
    return Group(f"{key}:{level}", f"the {key}, {level}", tuple(shots), row=key, row_words=f"the {key}", level=level)


def view(*groups: Group, **more: Any) -> View:
    return View(tuple(shot for group in groups for shot in group.shots), groups, **more)


def only(found: Sequence[Caveat]) -> Caveat:
    assert len(found) == 1, [str(one.reasons) for one in found]
    return found[0]


def parts(found: Caveat, code: str) -> dict[str, Any]:
    """The parts of the one reason of that code."""
    (one,) = [reason for reason in found.reasons if reason.code == code]
    return one.parts


def test_a_clean_view_has_nothing_to_check() -> None:
    clean = view(cell("needle", mixed()), cell("short_bodkin", mixed(form="short_bodkin")))
    assert caveats_of(clean) == ()
    assert not energies_chosen(clean)


@pytest.mark.parametrize("ask", ASKED)
def test_nothing_at_all_has_nothing_to_check(ask: Callable[[View], list[Caveat]]) -> None:
    assert ask(View(())) == []


# One arrow, bow or panel


def test_one_arrow_behind_more_than_half_of_a_count_is_said_with_the_wider_range() -> None:
    shots = [*mixed(2), *(made(arrow_id="9", arrow_tag="9", bow_id=f"bow {n}", panel_id=f"P{n}") for n in range(4))]
    found = only(one_carries(view(cell("needle", shots), cell("short_bodkin", mixed(form="short_bodkin")), alike=0.2)))
    assert parts(found, "one_dominates") == {"arrows": 1, "bows": 0, "panels": 0, "counts": 2, "fewest": 5, "alike": 0.2}
    ((key, note),) = found.notes
    assert key == "needle:80 to 105 J"
    # Sizes 4, 1 and 1 make a design effect of 1 + (18/6 - 1) 0.2 = 1.4 by hand.
    wider = clustered_interval(5, [4, 1, 1], intraclass_correlation=0.2)
    assert isinstance(wider, ClusteredInterval) and wider.design_effect == pytest.approx(1.4)
    carried = (because("carried_by", what="arrow", name="9", shots=4, of=6),)
    assert note == because("if_correlated", carried=carried, alike=0.2, low=wider.low, high=wider.high)
    assert {shot.label for shot in found.shots} == {shot.fact.label for shot in shots}


def test_half_is_not_more_than_half_and_a_small_count_carries_nothing_anyway() -> None:
    even = [made(arrow_id=str(n % 2), bow_id=f"b{n % 2}", panel_id=f"P{n % 2}") for n in range(6)]
    few = [made() for _ in range(4)]
    assert one_carries(view(cell("needle", even), cell("short_bodkin", few))) == []


def test_where_no_range_stands_beside_a_count_none_is_promised() -> None:
    found = only(
        one_carries(view(cell("needle", [made() for _ in range(6)]), cell("short_bodkin", mixed(form="short_bodkin")), alike=None))
    )
    assert found.notes == () and parts(found, "one_dominates")["alike"] is None


def test_the_more_alike_the_wider_the_range_beside_the_count() -> None:
    shots = [made(bow_id=f"b{n}", panel_id=f"P{n}", outcome_low=(2, 4)[n % 2]) for n in range(8)]
    ends = []
    for alike in (0.05, 0.5):
        ((_, note),) = only(one_carries(view(cell("needle", shots), alike=alike))).notes
        ends.append((note.parts["low"], note.parts["high"]))
    assert ends[1][0] < ends[0][0] < ends[0][1] < ends[1][1]


def test_all_on_one_panel_speaks_of_that_panel() -> None:
    found = only(one_panel(view(cell("needle", [made() for _ in range(5)]))))
    assert found.reasons == (because("all_on_one_panel", shots=5, panel="P1"),)
    assert one_panel(view(cell("needle", [made() for _ in range(4)]))) == []
    assert one_panel(view(cell("needle", [made(panel_id=f"P{n % 2}") for n in range(6)]))) == []


# What went together


def test_a_head_at_one_panel_only_is_said() -> None:
    found = only(head_goes_with(view(cell("needle", mixed()), cell("leaf", [made(form="leaf") for _ in range(3)]))))
    assert found.kind == "one_panel_only"
    assert parts(found, "goes_with") == {"rows": (because("at_one_panel", row="the leaf", shots=3, panel="P1"),), "day": False}
    assert len(found.shots) == 3


def test_a_head_on_one_day_only_is_said_but_not_where_days_are_compared() -> None:
    late = [made(form="leaf", day=OTHER_DAY, panel_id=f"P{n}") for n in range(3)]
    groups = cell("needle", [*mixed(6), *mixed(6, day=OTHER_DAY)]), cell("leaf", late)
    rows = (because("on_one_day", row="the leaf", shots=3, day=OTHER_DAY),)
    assert parts(only(head_goes_with(view(*groups))), "goes_with") == {"rows": rows, "day": True}
    assert head_goes_with(view(*groups, varied=frozenset({"day"}))) == []


def test_one_day_and_one_panel_for_all_part_no_heads() -> None:
    assert head_goes_with(view(cell("needle", [made() for _ in range(5)]), cell("leaf", [made(form="leaf") for _ in range(5)]))) == []


HARD = CaveatFacts(
    hardness=(
        HeadHardness("N1", None, 40.0, None, None, None),
        HeadHardness("N2", None, None, None, 250.0, "HV"),
        HeadHardness("N9", 50.0, 55.0, None, None, None),
    )
)


def test_harder_heads_on_one_day_only_are_said() -> None:
    shots = [
        made(head_id=head, head_name=head, day=day)
        for head, day in (("N1", DAY), ("N2", DAY), ("N1", OTHER_DAY), ("N9", OTHER_DAY), ("N9", OTHER_DAY))
    ]
    found = only(hardness_and_day(view(cell("needle", shots), facts=HARD)))
    said = parts(found, "harder_heads_on_their_own_days")
    assert said == {"heads": ("N9",), "days": (OTHER_DAY,), "other_days": (DAY, OTHER_DAY), "both": (OTHER_DAY,)}
    assert [one.label for one in found.shots] == [shot.fact.label for shot in shots if shot.fact.head_id == "N9"]


def test_harder_heads_on_every_day_and_heads_nobody_tested_part_nothing() -> None:
    both = [made(head_id=head, day=day) for head in ("N1", "N9") for day in (DAY, OTHER_DAY)]
    assert hardness_and_day(view(cell("needle", both), facts=HARD)) == []
    parted = [made(head_id="N1", day=DAY), made(head_id="N9", day=OTHER_DAY)]
    assert hardness_and_day(view(cell("needle", parted))) == []
    overlap = CaveatFacts(hardness=(HeadHardness("N1", 35.0, 50.0, None, None, None), HeadHardness("N9", 45.0, 55.0, None, None, None)))
    assert hardness_and_day(view(cell("needle", parted), facts=overlap)) == []


# Drift


def with_speeds(step: float, *, shots: int = 12, by_mean: int = 0) -> View:
    own = [
        made(speed=(50.0 + (n % 2)) * (1 + step * n) + (0.05, -0.04, 0.02)[n % 3], combination_id=f"combination {n % 2}")
        for n in range(shots)
    ]
    return view(cell("needle", [*own, *(made(basis="combination") for _ in range(by_mean))]))


def test_speeds_that_fall_through_a_day_are_said_with_what_it_means_for_mean_speeds() -> None:
    found = only(speed_drift(with_speeds(-0.002, by_mean=2)))
    said = parts(found, "speeds_drifted")
    assert (said["day"], said["bow"], said["archer"], said["readings"]) == (DAY, "Yew", "Wren", 12)
    assert said["change"] == pytest.approx(-0.022, abs=0.002) and said["low"] < 0.022 < said["high"]
    assert parts(found, "mean_in_a_drift") == {"shots": 2, "falling": True}
    assert len(found.shots) == 12


def test_speeds_that_only_scatter_or_creep_by_less_than_a_hundredth_are_no_caveat() -> None:
    assert speed_drift(with_speeds(0.0)) == []
    assert speed_drift(with_speeds(-0.0005)) == []
    assert speed_drift(with_speeds(-0.01, shots=5)) == []


def checked(at: int, weight: float, draw: float = 0.75, archer: str = "Wren") -> BowChecked:
    return BowChecked("yew.1", archer, BEGAN + at, weight, draw)


def test_a_bow_that_grew_weaker_is_said_and_so_is_a_draw_that_changed() -> None:
    shots = cell("needle", [made(basis="combination") for _ in range(3)])
    found = only(draw_drift(view(shots, facts=CaveatFacts(checks=(checked(0, 400.0), checked(3_600_000, 390.0))))))
    first, last = because("at_its_start"), because("at_the_end_of", day=DAY)
    change = pytest.approx(-0.025)
    assert found.reasons == (
        because("weight_changed", bow="Yew", archer="Wren", change=change, first=first, last=last),
        because("mean_as_if_unchanged", shots=3),
    )
    found = only(draw_drift(view(shots, facts=CaveatFacts(checks=(checked(0, 400.0), checked(3_600_000, 380.0, draw=0.72))))))
    assert found.reasons[0] == because("draw_changed", bow="Yew", archer="Wren", first_m=0.75, last_m=0.72, first=first, last=last)


def test_checks_that_agree_or_are_anothers_are_no_caveat() -> None:
    shots = cell("needle", [made() for _ in range(3)])
    for checks in (
        (checked(0, 400.0),),
        (checked(0, 400.0), checked(3_600_000, 398.0)),
        (checked(0, 400.0), checked(3_600_000, 380.0, archer="Tallow")),
        (checked(0, 400.0), checked(40 * 86_400_000, 380.0)),
    ):
        assert draw_drift(view(shots, facts=CaveatFacts(checks=checks))) == [], checks


# The panel, the archers, what isn't settled


def test_a_panel_whose_last_hits_are_mostly_not_fair_is_used_up() -> None:
    hits = [made(fair="fair") for _ in range(8)] + [
        made(fair=answer) for answer in ("not_fair", "fair", "not_fair", "not_fair", "not_fair", "fair")
    ]
    found = only(used_up(view(cell("needle", hits))))
    assert parts(found, "hits_turned_unfair") == {"panel": "P1", "now": 4, "last": 6, "then": 0, "before": 8}
    steady = [made(fair=("fair", "not_fair")[n % 2]) for n in range(16)]
    assert used_up(view(cell("needle", steady))) == []
    assert used_up(view(cell("needle", hits[8:]))) == [], "too few to have been otherwise before"


def test_few_free_aim_spots_are_said_and_many_are_not() -> None:
    shots = cell("needle", [made()])
    found = only(used_up(view(shots, free_spots={"P1.1": (1, 12)})))
    assert parts(found, "few_spots_left") == {"free": 1, "spots": 12, "panel": "P1"}
    assert used_up(view(shots, free_spots={"P1.1": (6, 12)})) == []


def test_several_panels_used_up_are_one_caveat() -> None:
    names = [f"P{n}" for n in range(5)]
    shots = [made(panel_build_id=f"{name}.1", panel_id=name, panel_name=name) for name in names]
    found = only(used_up(view(cell("needle", shots), free_spots={f"{name}.1": (0, 9) for name in names})))
    assert [one.code for one in found.reasons] == [*["few_spots_left"] * 3, "same_of_more_panels", "use_a_fresh_panel"]
    assert parts(found, "same_of_more_panels") == {"panels": 2}
    assert found.affects == because("affects_panels", panels=tuple(names))


def test_two_builds_of_one_panel_are_counted_each_by_itself() -> None:
    shots = [made(panel_build_id=f"K1.{n}", panel_build_number=n, panel_name="K1") for n in (1, 2)]
    found = only(used_up(view(cell("needle", shots), free_spots={"K1.1": (0, 9), "K1.2": (1, 9)})))
    assert [(one.parts["free"], one.parts["panel"]) for one in found.reasons[:2]] == [(0, "K1"), (1, "K1, build 2")]


def test_archers_parted_between_heads_at_one_energy_are_said() -> None:
    def by(archer: str, n: int, form: str) -> list[LoosedShot]:
        return [made(archer_id=archer, archer=archer, form=form) for _ in range(n)]

    parted = cell("needle", by("Wren", 6, "needle")), cell("leaf", by("Tallow", 5, "leaf") + by("Wren", 1, "leaf"))
    found = only(unbalanced_archers(view(*parted)))
    said = parts(found, "archer_unbalanced")
    assert (said["archer"], said["by"], said["one"], said["other"]) == (
        "Wren",
        "groups",
        "the needle, 80 to 105 J",
        "the leaf, 80 to 105 J",
    )
    assert (said["one_shots"], said["one_of"], said["other_shots"], said["other_of"]) == (6, 6, 1, 6)
    balanced = (
        cell("needle", by("Wren", 3, "needle") + by("Tallow", 3, "needle")),
        cell("leaf", by("Tallow", 3, "leaf") + by("Wren", 2, "leaf")),
    )
    assert unbalanced_archers(view(*balanced)) == []


def test_archers_are_no_caveat_where_archers_are_compared() -> None:
    groups = [cell(name, [made(archer_id=name, archer=name) for _ in range(6)]) for name in ("Wren", "Tallow")]
    assert len(unbalanced_archers(view(*groups))) == 1
    assert unbalanced_archers(view(*groups, varied=frozenset({"archer"}))) == []


def test_an_archer_who_had_all_the_low_energies_is_said() -> None:
    low = cell("needle", [made(archer_id="Wren", archer="Wren") for _ in range(5)], level="55 to 80 J")
    high = cell("needle", [made(archer_id="Tallow", archer="Tallow") for _ in range(5)])
    found = only(unbalanced_archers(view(low, high)))
    said = parts(found, "archer_unbalanced")
    assert (said["archer"], said["by"], said["one"], said["other"]) == ("Wren", "energies", "55 to 80 J", "80 to 105 J")
    assert (said["one_shots"], said["one_of"], said["other_shots"], said["other_of"]) == (5, 5, 0, 5)


def test_what_is_not_settled_is_counted_by_its_reason() -> None:
    shots = [
        *mixed(5),
        made(rear_check=True, outcome_low=3, outcome_high=4),
        made(outcome_low=4, outcome_high=5),
        made(may_be_shot_id="another"),
    ]
    unread = made(hit=None, outcome_low=None)
    found = only(provisional(view(cell("needle", shots), around=(*shots, unread))))
    assert found.reasons == (
        because("still_to_check_from_behind", hits=1, of=8),
        because("undecided_between_levels", hits=1, of=8),
        because("may_belong_to_another", hits=1, of=8),
        because("could_still_change", hits=1),
        because("not_read_yet", shots=1),
    )
    assert provisional(view(cell("needle", mixed()))) == []


# Energies chosen by the outcomes


def run_of(energies: Sequence[float], through: Sequence[int], **said: Any) -> list[LoosedShot]:
    return [made(energy=energy, outcome_low=(2, 4)[hit], **said) for energy, hit in zip(energies, through, strict=True)]


UP_AND_DOWN = run_of([60, 70, 80, 90, 80, 70, 80, 90, 80, 90, 80], [0, 0, 0, 1, 1, 0, 0, 1, 0, 1, 1])
CHASED = run_of([60, 70, 80, 60, 70, 60, 70, 80, 90, 60, 70, 60, 70, 80, 60], [0, 0, 1, 0, 1, 0, 0, 0, 1, 0, 1, 0, 0, 1, 0])


@pytest.mark.parametrize("run", [UP_AND_DOWN, CHASED], ids=["up and down", "up until one got through, then low again"])
def test_energies_that_follow_the_outcomes_are_seen_by_their_order(run: list[LoosedShot]) -> None:
    found = only(chosen_energies(view(cell("needle", run))))
    assert [one.code for one in found.reasons] == ["order_shows_chosen_energies", "totals_mean_nothing"]
    assert [one.label for one in found.shots] == [shot.fact.label for shot in run]


def test_energies_off_by_a_speeds_scatter_are_seen_all_the_same() -> None:
    scatter = (1.01, 0.99, 1.0, 1.015, 0.985, 1.0, 0.995, 1.005, 1.01, 0.99, 1.0)
    run = [
        made(energy=(s.impact.energy_at("chronograph") or Uncertain(0.0, 0.0)).value * by, outcome_low=s.fact.outcome_low)
        for s, by in zip(UP_AND_DOWN, scatter, strict=True)
    ]
    assert energies_chosen(view(cell("needle", run)))


# Runs made for this test, each at the edge of one of the three thresholds.
@pytest.mark.parametrize(
    ("energies", "through", "seen"),
    [
        # 17 of 20 moves follow the outcome (85 %), then 16 of 20, then 11 of 13.
        (
            [80, 70, 60, 60, 70, 80, 90, 100, 100, 90, 100, 90, 80, 90, 100, 90, 80, 90, 80, 70, 80],
            [1, 1, 1, 0, 0, 0, 0, 0, 1, 1, 1, 1, 0, 0, 1, 1, 0, 1, 1, 0, 1],
            True,
        ),
        (
            [80, 70, 60, 70, 60, 60, 70, 80, 90, 80, 90, 80, 70, 80, 90, 100, 100, 90, 80, 70, 80],
            [0, 1, 0, 0, 0, 0, 0, 0, 1, 0, 1, 1, 0, 0, 0, 1, 1, 1, 1, 0, 1],
            False,
        ),
        ([80, 70, 80, 70, 80, 90, 80, 70, 80, 90, 80, 70, 80, 90], [1, 0, 1, 0, 0, 1, 0, 0, 0, 1, 1, 1, 0, 1], False),
        # Six moves are enough, five are not.
        ([80, 70, 80, 90, 80, 90, 100], [1, 0, 0, 1, 0, 0, 1], True),
        ([80, 90, 100, 90, 80, 70], [0, 0, 1, 1, 1, 0], False),
        # Three shots at energies that saw both outcomes don’t tell a rule from a list.
        ([80, 70, 80, 70, 60, 70, 80], [1, 0, 1, 1, 0, 0, 1], False),
    ],
    ids=["17 of 20", "16 of 20", "11 of 13", "six moves", "five moves", "three telling"],
)
def test_the_threshold_of_chosen_energies(energies: list[float], through: list[int], seen: bool) -> None:
    assert energies_chosen(view(cell("needle", run_of(energies, through)))) is seen


def test_shots_of_another_head_are_no_moves_of_this_one() -> None:
    """Five moves stay five, however many others were loosed that day; the sixth makes them a run."""
    energies, through = [80.0, 90.0, 100.0, 90.0, 80.0, 70.0, 80.0], [0, 0, 1, 1, 1, 0, 0]
    others = cell("leaf", run_of([60.0, 80.0, 70.0], [0, 1, 0], form="leaf"))
    assert not energies_chosen(view(cell("needle", run_of(energies[:6], through[:6])), others))
    assert energies_chosen(view(cell("needle", run_of(energies, through)), others))


def test_two_energies_within_a_twentieth_were_meant_for_one_level() -> None:
    assert levels_meant([60, 63, 63.1, 60.5]) == [60, 60, 63.1, 60]


@pytest.mark.parametrize(
    ("energies", "through"),
    [
        ([60, 100] * 6, [0, 1] * 6),
        ([60, 80, 100] * 4, [0, 0, 1, 0, 1, 1, 0, 0, 1, 0, 1, 1]),
        ([60, 60, 60, 80, 80, 80, 100, 100, 100], [0, 0, 0, 0, 1, 0, 1, 1, 1]),
        ([60, 70, 80], [0, 0, 1]),
    ],
    ids=["low and high in turn", "three bows in turn", "block by block", "too short"],
)
def test_energies_by_a_list_are_not_taken_for_chosen(energies: list[float], through: list[int]) -> None:
    assert chosen_energies(view(cell("needle", run_of(energies, through)))) == []


def test_within_one_shooting_end_nobody_knew_the_outcome() -> None:
    run = [made(energy=60.0 + 10 * n, outcome_low=2, shooting_end_id="one end") for n in range(3)]
    one_shooting_end = [
        made(
            energy=(s.impact.energy_at("chronograph") or Uncertain(0.0, 0.0)).value,
            outcome_low=s.fact.outcome_low,
            shooting_end_id="one end",
        )
        for s in UP_AND_DOWN
    ]
    assert chosen_energies(view(cell("needle", one_shooting_end))) == []
    assert chosen_energies(view(cell("needle", run))) == []


def test_a_trial_that_says_so_is_believed() -> None:
    for rule, hidden in (("up_and_down", True), ("smallest_interval", True), ("none", False), (None, False)):
        trials = {"T": Trial(id="T", rev=1, question="?", state="open", next_shot_rule=rule)}
        found = chosen_energies(view(cell("needle", mixed()), trials=trials))
        assert bool(found) is hidden, rule
        if found:
            assert found[0].reasons[0].code == "trial_chose_energies"


# Read twice


def again(shot: LoosedShot, low: int, high: int | None = None, **more: Any) -> ReadAgain:
    depth, way = more.get("depth_m"), more.get("entry")
    return ReadAgain(f"again {shot.fact.shot_id}", shot.fact.shot_id, "Tallow", low, low if high is None else high, depth, None, way)


def test_two_readers_agreement_is_counted() -> None:
    shots = [made(outcome_low=outcome_level, depth_m=0.02) for outcome_level in (2, 3, 4, 4, 2, 3, 4, 5, 2)]
    second = (2, 3, 4, 3, 2, 3, 5, 5, 2)
    facts = CaveatFacts(
        again=tuple(again(s, outcome_level, depth_m=0.023, entry="plate") for s, outcome_level in zip(shots, second, strict=True))
    )
    found = only(second_reader(view(cell("needle", [*shots, made()]), facts=facts)))
    assert found.reasons == (
        because("read_by_a_second", hits=9, same=7, within_one=9),
        because("disagree_on_through", labels=(shots[3].fact.label,)),
        because("same_place_of_entry", same=9, hits=9),
        because("depths_differ", depths=9, median_m=pytest.approx(0.003), most_m=pytest.approx(0.003)),
        because("too_few_for_kappa", fewest=10),
    )


def test_from_ten_on_agreement_beyond_chance_stands_with_its_interval() -> None:
    outcome_levels = [2, 3, 4, 4, 2, 3, 4, 5, 2, 3, 4, 2]
    shots = [made(outcome_low=outcome_level) for outcome_level in outcome_levels]
    facts = CaveatFacts(
        again=tuple(
            again(s, min(5, outcome_level + (n % 4 == 0))) for n, (s, outcome_level) in enumerate(zip(shots, outcome_levels, strict=True))
        )
    )
    said = parts(only(second_reader(view(cell("needle", shots), facts=facts))), "kappa")
    assert said["low"] < said["kappa"] < said["high"]


def test_one_reader_alone_says_nothing_of_agreement() -> None:
    assert second_reader(view(cell("needle", mixed()))) == []


# All together


def test_caveats_come_by_weight_and_notes_by_group() -> None:
    shots = [made(rear_check=True) for _ in range(6)]
    found = caveats_of(view(cell("needle", shots), facts=CaveatFacts(checks=(checked(0, 400.0), checked(3_600_000, 380.0)))))
    kinds = [one.kind for one in found]
    assert kinds == sorted(kinds, key=list(KINDS).index)
    assert kinds[0] == "draw_drift" and "provisional" in kinds and kinds[-1] == "one_panel"
    assert list(notes_by_group(found)) == ["needle:80 to 105 J"]
    assert all(one.title and one.touches for one in found)
