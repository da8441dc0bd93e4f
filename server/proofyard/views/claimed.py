"""Which shots a trial's claim speaks of: the groups that it names, the pair that it compares, and whether its set number is reached."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from proofyard.records.claim import OF_ENERGIES, Claim
from proofyard.records.claim_facts import ClaimFact
from proofyard.records.columns import picked
from proofyard.records.shot import BY_A_GAP
from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import Trial
from proofyard.shots.fair_hits import NOT_FAIR
from proofyard.shots.loosed import LoosedShot

SAME_THICKNESS_M = 1e-6  # a millimetre typed is a millimetre meant
Names = Callable[[ShotFact], bool]


@dataclass(frozen=True)
class ClaimedTwo:
    """Two groups that a claim compares. `kind`: which of views/comparable.KINDS; one: what the claim says something of."""

    kind: str
    one: Names
    other: Names


def named_by(claim: Claim, fact: ShotFact) -> bool:
    """Whether a shot is at the panels, on the stand and with the bow that a claim of a share names; what it leaves open may be any."""
    return _on_panels(claim, claim.thickness_m)(fact) and claim.stand_id in (None, fact.stand_id) and claim.bow_id in (None, fact.bow_id)


def groups_of(claim: Claim) -> tuple[Names, ...]:
    """Each group that a claim judges, or compares, by itself: what a number set beforehand counts."""
    if claim.claim_form not in OF_ENERGIES:
        return tuple(_both(lambda fact: named_by(claim, fact), _head(form)) for form in picked(claim.heads))
    two = two_of(claim)
    return (two.one, two.other) if two else (_both(_on_panels(claim, claim.thickness_m), _head(claim.head_form)),)


def two_of(claim: Claim) -> ClaimedTwo | None:
    """The two groups of a claim that compares; None of any other."""
    if claim.claim_form == "needs_less":
        on = _on_panels(claim, claim.thickness_m)
        return ClaimedTwo("form", _both(on, _head(claim.head_form)), _both(on, _head(claim.than_head)))
    head = _head(claim.head_form)
    if claim.claim_form == "thickness":
        one, other = (_on_panels(claim, thick) for thick in (claim.thickness_m, claim.than_thickness_m))
        return ClaimedTwo("panel_type", _both(one, head), _both(other, head))
    if claim.claim_form == "panel":
        panels = claim.panel_id, claim.than_panel_id
        return ClaimedTwo(
            "panel", _both(lambda fact: fact.panel_id == panels[0], head), _both(lambda fact: fact.panel_id == panels[1], head)
        )
    if claim.claim_form == "stand":
        # What lies behind is part of a panel type, so two stands are two of those: shot at the same panels, with the same head.
        stands, at = (claim.stand_id, claim.than_stand_id), _both(_on_panels(claim, claim.thickness_m), head)
        return ClaimedTwo(
            "panel_type", _both(lambda fact: fact.stand_id == stands[0], at), _both(lambda fact: fact.stand_id == stands[1], at)
        )
    return None


def why_apart(shot: LoosedShot) -> str | None:
    """Why a shot that a claim names is in no count; "no_shot" for what was no counted shot at the panel."""
    fact = shot.fact
    if fact.purpose != "counted":
        return "no_shot"
    if fact.hit is None:
        return "unread"
    if fact.hit != "on_panel":
        return "no_shot"
    if shot.fair_answer == NOT_FAIR:
        return "not_fair"
    if fact.entry in BY_A_GAP:
        return "by_gap"
    return "cant_tell_way" if fact.entry == "cant_tell" else None


def looks_of(trial: Trial | None, claim: ClaimFact | None, shots: Sequence[LoosedShot]) -> str:
    """Whether the numbers of shots that a trial and its claim set beforehand are reached: who looks as it goes on pays for each look.

    "set", "before" or "not set", as levels_of_family has them. A claim's number counts only if it was stated before the first shot.
    """
    if trial is None:
        return "not set"
    reached = []
    number = trial.stop_shots if trial.stop_rule == "shots" else None
    if number:
        reached.append(sum(one.fact.trial_id == trial.id and one.fact.purpose == "counted" for one in shots) >= number)
    if claim is not None and not claim.late and claim.claim.set_shots and claim.claim.claim_form != "never":
        counted = [one.fact for one in shots if one.fact.trial_id == trial.id and why_apart(one) is None]
        reached += [sum(names(fact) for fact in counted) >= claim.claim.set_shots for names in groups_of(claim.claim)]
    if not reached:
        return "not set"
    if all(reached):
        return "set"
    return "not set" if trial.state == "closed" else "before"


def _on_panels(claim: Claim, thickness_m: float | None) -> Names:
    def names(fact: ShotFact) -> bool:
        thin = thickness_m is None or (fact.thickness_m is not None and abs(fact.thickness_m - thickness_m) < SAME_THICKNESS_M)
        return thin and claim.construction in (None, fact.construction)

    return names


def _head(form: str | None) -> Names:
    return lambda fact: fact.form == form


def _both(one: Names, other: Names) -> Names:
    return lambda fact: one(fact) and other(fact)
