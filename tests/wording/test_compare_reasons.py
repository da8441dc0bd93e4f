"""The sentences of comparisons, read once: each as an archer meets it."""

import pytest
from proofyard.quantities.reason import Reason, because
from proofyard.wording.reasons.compare import gap_size
from proofyard.wording.reasons.said import said

NEEDLE, SHORT = "the long needle", "the short one"
READ = (
    (because("no_difference_in_pairs", pairs=3), "No difference shown in three comparisons"),
    (because("no_difference_in_pairs", pairs=12), "No difference shown in 12 comparisons"),
    (because("pairs_that_show", shown=1, pairs=4), "One of 4 comparisons shows a difference; the others are still open."),
    (because("pairs_that_show", shown=1, pairs=1), "It is the one comparison here."),
    (
        because("depth_shift", at_low_j=42.0, at_high_j=58.0, first=NEEDLE, second=SHORT, shift_m=-0.012, low_m=-0.02, high_m=0.003),
        "At 42 to 58\xa0J the long needle went 12\xa0mm less deep than the short one; interval 20\xa0mm less deep to 3\xa0mm deeper.",
    ),
    (because("group_counted", counted=0, loosed=1, apart=("1 unread",)), "none of 1 shot are counted; 1 unread"),
    (because("group_counted", counted=1, loosed=8, apart=()), "1 of 8 shots is counted"),
    (
        because("confounded", first=NEEDLE, second=SHORT, shared=("panel", "archer", "day")),
        "The long needle and the short one share no panel, archer and no day here, so a difference could be due to that.",
    ),
    (
        because("near_at_equal_energy", times=1.1, low=None, high=1.3, shots=8),
        "Near an earlier hit, the 50\xa0% energy is 1.10 times that of fair hits, 95\xa0% interval no bound to 1.30 (8 shots).",
    ),
)


@pytest.mark.parametrize(("reason", "words"), READ, ids=lambda one: one.code if isinstance(one, Reason) else "")
def test_comparisons_say(reason: Reason, words: str) -> None:
    assert said(reason) == words


def test_size_and_uncertainty_are_said_in_words() -> None:
    def size(low: float, high: float, difference: float) -> str:
        return gap_size(low=low, high=high, difference=difference)

    assert "12 percentage points less to 61 percentage points more" in size(-0.12, 0.61, 0.3)
    assert size(-0.61, -0.04, -0.3) == ("30 percentage points less; 95\N{NO-BREAK SPACE}% interval 4 to 61 percentage points less")
    assert "no difference" in size(-0.4, 0.4, 0.0)
    assert "1 percentage point more" in size(-0.4, 0.4, 0.01)
