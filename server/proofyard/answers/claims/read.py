"""What every page shows of a claim, whatever its form: the words of its answer, head by head, its limits and how it is judged."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.answers.claims.energies import EnergyAnswer
from proofyard.answers.claims.holds import HoldsAnswer
from proofyard.quantities.reason import Reason, because
from proofyard.records.claim_facts import ClaimFact
from proofyard.views.predictions import said_at
from proofyard.views.settings import form_words

VERDICTS: Mapping[str, Reason] = MappingProxyType(
    {"no": because("claim_verdict_no"), "yes": because("claim_verdict_yes"), "not_yet": because("claim_verdict_not_yet")}
)
APART = ("unread", "not_fair", "by_gap", "cant_tell_way", "no_target", "too_near")


@dataclass(frozen=True)
class HeadRow:
    """One head, or one armour that it was shot at: what was counted, and what that says."""

    head: str
    words: str
    counted: Reason
    told: Reason


@dataclass(frozen=True)
class ClaimRead:
    """A claim with its answer.

    title      the answer, in one or two sentences; `claim`: what was claimed, written by the tool
    verdict    "no", "yes" or "not_yet" of these arrows on these panels; for_type: of the type (None: not asked of "never")
    bounds     what a running bound is beside a 95 % interval; None where no such bound is told
    late       stated, or changed, after the first shot
    facts      each head in a line, and both answers
    limits     what limits it, what could change it, what stands apart; `method`: how it is judged
    """

    claim_id: str
    trial_id: str
    verdict: str
    for_type: str | None
    title: Reason
    claim: Reason
    stated: Reason
    bounds: Reason | None
    late: bool
    facts: tuple[tuple[str, Reason], ...]
    rows: tuple[HeadRow, ...]
    limits: tuple[Reason, ...]
    method: tuple[Reason, ...]
    found: HoldsAnswer | EnergyAnswer


def stated_of(fact: ClaimFact) -> Reason:
    """By whom and when, and whether before the first shot."""
    sure, maybe = fact.after_the_first_shot
    return because(
        "claim_stated",
        who=fact.said_by,
        at=fact.said_at,
        when=because("trial_after_first_shot") if sure else said_at(0, int(maybe)),
        late=fact.late,
        changed_at=fact.changed_at if fact.changed else None,
    )


def name_of(head: str | None) -> str:
    """A head's name in a sentence."""
    return form_words(head or "").lower()


def scope_of(arrows: Sequence[str], panels: Sequence[str]) -> Reason | str:
    """ "with arrows A3 and A7 on panel P5"; empty of no shot."""
    kept = tuple(dict.fromkeys(arrows)), tuple(dict.fromkeys(panels))
    return because("claim_scope", arrows=kept[0], panels=kept[1]) if all(kept) else ""


def apart_of(apart: Mapping[str, int]) -> tuple[Reason, ...]:
    """What is counted in neither direction; nothing where there is none."""
    return (because("claim_apart", apart=tuple((why, apart.get(why, 0)) for why in APART)),) if apart else ()
