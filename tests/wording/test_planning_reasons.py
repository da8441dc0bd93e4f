"""The sentences of planning, read once: each as an archer meets it."""

import pytest
from proofyard.quantities.reason import Reason, because
from proofyard.wording.reasons.said import said

NEXT = because("next_planned", words="arrow 7, upper left, spot 3", when=because("when_line_clear"))
READ = (
    (because("no_longer_fair", label="A1", away_m=0.0304), "no longer fair: A1 hit 30\xa0mm from it"),
    (
        because("no_room_for_spots", why=because("no_spot_far_enough")),
        "No spot on this panel is far enough from the edge and from earlier hits. Take another panel, or plan without spots.",
    ),
    (
        because("too_few_spots", each=5, cells=4, of="arrows", shots=20, spots=12, most=3),
        "5 for each of 4 arrows is 20 shots, and this panel has room for 12 that stay fair. Give 3 at most, take a fresh panel, or plan "
        "without spots.",
    ),
    (
        because("order_lead", shots=24, done=7, skipped=1, following=NEXT, waiting=True),
        "24 shots planned: 7 done, 1 skipped. Next: arrow 7, upper left, spot 3, when the line is clear.",
    ),
    (
        because("order_lead", shots=8, done=7, skipped=0, following=None, waiting=True),
        "8 shots planned: 7 done. What is left waits for its arrows.",
    ),
    (
        because("after_the_last", energy_j=44.0, why=because("more_after_held")),
        "Of the last shot that counts with this head, at 44\xa0J: it was stopped, so the next should have more.",
    ),
    (
        because("where_it_lies", head="Leaf", shots=0, low_j=40.0, high_j=120.0, chance=0.5),
        "Leaf, no shots yet: the 50 % energy is taken to lie between 40\xa0J and 120\xa0J. A shot here goes through with a chance of about "
        "5 in 10.",
    ),
    (
        because("so_many_count", shots=6, energy_j=44.0, low_j=38.0, high_j=52.0),
        "6 shots that count: 50 % energy 44\xa0J, 95\xa0% interval 38 to 52\xa0J",
    ),
    (because("unread_so_unknown", labels=("A1", "A2")), "A1, A2 are not read yet, so the rule does not know them."),
    (
        because("no_shot_can_be_chosen", left_out=(because("arrows_to_check_first", tags=("2", "7")),)),
        "No shot can be chosen: no sound arrow has a known energy. Arrows 2, 7 must be checked first.",
    ),
    (
        because("shots_to_rule_out", share=0.3, shots=9),
        "To rule out a share of 30\xa0% or more, 9 fair shots must be stopped in a row (95\xa0%).",
    ),
    (because("said_before_shots", before=0, unclear=0), "before the first shot"),
    (because("said_before_shots", before=1, unclear=2), "after 1 shot"),
    (
        because("said_before_shots", before=0, unclear=2),
        "on the day of the first shot, before or after it: when it was loosed is not recorded",
    ),
)


@pytest.mark.parametrize(("reason", "words"), READ, ids=lambda one: one.code if isinstance(one, Reason) else "")
def test_planning_says(reason: Reason, words: str) -> None:
    assert said(reason) == words


def test_a_changed_prediction_says_that_the_notebook_keeps_what_was_said_first() -> None:
    first = because("said_before_shots", before=3, unclear=0)
    words = said(because("prediction_said", changed=True, at_ms=1_792_836_000_000, before_it=first, kept_first=True))
    assert words.startswith("Changed ") and words.endswith(", after 3 shots; first recorded before that, and the notebook keeps what.")
