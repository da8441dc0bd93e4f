"""What an address asks of the results: settings, bands, what counts as through."""

from __future__ import annotations

import math
from dataclasses import replace
from urllib.parse import parse_qs, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.answers.results.page import results_of
from proofyard.quantities import Uncertain
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.loosed import Loosed
from proofyard.views.axes import Band, band_from, bands_of, default_edges, near_an_edge, read_edges
from proofyard.views.counted import ask
from proofyard.views.settings import Through, through_bounds_of

# The fixtures of the filled book are imported by name, and pytest hands them in by the same name.
# ruff: noqa: F811
from tests.results_for_tests import Filled, book, filled, filled_once, loosed  # noqa: F401


@pytest.mark.parametrize("text", ["60, 80, 105", "60; 80; 105", "60 80 105", "60 J 80 J 105 J", "105, 80, 60", "60 J; 80; 105,"])
def test_edges_are_read_however_they_are_parted(text: str) -> None:
    assert read_edges(text) == (60.0, 80.0, 105.0)


def test_edges_in_foot_pounds_are_joules_inside() -> None:
    # 1 ft·lbf = 1.3558179483 J: the foot and the pound-force by definition (NIST SP 811, B.8)
    assert read_edges("50 ft·lbf, 100") == (pytest.approx(67.791, abs=5e-4), 100.0)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("60,80", "one number or two"),
        ("60-80", "is a range"),
        ("sixty", "no number"),
        ("60, 60", "twice"),
        ("60 m/s", "a speed"),
        ("-5", "too low"),
        ("9e9", "exponent"),
        (" ".join(map(str, range(10, 30))), "too many"),
        ("7" * 300, "too long"),
        (", ,", "no number"),
    ],
)
def test_a_wrong_edge_is_said_in_words(text: str, said: str) -> None:
    found = read_edges(text)
    assert isinstance(found, str)
    assert said in found


energies = st.lists(st.floats(0.5, 400), min_size=1, max_size=40)


@given(energies)
def test_suggested_bands_hold_every_shot_in_one_band_each_and_are_few(values: list[float]) -> None:
    edges = default_edges([Uncertain(value, 1.5) for value in values])
    bands = bands_of(edges, values)
    assert len(bands) <= 11
    assert list(edges) == sorted(set(edges))
    for value in values:
        assert sum(band.holds(value) for band in bands) == 1


@given(energies, st.lists(st.floats(0, 400).map(lambda edge: round(edge, 3)), min_size=1, max_size=6, unique=True))
def test_typed_bands_lose_no_shot_either(values: list[float], edges: list[float]) -> None:
    bands = bands_of(sorted(edges), values)
    for value in values:
        assert sum(band.holds(value) for band in bands) == 1


@given(st.lists(st.floats(0, 999).map(lambda edge: round(edge, 3)), min_size=2, max_size=2, unique=True))
def test_a_band_survives_its_address(edges: list[float]) -> None:
    for band in (Band(min(edges), max(edges)), Band(-math.inf, edges[0]), Band(edges[1], math.inf)):
        assert band_from(band.value) == band


@pytest.mark.parametrize("text", ["", "x", "80", "105-80", "nan-nan", "--", "80-105-130"])
def test_what_is_no_band_is_none(text: str) -> None:
    assert band_from(text) is None


def test_a_band_holds_its_lower_edge_and_not_its_upper_one() -> None:
    assert Band(80, 105).holds(80) and not Band(80, 105).holds(105) and Band(105, math.inf).holds(105)


def test_suggested_edges_keep_out_of_the_clumps() -> None:
    clumps = [Uncertain(value, 1.5) for value in (77, 78, 79, 80, 81, 82, 98, 99, 100, 101, 122, 124)]
    edges = default_edges(clumps)
    assert not any(near_an_edge(energy, edges[1:-1]) for energy in clumps)


def test_a_shot_within_twice_its_uncertainty_of_an_edge_is_near_it() -> None:
    assert near_an_edge(Uncertain(82.0, 1.5), (80.0, 105.0)) == 80.0
    assert near_an_edge(Uncertain(83.5, 1.5), (80.0, 105.0)) is None
    assert near_an_edge(Uncertain(80.0, None), (80.0, 105.0)) is None


@pytest.fixture
def fact(loosed: Loosed) -> ShotFact:
    """A shot with its point through, 22 mm or more."""
    return next(one.fact for one in loosed.shots if one.fact.label == "A60")


def test_through_is_a_setting_of_the_view(fact: ShotFact) -> None:
    assert through_bounds_of(fact, Through("outcome_level", 4)) == (True, True)
    assert through_bounds_of(fact, Through("outcome_level", 5)) == (False, False)
    assert through_bounds_of(fact, Through("depth", depth_m=0.020)) == (True, True)
    assert through_bounds_of(fact, Through("depth", depth_m=0.030)) == (False, True), "at least 22 mm may be 30"
    assert through_bounds_of(fact, Through("body_line")) == (False, True), "nobody said how deep a layer it reached"
    assert through_bounds_of(replace(fact, reached="garment"), Through("body_line")) == (False, False)
    assert through_bounds_of(replace(fact, reached="body_line"), Through("body_line")) == (True, True)


def test_a_depth_that_nobody_measured_leaves_it_open(fact: ShotFact) -> None:
    unmeasured = replace(fact, depth_m=None, depth_bound=None)
    assert through_bounds_of(unmeasured, Through("depth", depth_m=0.020)) == (False, True)
    assert through_bounds_of(unmeasured, Through("depth", depth_m=0.0)) == (True, True), "any depth, and its point is behind"
    held = replace(unmeasured, outcome_low=2, outcome_high=3)
    assert through_bounds_of(held, Through("depth", depth_m=0.0)) == (False, False)


def test_three_or_four_may_be_through_at_four(fact: ShotFact) -> None:
    either = replace(fact, outcome_low=3, outcome_high=4, depth_m=None)
    assert through_bounds_of(either, Through()) == (False, True)
    assert through_bounds_of(either, Through("outcome_level", 3)) == (True, True)


def test_the_depth_as_typed_meets_itself(fact: ShotFact) -> None:
    """22 mm is 0.022 m in the shot and 22/1000 in the setting; the last bit of a float decides nothing."""
    for millimetres in range(1, 90):
        shot = replace(fact, depth_m=millimetres / 1000, depth_bound="equal")
        assert through_bounds_of(shot, Through("depth", depth_m=millimetres * 0.001)) == (True, True)


BAD = {
    "trial": "nope",
    "panel": "'; drop table shot",
    "construction": "tin",
    "archer": "x",
    "bow": "x",
    "distance": "x",
    "head": "spoon",
    "entry": "up",
    "fair": "maybe",
    "through": "9",
    "edges": "60,80",
    "method": "guess",
}


@pytest.mark.parametrize("name", BAD)
def test_a_value_that_is_no_answer_is_said_and_the_rest_kept(loosed: Loosed, name: str) -> None:
    good = {"fair": ["any"], "method": ["wilson"], "edges": ["50, 100, 150"], "through": ["3"], "construction": ["plate"]}
    asked = ask(loosed, good | {name: [BAD[name]]})
    assert list(asked.problems) == [name]
    others = {"fair": "any", "method": "wilson", "edges": (50.0, 100.0, 150.0)}
    for other, value in others.items():
        if other != name:
            assert getattr(asked.settings, other) == value
    if name in ("edges", "trial"):
        assert asked.typed[name] == BAD[name], "what was typed is still there"


def test_an_address_shows_the_same_again(loosed: Loosed, filled: Filled) -> None:
    query = {
        "trial": [filled.trial],
        "head": ["needle", "barbed"],
        "fair": ["fair_or_not_known"],
        "through": ["depth"],
        "depth": ["15"],
        "edges": ["66 ft·lbf, 120"],
        "method": ["exact"],
        "entry": ["any"],
        "pool": ["yes"],
        "distance": ["14"],
    }
    first = results_of(loosed, query)
    assert not first.asked.problems
    again = results_of(loosed, parse_qs(urlsplit(first.settings.address()).query))
    assert again.settings == first.settings
    assert again.groups == first.groups


def test_a_trial_brings_its_own_meaning_of_through_until_told_otherwise(loosed: Loosed, filled: Filled) -> None:
    trials = dict(loosed.trials)
    trials[filled.trial].through = "5"
    assert ask(loosed, {"trial": [filled.trial]}).settings.through == Through("outcome_level", 5)
    assert ask(loosed, {"trial": [filled.trial], "through": ["3"]}).settings.through == Through("outcome_level", 3)
    assert ask(loosed, {}).settings.through == Through("outcome_level", 4)


def test_depth_without_a_number_asks_for_one(loosed: Loosed) -> None:
    asked = ask(loosed, {"through": ["depth"]})
    assert "20 mm" in asked.problems["depth"]
    asked = ask(loosed, {"through": ["depth"], "depth": ["16 ga"]})
    assert "gauge" in asked.problems["depth"]
