"""What each shot was, kept: read where it still holds, and worked out again, a few panel builds at a time, where it doesn't.

Nobody who saves does anything for it. A reader compares the number of the last change with the number up to which changes have marked
rows, and follows what came since by itself, in the snapshot that it reads. So a row that no longer holds is never shown, and an empty
cache only costs time.
"""

import json
import platform
import sys
import time
from base64 import b64decode, b64encode
from collections import Counter, defaultdict, deque
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from proofyard.quantities import Uncertain
from proofyard.records.cache import builds_wanting, keep, kept_rows
from proofyard.records.cache_stale import Touched, touched_since
from proofyard.records.listing import cache_and_latest
from proofyard.records.notebook import latest_seq
from proofyard.records.shot_facts import ShotFact, facts_for_fairness
from proofyard.shots.cache_text import as_text, of_text, packed, unpacked
from proofyard.shots.fair_hits import FairMark, mark_hits
from proofyard.shots.impact import Impact, Impacts
from proofyard.shots.loosed import LoosedInPassing, LoosedShot, checks_of, trials_of
from proofyard.storage import Session, Storage

# Counted up whenever a formula, a constant or the form of what is kept changes: tests/shots/test_cache.py tells when it has to be.
FORMULAS = 2
# Last digits may differ between two kinds of machine, and a book is carried from one to another.
FORM = f"{FORMULAS} {sys.platform} {platform.machine()} {sys.version_info[0]}.{sys.version_info[1]}"

MOST_TOGETHER = 2_000  # more shots than this that are not kept, and the whole book is worked out at once instead
MOST_A_BATCH = 500  # shots worked out together
MOST_A_COMMIT = 100  # rows: at 2,000 who saved waited up to 0.8 s
_SCOPES = ("instrument", "combination", "shot")
_ENERGIES = {place: tuple(f"{place}_{end}" for end in ("j", "u_j", "dof", "n")) for place in ("chronograph", "target")}
_PARTS = tuple(f"target_{scope}_u_j" for scope in _SCOPES)
_READ = (
    "shot_id",
    "panel_build_id",
    "arrow_build_id",
    "basis",
    "speed_m_s",
    "drag_fitted",
    "target_speed_m_s",
    "mass_kg",
    *_ENERGIES["chronograph"],
    *_ENERGIES["target"],
    *_PARTS,
    "fair_answer",
    "fair_sort",
    "fair",
    "impact",
)


class LoosedAndKept(LoosedShot):
    """A shot out of what is kept: its figures and its mark are made whole once somebody asks for more than pages ask of every shot."""

    def __init__(self, fact: ShotFact, impact: Any, fair: FairMark | None = None) -> None:
        """impact: the kept row by the names of its columns, which holds the mark too; or figures, and beside them a mark."""
        if isinstance(impact, Impact):
            self.__dict__.update(fact=fact, impact=impact, fair=fair, _row=row_of(fact, figures_of(impact), fair))
        else:
            self.__dict__.update(fact=fact, _row=impact)

    @property
    def _kept(self) -> Mapping[str, Any]:
        found: Mapping[str, Any] = self.__dict__["_row"]
        return found

    @cached_property
    def impact(self) -> Impact:
        found: Impact = unpacked(self._kept["impact"])
        return found

    @cached_property
    def fair(self) -> FairMark | None:
        said = self._kept["fair"]
        return None if said is None else of_text(said)

    @property
    def basis(self) -> str:
        return str(self._kept["basis"])

    @property
    def measured(self) -> bool:
        return self._kept["chronograph_j"] is not None

    @property
    def speed_m_s(self) -> float | None:
        found: float | None = self._kept["speed_m_s"]
        return found

    @property
    def target_speed_m_s(self) -> float | None:
        found: float | None = self._kept["target_speed_m_s"]
        return found

    @property
    def mass_kg(self) -> float | None:
        found: float | None = self._kept["mass_kg"]
        return found

    @property
    def fair_answer(self) -> str | None:
        found: str | None = self._kept["fair_answer"]
        return found

    @property
    def fair_sort(self) -> str | None:
        found: str | None = self._kept["fair_sort"]
        return found

    @property
    def drag_fitted(self) -> bool | None:
        found = self._kept["drag_fitted"]
        return None if found is None else bool(found)

    def energy_at(self, place: str) -> Uncertain | None:
        known: dict[str, Any] = self.__dict__
        name = f"_at_{place}"
        if name not in known:
            value, *rest = (self._kept[one] for one in _ENERGIES[place])
            known[name] = None if value is None else Uncertain(value, *rest)
        found: Uncertain | None = known[name]
        return found

    def has_energy_at(self, place: str) -> bool:
        return self._kept[f"{place}_j"] is not None

    def parts_at_target(self) -> tuple[float, Mapping[str, float]] | None:
        parts = {scope: self._kept[name] for scope, name in zip(_SCOPES, _PARTS, strict=True)}
        return None if parts["shot"] is None else (self._kept["target_j"], parts)


def row_of(fact: ShotFact, figures: Mapping[str, Any], fair: FairMark | None) -> dict[str, Any]:
    """What is kept of a shot, by the names of its columns. `figures`: as `figures_of` gives them."""
    return {
        **{name: getattr(fact, name) for name in _OF_THE_FACT},
        **figures,
        "stale": 0,
        "voided": int(fact.voided),
        "fair_answer": fair.answer if fair else None,
        "fair_sort": fair.sort if fair else None,
        "fair": as_text(fair) if fair else None,
    }


def figures_of(impact: Impact) -> dict[str, Any]:
    """Of a shot's figures what is kept, by the names of its columns."""
    there = impact.at_target
    parts = there.budget.by_scope if there and not there.missing else {}
    row: dict[str, Any] = {}
    for place, names in _ENERGIES.items():
        one = impact.energy_at(place)
        row |= dict(zip(names, (one.value, one.standard_uncertainty, one.dof, one.n) if one else (None,) * 4, strict=True))
    return row | {
        "basis": impact.basis,
        "speed_m_s": impact.speed.value if impact.speed else None,
        "drag_fitted": int(there.drag.fitted) if there else None,
        "target_speed_m_s": there.speed_m_s if there else None,
        "mass_kg": impact.mass.value if impact.mass else None,
        **{name: parts.get(scope) for scope, name in zip(_SCOPES, _PARTS, strict=True)},
        "impact": packed(impact),
    }


_OF_THE_FACT = (
    "shot_id",
    "panel_build_id",
    "arrow_build_id",
    "combination_id",
    "setup_id",
    "session_id",
    "trial_id",
    "form",
    "construction",
    "thickness_m",
    "purpose",
    "hit",
    "outcome_low",
    "outcome_high",
)


def shots_of_all(session: Session, facts: Sequence[ShotFact], since: int) -> list[LoosedShot] | None:
    """Every shot of the book in the order of its facts, out of what is kept as far as it holds; None where too little of it does.

    since  the number up to which changes have marked rows
    """
    rows = fresh_rows(session, touched_since(session, since))
    wanting = [fact for fact in facts if fact.shot_id not in rows]
    if len(wanting) > MOST_TOGETHER:
        return None
    again = {shot.fact.shot_id: shot for shot in worked_out(session, wanting)} if wanting else {}
    return [again.get(fact.shot_id) or LoosedAndKept(fact, rows[fact.shot_id]) for fact in facts]


def fresh_rows(session: Session, touched: Touched, **wanted: Iterable[str]) -> dict[str, Mapping[str, Any]]:
    """Shot -> what is kept of it, where that still holds."""
    if touched.everything:
        return {}
    found = (dict(zip(_READ, row, strict=True)) for row in kept_rows(session, _READ, **wanted))
    if not (touched.panel_builds or touched.arrow_builds):
        return {row["shot_id"]: row for row in found}
    return {row["shot_id"]: row for row in found if not touched.touches(row["panel_build_id"], row["arrow_build_id"])}


def worked_out(session: Session, wanted: Sequence[ShotFact], around: Sequence[ShotFact] | None = None) -> list[LoosedShot]:
    """These shots worked out, from what says something of them and no more. `around`: that, if the caller has it."""
    builds = {fact.panel_build_id for fact in wanted}
    around = facts_for_fairness(session, builds, behind=False) if around is None else around
    marks = mark_hits(around, builds=builds, trials=trials_of(session, around), checks=checks_of(session, around))
    impacts = Impacts.load(session, wanted)
    return [LoosedInPassing(fact, impacts, None if fact.voided else marks.get(fact.shot_id)) for fact in wanted]


@dataclass(frozen=True)
class Batch:
    """Rows to keep, worked out as the book stood at `as_of`."""

    as_of: int
    rows: tuple[Mapping[str, Any], ...]

    def as_json(self) -> str:
        """To be sent to the process that writes."""
        rows = [{**row, "impact": b64encode(row["impact"]).decode()} for row in self.rows]
        return json.dumps({"as_of": self.as_of, "rows": rows})


def of_json(said: str) -> Batch:
    """What `Batch.as_json` said."""
    read = json.loads(said)
    return Batch(read["as_of"], tuple({**row, "impact": b64decode(row["impact"])} for row in read["rows"]))


def batch_of(session: Session, panel_builds: Collection[str]) -> Batch:
    """What is wanting of the shots at these panel builds, worked out."""
    kept = cache_and_latest(session)
    as_of = kept[2] if kept else latest_seq(session)
    touched = touched_since(session, kept[0]) if kept and kept[1] == FORM else Touched(everything=True)
    there = fresh_rows(session, touched, panel_build_id=panel_builds)
    around = facts_for_fairness(session, panel_builds, behind=False)
    wanted = [fact for fact in around if fact.panel_build_id in panel_builds and fact.shot_id not in there]
    if not wanted:
        return Batch(as_of, ())
    shots = worked_out(session, wanted, around)
    # Shots that stand at their combination's mean share their figures.
    figures = {id(shot.impact): figures_of(shot.impact) for shot in {id(one.impact): one for one in shots}.values()}
    return Batch(as_of, tuple(row_of(shot.fact, figures[id(shot.impact)], shot.fair) for shot in shots))


def fill(book: Storage, *, pause: Callable[[float], object] = lambda took_s: None) -> int:
    """Keep all that is wanting, in small commits; how many shots were worked out. `pause`: called after each with how long it took."""
    with book.read() as session:
        parts = in_parts(session)
    done = 0
    for builds in parts:
        with book.read() as session:
            batch = batch_of(session, builds)
        store(book, batch, pause=pause)
        done += len(batch.rows)
    return done


def in_parts(session: Session) -> list[tuple[str, ...]]:
    """The panel builds that have a shot wanting, so many together that there is little to hold at once.

    Those that were shot with the same arrows stand together: what says something of one shot says something of the other.
    """
    wanting = builds_wanting(session, FORM)
    shots = Counter(build for build, _ in wanting)
    arrows, builds = defaultdict[str, dict[str, None]](dict), defaultdict[str, dict[str, None]](dict)
    for build, arrow in wanting:
        arrows[build][arrow] = builds[arrow][build] = None
    parts: list[list[str]] = []
    room, met = 0, set[str]()
    for first in shots:
        row = deque([] if first in met else [first])
        met.add(first)
        while row:
            build = row.popleft()
            if room < shots[build]:
                parts.append([])
                room = MOST_A_BATCH
            parts[-1].append(build)
            room -= shots[build]
            near = [other for arrow in arrows[build] for other in builds.pop(arrow, ()) if other not in met]
            met.update(near)
            row.extend(dict.fromkeys(near))
    return [tuple(part) for part in parts]


def store(book: Storage, batch: Batch, *, pause: Callable[[float], object] = lambda took_s: None) -> None:
    """In commits so small that who saves hardly waits. `pause`: as for `fill`."""
    for first in range(0, len(batch.rows), MOST_A_COMMIT):
        began = time.monotonic()
        with book.write(quietly=True) as session:
            keep(session, batch.rows[first : first + MOST_A_COMMIT], as_of=batch.as_of, form=FORM)
        pause(time.monotonic() - began)
