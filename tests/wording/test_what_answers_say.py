"""Every reason of answers and views was read once, as a reader meets it."""

import pytest
from proofyard.quantities.reason import Reason
from proofyard.wording.reasons import compare, fifty_percent, pairs, planning, results, trial_comparison
from proofyard.wording.reasons.said import said

from tests.wording import (
    reviewed_answers,
    test_compare_reasons,
    test_pairs_reasons,
    test_planning_reasons,
    test_results_reasons,
    test_trial_comparison_reasons,
    test_what_stands_beside_numbers,
)

TABLES = (compare.SENTENCES, pairs.SENTENCES, fifty_percent.SENTENCES, planning.SENTENCES, results.FINDING, trial_comparison.SENTENCES)
PAGES = (
    test_compare_reasons,
    test_pairs_reasons,
    test_planning_reasons,
    test_results_reasons,
    test_trial_comparison_reasons,
    test_what_stands_beside_numbers,
)
# A time of day is said in the laptop's own time: test_planning_reasons has a test of its own for it.
ELSEWHERE = {"prediction_said"} | {reason.code for page in PAGES for reason, _ in page.READ}


@pytest.mark.parametrize(("reason", "words"), reviewed_answers.REVIEWED, ids=[str(reason) for reason, _ in reviewed_answers.REVIEWED])
def test_a_reason_is_said_in_its_reviewed_words(reason: Reason, words: str) -> None:
    assert said(reason) == words


def test_every_sentence_was_reviewed() -> None:
    reviewed = {reason.code for reason, _ in reviewed_answers.REVIEWED} | ELSEWHERE
    assert {code for table in TABLES for code in table} - reviewed == set()
