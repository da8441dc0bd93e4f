"""The caveats of any list of shots, by head form or by the groups that a page compares; and those of a day."""

from collections.abc import Mapping, Sequence

from proofyard.caveats.caveat import Caveat, Group, View
from proofyard.caveats.collected import caveats_of
from proofyard.quantities import Uncertain
from proofyard.records.arrow import FORMS
from proofyard.records.caveat_facts import CaveatFacts, caveat_facts
from proofyard.records.shot_facts import ShotFact
from proofyard.records.speed_facts import SpeedFact
from proofyard.records.trial import Trial
from proofyard.shots.impact import Impact
from proofyard.shots.loosed import LoosedShot
from proofyard.storage import Session
from proofyard.views.settings import Through, form_of, form_words

POINT_THROUGH = Through()
# A day's page shows no shares: how far a range is to be trusted is no question there.
NOT_OF_A_DAY = frozenset({"one_carries", "one_panel"})


def view_of_shots(
    shots: Sequence[LoosedShot],
    facts: CaveatFacts,
    *,
    around: Sequence[LoosedShot] = (),
    trials: Mapping[str, Trial] = {},
    through: Through = POINT_THROUGH,
    place: str = "chronograph",
    groups: Mapping[str, Sequence[LoosedShot]] = {},
    varied: frozenset[str] = frozenset(),
    alike: float | None = None,
    free_spots: Mapping[str, tuple[int, int]] = {},
) -> View:
    """A view for `caveats_of`. `shots`: those that are counted; `groups`: words -> shots, the head forms if none are given."""
    made = tuple(Group(words, words, tuple(some)) for words, some in groups.items()) or _by_form(shots)
    return View(
        shots=tuple(shots),
        groups=made,
        facts=facts,
        around=tuple(around),
        trials=trials,
        through=through,
        place=place,
        varied=varied,
        alike=alike,
        free_spots=free_spots,
    )


def _by_form(shots: Sequence[LoosedShot]) -> tuple[Group, ...]:
    found: dict[str, list[LoosedShot]] = {}
    for shot in shots:
        found.setdefault(form_of(shot.fact), []).append(shot)
    order = [*FORMS, *found]
    return tuple(Group(form, f"the {form_words(form).lower()}", tuple(found[form])) for form in sorted(found, key=order.index))


def caveats_of_day(
    session: Session, facts: Sequence[ShotFact], speeds: Sequence[SpeedFact], *, trial: Trial, through: Through = POINT_THROUGH
) -> tuple[Caveat, ...]:
    """Those of one session, from the speeds read on its own shots alone: one statement. Whether hits are fair is not asked here."""
    standing = [fact for fact in facts if not fact.voided]
    read: dict[str, float] = {
        one.shot_id: one.value_m_s for one in speeds if one.shot_id and one.value_m_s is not None and one.left_out_reason is None
    }
    around = [LoosedShot(fact, _only_speed(read.get(fact.shot_id)), None) for fact in standing]
    hits = [shot for shot in around if shot.fact.purpose == "counted" and shot.fact.outcome_low is not None]
    if not hits and not any(fact.unread for fact in standing):
        return ()
    view = view_of_shots(hits, caveat_facts(session, standing), around=around, trials={trial.id: trial}, through=through)
    return tuple(one for one in caveats_of(view) if one.kind not in NOT_OF_A_DAY)


def _only_speed(speed_m_s: float | None) -> Impact:
    if speed_m_s is None:
        return Impact("not_measured", None, None, None, None, None)
    return Impact("own", None, None, Uncertain(speed_m_s, None), None, None)
