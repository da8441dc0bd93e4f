"""A claim of energies with its answer in reasons, as every page shows it."""

from collections.abc import Sequence

from proofyard.answers.claims.energies import EnergyAnswer, judge_energies
from proofyard.answers.claims.named_shots import GroupSeen
from proofyard.answers.claims.read import VERDICTS, ClaimRead, HeadRow, apart_of, name_of, scope_of, stated_of
from proofyard.answers.claims.words import armours_of, claim_words
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.claim import OF_DIFFERENCES
from proofyard.records.claim_facts import ClaimFact
from proofyard.records.listing import by_number
from proofyard.shots.loosed import LoosedShot
from proofyard.views.pair_comparison import pair_told
from proofyard.wording.reasons.said import said


def read_energies(fact: ClaimFact, shots: Sequence[LoosedShot]) -> ClaimRead:
    """The answer to a claim of energies from its trial's standing shots."""
    found = judge_energies(fact, shots)
    rows = tuple(_row(head, words, group) for (head, words), group in zip(groups_named(fact), found.groups, strict=True))
    both = ((said(because("claim_of_these")), VERDICTS[found.verdict]), (said(because("claim_of_the_type")), VERDICTS[found.for_type]))
    return ClaimRead(
        claim_id=fact.claim.id,
        trial_id=fact.claim.trial_id,
        verdict=found.verdict,
        for_type=found.for_type,
        title=_title(found),
        claim=claim_words(fact),
        stated=stated_of(fact),
        bounds=None,
        late=fact.late,
        facts=(*((row.words, row.counted) for row in rows), *both),
        rows=rows,
        limits=tuple(_limits(found)),
        method=_method(found),
        found=found,
    )


def groups_named(fact: ClaimFact) -> tuple[tuple[str, str], ...]:
    """Each group by its head form and in words: heads, or armours shot at with one head."""
    claim = fact.claim
    if claim.claim_form in OF_DIFFERENCES:
        return tuple((claim.head_form or "", said(one)) for one in armours_of(fact))
    heads = [claim.head_form or "", *([claim.than_head or ""] if claim.claim_form == "needs_less" else [])]
    return tuple((head, name_of(head)) for head in heads)


def _row(head: str, words: str, group: GroupSeen) -> HeadRow:
    counted = because("claim_counted", low=group.through, high=group.through + group.undecided, shots=len(group.shots) + group.undecided)
    rests_on = scope_of(group.arrows, group.panels)
    return HeadRow(head, words[:1].upper() + words[1:], counted, because("claim_group_told", rests_on=rests_on or None))


def _title(found: EnergyAnswer) -> Reason:
    scope = "" if found.for_type == found.verdict else _scope(found)
    settles = _settles(found)
    if found.pair is not None and found.read.claim.claim_form == "needs_less":
        return because("claim_of_pair", verdict=found.verdict, scope=scope, told=_pair(found), least=None, settles=settles)
    if found.pair is not None:
        least = found.read.claim.difference_ratio
        return because("claim_of_pair", verdict=found.verdict, scope=scope, told=_pair(found), least=least, settles=settles)
    if found.estimate is None or found.judged is None or found.raw is None:
        return because("claim_cant_tell", why=found.why, settles=settles)
    return because(
        "claim_of_point",
        verdict=found.verdict,
        scope=scope,
        energy_j=found.estimate,
        low_j=found.judged.low,
        high_j=found.judged.high,
        level=found.judged.level,
        raw_low_j=found.raw.low,
        raw_high_j=found.raw.high,
        looks=found.read.looks,
        limit_j=found.limit,
        settles=settles,
    )


def _pair(found: EnergyAnswer) -> Reason:
    """The pair's one sentence, with the group named first that the claim says gets through more easily."""
    pair = found.pair
    assert pair is not None
    one = {shot.shot.fact.shot_id for shot in found.groups[0].shots}
    of_first = any(shot.shot.fact.shot_id in one for shot in pair.first.shots)
    less = found.read.claim.claim_form == "needs_less"
    return pair_told(pair, first=(pair.first if of_first == less else pair.second).row.key)


def _scope(found: EnergyAnswer) -> Reason | str:
    arrows = {one for group in found.groups for one in group.arrows}
    panels = {one for group in found.groups for one in group.panels}
    return scope_of(sorted(arrows, key=by_number), sorted(panels, key=by_number))


def _settles(found: EnergyAnswer) -> Reason | str:
    if found.read.wanted:
        return because("claim_up_to_the_number", shots=found.read.wanted, groups=len(found.groups))
    if found.verdict != "not_yet" or found.more is None or found.more == 0:
        return ""
    if isinstance(found.more, CantTell):
        return because("sentence_of_its_own", why=found.more.reason)
    return because("claim_would_settle", shots=found.more, groups=len(found.groups))


def _limits(found: EnergyAnswer) -> list[Reason]:
    limits = []
    if found.verdict != "not_yet" and found.lacking is not None:
        limits.append(because("claim_type_lacks", few=found.lacking[0], count=found.lacking[1]))
    if found.pair is not None and found.why is not None:
        limits.append(because("sentence_of_its_own", why=found.why))
    if found.unsure:
        limits.append(because("claim_energies_unsure"))
    if found.could_change:
        limits.append(because("claim_could_change", shots=found.could_change))
    if found.pair is not None and found.pair.chosen:
        limits.append(because("pair_of_chosen_energies"))
    if found.found is not None and found.found.chosen:
        limits.append(because("point_of_chosen_energies"))
    if found.read.settings.place != "target":
        limits.append(because("claim_at_the_chronograph"))
    return [*limits, *apart_of(found.read.apart)]


def _method(found: EnergyAnswer) -> tuple[Reason, ...]:
    level = found.judged.level if found.judged else None
    spread = found.read.claim.spread_ratio
    of_type = because("claim_spread_stated", spread=spread) if spread is not None else because("claim_type_of_energies")
    rule = because("claim_energy_rule", pair=len(found.groups) > 1, level=level, looks=found.read.looks, late=found.read.fact.late)
    return rule, *([because("claim_no_level")] if found.read.fact.late else []), of_type
