"""The sentences on two groups compared, read once: the same on every page."""

import pytest
from proofyard.quantities.reason import Part, Reason, because
from proofyard.wording.reasons.said import said

NEEDLE, LEAF = "the long needle", "the leaf"


def plain(words: str) -> str:
    return words.replace("\N{NO-BREAK SPACE}", " ")


def told(**more: Part) -> Reason:
    parts: dict[str, Part] = {
        "way": "curve",
        "first": NEEDLE,
        "second": LEAF,
        "ratio": 1.3908,
        "raw_low": 1.0175,
        "raw_high": 2.0535,
        "low": 0.9239,
        "high": 2.7525,
        "level": 1 - 0.05 / 3,
        "questions": 3,
        "named": False,
        "looks": "set",
        "verdict": "not_shown",
        "smallest_p": 0.0002,
        "why": None,
        **more,
    }
    return Reason("pair_told", tuple(sorted(parts.items())))


ALONE: dict[str, Part] = {"low": 1.0175, "high": 2.0535, "level": 0.95, "questions": 1, "verdict": "first"}
ODDS: dict[str, Part] = {"way": "levels", "ratio": None, "raw_low": 2.4008, "raw_high": None, "low": 1.3952, "high": None}
READ = (
    (
        told(),
        "The leaf needs 1.39 times the energy of the long needle (0.92 to 2.75 at 98.3 %, as one of three questions; 1.02 to 2.05 at 95 % "
        "by itself): not shown, and not shown to be alike",
    ),
    (told(**ALONE), "The leaf needs 1.39 times the energy of the long needle (1.02 to 2.05 at 95 %, as the one question): shown"),
    (
        told(named=True, level=0.96, low=1.01, high=2.1, verdict="first"),
        "The leaf needs 1.39 times the energy of the long needle (1.01 to 2.10 at 96 %, named in advance; 1.02 to 2.05 at 95 % by itself): "
        "shown",
    ),
    (
        told(first="shots at P1", second="shots at P2", looks="before", level=0.997, questions=1, low=0.98, high=None),
        "Shots at P2 need 1.39 times the energy of shots at P1 (0.98 or more at one-sided 99.85 %, as the one question, so far; 1.02 to "
        "2.05 at 95 % by itself): not shown, and not shown to be alike",
    ),
    (
        told(**ODDS, verdict="first", looks="not set"),
        "At like energies the odds of the long needle to get through are at least 1.40 times those of the leaf (1.40 or more at one-sided "
        "99.2 %, as one of three questions, looked at along the way; 2.40 or more at one-sided 97.5 % by itself): shown",
    ),
    (
        told(ratio=None, raw_low=1.3, raw_high=None, low=1.1, high=None, verdict="first"),
        "The leaf needs at least 1.10 times the energy of the long needle (1.10 or more at one-sided 99.2 %, as one of three questions; "
        "1.30 or more at one-sided 97.5 % by itself): shown",
    ),
    (
        told(way="a_fortiori", verdict="second"),
        "The leaf had less energy than the long needle and still got through more often, more than chance explains: shown",
    ),
    (
        told(way="apart", verdict="apart", why=because("energies_do_not_meet")),
        "The long needle and the leaf are not compared: their energies do not meet, so nothing tells them from the energy",
    ),
    (
        told(verdict="too_few", smallest_p=0.083),
        "Too few shots to show a difference between the long needle and the leaf: with these numbers and energies no outcome could give a "
        "smaller p than 0.083",
    ),
    (
        told(verdict="too_few", why=because("more_energy_no_more_often")),
        "Too few shots to show a difference between the long needle and the leaf (in your shots, those with more energy got "
        "through no more often than those with less, so no curve can rise through half: look for what else changed with the "
        "energy): these outcomes bound neither side",
    ),
    (because("pair_ratio", way="curve", ratio=1.39), "1.39 times the energy"),
    (because("pair_ratio", way="levels", ratio=16.603), "16.6 times the odds"),
    (because("pair_ratio", way="curve", ratio=None), "no estimate"),
    (because("pair_ratio", way="levels", ratio=None), "no estimate"),
    (because("pair_ratio", way="apart", ratio=None), "not compared"),
    (because("pair_ends", low=1.0018, high=2.5, level=0.95, way="curve"), "1.002 to 2.50 (95 %)"),
    (because("pair_ends", low=0.98, high=None, level=0.95, way="curve"), "0.98 or more (one-sided, 97.5 %)"),
    (because("pair_ends", low=None, high=None, level=0.95, way="curve"), "not bounded"),
    (because("pair_no_ends"), "none"),
    (
        because("pair_verdict", verdict="not_shown", first=NEEDLE, second=LEAF, alone=True, smallest_p=0.001, why=None),
        "Not shown, and not shown to be alike (it would be as the only question: shoot it again as that)",
    ),
    (
        because("pair_verdict", verdict="second", first=NEEDLE, second="shots at P2", alone=True, smallest_p=0.001, why=None),
        "Shown: shots at P2 get through more easily",
    ),
    (
        because("pair_verdict", verdict="too_few", first=NEEDLE, second=LEAF, alone=False, smallest_p=0.1, why=None),
        "Too few shots to show a difference: with these numbers and energies no outcome could give a smaller p than 0.1",
    ),
    (because("pair_in_short", verdict="too_few", first=NEEDLE, second=LEAF), "Too few shots to show a difference"),
    (because("pair_in_short", verdict="first", first=NEEDLE, second=LEAF), "Shown: the long needle gets through more easily"),
    (because("pair_in_short", verdict="apart", first=NEEDLE, second=LEAF), "Not compared"),
    (
        because("pair_verdict", verdict="apart", first=NEEDLE, second=LEAF, alone=False, smallest_p=1.0, why=None),
        "Not compared: nothing tells them from the energy",
    ),
    (
        because("pair_reference", who=LEAF, shots=12, named=False, pairs=3, looks="not set"),
        "Measured against the leaf: shot most (12 shots). Three questions share one correction. No number of shots was set beforehand, so "
        "looks on the way are paid for: 98.4 % instead of 95 %.",
    ),
    (
        because("pair_reference", who=LEAF, shots=1, named=True, pairs=1, looks="before"),
        "Measured against the leaf: of the pair named in advance, shot most (1 shot). The number of shots set beforehand is not reached, "
        "so each look on the way is judged at 99.7 %.",
    ),
    (
        because("pair_of_chosen_energies"),
        "The energies were chosen by the outcomes so far, so the interval is widened for that; slow curves may still be missed.",
    ),
    (because("pair_undecided", shots=1), "1 shot undecided is left out until checked from behind."),
    (
        because("pair_of_these_arrows", first=5, second=4),
        "It speaks of these arrows, 5 against 4; another arrow of the same form may differ.",
    ),
    (
        because("pair_of_these_arrows", first=3, second=4),
        "It speaks of these arrows only, 3 against 4: with fewer than four a head one odd arrow can make a difference.",
    ),
    (
        because(
            "pair_level",
            low_j=62.9,
            high_j=69.6,
            first=LEAF,
            first_counts="none of 6",
            past="through",
            second=NEEDLE,
            second_counts="1 of 4",
            alike="second_less",
            gap=0.042,
            own=0.001,
        ),
        "At 62.9 to 69.6 J: the leaf none of 6 through, the long needle 1 of 4. The leaf had 4.2 % more energy than the long needle, so "
        "only the long needle could be shown to get through more easily here.",
    ),
    (
        because(
            "pair_level",
            low_j=60.0,
            high_j=60.0,
            first=LEAF,
            first_counts="none of 6",
            past="through",
            second=NEEDLE,
            second_counts="1 of 4",
            alike="not_known",
            gap=0.0,
            own=None,
        ),
        "At 60 J: the leaf none of 6 through, the long needle 1 of 4. The uncertainty of the difference of their mean energies is not "
        "recorded, so nothing says that they are alike.",
    ),
    (because("of_several_trials", trials=2), "These shots are from 2 trials, and no trial named one pair in advance."),
    (because("no_trial_named_it"), "No trial named one pair in advance."),
    (because("trial_does_not_say"), "The trial does not record what it varies, so no pair was named in advance."),
    (
        because("trial_varies_other", varied="bow", kind="head forms"),
        "The trial varies “bow”, not head forms, so no pair was named in advance.",
    ),
    (
        because("trial_names_no_two", varied="head form", kind="head forms"),
        "The trial varies “head form”, but does not name two of these head forms, so no pair was named in advance.",
    ),
    (because("trial_claims_these"), "The trial’s claim compares these two, so that pair is judged first."),
    (
        because("trial_names_these", varied="needle or leaf"),
        "The trial varies “needle or leaf” and names these two, so that pair is judged first.",
    ),
    (
        because("trial_shot_these", varied="head form"),
        "The trial varies “head form” and was shot with these two only, so that pair is the one question.",
    ),
)


@pytest.mark.parametrize(("reason", "words"), READ, ids=lambda one: one.code if isinstance(one, Reason) else "")
def test_pairs_say(reason: Reason, words: str) -> None:
    assert plain(said(reason)) == words


def test_a_reader_of_foot_pounds_gets_the_level_in_foot_pounds() -> None:
    level = next(reason for reason, _ in READ if reason.code == "pair_level")
    assert "46.4 to 51.3\N{NO-BREAK SPACE}ft·lbf" in said(level, "archery")
