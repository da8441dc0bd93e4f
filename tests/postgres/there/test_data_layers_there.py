"""The one door's own tests, and those of who holds which record, on a book in PostgreSQL: what holds of a file must hold there."""

import pytest
from proofyard.storage import Storage

from tests.api.test_holds import *  # noqa: F403
from tests.records.test_apply import *  # noqa: F403

pytestmark = pytest.mark.long


def test_these_run_on_a_database(book: Storage) -> None:
    assert not book.in_a_file
