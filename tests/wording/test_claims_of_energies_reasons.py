"""Claims of energies in their reviewed words: read them aloud."""

from __future__ import annotations

import pytest
from proofyard.quantities.reason import Reason, because
from proofyard.wording.reasons import claims_of_energies
from proofyard.wording.reasons.said import said

THIN = because("claim_armour", construction="plate", thickness_m=0.001)
THICK = because("claim_armour", construction="plate", thickness_m=0.0016)
SCOPE = because("claim_scope", arrows=("3", "7"), panels=("P5",))
SETTLES = because("claim_would_settle", shots=9, groups=2)
POINT = {
    "energy_j": 92.2,
    "low_j": 82.4,
    "high_j": 103.1,
    "level": 0.9842,
    "raw_low_j": 84.3,
    "raw_high_j": 101.2,
    "looks": "not set",
    "limit_j": 80.0,
}
READ: tuple[tuple[Reason, str], ...] = (
    (
        because("claim_needs_less", head="long needle bodkin", than="leaf", armour=THICK),
        "The long needle bodkin needs less energy than the leaf to get through 1.6\xa0mm one-piece plate.",
    ),
    (
        because(
            "claim_fifty_percent_above", head="leaf", armour=because("claim_armour", construction="mail", thickness_m=None), energy_j=80.0
        ),
        "Half of the shots with the leaf get through mail only above 80\xa0J.",
    ),
    (
        because("claim_difference", head="leaf", one=THICK, other=THIN, least=0.1),
        "1.6\xa0mm one-piece plate needs at least 10\xa0% more energy than 1\xa0mm one-piece plate for half of the shots with the leaf to "
        "get through.",
    ),
    (
        because(
            "claim_difference", head="leaf", one=because("claim_panel", panel="P5"), other=because("claim_panel", panel="P2"), least=0.25
        ),
        "P5 needs at least 25\xa0% more energy than P2 for half of the shots with the leaf to get through.",
    ),
    (because("claim_on_stand", construction="plate", thickness_m=0.0016, stand="Frame 2"), "1.6\xa0mm one-piece plate on Frame 2"),
    (
        because("claim_stands_alike", others=False),
        "the two stands have one garment and one backing, as far as they are recorded: record the layers of each on its own page",
    ),
    (
        because("claim_stands_alike", others=True),
        "other stands with the garment and the backing of one of the two were shot at too, and count as the same armour",
    ),
    (
        because(
            "claim_of_pair", verdict="yes", scope=SCOPE, told="The leaf needs 1.39 times the energy of the needle", least=None, settles=""
        ),
        "Yes, as far as asked, with arrows 3 and 7 on panel P5. The leaf needs 1.39 times the energy of the needle.",
    ),
    (
        because(
            "claim_of_pair", verdict="no", scope="", told="Shots at P5 need 1.02 times the energy of shots at P2", least=0.1, settles=""
        ),
        "No. Shots at P5 need 1.02 times the energy of shots at P2; at least 1.1 times was claimed.",
    ),
    (
        because("claim_of_pair", verdict="not_yet", scope="", told="The leaf needs 1.39 times the energy", least=None, settles=SETTLES),
        "Not yet. The leaf needs 1.39 times the energy. About 9 more shots, 5 each, at the same energies would settle it with an even "
        "chance, if they go as those so far.",
    ),
    (
        because("claim_of_point", verdict="yes", scope="", settles="", **POINT),
        "Yes, as far as asked. The 50\xa0% energy is 92\xa0J (82 to 103\xa0J at 98.4\xa0%, looked at along the way; 84 to 101\xa0J at "
        "95\xa0% by itself); above 80\xa0J was claimed.",
    ),
    (
        because("claim_of_point", verdict="yes", scope=SCOPE, settles="", **{**POINT, "looks": "set"}),
        "Yes, as far as asked, with arrows 3 and 7 on panel P5. The 50\xa0% energy is 92\xa0J (84 to 101\xa0J at 95\xa0%); above 80\xa0J "
        "was claimed.",
    ),
    (
        because(
            "claim_of_point",
            verdict="not_yet",
            scope="",
            settles=because("claim_up_to_the_number", shots=1, groups=1),
            **{**POINT, "looks": "before", "level": 0.997, "low_j": None, "high_j": None, "raw_low_j": 77.0, "raw_high_j": None},
        ),
        "Not yet. The 50\xa0% energy is 92\xa0J (not bounded at one-sided 99.85\xa0%, so far; not less than 77\xa0J at one-sided 97.5\xa0% "
        "by itself); above 80\xa0J was claimed. 1 more shot to the number set beforehand.",
    ),
    (
        because("claim_cant_tell", why=because("claim_not_both_shot"), settles=because("claim_up_to_the_number", shots=12, groups=2)),
        "Not yet: no shot counts with one of the two. 12 more shots each to the number set beforehand.",
    ),
    (
        because("claim_cant_tell", why=because("claim_several_types", types=("1 mm plate", "1.6 mm plate")), settles=""),
        "Not yet: these shots mix 1 mm plate and 1.6 mm plate: say in the claim which of them it is about.",
    ),
    (because("claim_needs_a_curve"), "without a curve only odds can be compared, which say nothing of how many times the energy"),
    (
        because("claim_type_lacks", few="panel", count=1),
        "For the type: 1 panel can lie together on one side by luck. It takes four, or their spread stated in the claim.",
    ),
    (because("claim_group_told", rests_on=SCOPE), "With arrows 3 and 7 on panel P5."),
    (because("claim_group_told", rests_on=None), ""),
    (
        because("claim_energies_unsure"),
        "The shots alone would decide it. The uncertainty of the energies, which their interval leaves out, leaves it open.",
    ),
    (because("claim_at_the_chronograph"), "Energies are those at the chronograph: at the target they can’t be told for most shots."),
    (
        because("claim_energy_rule", pair=True, level=0.9842, looks="not set", late=False),
        "Judged by the one interval that “Heads compared” shows too, here at 98.4\xa0%: no number of shots was set beforehand, so looks on "
        "the way are paid for. Each wrong answer is then said in at most 5\xa0% of such trials.",
    ),
    (
        because("claim_energy_rule", pair=False, level=None, looks="set", late=True),
        "Judged by the one interval that “50\xa0% energies” shows too: the number of shots set beforehand is reached.",
    ),
    (
        because("claim_spread_stated", spread=0.08),
        "For the type: wider by arrows and panels that differ by 8\xa0% among themselves, as the claim states.",
    ),
    (
        because("claim_type_of_energies"),
        "For the type: the same, of four arrows and four panels or more in each group. What both groups share cancels.",
    ),
    (
        because("claim_energy_needs", form="needs_less", least=None, set_shots=None),
        "With 12 shots each, a head that needs 1.4 times the energy of the other is shown to in about 3 of 10 trials, with 20 in half; "
        "with 8 or fewer hardly any difference is.",
    ),
    (
        because("claim_energy_needs", form="thickness", least=0.1, set_shots=40),
        "A difference of a tenth can hardly be ruled out, even with 40 shots each: where there is none, “no” is said in about one trial "
        "of five. Where it truly is 30\xa0%, “yes” is said in about 1 of 6 with 12 shots each, in nearly half with 40. Set "
        "beforehand: 40 each.",
    ),
    (
        because("claim_energy_needs", form="fifty_percent_above", least=None, set_shots=20),
        "Where the 50\xa0% energy truly is a fifth above what is claimed, “yes” is said in about 4 of 10 trials with 20 shots, in 8 with "
        "40. Set beforehand: 20.",
    ),
)


@pytest.mark.parametrize(("reason", "words"), READ, ids=[str(reason)[:80] for reason, _ in READ])
def test_a_reason_is_said_in_its_reviewed_words(reason: Reason, words: str) -> None:
    assert said(reason) == words


def test_every_sentence_was_reviewed() -> None:
    reviewed: set[str] = set()
    waiting = [reason for reason, _ in READ]
    while waiting:
        one = waiting.pop()
        reviewed.add(one.code)
        waiting += [part for part in one.parts.values() if isinstance(part, Reason)]
    assert set(claims_of_energies.SENTENCES) - reviewed == set()
