"""No two pages disagree on a pair: every page that says how two heads stand says the same ratio, the same intervals, the same verdict.

Over all pairs of the demo, trial by trial and all together, and over random books. And one figure that several pages show (a 50 % energy,
a shot's energy, what a bow's arrows lose on the way) comes from one function and reads alike on each.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from proofyard.answers.another_bow.page import read_another_bow
from proofyard.answers.bow.page import bow_found
from proofyard.answers.claims.energies import judge_energies
from proofyard.answers.compare.page import comparison_of
from proofyard.answers.fifty_percent.page import fifty_percent
from proofyard.answers.planning.next_shot_read import read_next_shot
from proofyard.answers.protection.page import read_protection
from proofyard.answers.results.drawings import drawn_heads
from proofyard.answers.results.page import results_of
from proofyard.answers.trial.page import read_trial
from proofyard.answers.trial_comparison.page import read_trial_comparison
from proofyard.answers.what_if.page import read_what_if
from proofyard.quantities.reason import Reason
from proofyard.shots.loosed import Loosed, LoosedShot, load_loosed
from proofyard.storage import Storage
from proofyard.views.curve import told_of
from proofyard.views.pair_comparison import Pair, pair_ends, pair_families, pair_ratio, pair_told, pair_verdict

# The fixtures of the filled book are imported by name, and pytest hands them in by the same name.
# ruff: noqa: F811
from tests.conftest import House
from tests.demo_for_tests import called
from tests.pages.page_text import text_of
from tests.pages.test_reviewed_texts import PAGES
from tests.pairs_for_tests import book_of, claimed, made
from tests.results_for_tests import filled, filled_once, loosed  # noqa: F401

pytestmark = pytest.mark.slow

FORMS = ("needle", "short_bodkin", "leaf", "barbed")


def told_in(reason: Reason | None, code: str) -> Iterator[Reason]:
    """Every reason of this code within another."""
    if reason is None:
        return
    if reason.code == code:
        yield reason
    for _, part in reason.items:
        for one in part if isinstance(part, tuple) else (part,):
            if isinstance(one, Reason):
                yield from told_in(one, code)


def pairs_of(loosed: Loosed, query: dict[str, list[str]]) -> dict[tuple[str, str], Pair]:
    """(panel type, names) -> the pair, from its one home."""
    settings = comparison_of(loosed, query).settings
    return {(family.key, pair.names): pair for family in pair_families(loosed, settings) for pair in (*family.pairs, *family.beyond)}


def disagreements(loosed: Loosed, query: dict[str, list[str]]) -> list[str]:
    """What any page says of a pair that the one comparison does not say."""
    home = pairs_of(loosed, query)
    said = {pair_told(pair) for pair in home.values()}
    verdicts = {pair_verdict(pair) for pair in home.values()}
    faults = []
    compared = comparison_of(loosed, query)
    for family in compared.families:
        key = family.id.removeprefix("on-")
        for line in (*family.lines, *family.more):
            pair = next(one for (on, names), one in home.items() if names == line.pair and on.replace(".", "_") == key)
            if line[1:4] != (pair_ratio(pair), *ends_of(pair)) or line.verdict != pair_verdict(pair):
                faults.append(f"/compare on {key}: {line.pair}")
    for reason in (compared.finding.title, *compared.finding.more):
        faults += [f"/compare finds {one}" for one in told_in(reason, "pair_told") if one not in said]
    for part in fifty_percent(loosed, query, reader="metric").parts:
        for row in part.compared.rows:
            pair = next(one for (on, names), one in home.items() if names == row[0] and on.replace(".", "_") == part.id.removeprefix("on-"))
            if row[1:] != (pair_ratio(pair), *ends_of(pair), pair_verdict(pair)):
                faults.append(f"/fifty-percent on {part.words}: {row[0]}")
    found = results_of(loosed, query)
    for reason in (found.finding.title, *found.finding.more):
        faults += [f"/results finds {one}" for one in told_in(reason, "pair_told") if one not in said]
        faults += [f"/results says {one}" for one in told_in(reason, "pair_verdict") if one not in verdicts]
    return faults


def ends_of(pair: Pair) -> tuple[Reason, Reason]:
    return pair_ends(pair.raw, way=pair.found.way), pair_ends(pair.corrected, way=pair.found.way)


@pytest.fixture
def demo(demo_book: Storage) -> Loosed:
    with demo_book.read() as session:
        return load_loosed(session)


def test_no_two_pages_disagree_on_a_pair_of_the_demo(demo: Loosed, demo_book: Storage) -> None:
    for trial in (None, *demo.trials):
        query = {"trial": [trial]} if trial else {}
        assert disagreements(demo, query) == []
    assert disagreements(demo, {"at": ["chronograph"], "through": ["3"], "fair": ["any"]}) == []
    assert disagreements(demo, {"edges": ["70, 90"], "head": ["needle", "leaf"]}) == []


def test_a_trials_page_says_of_its_pairs_what_the_others_say(demo: Loosed, demo_book: Storage) -> None:
    for trial in demo.trials:
        with demo_book.read() as session:
            page = read_trial(session, trial, reader="metric")
        assert page is not None
        here = {one for _, pairs in page.compared for reason in pairs for one in told_in(reason, "pair_told")}
        there = {pair_told(pair) for pair in pairs_of(demo, {"trial": [trial]}).values() if not pair.beyond}
        assert here == there


def random_book(loosed: Loosed, one: LoosedShot, seed: int) -> Loosed:
    """Two to four heads, three to fourteen shots each, at one to four energies or each its own, with a true curve of some slope."""
    lots = np.random.default_rng(seed)
    slope = float(lots.choice([4, 8, 16]))
    shots = []
    for form in FORMS[: int(lots.integers(2, 5))]:
        middle, count = 75 * math.exp(float(lots.normal(0, 0.2))), int(lots.integers(3, 15))
        levels = np.exp(lots.uniform(math.log(55), math.log(110), int(lots.integers(1, 5))))
        energies = lots.choice(levels, count) * np.exp(lots.normal(0, float(lots.choice([0.0, 0.01, 0.05])), count))
        through = lots.random(count) < 1 / (1 + (energies / middle) ** -slope)
        letters = ["o" if lots.random() < 0.05 else "4" if hit else "2" for hit in through]
        shots.append(made(one, form, list(zip(energies.tolist(), letters, strict=True))))
    rule = {"next_shot_rule": "up_and_down"} if lots.random() < 0.15 else {}
    changed = [[replace(shot, fact=replace(shot.fact, **rule)) for shot in some] for some in shots]
    trial = loosed.trials[one.fact.trial_id]
    trial.varied = str(lots.choice(["head form", "needle or leaf", "bow"]))
    trial.stop_rule, trial.stop_shots = "shots", int(lots.integers(0, 60))
    return book_of(loosed, *changed)


def contradictions(loosed: Loosed, *, books: range) -> list[str]:
    one = next(shot for shot in loosed.shots if shot.fact.label == "A1")
    found = []
    for seed in books:
        made_up = random_book(loosed, one, seed)
        for query in ({"at": ["chronograph"]}, {"at": ["chronograph"], "head": ["needle", "short_bodkin"], "edges": ["60, 80"]}):
            found += [f"book {seed}: {fault}" for fault in disagreements(made_up, query)]
    return found


@pytest.fixture
def book(tmp_path, filled_once):  # type: ignore[no-untyped-def]
    """The filled book, for the template of the made-up shots."""
    from contextlib import closing

    from tests.conftest import copied, opened

    with closing(opened(copied(filled_once[0], tmp_path / "book"))) as storage:
        yield storage


def test_no_two_pages_disagree_over_random_books(loosed: Loosed) -> None:
    assert contradictions(loosed, books=range(30)) == []


@pytest.mark.long
def test_no_two_pages_disagree_over_a_thousand_random_books(loosed: Loosed) -> None:
    assert contradictions(loosed, books=range(1000)) == []


def test_a_disagreement_would_be_seen(loosed: Loosed, monkeypatch: pytest.MonkeyPatch) -> None:
    """A page that shared its correction otherwise, planted."""
    from proofyard.answers.fifty_percent import told

    monkeypatch.setattr(told, "pair_ends", lambda ends, *, way: pair_ends(replace(ends, level=0.9) if ends else None, way=way))
    assert contradictions(loosed, books=range(5))


def claims_that_disagree(loosed: Loosed, *, books: range) -> list[str]:
    """A claim of each pair, and of each 50 % energy, beside what the pages say of that pair and that energy in the same book."""
    one = next(shot for shot in loosed.shots if shot.fact.label == "A1")
    faults = []
    for seed in books:
        made_up = random_book(loosed, one, seed)
        trial = made_up.trials[one.fact.trial_id]
        on = {"construction": one.fact.construction, "thickness_m": one.fact.thickness_m}
        fact = claimed(trial, claim_form="needs_less", head_form="needle", than_head="short_bodkin", **on)
        stated = replace(made_up, claims={trial.id: fact})
        query = {"at": ["chronograph"], "trial": [trial.id], "through": ["4"]}
        pairs = [pair for pair in pairs_of(stated, query).values() if {*pair.key.split("~")} == {"needle", "short_bodkin"}]
        found = judge_energies(fact, made_up.shots)
        sides = {"first": "yes", "second": "no"} if pairs and pairs[0].first.row.key == "needle" else {"first": "no", "second": "yes"}
        told = sides.get(pairs[0].verdict, "not_yet") if pairs else "not_yet"
        if found.verdict not in (told, "not_yet") or (found.verdict != told and not found.read.undecided):
            faults.append(f"book {seed}: a claim says {found.verdict}, its pair {told}")
        above = claimed(trial, claim_form="fifty_percent_above", head_form="needle", fifty_percent_above_j=70.0, **on)
        point = judge_energies(above, made_up.shots)
        page = fifty_percent(replace(made_up, claims={trial.id: above}), query, reader="metric")
        heads = [head.found.point for part in page.parts for head in part.heads if head.id.startswith("needle")]
        ends = [(end.low_j, end.high_j) for end in heads if end is not None]
        if ([(point.raw.low, point.raw.high)] if point.raw else []) != ends:
            faults.append(f"book {seed}: a claim has another interval of the 50 % energy than its page")
    return faults


def test_no_claim_disagrees_with_a_page_over_random_books(loosed: Loosed) -> None:
    assert claims_that_disagree(loosed, books=range(25)) == []


@pytest.mark.long
def test_no_claim_disagrees_with_a_page_over_a_thousand_random_books(loosed: Loosed) -> None:
    assert claims_that_disagree(loosed, books=range(1000)) == []


def test_a_claim_that_disagreed_would_be_seen(loosed: Loosed, monkeypatch: pytest.MonkeyPatch) -> None:
    from proofyard.answers.claims import energies

    monkeypatch.setattr(energies, "_verdict", lambda ends, limit: "yes")
    assert claims_that_disagree(loosed, books=range(5))


# One figure, several pages: it comes from one function, and reads alike on each.


def texts_of(house: House, storage: Storage) -> dict[str, str]:
    """Every main page of the demo as its reader sees it, in plain spaces."""
    with storage.read() as session:
        ids = called(session)
    clients = {role: house.client(role) for role in ("owner", "archer", "viewer", "stranger")}
    answers = {name: clients[role].get(address.format_map(ids)).text for name, (role, address) in PAGES.items()}
    return {name: text_of(text, frame=False).replace("\N{NO-BREAK SPACE}", " ") for name, text in answers.items()}


def test_what_a_bow_lost_in_a_day_is_one_figure_on_every_page_of_the_demo(demo_house: House, demo_book: Storage) -> None:
    """ "Bracken 112 at Tallow's draw was 5.0 % weaker at the end of 17 October 2026 than at the start of 10 October 2026"."""
    said: dict[tuple[str, ...], set[str]] = {}
    pages = 0
    for text in texts_of(demo_house, demo_book).values():
        found = re.findall(r"([A-Z]\w+ \d+) at (\w+)’s draw was ([\d.]+ %) (weaker|stronger) ([^.]+?) than ([^.]+?)\.", text)
        pages += bool(found)
        for bow, archer, much, way, last, first in found:
            said.setdefault((bow, archer, way, last, first), set()).add(much)
    assert pages > 1 and said and all(len(figures) == 1 for figures in said.values()), said


def test_a_shots_energy_is_one_figure_in_lists_on_its_page_and_in_every_count(demo: Loosed, demo_house: House) -> None:
    """Each page asks impact.energy_at; what a list rounds, the shot's own page rounds alike."""
    viewer = demo_house.client("viewer")
    for shot in [one for one in demo.shots if one.impact.energy_at("target") is not None][::29]:
        energy = shot.impact.energy_at("target")
        assert energy is not None
        page = text_of(viewer.get(f"/shots/{shot.fact.shot_id}").text, frame=False).replace("\N{NO-BREAK SPACE}", " ")
        told = [float(one or other) for one, other in re.findall(r"(\d+(?:\.\d+)?)(?: ± [\d.]+)? J\b|(\d+(?:\.\d+)?) J ±", page)]
        assert any(abs(one - energy.value) <= 0.5 for one in told), (shot.fact.label, energy, told)


def test_one_50_percent_energy_stands_alike_on_every_page_of_the_demo(demo: Loosed, demo_book: Storage) -> None:
    """/fifty-percent, the drawings of /results/every-shot and trials side by side, trial by trial: the same reason, so the same words."""
    seen = 0
    with demo_book.read() as session:
        side_by_side = read_trial_comparison(session, {"trial": list(demo.trials), "at": ["target"]}, reader="metric").results
    assert side_by_side is not None
    for n, trial in enumerate(demo.trials):
        query = {"trial": [trial], "at": ["target"]}
        parts = fifty_percent(demo, query, reader="metric").parts
        for part in parts:
            panel_type = part.id.removeprefix("on-").replace("_", ".")
            drawn = {one.group.words: one.fifty_percent for one in drawn_heads(results_of(demo, {**query, "panel_type": [panel_type]}))}
            for head in part.heads:
                if head.found.point is None:
                    continue
                seen += 1
                assert told_of(head.found) in told_in(drawn[head.words], told_of(head.found).code)
                if len(parts) == 1:
                    row = next(one for one in side_by_side.heads if one.row.words == head.words)
                    assert told_of(head.found) in row.fifty_percents, (n, head.words)
    assert seen > 0


def test_another_bow_and_what_if_start_from_the_50_percent_energies_of_the_other_pages(demo: Loosed, demo_book: Storage) -> None:
    """/another-bow, /fifty-percent, /protection and what-if: one curve a head and panel type, so the same reason and the same figures."""
    home = {
        (part.id.removeprefix("on-"), head.words): head.found
        for part in fifty_percent(demo, {"at": ["target"]}, reader="metric").parts
        for head in part.heads
    }
    there = read_another_bow(demo_book, {"weight": ["160 lb"], "mass": ["80 g"], "distance": ["30 m"]}, reader="metric").heads
    assert {(one.panel_type.replace(".", "_"), one.row.words): told_of(one.fifty_percent) for one in there} == {
        key: told_of(found) for key, found in home.items()
    }
    for head in read_protection(demo_book, {"at": ["target"]}, reader="metric").heads:
        for row in head.rows:
            assert told_of(row.found) == told_of(home[row.panel_type.replace(".", "_"), head.words])
    with demo_book.read() as session:
        panels = called(session)
    what = read_what_if(demo_book, {"panel": [panels["P2"]], "basis": ["panel_type"], "head": ["short_bodkin"]}, reader="metric")
    assert what.basis is not None and what.basis.point is not None
    point = home["plate-1_2", "Short bodkin"].point
    assert point is not None
    assert (what.basis.point.energy_j, what.basis.point.low_j, what.basis.point.high_j) == (point.energy_j, point.low_j, point.high_j)


def test_a_bows_weight_draw_and_virtual_mass_are_one_figure_on_its_page_and_on_another_bows(demo_book: Storage) -> None:
    own = read_another_bow(demo_book, {}, reader="metric").own.shot
    assert len(own) > 2
    for one in own:
        archer = one.speeds.arrows[0].fact.archer_id
        with demo_book.read() as session:
            page = bow_found(session, one.href.removeprefix("/bows/"), reader="metric", archer_id=archer)
        assert page is not None
        assert (page.draw.weight_n, page.draw.draw_m) == (one.own.weight_n, one.draw_m)
        assert page.speeds.fit == one.speeds.fit
        assert [(arrow.mass, arrow.speed) for arrow in page.speeds.arrows] == [(arrow.mass, arrow.speed) for arrow in one.speeds.arrows]


def test_the_next_shot_starts_from_the_50_percent_energies_of_their_page(demo: Loosed, demo_book: Storage) -> None:
    """At the chronograph, where its energies stand. Where neither a rule nor their order says they were chosen, neither pays for it."""
    seen = 0
    for trial in demo.trials:
        with demo_book.read() as session:
            read = read_next_shot(session, trial, reader="metric")
        assert read is not None
        parts = fifty_percent(demo, {"trial": [trial], "at": ["chronograph"]}, reader="metric").parts
        home = {head.words: head.found for part in parts for head in part.heads if len(parts) == 1}
        for words, told in read.found.heads:
            point = home[words].point if words in home else None
            if point is not None:
                seen += 1
                assert told.code == "so_many_count" and {key: told.parts[key] for key in ("energy_j", "low_j", "high_j")} == {
                    "energy_j": pytest.approx(point.energy_j, rel=1e-6),
                    "low_j": pytest.approx(point.low_j, rel=1e-6),
                    "high_j": pytest.approx(point.high_j, rel=1e-6),
                }
    assert seen >= 4
