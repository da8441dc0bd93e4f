"""What caveats ask for beside the shots: checks of bows, how hard heads are, and what a second person read.

All in one statement, since it goes with pages that have only a few to spare.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Integer, Text, literal, null, or_, select, union_all
from sqlalchemy.types import REAL
from sqlmodel import Session

from proofyard.records.archer import Archer
from proofyard.records.bow import BowCheck
from proofyard.records.instrument import HardnessReading
from proofyard.records.listing import held
from proofyard.records.shot import SecondReading
from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import Session as Day


@dataclass(frozen=True)
class BowChecked:
    """A bow's weight at an archer's draw. `day`: of the session that it was part of, None where it was part of none."""

    bow_build_id: str
    archer_id: str | None
    at: int | None
    weight_n: float | None
    draw_m: float | None
    day: str | None = None


@dataclass(frozen=True)
class HeadHardness:
    """One reading of a head: by picks (the hardest that slides or sticks, the softest that bites), or a tester's value."""

    head_id: str
    slides_hrc: float | None
    bites_hrc: float | None
    sticks_hrc: float | None
    value: float | None
    scale: str | None


@dataclass(frozen=True)
class ReadAgain:
    """What a second person read of a shot."""

    reading_id: str
    shot_id: str
    read_by: str
    outcome_low: int
    outcome_high: int
    depth_m: float | None
    depth_bound: str | None
    entry: str | None


@dataclass(frozen=True)
class CaveatFacts:
    checks: tuple[BowChecked, ...] = ()
    hardness: tuple[HeadHardness, ...] = ()
    again: tuple[ReadAgain, ...] = ()

    def again_of(self, shot_id: str) -> tuple[ReadAgain, ...]:
        return tuple(one for one in self.again if one.shot_id == shot_id)


NO_FACTS = CaveatFacts()
_TEXTS, _REALS = 6, 4


def caveat_facts(session: Session, shots: Sequence[ShotFact] | None = None) -> CaveatFacts:
    """In the order it was written down; what was left out or crossed out is not there.

    shots  those that are asked about: their own second readings, their heads, and their bows' checks of their days. None: the whole book
    """
    return held("caveat facts", lambda: _read(session, None)) if shots is None else _read(session, shots)


def _read(session: Session, shots: Sequence[ShotFact] | None) -> CaveatFacts:
    checks = _row(
        "check", (BowCheck.bow_build_id, BowCheck.archer_id, Day.day), (BowCheck.weight_n, BowCheck.draw_m), whole=BowCheck.at
    ).join(Day, Day.id == BowCheck.session_id, isouter=True)
    hard = HardnessReading
    hardness = _row("hard", (hard.record_id, hard.scale), (hard.slides_hrc, hard.bites_hrc, hard.sticks_hrc, hard.value))
    second = SecondReading
    again = _row(
        "again",
        (second.id, second.shot_id, Archer.call_name, second.outcome_low, second.entry, second.depth_bound),
        (second.depth_m,),
        high=second.outcome_high,
    ).join(Archer, Archer.id == second.read_by_id)
    if shots is not None:
        days = sorted({shot.day for shot in shots})
        # A check that was part of no session is of the day that its moment says, which the clock of this computer tells.
        checks = checks.where(
            BowCheck.bow_build_id.in_({shot.bow_build_id for shot in shots}), or_(BowCheck.session_id.is_(None), Day.day.in_(days))
        )
        hardness = hardness.where(hard.record_id.in_({shot.head_id for shot in shots if shot.head_id}))
        again = again.where(second.shot_id.in_([shot.shot_id for shot in shots]))
    rows = session.execute(
        union_all(
            checks.where(BowCheck.voided_rev.is_(None)).add_columns(BowCheck.id.label("by")),
            hardness.where(hard.voided_rev.is_(None), hard.noun == "head", hard.left_out_reason.is_(None)).add_columns(hard.id.label("by")),
            again.where(second.voided_rev.is_(None)).add_columns(second.id.label("by")),
        ).order_by("by")
    ).all()
    by_sort: dict[str, list[Any]] = {"check": [], "hard": [], "again": []}
    for row in rows:
        by_sort[row.sort].append(row)
    return CaveatFacts(
        checks=tuple(BowChecked(one.t0, one.t1, one.whole, one.r0, one.r1, one.t2) for one in by_sort["check"]),
        hardness=tuple(HeadHardness(one.t0, one.r0, one.r1, one.r2, one.r3, one.t1) for one in by_sort["hard"]),
        again=tuple(_read_again(one) for one in by_sort["again"]),
    )


def _read_again(one: Any) -> ReadAgain:
    low = int(one.t3)
    high = low if one.high is None else int(one.high)
    return ReadAgain(one.t0, one.t1, one.t2, low, high, one.r0, one.t5, one.t4)


def _row(sort: str, texts: Iterable[Any], reals: Iterable[Any], *, whole: Any = None, high: Any = None) -> Any:
    """Columns of one and the same shape, so that three tables fit into one statement."""
    columns = [literal(sort).label("sort")]
    for letter, some, count, kind in (("t", texts, _TEXTS, Text), ("r", reals, _REALS, REAL)):
        filled = [*some]
        filled += [null().cast(kind)] * (count - len(filled))
        columns += [one.label(f"{letter}{n}") for n, one in enumerate(filled)]
    columns.append((null().cast(Integer) if whole is None else whole).label("whole"))
    columns.append((null().cast(Text) if high is None else high).label("high"))
    return select(*columns)
