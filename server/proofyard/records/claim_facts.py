"""When a trial's first shot was loosed, its claim with the names of what it speaks of, and whether that was stated before the shot.

Whether something was stated in advance is told by the moment of that shot, not by when the shot was typed in.
"""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Select, and_, case, func, select
from sqlalchemy.orm import aliased
from sqlmodel import Session

from proofyard.records.book import Device, Revision
from proofyard.records.bow import Bow
from proofyard.records.claim import Claim
from proofyard.records.panel import Panel
from proofyard.records.plan_facts import loosed_in
from proofyard.records.shot import Shot
from proofyard.records.stand import Stand
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Trial


@dataclass(frozen=True)
class FirstShot:
    """What is known of when a trial's first shot was loosed; None throughout while there is none.

    seq        the notebook's number for the first shot that the book took
    loosed_at  the earliest moment that a phone wrote down
    day        the earliest day with a shot that has no time: logged on paper
    """

    seq: int | None = None
    loosed_at: int | None = None
    day: str | None = None

    def shots_before(self, seq: int, *, at: int, day: str) -> tuple[bool, bool]:
        """Whether a shot was loosed before what the book took under this number, then, on this day; and whether one may have been."""
        if self.seq is None:
            return False, False
        sure = self.seq < seq or (self.loosed_at is not None and self.loosed_at < at) or (self.day is not None and self.day < day)
        return sure, sure or self.day == day


def first_shot_of(trial_id: Any) -> list[Any]:
    """The three columns of a FirstShot; `trial_id`: an id, or the column of a statement that has one a row."""
    queries = [
        loosed_in(trial_id, what).where(*where)
        for what, where in ((func.min(Revision.seq), ()), (func.min(Shot.loosed_at), ()), (func.min(Day.day), (Shot.loosed_at.is_(None),)))
    ]
    return [(one if isinstance(trial_id, str) else one.correlate(trial_id.class_)).scalar_subquery() for one in queries]


@dataclass(frozen=True)
class ClaimFact:
    """A claim as it stands.

    said_seq, said_at        the notebook's number and the moment of its first statement
    changed_seq, changed_at  of its last change; the same if it was never changed
    first                    the first shot loosed in its trial
    """

    claim: Claim
    bow: str | None
    stand: str | None
    panel: str | None
    than_panel: str | None
    than_stand: str | None
    said_by: str | None
    said_seq: int
    said_at: int
    changed_seq: int
    changed_at: int
    trial: Trial
    first: FirstShot

    @property
    def changed(self) -> bool:
        return self.changed_seq != self.said_seq

    @property
    def after_the_first_shot(self) -> tuple[bool, bool]:
        """Whether a shot had been loosed when it was last changed, and whether one may have been (logged on paper that day)."""
        if self.first.seq is None:
            return False, False
        day = datetime.datetime.fromtimestamp(self.changed_at / 1000).date().isoformat()
        return self.first.shots_before(self.changed_seq, at=self.changed_at, day=day)

    @property
    def late(self) -> bool:
        """Stated or changed after the first shot, or nobody can say."""
        return any(self.after_the_first_shot)


_SAID, _CHANGED = aliased(Revision), aliased(Revision)
_PANEL, _THAN_PANEL, _THAN_STAND = aliased(Panel), aliased(Panel), aliased(Stand)
CLAIM_COLUMNS: tuple[Any, ...] = (
    Claim,
    Bow.name,
    Stand.name,
    _PANEL.name,
    _THAN_PANEL.name,
    _THAN_STAND.name,
    Device.call_name,
    _SAID.seq,
    _SAID.at,
    _CHANGED.seq,
    _CHANGED.at,
)


def with_claim(query: Select[Any]) -> Select[Any]:
    """A statement about trials with the standing claim of each, if it has one: gives CLAIM_COLUMNS their tables."""
    last = select(func.max(Revision.seq)).where(Revision.noun == "claim", Revision.record_id == Claim.id).correlate(Claim).scalar_subquery()
    return (
        query.join(Claim, and_(Claim.trial_id == Trial.id, Claim.voided_rev.is_(None)), isouter=True)
        .join(_SAID, and_(_SAID.noun == "claim", _SAID.record_id == Claim.id, _SAID.rev == 1), isouter=True)
        .join(_CHANGED, _CHANGED.seq == last, isouter=True)
        .join(Device, Device.id == _SAID.device_id, isouter=True)
        .join(Bow, Bow.id == Claim.bow_id, isouter=True)
        .join(Stand, Stand.id == Claim.stand_id, isouter=True)
        .join(_PANEL, _PANEL.id == Claim.panel_id, isouter=True)
        .join(_THAN_PANEL, _THAN_PANEL.id == Claim.than_panel_id, isouter=True)
        .join(_THAN_STAND, _THAN_STAND.id == Claim.than_stand_id, isouter=True)
    )


def claim_fact(columns: Sequence[Any], *, trial: Trial, first: FirstShot) -> ClaimFact | None:
    """Of a row's CLAIM_COLUMNS."""
    return None if columns[0] is None else ClaimFact(*columns, trial=trial, first=first)


def trials_with_claims(session: Session, trial_ids: Iterable[str] | None = None) -> tuple[dict[str, Trial], dict[str, ClaimFact]]:
    """These trials, or every one, by id, those crossed out too, and what each that stands claims. One statement."""
    # Of a trial without a claim nobody asks when its first shot was loosed, which takes a look at all its shots.
    first = [case((Claim.id.is_not(None), one)) for one in first_shot_of(Trial.id)]
    query = with_claim(select(Trial, *first, *CLAIM_COLUMNS)).order_by(Trial.question)
    if trial_ids is not None:
        query = query.where(Trial.id.in_(sorted(trial_ids)))
    rows = session.execute(query).all()
    claims = {row[0].id: claim_fact(row[4:], trial=row[0], first=FirstShot(*row[1:4])) for row in rows if row[0].voided_rev is None}
    return {row[0].id: row[0] for row in rows}, {key: one for key, one in claims.items() if one is not None}


def claims_of(session: Session, trial_ids: Sequence[str] | None = None) -> dict[str, ClaimFact]:
    """Trial -> its standing claim, of these trials or of all. One statement."""
    query = with_claim(select(Trial, *first_shot_of(Trial.id), *CLAIM_COLUMNS)).where(Trial.voided_rev.is_(None), Claim.id.is_not(None))
    if trial_ids is not None:
        query = query.where(Trial.id.in_(list(trial_ids)))
    found = (claim_fact(row[4:], trial=row[0], first=FirstShot(*row[1:4])) for row in session.execute(query.order_by(Claim.id)))
    return {one.trial.id: one for one in found if one is not None}
