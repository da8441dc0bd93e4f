"""The sentences of trials side by side, read once: each as an archer meets it."""

import pytest
from proofyard.quantities.reason import Reason, because
from proofyard.wording.reasons.said import said, sentence

READ = (
    (
        because("changed_for_every_shot", factors=("the bow", "who loosed", "the stand")),
        "Changed for every shot: the bow, who loosed and the stand",
    ),
    (because("changed_for_some_shots", factors=("who loosed",)), "Changed for some shots: who loosed"),
    (because("different_between_these", factors=("the panel type",)), "Different between these trials: the panel type"),
    (
        because("newest_pair_shown", follows=True),
        "Shown by default: the newest trial that follows another, with that one. Pick others below.",
    ),
    (because("newest_pair_shown", follows=False), "Shown by default: the newest trial and the one before it. Pick others below."),
    (
        because("changed_together", every=("the panel type", "the day")),
        "The panel type and the day changed together, for every shot. If the counts differ by more than chance, any of them may be "
        "why, and these shots cannot show which: no shot of one trial shares either with the other.",
    ),
    (
        because("only_one_thing_changed", factor="the panel type"),
        "Only one thing changed for every shot: the panel type. If the counts differ by more than chance, that may be why, or "
        "something not recorded.",
    ),
    (
        because("so_many_alike", first=6, second=4),
        "6 and 4 shots are alike in all of that (single arrows and panels apart). Count only those to exclude these changes.",
    ),
    (
        because("through_means_differ", meaning="point through or more"),
        "These trials define “through” differently. Here all are counted by one definition: point through or more.",
    ),
)


@pytest.mark.parametrize(("reason", "words"), READ, ids=lambda one: one.code if isinstance(one, Reason) else "")
def test_trials_side_by_side_say(reason: Reason, words: str) -> None:
    assert said(reason) == words


def test_a_note_beside_a_changed_thing_is_a_sentence_of_its_own() -> None:
    assert sentence(because("fair_in_one_not_in_another")) == "The same hit may count as fair in one trial and not in another."
    assert sentence(because("too_few_energies", fewest=3)) == ("Fewer than 3 shots with a measured energy: too few to show a change.")
