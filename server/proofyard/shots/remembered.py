"""Every shot of a book as a process that makes pages remembers it from one page to the next, brought up to date by the notebook.

To fetch and make a shot takes some hundred times as long as to count it. So what a page of the whole book fetched stays, and the next
page fetches again what the changes since have touched: shots whose records, or records beside them, were changed, by the ids in the
notebook; and figures and marks of the panel builds and arrow builds that those lead to (`records/cache_stale.py`). What was given to a
page is never changed: the next is given shots of its own where anything is different. Nothing here is needed for any page to be right:
where a change says more than can be followed, all is fetched.
"""

import gc
import threading
from bisect import insort
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from operator import attrgetter
from types import MappingProxyType
from typing import Any
from weakref import WeakKeyDictionary

from proofyard.records.cache_stale import FREE, Touched, change_at, changes_since, touched_by, touched_since
from proofyard.records.shot_facts import in_order_loosed, shot_facts, types_that_differ
from proofyard.shots.cache import FORM, kept_shots
from proofyard.shots.kept_shot import LoosedAndKept
from proofyard.shots.loosed import LoosedShot
from proofyard.storage import Session

MOST_REMEMBERED = 150_000  # shots of all books of this process, of some 2,400 bytes each; of a larger book all is fetched for every page
MANY = 2_000  # shots: of so many the collector of garbage is kept away
MOST_FOLLOWED = 300  # changes since; after more of them, all is fetched
MOST_AGAIN = 5_000  # shots that these touched; where they touched more, all is fetched

# The fact that names the record, by the noun that was changed. What is in neither list, all is fetched for.
_NAMED_BY = MappingProxyType(
    {noun: f"{noun}_id" for noun in ("trial", "session", "setup", "shooting_end", "shot", "panel", "panel_build", "combination")}
    | {noun: f"{noun}_id" for noun in ("bow", "bow_build", "arrow", "arrow_build", "head", "archer")}
    | {"shot_reading": "shot_id", "device": "recorded_by"}
)
_NOT_IN_FACTS = (FREE - {"archer", "stand", "stand_layer"}) | {"instrument", "reading", "speed_series", "speed_reading", "arrow_check"}
_BEHIND = frozenset({"setup", "panel", "panel_build"})  # by which it may come to differ what lay behind panels made alike


@dataclass(frozen=True)
class Remembered:
    """All shots as the book stood at one change of it, those crossed out apart, in the order loosed.

    as_of, change  the change's number, and what it was: another book, brought back in this one's place, has another there
    differ         of which constructions and thicknesses it differs what lay behind them
    """

    as_of: int
    change: tuple[Any, ...]
    standing: tuple[LoosedAndKept, ...]
    voided: tuple[LoosedAndKept, ...]
    differ: frozenset[Any] = frozenset()

    @property
    def count(self) -> int:
        return len(self.standing) + len(self.voided)


# By the engine that its book is read with: it goes with the book.
_held: "WeakKeyDictionary[Any, Remembered]" = WeakKeyDictionary()
_lock = threading.Lock()


def shots_of_all(session: Session, kept: tuple[int, str, int]) -> Remembered | None:
    """Every shot of the book, out of what is kept and what is remembered; None where too little of it holds.

    kept  up to which number changes have marked what is kept, its form, and the number of the last change
    """
    since, form, latest = kept
    if form != FORM:
        return None
    touched = touched_since(session, since)
    engine = session.get_bind().engine
    with _lock:
        before = _held.get(engine)
        if before is not None and before.as_of <= latest and change_at(session, before.as_of) == before.change:
            found = before if before.as_of == latest else _brought_up(session, before, latest, touched)
        else:
            found = None
        whole = None if found else _whole(session, latest, touched)
        found = found or whole
        if found is not None and (before is None or found.as_of >= before.as_of):
            _hold(engine, found)
            if whole is not None and whole.count > MANY:
                _spare_the_collector()
        return found


def _spare_the_collector() -> None:
    """What is remembered holds no rings; looked through for them, it makes all that a page makes beside it take twice as long."""
    gc.unfreeze()
    gc.collect()
    gc.freeze()


def _hold(engine: Any, found: Remembered) -> None:
    others = sum(one.count for key, one in _held.items() if key is not engine)
    if found.count + others > MOST_REMEMBERED:
        _held.clear()
    if found.count <= MOST_REMEMBERED:
        _held[engine] = found


def _whole(session: Session, latest: int, touched: Touched) -> Remembered | None:
    if touched.everything:
        return None
    shots = kept_shots(session, shot_facts(session, voided=True), touched)
    if shots is None:
        return None
    lean = [_lean(shot) for shot in shots]
    standing, voided = (tuple([shot for shot in lean if shot.fact.voided == out]) for out in (False, True))
    return Remembered(latest, change_at(session, latest), standing, voided, types_that_differ(session))


def _lean(shot: LoosedShot) -> LoosedAndKept:
    """Without what it was worked out from, which is all that was read of its kit."""
    return shot if isinstance(shot, LoosedAndKept) else LoosedAndKept(shot.fact, shot.impact, shot.fair)


def _brought_up(session: Session, before: Remembered, latest: int, touched: Touched) -> Remembered | None:
    """What was remembered, with all that changed since; None where that can't be followed, or touches too much."""
    changes = changes_since(session, before.as_of, most=MOST_FOLLOWED + 1)
    nouns = {noun for noun, *_ in changes}
    if len(changes) > MOST_FOLLOWED or not nouns <= _NAMED_BY.keys() | _NOT_IN_FACTS:
        return None
    since = touched_by(session, changes)
    if since.everything or (nouns & _BEHIND and types_that_differ(session) != before.differ):
        return None
    ids: dict[str, set[str]] = {}
    for noun, record_id, *_ in changes:
        if noun in _NAMED_BY:
            ids.setdefault(_NAMED_BY[noun], set()).add(record_id)
    facts = {fact.shot_id: fact for name, some in ids.items() for fact in shot_facts(session, voided=True, **{name: sorted(some)})}
    named, hanging = (_found(before, some) for some in (ids, {"panel_build_id": since.panel_builds, "arrow_build_id": since.arrow_builds}))
    facts |= {key: shot.fact for key, shot in hanging.items() if key not in named and key not in facts}
    if len(facts) > MOST_AGAIN:
        return None
    old = named | hanging
    again = [
        fact for key, fact in facts.items() if key not in old or key in hanging or since.touches(fact.panel_build_id, fact.arrow_build_id)
    ]
    worked = kept_shots(session, again, touched, shot_id=[fact.shot_id for fact in again]) if again else []
    if worked is None:
        return None
    new = {shot.fact.shot_id: _lean(shot) for shot in worked}
    new |= {key: old[key].of_fact(fact) for key, fact in facts.items() if key not in new}
    out = old.keys() | new.keys()
    standing, voided = (
        _put_in(some, out, [shot for shot in new.values() if shot.fact.voided == voided])
        for some, voided in ((before.standing, False), (before.voided, True))
    )
    return Remembered(latest, change_at(session, latest), standing, voided, before.differ)


def _found(before: Remembered, ids: Mapping[str, Collection[str]]) -> dict[str, LoosedAndKept]:
    """Those of which one of these facts is one of these ids."""
    found: dict[str, LoosedAndKept] = {}
    for name, some in ids.items():
        said = attrgetter(f"fact.{name}")
        if some:
            found |= {shot.fact.shot_id: shot for shots in (before.standing, before.voided) for shot in shots if said(shot) in some}
    return found


def _put_in(shots: Iterable[LoosedAndKept], out: Collection[str], new: Iterable[LoosedAndKept]) -> tuple[LoosedAndKept, ...]:
    """Without those that are out, and with the new ones where they belong."""
    found = [shot for shot in shots if shot.fact.shot_id not in out]
    for shot in new:
        insort(found, shot, key=_in_order)
    return tuple(found)


def _in_order(shot: LoosedShot) -> Any:
    return in_order_loosed(shot.fact)
