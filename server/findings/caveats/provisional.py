"""Counted, and not settled: a look behind is still wanted, two rungs are possible, or the hit may be another's."""

from server.findings.caveats.caveat import Caveat, rests_on, some
from server.findings.caveats.view import View
from server.findings.shot_lines import is_unread
from server.findings.through import may_be_through


def provisional(view: View) -> list[Caveat]:
    """One caveat for all of them; how many could still change sides is said."""
    sorts = (
        ("waits for a look behind", "wait for a look behind", [s for s in view.shots if s.fact.look_behind]),
        ("has two rungs", "have two rungs", [s for s in view.shots if not s.fact.look_behind and s.fact.outcome_low != s.fact.outcome_high]),
        ("may be another’s hit", "may be another’s hit", [s for s in view.shots if s.fact.may_be_shot_id]),
    )
    rests = [shot for _, _, shots in sorts for shot in shots]
    trials = {shot.fact.trial_id for shot in view.shots}
    unread = [shot for shot in view.around if is_unread(shot.fact) and shot.fact.trial_id in trials]
    if not rests and not unread:
        return []
    said = [f"{len(shots)} {one if len(shots) == 1 else more}" for one, more, shots in sorts if shots]
    words = f"Of {some(len(view.shots), 'hit')} {', '.join(said)}." if said else ""
    either = sum(len(set(may_be_through(shot.fact, view.through))) > 1 for shot in view.shots)
    words += f" {either} of them may still count as through, or not." if either else ""
    words += f" {some(len(unread), 'shot')} {'is' if len(unread) == 1 else 'are'} not read at all and counted nowhere." if unread else ""
    return [Caveat("provisional", words.strip(), "counts that may still change", rests_on([*rests, *unread]))]
