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
from typing import Any

from proofyard.records.cache import builds_wanting, keep, kept_rows
from proofyard.records.cache_stale import Touched, touched_since
from proofyard.records.listing import cache_and_latest
from proofyard.records.notebook import latest_seq
from proofyard.records.shot_facts import ShotFact, facts_for_fairness
from proofyard.shots.fair_hits import mark_hits
from proofyard.shots.impact import Impacts
from proofyard.shots.kept_shot import READ, LoosedAndKept, figures_of, row_of
from proofyard.shots.loosed import LoosedInPassing, LoosedShot, checks_of, trials_of
from proofyard.storage import Session, Storage

# Counted up whenever a formula, a constant or the form of what is kept changes: tests/shots/test_cache.py tells when it has to be.
FORMULAS = 2
# Last digits may differ between two kinds of machine, and a book is carried from one to another.
FORM = f"{FORMULAS} {sys.platform} {platform.machine()} {sys.version_info[0]}.{sys.version_info[1]}"

MOST_TOGETHER = 2_000  # more shots than this that are not kept, and the whole book is worked out at once instead
MOST_A_BATCH = 500  # shots worked out together
MOST_A_COMMIT = 100  # rows: at 2,000 who saved waited up to 0.8 s


def kept_shots(session: Session, facts: Sequence[ShotFact], touched: Touched, **wanted: Iterable[str]) -> list[LoosedShot] | None:
    """These shots in the order of their facts, out of what is kept as far as it holds; None where too little of it does.

    touched  by all changes since rows were marked; wanted: of which rows these shots are, all unless it is said
    """
    rows = fresh_rows(session, touched, **wanted)
    wanting = [fact for fact in facts if fact.shot_id not in rows]
    if len(wanting) > MOST_TOGETHER:
        return None
    again = {shot.fact.shot_id: shot for shot in worked_out(session, wanting)} if wanting else {}
    return [again.get(fact.shot_id) or LoosedAndKept(fact, rows[fact.shot_id]) for fact in facts]


def fresh_rows(session: Session, touched: Touched, **wanted: Iterable[str]) -> dict[str, Sequence[Any]]:
    """Shot -> what is kept of it, in the order of READ, where that still holds."""
    if touched.everything:
        return {}
    found = kept_rows(session, READ, **wanted)
    if not (touched.panel_builds or touched.arrow_builds):
        return {row[0]: row for row in found}
    return {row[0]: row for row in found if not touched.touches(row[1], row[2])}


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
