"""A trial's claim and its answer, as every page shows it: trial, plan, results, the sheet of a day, the files."""

from collections.abc import Mapping, Sequence

from proofyard.answers.claims.energies_told import read_energies
from proofyard.answers.claims.evidence import gather
from proofyard.answers.claims.holds import Asked, HeadAnswer, HoldsAnswer, judge_heads
from proofyard.answers.claims.read import VERDICTS, ClaimRead, HeadRow, apart_of, name_of, scope_of, stated_of
from proofyard.answers.claims.words import claim_words
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.claim import DEFAULT_LEVEL, OF_ENERGIES, Claim
from proofyard.records.claim_facts import ClaimFact
from proofyard.records.columns import picked
from proofyard.shots.loosed import LoosedShot
from proofyard.statistics.claim_shots import most_shots_to_refute, shots_to_support
from proofyard.views.settings import form_words, through_of

MOST_LABELS = 4


def read_claim(fact: ClaimFact, shots: Sequence[LoosedShot]) -> ClaimRead:
    """The answer to a trial's claim from its standing shots."""
    if fact.claim.claim_form in OF_ENERGIES:
        return read_energies(fact, shots)
    claim, heads = fact.claim, picked(fact.claim.heads)
    gathered = gather(claim, heads, shots, through=through_of(fact.trial))
    asked = Asked(
        one_in=claim.one_in if claim.claim_form == "holds" else None,
        alpha=alpha_of(claim),
        heads=len(heads),
        set_shots=None if fact.late else claim.set_shots,
    )
    found = judge_heads(list(gathered.by_head.items()), asked)
    never = asked.one_in is None
    return ClaimRead(
        claim_id=claim.id,
        trial_id=claim.trial_id,
        verdict=found.verdict,
        for_type=None if never else found.for_type,
        title=(_never if never else _TITLES[found.verdict])(found, None if fact.late else round(100 * (1 - asked.alpha))),
        claim=claim_words(fact),
        stated=stated_of(fact),
        bounds=because("claim_running_bound") if any(one.shots for one in found.heads) else None,
        late=fact.late,
        facts=tuple((form_words(one.head), _short(one)) for one in found.heads),
        rows=tuple(_row(one) for one in found.heads),
        limits=tuple(_limits(found, gathered.apart)),
        method=tuple(_method(found.asked, at_energy=claim.energy_j is not None, late=fact.late)),
        found=found,
    )


def alpha_of(claim: Claim) -> float:
    """How often a wrong answer of either sort may be said."""
    return (100 - int(claim.level or DEFAULT_LEVEL)) / 100


# The answer in a sentence: of the type if that is decided, else of these arrows on these panels, by name. percent: the level of its
# bounds; None of a claim that was stated after the shots, which has none.


def _no(found: HoldsAnswer, percent: int | None) -> Reason:
    of_type = [one for one in found.refuting if one.for_type == "no"]
    said = of_type or list(found.refuting)
    rest = [one for one in found.heads if one not in said]
    return because(
        "claim_no",
        heads=tuple(
            because(
                "claim_head_refuted",
                head=name_of(one.head),
                low=one.through_low,
                high=one.through_high,
                shots=one.shots,
                least=one.bounds.low,
            )
            for one in said
        ),
        scope="" if of_type else _scope(said),
        percent=percent,
        others=because(
            "claim_others",
            no=sum(one.verdict == "no" for one in rest),
            not_yet=sum(one.verdict == "not_yet" for one in rest),
            yes=sum(one.verdict == "yes" for one in rest),
        ),
    )


def _yes(found: HoldsAnswer, percent: int | None) -> Reason:
    of_type = found.for_type == "yes"
    return because(
        "claim_yes",
        heads=tuple(
            because("claim_head_held", head=name_of(one.head), through=one.judged.through, shots=one.judged.shots) for one in found.heads
        ),
        scope="" if of_type else _scope(found.heads),
        most=max(one.bounds.high for one in found.heads),
        set_shots=found.asked.set_shots,
        percent=percent,
    )


def _not_yet(found: HoldsAnswer, _: int | None) -> Reason:
    waiting = [(name_of(one.head), one.more) for one in found.heads if isinstance(one.more, int) and one.more]
    return because(
        "claim_not_yet",
        heads=tuple(
            because("claim_head_so_far", head=name_of(one.head), low=one.through_low, high=one.through_high, shots=one.shots)
            for one in found.heads
            if one.verdict == "not_yet"
        ),
        settles=because("claim_settles", heads=tuple(waiting)) if waiting else "",
    )


_TITLES = {"no": _no, "yes": _yes, "not_yet": _not_yet}


def _never(found: HoldsAnswer, percent: int | None) -> Reason:
    if found.verdict == "no":
        through = [one.shot.fact for head in found.refuting for one in head.evidence if one.for_no and one.may_be == {"through"}]
        return because(
            "claim_never_no",
            shots=tuple(fact.label for fact in through) if len(through) <= MOST_LABELS else (),
            panels=tuple(sorted({fact.panel_name for fact in through})),
            through=len(through),
            counted=sum(one.shots for one in found.heads),
        )
    return because(
        "claim_never_so_far",
        heads=tuple(
            because(
                "claim_never_head",
                head=name_of(one.head),
                shots=one.for_yes.shots,
                one_in=int(1 / one.bounds.high + 1e-12),
                percent=percent,
            )
            for one in found.heads
        ),
    )


def _scope(heads: Sequence[HeadAnswer]) -> Reason | str:
    return scope_of([arrow for one in heads for arrow in one.arrows], [panel for one in heads for panel in one.panels])


def _short(one: HeadAnswer) -> Reason:
    return because(
        "claim_head_short",
        low=one.through_low,
        high=one.through_high,
        shots=one.shots,
        these=VERDICTS[one.verdict],
        for_type=VERDICTS[one.for_type] if one.for_type else None,
    )


def _row(one: HeadAnswer) -> HeadRow:
    return HeadRow(
        head=one.head,
        words=form_words(one.head),
        counted=because("claim_counted", low=one.through_low, high=one.through_high, shots=one.shots),
        told=because(
            "claim_head_told",
            these=_these(one),
            for_type=VERDICTS[one.for_type] if one.for_type else None,
            low=one.bounds.low,
            high=one.bounds.high,
            set_shots=one.judged.shots if one.judged_at_once else None,
            more=_more(one.more),
            more_for_type=_more(one.more_for_type, few=one.few),
            rests_on=_scope([one]) or None,
        ),
    )


def _these(one: HeadAnswer) -> Reason:
    if one.verdict == "not_yet" and one.asked.one_in and one.bounds.low > 1 / one.asked.one_in:
        return because("claim_by_itself", heads=one.asked.heads)
    return VERDICTS[one.verdict]


def _more(shots: int | CantTell | None, *, few: str = "") -> Reason | None:
    """`few`: what a word about the type lacks, arrows or panels."""
    if shots is None or shots == 0:
        return None
    if not isinstance(shots, CantTell):
        return because("claim_more_shots", shots=shots)
    return (
        because("claim_more_of", few=few)
        if shots.reason.code == "more_of_the_type_needed"
        else because("claim_more_never", why=shots.reason)
    )


def _limits(found: HoldsAnswer, apart: Mapping[str, int]) -> list[Reason]:
    limits = []
    open_type = next((one for one in (*found.refuting, *found.heads) if one.evidence and one.for_type == "not_yet"), None)
    if open_type is not None:
        limits.append(
            because(
                "claim_limit", head=name_of(open_type.head), arrows=len(open_type.arrows), panels=len(open_type.panels), few=open_type.few
            )
        )
    if found.could_change:
        limits.append(because("claim_could_change", shots=found.could_change))
    return [*limits, *apart_of(apart)]


def _method(asked: Asked, *, at_energy: bool, late: bool) -> list[Reason]:
    said = [because("claim_at_energy")] if at_energy else []
    if asked.one_in is None:
        return said
    percent = round(100 * (1 - asked.alpha))
    rule = because("claim_rule", percent=percent, heads=asked.heads, set_shots=asked.set_shots)
    return [*said, because("claim_no_level") if late else rule, because("claim_type_rule", alike=asked.alike)]


REFUTED_BY = (2, 3, 4, 5)


def claim_needs(fact: ClaimFact) -> Reason | None:
    """What a claim takes, before it is shot: how many shots without a through, and how few through would refute it.

    None of "never", which no number of shots can show.
    """
    claim = fact.claim
    if claim.claim_form in OF_ENERGIES:
        set_shots = None if fact.late else claim.set_shots
        return because("claim_energy_needs", form=claim.claim_form, least=claim.difference_ratio, set_shots=set_shots)
    if claim.claim_form != "holds" or not claim.one_in:
        return None
    alpha, heads = alpha_of(claim), len(picked(claim.heads))
    found = [
        shots_to_support(one_in=claim.one_in, alpha=alpha),
        shots_to_support(one_in=claim.one_in, alpha=alpha, set_beforehand=True),
        shots_to_support(one_in=claim.one_in, alpha=alpha, through=1),
    ]
    refuted = [(through, most_shots_to_refute(through, one_in=claim.one_in, alpha=alpha, heads=heads)) for through in REFUTED_BY]
    return because(
        "claim_needs",
        one_in=claim.one_in,
        heads=heads,
        shots=tuple(None if isinstance(one, CantTell) else one for one in found),
        set_shots=None if fact.late else claim.set_shots,
        refuted=tuple((through, most) for through, most in refuted if not isinstance(most, CantTell)),
    )
