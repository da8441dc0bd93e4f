"""What the one door takes and refuses, on a database; the rest of these tests is run there by `test_data_layers_there.py`."""

import pytest
from proofyard.storage import Storage

from tests.records.test_apply import (  # noqa: F401  run here with a database's `book`
    test_a_clash_is_decided_by_somebody_who_saw_it_and_by_nobody_else,
    test_a_closed_trial_takes_no_shot_until_it_is_reopened_with_a_reason,
    test_a_form_is_taken_whole_or_not_at_all_with_every_fault_said,
    test_an_id_used_for_something_else_is_refused,
    test_one_bad_operation_never_blocks_the_rest,
    test_striking_through_needs_a_reason_and_keeps_the_record,
    test_the_change_feed_counts_every_change_once_in_order,
    test_the_same_operation_again_gets_its_first_answer_and_changes_nothing,
    test_two_of_one_name_get_names_that_differ,
    test_two_who_say_otherwise_of_one_field_are_both_kept_for_a_person_to_decide,
    test_what_was_typed_stays_beside_what_it_means,
)

pytestmark = pytest.mark.slow


def test_these_run_on_a_database(book: Storage) -> None:
    assert not book.in_a_file
