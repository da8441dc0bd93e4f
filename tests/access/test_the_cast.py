"""The shared cast itself: if it lies, every other test does."""

from proofyard.records import listing
from proofyard.records.shot import Shot
from proofyard.storage import Storage

from tests import kit_for_tests as kit
from tests.conftest import House


def test_a_yard_takes_a_shot_a_reading_and_speeds(book: Storage) -> None:
    yard = kit.yard(book, construction="lamellar")
    loosed = kit.shot(book, yard)
    kit.reading(book, loosed, outcome_low="4", depth="12 mm", entry="gap")
    kit.shot_speed(book, loosed, "52.6 m/s")
    kit.speeds(book, yard.combination, "52.4", "52.9")
    kit.hardness(book, "head", yard.arrow.head)
    kit.checked_sound(book, yard.arrow.build)
    kit.thickness_reading(book, yard.panel.build)
    assert kit.row(book, "shot_reading", loosed).depth_m == 0.012
    with book.read() as session:
        assert [shot.label for shot in listing.all_of(session, Shot)] == ["A1"]


def test_two_tests_never_share_a_book(house: House, book: Storage) -> None:
    assert house.storage is book
    assert set(house.device_ids) == {"owner", "archer", "viewer"}
