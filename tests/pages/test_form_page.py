"""The form resource: what was refused is said where it belongs, once, and a refusal is never taken for a save."""

from proofyard.access.seats import Seat
from proofyard.pages.frame.forms import FormOperations
from proofyard.records.ids import new_id
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Trial

from tests.conftest import House


def operations(house: House) -> FormOperations:
    return FormOperations(Seat("owner", device_id=house.device_ids["owner"]), new_id())


def test_what_points_to_a_refused_record_is_not_blamed_for_it(house: House) -> None:
    made = operations(house)
    trial = made.new("trial", {"question": "", "state": "planned"}, of="trial")
    made.new("session", {"trial": trial, "day": "2026-05-09"}, of="day")
    found = made.refused_by(house.storage)
    assert list(found) == ["trial"] and [one.field for one in found["trial"]] == ["question"]


def test_what_was_read_of_a_refused_shot_is_not_blamed_for_it(house: House) -> None:
    made, shot = operations(house), new_id()
    made.put("shot", shot, {"label": "A1"}, of="loosed")
    made.put("shot_reading", shot, {"hit": "missed"}, of="read")
    assert list(made.refused_by(house.storage)) == ["loosed"]


def test_each_part_of_a_form_hears_of_its_own_faults_and_nothing_of_it_is_saved(house: House) -> None:
    made = operations(house)
    trial = made.new("trial", {"question": "Does it hold?", "state": "planned"}, of="trial")
    made.new("session", {"trial": trial, "day": "some day"}, of="day")
    assert list(made.refused_by(house.storage)) == ["day"]
    with house.storage.read() as session:
        assert session.get(Trial, trial) is None


def test_a_refusal_is_told_even_where_every_fault_is_another_ones(house: House) -> None:
    made = operations(house)
    itself = new_id()
    made.put("session", itself, {"trial": itself, "day": "2026-05-09"}, of="day")
    assert made.refused_by(house.storage)
    with house.storage.read() as session:
        assert session.get(Day, itself) is None


def test_a_form_without_a_change_saves_nothing_and_is_no_refusal(house: House) -> None:
    saved: list[None] = []
    house.storage.after_commit(lambda: saved.append(None))
    assert operations(house).refused_by(house.storage) == {} and saved == []
