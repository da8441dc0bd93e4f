"""What is said of a claim, each sentence read once as a reader meets it."""

from __future__ import annotations

import pytest
from proofyard.quantities.reason import Reason, because
from proofyard.wording.reasons import claims
from proofyard.wording.reasons.said import said

NO, YES, NOT_YET = because("claim_verdict_no"), because("claim_verdict_yes"), because("claim_verdict_not_yet")
SCOPE = because("claim_scope", arrows=("3", "7"), panels=("P5",))
READ: tuple[tuple[Reason, str], ...] = (
    (
        because(
            "claim_holds",
            armour=because("claim_armour", construction="plate", thickness_m=0.0016),
            shot=because("claim_shot_how", heads=("leaf", "short bodkin"), bow="Corbel 145", energy_j=None, stand=None),
            one_in=10,
        ),
        "1.6\xa0mm one-piece plate holds against the leaf and short bodkin shot with Corbel 145: at most 1 shot in 10 gets through.",
    ),
    (
        because(
            "claim_never",
            armour=because("claim_armour", construction="mail", thickness_m=None),
            shot=because("claim_shot_how", heads=("leaf",), bow=None, energy_j=80.0, stand="Hanging frame"),
        ),
        "Mail is never shot through by the leaf at 80\xa0J, on Hanging frame.",
    ),
    (
        because(
            "claim_no",
            heads=(because("claim_head_refuted", head="leaf", low=4, high=4, shots=4, least=0.3520),),
            scope="",
            percent=None,
            others="",
        ),
        "No, not against the leaf: 4 of 4 got through, so at least 35\xa0% do (running bound).",
    ),
    (
        because(
            "claim_no",
            heads=(
                because("claim_head_refuted", head="leaf", low=5, high=5, shots=5, least=0.4229),
                because("claim_head_refuted", head="short bodkin", low=4, high=4, shots=4, least=0.3520),
            ),
            scope="",
            percent=95,
            others="",
        ),
        "No, not against the leaf: 5 of 5 got through, so at least 42\xa0% do; nor against the short bodkin: 4 of 4 got through, so "
        "at least 35\xa0% do (95\xa0% running bounds).",
    ),
    (
        because(
            "claim_no",
            heads=(because("claim_head_refuted", head="leaf", low=2, high=3, shots=3, least=0.1999),),
            scope=SCOPE,
            percent=90,
            others=because("claim_others", no=0, not_yet=1, yes=2),
        ),
        "No, not against the leaf: 2 or 3 of 3 got through, so at least 19\xa0% do (90\xa0% running bound), with arrows 3 and 7 on panel "
        "P5. 2 other heads: yes, as far as asked; the other head: not yet.",
    ),
    (
        because(
            "claim_yes",
            heads=(because("claim_head_held", head="leaf", through=0, shots=30),),
            scope="",
            most=0.0995,
            set_shots=None,
            percent=95,
        ),
        "Yes, as far as asked: none of 30 with the leaf. At most 10\xa0% get through (95\xa0% running bound).",
    ),
    (
        because(
            "claim_yes",
            heads=(because("claim_head_held", head="leaf", through=0, shots=29),),
            scope="",
            most=0.0981,
            set_shots=29,
            percent=95,
        ),
        "Yes, as far as asked: none of 29 with the leaf. At most 9.9\xa0% get through (95\xa0% bound for the 29 shots set beforehand).",
    ),
    (
        because(
            "claim_yes",
            heads=(because("claim_head_held", head="leaf", through=1, shots=86),),
            scope=SCOPE,
            most=0.0991,
            set_shots=None,
            percent=95,
        ),
        "Yes, as far as asked, with arrows 3 and 7 on panel P5: 1 of 86 with the leaf. At most 10\xa0% get through (95\xa0% running "
        "bound).",
    ),
    (
        because(
            "claim_not_yet",
            heads=(because("claim_head_so_far", head="leaf", low=0, high=0, shots=12),),
            settles=because("claim_settles", heads=(("leaf", 18),)),
        ),
        "Not yet: none of 12 through with the leaf. 18 more shots with the leaf, none of them through, would settle it.",
    ),
    (
        because(
            "claim_not_yet",
            heads=(because("claim_head_so_far", head="leaf", low=0, high=0, shots=0),),
            settles=because("claim_settles", heads=(("leaf", 1), ("needle", 26))),
        ),
        "Not yet: no shot counts with the leaf. 1 more shot with the leaf and 26 with the needle, none of them through, would settle it.",
    ),
    (
        because("claim_never_no", shots=("A40",), panels=("P5",), through=1, counted=12),
        "No, not on this panel, P5: 1 of 12 shots got through (A40). One is enough to refute “never”.",
    ),
    (
        because(
            "claim_never_so_far",
            heads=(
                because("claim_never_head", head="leaf", shots=12, one_in=4, percent=95),
                because("claim_never_head", head="needle", shots=1, one_in=1, percent=95),
                because("claim_never_head", head="barbed broadhead", shots=0, one_in=1, percent=95),
            ),
        ),
        "Not refuted so far: none of 12 with the leaf, so at most 1 in 4 gets through (95\xa0% running bound); none of 1 with the needle, "
        "too few to say how many may; no shot counts with the barbed broadhead. No number of shots can show “never”.",
    ),
    (
        because("claim_limit", head="leaf", arrows=2, panels=1, few="panel"),
        "Leaf: all on one panel. Another panel would say more than 20 more shots here.",
    ),
    (
        because("claim_limit", head="leaf", arrows=1, panels=3, few="arrow"),
        "Leaf: all with one arrow. Another arrow would say more than 20 more shots with this one.",
    ),
    (
        because("claim_limit", head="leaf", arrows=4, panels=2, few="panel"),
        "Leaf: 4 arrows on 2 panels. For the type, more panels say more than more shots.",
    ),
    (
        because("claim_apart", apart=(("unread", 1), ("not_fair", 0), ("too_near", 3))),
        "Counted apart, in neither direction: 1 not read yet, 3 too near the energy to count.",
    ),
    (because("claim_could_change", shots=1), "1 undecided shot could change this."),
    (
        because("claim_rule", percent=95, heads=1, set_shots=None),
        "However often one looks, a wrong “no” or a wrong “yes” is said in at most 5\xa0% of such trials.",
    ),
    (
        because("claim_rule", percent=95, heads=4, set_shots=29),
        "However often one looks, a wrong “no” or a wrong “yes” is said in at most 5\xa0% of such trials. Any of 4 heads can refute it, so "
        "each needs 4 times the evidence; “yes” needs every head. Set beforehand: 29 shots with each head; “yes” is judged once, after "
        "them.",
    ),
    (because("claim_no_level"), "Asked after the shots, so how often such an answer is wrong nobody can say: the same sums, and no test."),
    (
        because("claim_type_rule", alike=0.2),
        "For the type: as if shots of one arrow or one panel correlate by 0.2 (0 = independent, 1 = identical), so its shots count for "
        "fewer.",
    ),
    (
        because("claim_at_energy"),
        "A shot with less energy that got through refutes it, one with more that was held supports it; each by more than what all shots "
        "share of the uncertainty.",
    ),
    (because("claim_counted", low=0, high=0, shots=4), "none of 4 through"),
    (because("claim_counted", low=0, high=0, shots=0), "no shots"),
    (
        because(
            "claim_head_told",
            these=NO,
            for_type=NOT_YET,
            low=0.352,
            high=1.0,
            set_shots=None,
            more=None,
            more_for_type=because("claim_more_of", few="arrow"),
            rests_on=SCOPE,
        ),
        "These arrows on these panels: no. The type: not yet. Still possible: 35 to 100\xa0% through (running bounds). Would settle "
        "it: for the type it takes more arrows. With arrows 3 and 7 on panel P5.",
    ),
    (
        because(
            "claim_head_told",
            these=because("claim_by_itself", heads=4),
            for_type=None,
            low=0.0,
            high=0.0995,
            set_shots=29,
            more=because("claim_more_shots", shots=18),
            more_for_type=because("claim_more_never", why=because("more_shots_than_any_yard", most=5000)),
            rests_on=None,
        ),
        "By itself no, as one of 4 heads not yet. Still possible: 0 to 10\xa0% through (running bound below, bound for the 29 "
        "shots set beforehand above). Would settle it: 18 more shots without a through; for the type it would take more than 5,000 shots.",
    ),
    (YES, "yes, as far as asked"),
    (
        because("claim_running_bound"),
        "A running bound holds however often one looks as the shots go on; a 95\xa0% interval holds for a number of shots set beforehand.",
    ),
    (because("claim_head_short", low=4, high=4, shots=4, these=NO, for_type=NO), "4 of 4 through: no"),
    (
        because("claim_head_short", low=2, high=2, shots=2, these=NO, for_type=NOT_YET),
        "2 of 2 through: no with these arrows, not yet for the type",
    ),
    (because("claim_head_short", low=0, high=0, shots=0, these=NOT_YET, for_type=None), "no shots: not yet"),
    (
        because("claim_needs", one_in=10, heads=1, shots=(30, 29, 86), set_shots=None, refuted=((2, 2), (3, 5), (4, 8), (5, 12))),
        "At most 1 in 10 takes 30 shots with none through (29 if that number is set beforehand), 86 with one through. It is refuted by 2 "
        "through in 2, 3 through in at most 5 and 4 through in at most 8.",
    ),
    (
        because("claim_needs", one_in=900, heads=2, shots=(2700, 2690, None), set_shots=2690, refuted=((1, 4),)),
        "At most 1 in 900 takes 2700 shots with each head with none through (2690 if that number is set beforehand), more shots than any "
        "yard with one through. Set beforehand: 2690. It is refuted by 1 through in at most 4 with one head.",
    ),
)


@pytest.mark.parametrize(("reason", "words"), READ, ids=[str(reason)[:80] for reason, _ in READ])
def test_a_reason_is_said_in_its_reviewed_words(reason: Reason, words: str) -> None:
    assert said(reason) == words


def test_when_it_was_stated_is_said_and_a_late_one_is_called_a_lead() -> None:
    """In the laptop's own time, so only what does not depend on it is read."""
    at, changed = 1_792_000_000_000, 1_792_100_000_000
    words = said(because("claim_stated", who="Tallow", at=at, when="after the first shot", late=True, changed_at=changed))
    assert words.startswith("Stated by Tallow, ") and "; changed " in words
    assert words.endswith(", after the first shot. Asked after the shots: a lead, not a test.")
    assert said(because("claim_stated", who=None, at=at, when="before the first shot", late=False, changed_at=None)).endswith(
        ", before the first shot."
    )


def _codes(reason: Reason) -> set[str]:
    inner: set[str] = set()
    for part in reason.parts.values():
        for one in part if isinstance(part, tuple) else (part,):
            inner |= _codes(one) if isinstance(one, Reason) else set()
    return {reason.code} | inner


def test_every_sentence_was_reviewed() -> None:
    reviewed = set().union(*(_codes(reason) for reason, _ in READ)) | {"claim_stated", "claim_of_these", "claim_of_the_type"}
    assert set(claims.SENTENCES) - reviewed == set()
