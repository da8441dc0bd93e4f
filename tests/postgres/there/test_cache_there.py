"""What is kept of shots, in PostgreSQL: the demo's rows in a database, changed there by lot."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from proofyard.postgres.book import PostgresBook
from proofyard.storage import Storage

from tests.conftest import copied, opened
from tests.live import test_fits_are_kept as of_fits
from tests.postgres.there.conftest import given_back, with_the_rows_of
from tests.postgres_for_tests import Server
from tests.shots import test_remembered as of_memory
from tests.shots.test_cache import (  # noqa: F401
    test_emptied_at_a_moment_of_a_random_history_no_page_changes,
    test_one_changed_reading_leaves_nearly_all_as_it_was_kept,
    test_what_is_kept_is_what_working_it_out_gives,
    test_what_other_formulas_kept_is_worked_out_again,
    test_what_was_worked_out_before_a_change_is_not_kept_as_if_it_held_after_it,
)

pytestmark = pytest.mark.slow

test_what_was_not_asked_for_longest_goes = of_fits.test_what_was_not_asked_for_longest_goes
test_a_process_reads_what_came_since_it_looked = of_fits.test_a_process_reads_what_came_since_it_looked_and_nothing_twice
fetched = of_memory.fetched
test_after_any_change_what_is_remembered_holds = of_memory.test_after_any_change_it_is_what_working_all_out_gives
test_a_shot_that_was_saved_or_read_is_followed = of_memory.test_a_shot_that_was_saved_or_read_is_followed
test_who_reads_an_older_state_is_told_that_state = of_memory.test_who_reads_an_older_state_is_told_that_state


@pytest.fixture
def demo_book(tmp_path: Path, demo_book_file: Path, postgres: Server) -> Iterator[PostgresBook]:
    with closing(opened(copied(demo_book_file, tmp_path / "file"))) as source:
        made = with_the_rows_of(source, postgres, tmp_path / "there")
    yield made
    given_back(made)


def test_these_run_on_a_database(demo_book: Storage) -> None:
    assert not demo_book.in_a_file
