"""The data layers' further tests on a book in PostgreSQL: who joins, phones' queues, the feed, phones' state, science."""

import pytest
from proofyard.storage import Storage

from tests.access.test_joining import *  # noqa: F403
from tests.api.test_operations import *  # noqa: F403
from tests.api.test_plain_log import *  # noqa: F403
from tests.api.test_snapshot import *  # noqa: F403
from tests.live.test_changes import *  # noqa: F403
from tests.records.test_no_text_is_poison import *  # noqa: F403
from tests.records.test_place_on_panel import *  # noqa: F403
from tests.records.test_shot_label import *  # noqa: F403
from tests.records.test_unseen_signs import *  # noqa: F403
from tests.shots.test_fairness_is_one import *  # noqa: F403
from tests.shots.test_impact import *  # noqa: F403
from tests.shots.test_scoped_loads import *  # noqa: F403
from tests.shots.test_soundness import *  # noqa: F403

pytestmark = pytest.mark.long

# These two are of the file itself: its bytes are read, and it is locked.
del test_the_seat_has_another_secret_than_the_asking_and_the_book_keeps_neither  # noqa: F821
del test_a_book_that_takes_nothing_now_is_no_fault_of_an_operation  # noqa: F821


def test_these_run_on_a_database(book: Storage) -> None:
    assert not book.in_a_file
