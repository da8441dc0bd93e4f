"""A place that can't lie on the panel is asked about where it is typed; shaped armour is measured along its curve."""

from __future__ import annotations

import pytest
from proofyard.storage import Storage

from tests import kit_for_tests as kit


def panel_of(book: Storage, yard: kit.Yard, **size: str) -> None:
    row = kit.row(book, "panel", yard.panel.panel)
    kit.put(book, "panel", size, record_id=row.id, base_rev=row.rev)


def asked(book: Storage, yard: kit.Yard, **said: str) -> list[tuple[str, str]]:
    answer = kit.ask(
        book, "shot_reading", {"hit": "on_panel", "outcome_low": "3", "outcome_high": "3", **said}, record_id=kit.shot(book, yard)
    )
    return [(one.field, one.sentence) for one in answer.problems]


@pytest.fixture
def yard(book: Storage) -> kit.Yard:
    return kit.yard(book)


def test_900_mm_above_the_middle_of_a_panel_900_mm_high_is_asked_about(book: Storage, yard: kit.Yard) -> None:
    panel_of(book, yard, name="P9", width="600 mm", height="900 mm", outline="rectangle")
    ((field, sentence),) = asked(book, yard, x="0", y="900 mm")
    assert field == "y" and sentence.startswith(
        "900 mm above the middle is off P9: its height is 900 mm, so its edge is 450 mm from the middle."
    )
    assert [field for field, _ in asked(book, yard, x="-700 mm", y="-901 mm")] == ["x", "y"]
    assert asked(book, yard, x="300 mm", y="-450 mm") == []


def test_a_shaped_plate_is_measured_along_its_curve(book: Storage, yard: kit.Yard) -> None:
    panel_of(book, yard, width="300 mm", height="400 mm", outline="breastplate")
    assert asked(book, yard, x="230 mm", y="0") == []  # round half a cylinder 300 mm wide it is 236 mm to the edge
    assert [field for field, _ in asked(book, yard, x="250 mm", y="0")] == ["x"]


def test_a_miss_may_have_gone_anywhere_and_a_panel_without_a_size_asks_nothing(book: Storage, yard: kit.Yard) -> None:
    panel_of(book, yard, width="300 mm", height="400 mm", outline="rectangle")
    loosed = kit.shot(book, yard)
    assert kit.ask(book, "shot_reading", {"hit": "missed", "x": "900 mm", "y": "0"}, record_id=loosed).taken
    panel_of(book, yard, width="", height="")
    assert asked(book, yard, x="900 mm", y="0") == []


def test_a_reading_that_stood_before_can_still_be_corrected_elsewhere(book: Storage, yard: kit.Yard) -> None:
    panel_of(book, yard, width="", height="")
    read = kit.reading(book, kit.shot(book, yard), x="900 mm", y="0")
    panel_of(book, yard, width="300 mm", height="400 mm", outline="rectangle")
    kit.put(book, "shot_reading", {"note": "measured from the edge?"}, record_id=read, base_rev=1)
