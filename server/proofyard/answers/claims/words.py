"""A claim as the tool writes it, from its parts."""

from proofyard.answers.claims.read import name_of
from proofyard.quantities.reason import Reason, because
from proofyard.records.claim import OF_DIFFERENCES
from proofyard.records.claim_facts import ClaimFact
from proofyard.records.columns import picked


def claim_words(fact: ClaimFact) -> Reason:
    """What is claimed, in a sentence."""
    claim = fact.claim
    if claim.claim_form == "needs_less":
        return because(
            "claim_needs_less",
            head=name_of(claim.head_form),
            than=name_of(claim.than_head),
            armour=_armour(claim.construction, claim.thickness_m),
        )
    if claim.claim_form == "fifty_percent_above":
        return because(
            "claim_fifty_percent_above",
            head=name_of(claim.head_form),
            energy_j=claim.fifty_percent_above_j or 0.0,
            armour=_armour(claim.construction, claim.thickness_m),
        )
    if claim.claim_form in OF_DIFFERENCES:
        one, other = armours_of(fact)
        return because("claim_difference", head=name_of(claim.head_form), one=one, other=other, least=claim.difference_ratio or 0.0)
    return _of_share(fact)


def _of_share(fact: ClaimFact) -> Reason:
    claim, armour = fact.claim, _armour(fact.claim.construction, fact.claim.thickness_m)
    heads = tuple(name_of(head) for head in picked(claim.heads))
    shot = because("claim_shot_how", heads=heads, bow=fact.bow, energy_j=claim.energy_j, stand=fact.stand)
    if claim.claim_form == "never":
        return because("claim_never", armour=armour, shot=shot)
    return because("claim_holds", armour=armour, shot=shot, one_in=claim.one_in or 0)


def _armour(construction: str | None, thickness_m: float | None) -> Reason:
    return because("claim_armour", construction=construction, thickness_m=thickness_m)


def armours_of(fact: ClaimFact) -> tuple[Reason, Reason]:
    """The two that a claim of a difference compares: what it says something of, and what that is compared with."""
    claim = fact.claim
    if claim.claim_form == "panel":
        return because("claim_panel", panel=fact.panel or ""), because("claim_panel", panel=fact.than_panel or "")
    made = claim.construction
    if claim.claim_form == "stand":
        return (
            because("claim_on_stand", construction=made, thickness_m=claim.thickness_m, stand=fact.stand or ""),
            because("claim_on_stand", construction=made, thickness_m=claim.thickness_m, stand=fact.than_stand or ""),
        )
    return _armour(made, claim.thickness_m), _armour(made, claim.than_thickness_m)
