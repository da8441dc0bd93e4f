"""The demo comes out the same each time, holds the mess of real days, and keeps to its own stated model."""

import json
import math
import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from proofyard.answers.fifty_percent.page import read_fifty_percent
from proofyard.answers.kit.kit_worked_out import panel_worked_out
from proofyard.exchange.photo_files import PhotoFolder
from proofyard.opening import open_book
from proofyard.records.book import Revision
from proofyard.records.instrument import Instrument
from proofyard.records.panel import Panel, PanelArea
from proofyard.records.photo import Photo
from proofyard.records.shot_facts import shot_facts
from proofyard.records.speed import SpeedReading
from proofyard.records.trial import Incident
from proofyard.shots.impact import Impacts
from proofyard.shots.speed_without_chronograph import speed_of_inputs, typed_over
from proofyard.storage import Storage
from sqlalchemy import select

from seed_demo import NotEmpty, fill
from seed_demo.model import FIFTY_PERCENT_J, SLOPE, draw_outcome
from tests.conftest import copied
from tests.marks_for_tests import fair_marks


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory, demo_book_file: Path) -> Iterator[Any]:
    storage = open_book(copied(demo_book_file, tmp_path_factory.mktemp("demo") / "book"))
    yield storage
    storage.close()


def facts_of(storage: Storage) -> Any:
    with storage.read() as session:
        return shot_facts(session)


def test_about_150_shots_at_three_trials_over_two_days_on_ten_panels_or_more(demo: Storage) -> None:
    facts = facts_of(demo)
    assert 140 <= len(facts) <= 160
    assert len({f.trial_id for f in facts}) == 3 and len({f.day for f in facts}) == 2
    assert len({f.panel_id for f in facts}) >= 10 and len({f.panel_build_id for f in facts}) > len({f.panel_id for f in facts})
    assert {f.form for f in facts} == {"needle", "short_bodkin", "leaf", "barbed"}
    assert {f.construction for f in facts} == {"plate", "mail", "scale"}


@pytest.mark.slow
def test_it_comes_out_the_same_each_time(demo: Storage, tmp_path: Path) -> None:
    again = open_book(tmp_path)
    fill(again)
    ours = [(f.shot_id, f.label, f.outcome_low, f.depth_m, f.x_m) for f in facts_of(demo)]
    assert ours == [(f.shot_id, f.label, f.outcome_low, f.depth_m, f.x_m) for f in facts_of(again)]
    again.close()


def test_it_is_not_mixed_into_a_book_with_entries(demo: Storage) -> None:
    with pytest.raises(NotEmpty):
        fill(demo)


def test_most_hits_are_fair_and_most_energies_measured(demo: Storage) -> None:
    with demo.read() as session:
        facts = shot_facts(session)
        marks = fair_marks(session, facts)
        impacts = Impacts.load(session)
    answers = [m.answer for m in marks.values()]
    assert answers.count("fair") >= 0.8 * len(answers) and {"not_fair", "not_known"} <= set(answers)
    bases = [impacts.of_shot(f).basis for f in facts]
    assert bases.count("not_measured") >= 3 and bases.count("own") > 0.6 * len(bases) and "combination" in bases
    energies = [i.energy_at_chronograph_j.value for i in map(impacts.of_shot, facts) if i.measured]
    assert min(energies) > 45 and max(energies) < 145


def test_the_mess_of_real_days_is_there(demo: Storage) -> None:
    facts = facts_of(demo)
    hits = [f.hit for f in facts]
    assert {"missed", "partial", "spoiled", "on_panel", None} <= set(hits)
    assert {f.purpose for f in facts} == {"counted", "sighter", "speed_only", "let_down"}
    assert sum(f.short_draw for f in facts) >= 2
    assert any(f.rear_check for f in facts) and any(f.may_be_shot_id for f in facts)
    fates = [fate for f in facts for fate in f.head_fate + f.shaft_fate]
    assert {"curled", "off_found", "broken_behind_head"} <= set(fates)
    with demo.read() as session:
        assert len(session.execute(select(Incident)).scalars().all()) == 1
        reasons = session.execute(select(Revision.reason).where(Revision.noun == "shot", Revision.action == "change")).scalars().all()
        assert reasons == ["the wrong name was picked"]
        assert set(session.execute(select(Revision.status).where(Revision.op_id.is_not(None))).scalars()) == {"applied"}


def test_outcome_level_and_depth_fit_the_heads_tip_to_widest(demo: Storage) -> None:
    deep = [f for f in facts_of(demo) if f.depth_m is not None]
    assert deep
    for f in deep:
        assert (f.outcome_low == 5) == (f.depth_m > f.tip_to_widest_m)
        assert (f.depth_m * 1000) == pytest.approx(round(f.depth_m * 1000))  # whole millimetres


def test_half_get_through_where_the_stated_model_says() -> None:
    rng = random.Random(7)
    half = FIFTY_PERCENT_J["plate", 1.6, "needle"]
    for times, wanted in ((1.0, 0.5), (1.15, 1 / (1 + math.exp(-SLOPE * math.log(1.15))))):
        drawn = [
            draw_outcome(
                rng, energy_j=half * times, fifty_percent_j=half, hits=0, angle_rad=0, near_old_hit=False, tip_to_widest_m=0.085
            ).outcome_level
            >= 4
            for _ in range(4000)
        ]
        # four standard deviations of a share of 4000
        assert sum(drawn) / 4000 == pytest.approx(wanted, abs=4 * math.sqrt(wanted * (1 - wanted) / 4000))


def test_speeds_by_frames_and_by_sound_stand_beside_the_chronograph_and_agree_with_their_inputs(demo: Storage) -> None:
    with demo.read() as session:
        rows = session.execute(select(SpeedReading).where(SpeedReading.method.in_(("frames", "sound")))).scalars().all()
        assert sorted(row.method for row in rows) == ["frames", "sound"]
        for row in rows:
            assert row.left_out_reason, "the chronograph's mean stays what it was"
            assert typed_over(row.method, row.inputs, value_m_s=row.value_m_s) is None and speed_of_inputs(row.method, row.inputs)
            beside = [
                one.value_m_s
                for one in session.execute(select(SpeedReading).where(SpeedReading.series_id == row.series_id)).scalars()
                if one.method == "chronograph" and not one.left_out_reason
            ]
            assert abs(row.value_m_s - sum(beside) / len(beside)) < 2


def test_mail_weighs_about_what_its_rings_and_cloth_make(demo: Storage) -> None:
    with demo.read() as session:
        mail = session.execute(select(Panel).where(Panel.construction == "mail")).scalars().first()
        lines = {one.label: one.words for one in panel_worked_out(mail, [], hardness=[], tools={}, reader="metric")}
    assert "Its rings" in lines and "no more than both may be off by" in lines["Weighed beside measures"]


def test_plates_weigh_what_their_thickness_says(demo: Storage) -> None:
    with demo.read() as session:
        plates = [one for one in session.execute(select(Panel)).scalars() if one.construction == "plate"]
    assert len(plates) == 8
    for one in plates:
        assert one.mass_kg == pytest.approx(one.width_m * one.height_m * one.thickness_m * 7850, rel=0.005)  # steel, common practice


def test_no_aim_spot_is_called_as_a_shot_is(demo: Storage) -> None:
    """A letter and a number is a shot's label; spots to aim at are the numbers 1 to 12."""
    with demo.read() as session:
        spots = {one.name for one in session.execute(select(PanelArea)).scalars() if one.sort == "aim"}
    assert spots == {str(number) for number in range(1, 13)}


def test_no_instrument_is_called_as_a_shot_is(demo: Storage) -> None:
    """Shot C1 is a phone's first; a chronograph of that name would be taken for it, and a caliper K1 for panel K1."""
    with demo.read() as session:
        names = [one.name for one in session.execute(select(Instrument)).scalars()]
    assert len(names) == 5 and [name for name in names if re.search(r"\b[A-Z]\d", name)] == []


def test_photos_are_drawn_of_both_sides_and_of_each_sort_of_hit_and_came_on_the_days_of_the_demo(demo: Storage) -> None:
    with demo.read() as session:
        photos = list(session.execute(select(Photo)).scalars())
        came = set(session.execute(select(Revision.at).where(Revision.noun == "photo")).scalars())
    assert sorted((one.noun, one.seen_from) for one in photos) == [
        *[("panel_build", "back")] * 2,
        *[("panel_build", "front")] * 2,
        *[("shot", "close")] * 4,
    ]
    assert {one.taken_at for one in photos} == came and len({one.sha256 for one in photos}) == 8
    folder = PhotoFolder(demo.path.parent)
    assert all(folder.read(one.id) and folder.read(one.id, "small") for one in photos)
    shots = {fact.shot_id: fact.outcome_low for fact in facts_of(demo)}
    assert sorted(shots[one.record_id] for one in photos if one.noun == "shot") == [2, 3, 4, 5]


def test_two_heads_have_a_50_percent_energy_on_both_plates_bounded_on_both_sides(demo: Storage) -> None:
    """So that what 0.4 mm more buys can be worked out, with its interval."""
    parts = {part.id: part for part in read_fifty_percent(demo, {}, reader="metric").parts}
    bounded = [
        {head.words for head in parts[plate].heads if (point := head.found.point) and None not in (point.low_j, point.high_j)}
        for plate in ("on-plate-1_2", "on-plate-1_6")
    ]
    assert {"Long needle bodkin", "Short bodkin"} <= bounded[0] & bounded[1]


def test_a_miss_that_the_film_shows_in_the_plate_is_corrected_and_both_are_kept(demo: Storage) -> None:
    with demo.read() as session:
        said = session.execute(select(Revision).where(Revision.noun == "shot_reading", Revision.reason.contains("film"))).scalars().all()
    assert [json.loads(one.changes)["hit"][:2] for one in said] == [["missed", "on_panel"]]
