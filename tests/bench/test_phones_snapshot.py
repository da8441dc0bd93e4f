"""What a phone is told at once stays small, whatever the book holds."""

from pathlib import Path

from proofyard.settings import BOOK_FILE
from proofyard.storage import Storage

from tests.bench.multiplied import multiply
from tests.bench.phones_snapshot import of_two_trials, packed, told


def test_a_phone_is_told_at_most_32_kb_of_forty_set_ups_and_12_kb_of_two_trials(demo_book: Storage, tmp_path: Path) -> None:
    folder = Path(demo_book.path).parent
    multiply(folder / BOOK_FILE, 700)
    all_open, two = told(folder), told(of_two_trials(folder, tmp_path / "two"))
    assert len(all_open["setups"]) == 40 and len({one["trial"] for one in two["setups"]}) == 2
    assert packed(all_open) <= 32_000 and packed(two) <= 12_000
    rows = [row for rows in all_open["earlier"].values() for row in rows]
    assert len(rows) > 100 and packed(all_open["earlier"]) / len(rows) < 0.5 * packed(all_open["shots"]) / len(all_open["shots"])
