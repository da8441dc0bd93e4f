"""What the reasons of the answers say: one of each kind, read aloud. test_reasons.py (contract) holds codes and sentences together."""

from __future__ import annotations

import pytest
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import Reason, because
from proofyard.wording.reasons.said import said
from proofyard.wording.reasons.session import labels_listed

UNCHANGED = because(
    "what_if_asked", thickness_m=None, hardness="", steel="", layers=None, cloths=None, wire_m=None, angle_rad=None, distance_m=None
)
SLANTED = because(
    "what_if_asked",
    thickness_m=0.0012,
    hardness="",
    steel="mild steel",
    layers=2,
    cloths=None,
    wire_m=None,
    angle_rad=0.5236,
    distance_m=30.0,
)


def finding(asked: Reason, *, of_armour: bool, low_j: float | None, high_j: float | None) -> Reason:
    return because(
        "what_if_finding", panel="P2", asked=asked, of_armour=of_armour, rules_low_j=60.0, rules_high_j=60.0, low_j=low_j, high_j=high_j
    )


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        (finding(UNCHANGED, of_armour=False, low_j=48.0, high_j=75.0), "The 50 % energy of P2 unchanged is 60 J, 48 to 75 J"),
        (
            finding(SLANTED, of_armour=True, low_j=48.0, high_j=None),
            "The 50 % energy of P2 at 1.2 mm, of mild steel, in 2 layers, at 30°, from 30 m would be "
            "not less than 48 J (one-sided, 97.5 %)",
        ),
        (
            because("what_if_own_panels", panels=("P1", "P4"), energy_j=60.0, low_j=48.0, high_j=75.0, apart=True),
            "You have shot at 2 panels of that thickness (P1, P4): their 50 % energy is 60 J, 48 to 75 J (95 %). "
            "The rules disagree with that: trust the shots.",
        ),
        (
            because("what_if_more_through", more=1, of=5, above_j=60.0),
            "1 of the 5 shots that were stopped had more than 60 J: more than half of such shots would have got through.",
        ),
        (
            because("what_if_does", verdict="through", left_low_j=0.0, left_high_j=12.0),
            "more would get through than be stopped; one that gets through still has up to 12 J",
        ),
        (
            because("what_if_notes", notes=(because("what_if_usual", steel="mild steel", low=120.0, high=145.0, scale="HV"),)),
            "mild steel assumed 120 to 145 HV",
        ),
        (
            because(
                "what_if_bow_stronger",
                low_times=1.1,
                high_times=1.3,
                limbs_known=False,
                weight_n=444.822,
                source=because("bow_weight_at_check", who="Wren"),
                extrapolated=True,
            ),
            "110 to 130 lbf (489 to 578 N) of this make, 1.1 to 1.3 times as strong as its 100 lbf (at Wren’s last check), its limbs’ "
            "virtual mass not known; stronger than any bow in this book, so an extrapolation",
        ),
        (
            because("blunt_missing", missing=(because("blunt_no_panel_mass", panel="P2"), because("blunt_no_hung_mass", stand="S1"))),
            "Panel P2 has no recorded mass. The mass that hangs with the panel in S1 is not recorded: enter 0 kg if nothing does.",
        ),
        (
            because("blunt_bounce", length_m=1.1, fall_m=0.5, fall_typed=False, fastest_m_s=6.391),
            "It lay 1.1 m away: from at least 0.5 m up, since no height is entered, it bounced back at 6.4 m/s at most.",
        ),
        (because("bow_few_readings", few=1, arrows=3), "1 of 3 arrows rests on three readings or fewer: such a mean is itself rough."),
        (
            because("speeds_finding", speed=Uncertain(52.0, 0.14, n=3), energy=Uncertain(81.1, 1.3), why=None),
            "52.00 m/s ± 0.14 from 3 readings: 81.1 J ± 1.3 at the chronograph.",
        ),
        (because("session_lead", state="open", ticked=5, cautions=5, shots=1, unread=1), "Open. 1 shot, 1 not read yet."),
        (
            because("session_close", waiting=(), phones=2, gaps=0, unread=2, today=True),
            "Everything on both phones is in the book; 2 shots are not read yet",
        ),
        (
            because("session_missing", labels=("A15", "A16")),
            "A15, A16 are not in the book, though labels before and after them are. Look on that phone under “needs you”, and at what was "
            "written on paper.",
        ),
        (because("day_to_check", arrows=2), "Arrows to check before they are shot again"),
        (because("day_unmeasured", want=because("day_weigh", arrow="7", build=2)), "Energy not measured: weigh arrow 7, build 2"),
        (
            because("trial_left_out", reasons=((2, "Missed"), (1, "Not read yet")), let_down=1),
            "Not counted: 2 missed, 1 not read yet. Let down, not shot: 1.",
        ),
        (because("panel_build", number=2, work="beaten_flat", note="on the anvil."), "Build 2, beaten flat: on the anvil"),
    ],
)
def test_it_is_said_in_plain_words(reason: Reason, words: str) -> None:
    assert said(reason).replace("\N{NO-BREAK SPACE}", " ") == words


def test_a_long_list_of_labels_ends_in_a_number() -> None:
    assert labels_listed([f"A{n}" for n in range(1, 13)]).endswith("A11, A12")
    assert labels_listed([f"A{n}" for n in range(1, 16)]).endswith("A12 and 3 more")


def test_a_reader_of_other_units_is_told_in_them() -> None:
    words = said(because("what_if_more_through", more=1, of=5, above_j=60.0), "archery")
    assert "44\N{NO-BREAK SPACE}ft·lbf" in words
