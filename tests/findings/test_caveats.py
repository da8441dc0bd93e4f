"""Each caveat on shots made to call for it, and on shots that don't. All invented, and made in memory."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields
from itertools import count
from typing import Any

import pytest

from server.findings.caveats.archers import unbalanced_archers
from server.findings.caveats.carries import one_carries, one_panel
from server.findings.caveats.caveat import KINDS, Caveat, days_listed, listed
from server.findings.caveats.chosen_energies import chosen_energies, energies_chosen
from server.findings.caveats.collected import ASKED, caveats_of, notes_by_group
from server.findings.caveats.confounding import head_goes_with
from server.findings.caveats.draw_drift import draw_drift
from server.findings.caveats.hardness_sets import hardness_and_day
from server.findings.caveats.provisional import provisional
from server.findings.caveats.second_reader import second_reader
from server.findings.caveats.speed_drift import speed_drift
from server.findings.caveats.used_up import used_up
from server.findings.caveats.view import Group, View
from server.findings.fair_hits import FairMark
from server.findings.impact import Impact
from server.findings.loosed import LoosedShot
from server.quantities import Uncertain
from server.records.caveat_facts import BowChecked, CaveatFacts, HeadHardness, ReadAgain
from server.records.shot_facts import ShotFact
from server.records.trial import Trial
from server.statistics.clustered_shares import ClusteredInterval, clustered_interval
from tests.kit_for_tests import BEGAN

_NTH = count(1)
DAY, OTHER_DAY = "2026-10-24", "2026-10-31"
BLANK: dict[str, Any] = {one.name: None for one in fields(ShotFact)}
PLAIN: dict[str, Any] = {
    "struck": False, "purpose": "counted", "short_draw": False, "session_id": "day 1", "day": DAY, "trial_id": "T", "question": "?",
    "panel_build_id": "P1.1", "panel_id": "P1", "panel_name": "P1", "construction": "plate", "pairing_id": "yew-5-Wren",
    "bow_build_id": "yew.1", "bow_id": "yew", "bow_name": "Yew", "arrow_build_id": "5.1", "arrow_id": "5", "arrow_tag": "5",
    "head_id": "N1", "head_name": "N1", "form": "needle", "archer_id": "Wren", "archer": "Wren", "hit": "fair_target",
    "way_in": "plate", "outcome_low": 4, "look_behind": False, "head_fate": (), "shaft_fate": (),
}  # fmt: skip


def made(*, speed: float = 50.0, energy: float = 90.0, basis: str = "own", fair: str = "fair", **said: Any) -> LoosedShot:
    """One shot; what isn't said is as in PLAIN. Each in a walk of its own unless told otherwise."""
    nth = next(_NTH)
    held = BLANK | PLAIN | {"shot_id": f"shot {nth}", "label": f"A{nth}", "walk_id": f"walk {nth}"} | said
    held.setdefault("outcome_high", None)
    held["outcome_high"] = held["outcome_low"] if said.get("outcome_high") is None else said["outcome_high"]
    impact = Impact(basis, None, Uncertain(0.07, 0.0001), Uncertain(speed, 0.3), Uncertain(energy, 1.0), Uncertain(3.5, 0.01))
    return LoosedShot(ShotFact(**held), impact, FairMark(fair, "", ""))


def mixed(shots: int = 12, **said: Any) -> list[LoosedShot]:
    """Shots of several arrows, bows, panels and archers in turn: what none of the caveats minds."""
    return [
        made(
            arrow_id=str(n % 6), arrow_tag=str(n % 6), bow_id=f"bow {n % 3}", bow_build_id=f"bow {n % 3}", panel_id=f"P{n % 4}", panel_name=f"P{n % 4}",
            panel_build_id=f"P{n % 4}.1", archer_id=("Wren", "Tallow")[n % 2], archer=("Wren", "Tallow")[n % 2], pairing_id=f"pairing {n % 6}",
            outcome_low=(2, 4)[n % 3 == 0], **said,
        )
        for n in range(shots)
    ]  # fmt: skip


def cell(key: str, shots: Sequence[LoosedShot], level: str = "80 to 105 J") -> Group:
    return Group(f"{key}:{level}", f"the {key}, {level}", tuple(shots), row=key, row_words=f"the {key}", level=level)


def view(*groups: Group, **more: Any) -> View:
    return View(tuple(shot for group in groups for shot in group.shots), groups, **more)


def only(found: Sequence[Caveat]) -> Caveat:
    assert len(found) == 1, [one.words for one in found]
    return found[0]


def test_a_clean_view_has_nothing_to_mind() -> None:
    clean = view(cell("needle", mixed()), cell("stout", mixed(form="stout")))
    assert caveats_of(clean) == ()
    assert not energies_chosen(clean)


@pytest.mark.parametrize("ask", ASKED)
def test_nothing_at_all_has_nothing_to_mind(ask: Callable[[View], list[Caveat]]) -> None:
    assert ask(View(())) == []


# One arrow, bow or panel


def test_one_arrow_behind_more_than_half_of_a_count_is_said_with_the_wider_range() -> None:
    shots = [*mixed(2), *(made(arrow_id="9", arrow_tag="9", bow_id=f"bow {n}", panel_id=f"P{n}") for n in range(4))]
    found = only(one_carries(view(cell("needle", shots), cell("stout", mixed(form="stout")), alike=0.2)))
    assert "one arrow in 1 of 2 counts" in found.words and "0.2" in found.words
    ((key, words),) = found.notes
    assert key == "needle:80 to 105 J"
    # Sizes 4, 1 and 1 make a design effect of 1 + (18/6 - 1) 0.2 = 1.4 by hand.
    wider = clustered_interval(5, [4, 1, 1], intraclass_correlation=0.2)
    assert isinstance(wider, ClusteredInterval) and wider.design_effect == pytest.approx(1.4)
    assert words == f"4 of 6 with arrow 9; if alike to 0.2, may be {100 * wider.low:.0f} to {100 * wider.high:.0f}\N{NO-BREAK SPACE}%"
    assert {shot.label for shot in found.shots} == {shot.fact.label for shot in shots}


def test_half_is_not_more_than_half_and_a_small_count_carries_nothing_anyway() -> None:
    even = [made(arrow_id=str(n % 2), bow_id=f"b{n % 2}", panel_id=f"P{n % 2}") for n in range(6)]
    few = [made() for _ in range(4)]
    assert one_carries(view(cell("needle", even), cell("stout", few))) == []


def test_where_no_range_stands_beside_a_count_none_is_promised() -> None:
    found = only(one_carries(view(cell("needle", [made() for _ in range(6)]), cell("stout", mixed(form="stout")), alike=None)))
    assert found.notes == () and "Beside each" not in found.words and "say less than their number" in found.words


def test_the_more_alike_the_wider_the_range_beside_the_count() -> None:
    shots = [made(bow_id=f"b{n}", panel_id=f"P{n}", outcome_low=(2, 4)[n % 2]) for n in range(8)]
    ends = []
    for alike in (0.05, 0.5):
        ((_, words),) = only(one_carries(view(cell("needle", shots), alike=alike))).notes
        low, high = words.split("may be ")[1].removesuffix("\N{NO-BREAK SPACE}%").split(" to ")
        ends.append((int(low), int(high)))
    assert ends[1][0] < ends[0][0] < ends[0][1] < ends[1][1]


def test_all_on_one_panel_speaks_of_that_panel() -> None:
    found = only(one_panel(view(cell("needle", [made() for _ in range(5)]))))
    assert "All 5 counted shots struck one panel, P1" in found.words
    assert one_panel(view(cell("needle", [made() for _ in range(4)]))) == []
    assert one_panel(view(cell("needle", [made(panel_id=f"P{n % 2}") for n in range(6)]))) == []


# What went together


def test_a_head_at_one_panel_only_is_said() -> None:
    found = only(head_goes_with(view(cell("needle", mixed()), cell("leaf", [made(form="leaf") for _ in range(3)]))))
    assert found.kind == "one_panel_only"
    assert found.words.startswith("The leaf (3 shots) at P1 only")
    assert len(found.shots) == 3


def test_a_head_on_one_day_only_is_said_but_not_where_days_are_compared() -> None:
    late = [made(form="leaf", day=OTHER_DAY, panel_id=f"P{n}") for n in range(3)]
    groups = cell("needle", [*mixed(6), *mixed(6, day=OTHER_DAY)]), cell("leaf", late)
    assert only(head_goes_with(view(*groups))).words.startswith("The leaf (3 shots) on 31 October 2026 only")
    assert head_goes_with(view(*groups, varied=frozenset({"day"}))) == []


def test_one_day_and_one_panel_for_all_part_no_heads() -> None:
    assert head_goes_with(view(cell("needle", [made() for _ in range(5)]), cell("leaf", [made(form="leaf") for _ in range(5)]))) == []


HARD = CaveatFacts(
    hardness=(
        HeadHardness("N1", None, 40.0, None, None, None), HeadHardness("N2", None, None, None, 250.0, "HV"), HeadHardness("N9", 50.0, 55.0, None, None, None),
    )
)  # fmt: skip


def test_harder_heads_on_one_day_only_are_said() -> None:
    shots = [made(head_id=head, head_name=head, day=day) for head, day in (("N1", DAY), ("N2", DAY), ("N1", OTHER_DAY), ("N9", OTHER_DAY), ("N9", OTHER_DAY))]
    found = only(hardness_and_day(view(cell("needle", shots), facts=HARD)))
    assert "The harder heads (N9) were shot on 31 October 2026 only" in found.words
    assert "on 24 and 31 October 2026" in found.words and "compare them within 31 October 2026" in found.words
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
    own = [made(speed=(50.0 + (n % 2)) * (1 + step * n) + (0.05, -0.04, 0.02)[n % 3], pairing_id=f"pairing {n % 2}") for n in range(shots)]
    return view(cell("needle", [*own, *(made(basis="pairing") for _ in range(by_mean))]))


def test_speeds_that_fall_through_a_day_are_said_with_what_it_means_for_mean_speeds() -> None:
    found = only(speed_drift(with_speeds(-0.002, by_mean=2)))
    assert found.words.startswith("On 24 October 2026 speeds of Yew in Wren’s hands fell by 2.")
    assert "2 shots there took a mean speed: the early ones may stand too low, the late ones too high" in found.words
    assert len(found.shots) == 12


def test_speeds_that_only_scatter_or_creep_by_less_than_a_hundredth_are_not_said() -> None:
    assert speed_drift(with_speeds(0.0)) == []
    assert speed_drift(with_speeds(-0.0005)) == []
    assert speed_drift(with_speeds(-0.01, shots=5)) == []


def checked(at: int, weight: float, draw: float = 0.75, archer: str = "Wren") -> BowChecked:
    return BowChecked("yew.1", archer, BEGAN + at, weight, draw)


def test_a_bow_that_grew_weaker_is_said_and_so_is_a_draw_that_changed() -> None:
    shots = cell("needle", [made(basis="pairing") for _ in range(3)])
    found = only(draw_drift(view(shots, facts=CaveatFacts(checks=(checked(0, 400.0), checked(3_600_000, 390.0))))))
    assert found.words.startswith("Yew at Wren’s draw was 2.5\N{NO-BREAK SPACE}% weaker at the end of 24 October 2026 than at its start. 3 shots took a mean speed")
    found = only(draw_drift(view(shots, facts=CaveatFacts(checks=(checked(0, 400.0), checked(3_600_000, 380.0, draw=0.72))))))
    assert found.words.startswith("Wren drew Yew to 720\N{NO-BREAK SPACE}mm at the end of 24 October 2026, and to 750\N{NO-BREAK SPACE}mm at its start.")


def test_checks_that_agree_or_are_anothers_are_not_said() -> None:
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
    hits = [made(fair="fair") for _ in range(8)] + [made(fair=answer) for answer in ("not_fair", "fair", "not_fair", "not_fair", "not_fair", "fair")]
    found = only(used_up(view(cell("needle", hits))))
    assert found.words.startswith("Of the last 6 hits on P1 4 were not fair; of the 8 before, 0.")
    steady = [made(fair=("fair", "not_fair")[n % 2]) for n in range(16)]
    assert used_up(view(cell("needle", steady))) == []
    assert used_up(view(cell("needle", hits[8:]))) == [], "too few to have been otherwise before"


def test_few_free_aim_spots_are_said_and_many_are_not() -> None:
    shots = cell("needle", [made()])
    assert "1 of 12 aim spots on P1 is still free." in only(used_up(view(shots, free_spots={"P1.1": (1, 12)}))).words
    assert used_up(view(shots, free_spots={"P1.1": (6, 12)})) == []


def test_several_panels_used_up_are_one_caveat() -> None:
    names = [f"P{n}" for n in range(5)]
    shots = [made(panel_build_id=f"{name}.1", panel_id=name, panel_name=name) for name in names]
    found = only(used_up(view(cell("needle", shots), free_spots={f"{name}.1": (0, 9) for name in names})))
    assert found.words.count("aim spots on") == 3 and "So it is with 2 more panels." in found.words
    assert found.touches == "shots at P0, P1, P2 and 2 more"


def test_two_builds_of_one_panel_are_told_apart() -> None:
    shots = [made(panel_build_id=f"K1.{n}", panel_build_number=n, panel_name="K1") for n in (1, 2)]
    found = only(used_up(view(cell("needle", shots), free_spots={"K1.1": (0, 9), "K1.2": (1, 9)})))
    assert "None of 9 aim spots on K1 is" in found.words and "1 of 9 aim spots on K1, build 2 is" in found.words


def test_archers_parted_between_heads_at_one_energy_are_said() -> None:
    def by(archer: str, n: int, form: str) -> list[LoosedShot]:
        return [made(archer_id=archer, archer=archer, form=form) for _ in range(n)]

    parted = cell("needle", by("Wren", 6, "needle")), cell("leaf", by("Tallow", 5, "leaf") + by("Wren", 1, "leaf"))
    found = only(unbalanced_archers(view(*parted)))
    assert "Of the needle, 80 to 105 J Wren loosed 6 of 6 shots, of the leaf, 80 to 105 J 1 of 6 shots" in found.words
    balanced = cell("needle", by("Wren", 3, "needle") + by("Tallow", 3, "needle")), cell("leaf", by("Tallow", 3, "leaf") + by("Wren", 2, "leaf"))
    assert unbalanced_archers(view(*balanced)) == []


def test_archers_are_not_said_to_part_where_archers_are_compared() -> None:
    groups = [cell(name, [made(archer_id=name, archer=name) for _ in range(6)]) for name in ("Wren", "Tallow")]
    assert len(unbalanced_archers(view(*groups))) == 1
    assert unbalanced_archers(view(*groups, varied=frozenset({"archer"}))) == []


def test_an_archer_who_had_all_the_low_energies_is_said() -> None:
    low = cell("needle", [made(archer_id="Wren", archer="Wren") for _ in range(5)], level="55 to 80 J")
    high = cell("needle", [made(archer_id="Tallow", archer="Tallow") for _ in range(5)])
    found = only(unbalanced_archers(view(low, high)))
    assert "At 55 to 80 J Wren loosed 5 of 5 shots, at 80 to 105 J none of 5 shots" in found.words


def test_what_is_not_settled_is_counted_by_its_reason() -> None:
    shots = [*mixed(5), made(look_behind=True, outcome_low=3, outcome_high=4), made(outcome_low=4, outcome_high=5), made(may_be_shot_id="another")]
    unread = made(hit=None, outcome_low=None)
    found = only(provisional(view(cell("needle", shots), around=(*shots, unread))))
    assert found.words == (
        "Of 8 hits 1 waits for a look behind, 1 has two rungs, 1 may be another’s hit. 1 of them may still count as through, or not. "
        "1 shot is not read at all and counted nowhere."
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
    assert "The order shows it" in found.words and "mean nothing, and the results hide them" in found.words
    assert [one.label for one in found.shots] == [shot.fact.label for shot in run]


def test_energies_off_by_a_speeds_scatter_are_seen_all_the_same() -> None:
    scatter = (1.01, 0.99, 1.0, 1.015, 0.985, 1.0, 0.995, 1.005, 1.01, 0.99, 1.0)
    run = [made(energy=(s.impact.energy_at("chronograph") or Uncertain(0)).value * by, outcome_low=s.fact.outcome_low) for s, by in zip(UP_AND_DOWN, scatter, strict=True)]
    assert energies_chosen(view(cell("needle", run)))


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


def test_within_one_walk_nobody_knew_the_outcome() -> None:
    run = [made(energy=60.0 + 10 * n, outcome_low=2, walk_id="one walk") for n in range(3)]
    one_walk = [made(energy=(s.impact.energy_at("chronograph") or Uncertain(0)).value, outcome_low=s.fact.outcome_low, walk_id="one walk") for s in UP_AND_DOWN]
    assert chosen_energies(view(cell("needle", one_walk))) == []
    assert chosen_energies(view(cell("needle", run))) == []


def test_a_trial_that_says_so_is_believed() -> None:
    for rule, hidden in (("up_and_down", True), ("narrow_the_half", True), ("none", False), (None, False)):
        trials = {"T": Trial(id="T", rev=1, question="?", state="open", next_shot_rule=rule)}
        found = chosen_energies(view(cell("needle", mixed()), trials=trials))
        assert bool(found) is hidden, rule
        if found:
            assert found[0].words.startswith("Its trial says that each next energy was chosen")


# Read twice


def again(shot: LoosedShot, low: int, high: int | None = None, **more: Any) -> ReadAgain:
    depth, way = more.get("depth_m"), more.get("way_in")
    return ReadAgain(f"again {shot.fact.shot_id}", shot.fact.shot_id, "Tallow", low, low if high is None else high, depth, None, way)


def test_two_readers_agreement_is_counted() -> None:
    shots = [made(outcome_low=rung, depth_m=0.02) for rung in (2, 3, 4, 4, 2, 3, 4, 5, 2)]
    second = (2, 3, 4, 3, 2, 3, 5, 5, 2)
    facts = CaveatFacts(again=tuple(again(s, rung, depth_m=0.023, way_in="plate") for s, rung in zip(shots, second, strict=True)))
    found = only(second_reader(view(cell("needle", [*shots, made()]), facts=facts)))
    assert found.words.startswith("9 hits were read by a second person: same rung 7 of 9, within one rung 9 of 9.")
    assert f"Whether it got through, they differ on {shots[3].fact.label}." in found.words
    assert "Same way in 9 of 9." in found.words and "9 depths differ by 3\N{NO-BREAK SPACE}mm in the middle" in found.words
    assert "Too few for agreement beyond chance: 10 are wanted." in found.words


def test_from_ten_on_agreement_beyond_chance_stands_with_its_interval() -> None:
    rungs = [2, 3, 4, 4, 2, 3, 4, 5, 2, 3, 4, 2]
    shots = [made(outcome_low=rung) for rung in rungs]
    facts = CaveatFacts(again=tuple(again(s, min(5, rung + (n % 4 == 0))) for n, (s, rung) in enumerate(zip(shots, rungs, strict=True))))
    words = only(second_reader(view(cell("needle", shots), facts=facts))).words
    assert "Agreement beyond chance" in words and "95\N{NO-BREAK SPACE}%; 0 is chance" in words


def test_one_reader_alone_says_nothing_of_agreement() -> None:
    assert second_reader(view(cell("needle", mixed()))) == []


# All together


def test_caveats_come_by_weight_and_notes_by_group() -> None:
    shots = [made(look_behind=True) for _ in range(6)]
    found = caveats_of(view(cell("needle", shots), facts=CaveatFacts(checks=(checked(0, 400.0), checked(3_600_000, 380.0)))))
    kinds = [one.kind for one in found]
    assert kinds == sorted(kinds, key=list(KINDS).index)
    assert kinds[0] == "draw_drift" and "provisional" in kinds and kinds[-1] == "one_panel"
    assert list(notes_by_group(found)) == ["needle:80 to 105 J"]
    assert all(one.title and one.touches for one in found)


def test_lists_read_as_a_person_says_them() -> None:
    assert listed(["A"]) == "A" and listed(["A", "B", "C"]) == "A, B and C" and listed("ABCDEF") == "A, B, C and 3 more"
    assert days_listed([OTHER_DAY, DAY, DAY]) == "24 and 31 October 2026"
    assert days_listed(["2026-09-30", "2026-10-02"]) == "30 September and 2 October 2026"
    assert days_listed(["2025-12-30", "2026-01-02"]) == "30 December 2025 and 2 January 2026"
