"""Which kept shots a change of the book may have made otherwise, told from the notebook alone: who saves does nothing for it.

Every dependency of a shot's energy and fairness leads to one of two keys: the panel build that it was shot at, and the arrow build. A
changed record is followed down to the builds below it, as the book stands now; a link that a change moved names the old and the new end.
So a shot that hung on the old one is found too, and more may be marked than had to be, never less.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from proofyard.records.arrow import ArrowBuild, ArrowCheck
from proofyard.records.book import Revision
from proofyard.records.bow import BowBuild
from proofyard.records.instrument import Reading
from proofyard.records.panel import PanelBuild
from proofyard.records.shot import Shot
from proofyard.records.speed import Combination, SpeedReading, SpeedSeries
from proofyard.records.trial import Session as Day
from proofyard.records.trial import Setup, ShootingEnd

_seq: Any = Revision.seq
MOST_CHANGES = 5_000  # after more than so many at once nothing is followed: all is stale

# What a change of each noun touches: sets of ids (below), with the record itself, and with the old and new end of a link.
# ends: their panel build, and the arrow builds of all that was shot in them, whose order hangs on the whole end; so of shots.
# spots: the panel build of a set-up alone; hits: a shot's own panel and arrow build; flights: its arrow build alone.
_SELF: Mapping[str, str] = MappingProxyType(
    {
        "trial": "trials",
        "session": "sessions",
        "setup": "setups",
        "shooting_end": "ends",
        "shot": "shots",
        "shot_reading": "hits",
        "panel": "panels",
        "panel_build": "panel_builds",
        "arrow": "arrows",
        "arrow_build": "arrow_builds",
        "head": "heads",
        "bow": "bows",
        "bow_build": "bow_builds",
        "combination": "combinations",
        "speed_series": "series",
        "speed_reading": "speeds",
        "arrow_check": "checks",
        "reading": "readings",
        "instrument": "instruments",
    }
)
LINKS: Mapping[tuple[str, str], str] = MappingProxyType(
    {
        ("setup", "panel_build"): "panel_builds",
        ("shooting_end", "setup"): "spots",
        ("shot", "shooting_end"): "ends",
        ("shot", "arrow_build"): "arrow_builds",
        ("combination", "arrow_build"): "arrow_builds",
        ("speed_series", "combination"): "combinations",
        ("speed_reading", "series"): "series",
        ("speed_reading", "shot"): "flights",
        ("arrow_check", "arrow_build"): "arrow_builds",
        ("reading", "record"): "arrow_builds",
    }
)
# Nothing that is kept rests on these.
FREE = frozenset(
    {
        "archer",
        "instrument_check",
        "hardness_reading",
        "draw_point",
        "bow_check",
        "panel_area",
        "panel_face",
        "stand",
        "stand_layer",
        "backing_check",
        "trial_uses",
        "caution_tick",
        "butt_visit",
        "incident",
        "claim",
        "prediction",
        "plan",
        "planned_shot",
        "second_reading",
        "photo",
        "film",
        "film_mark",
        "import_batch",
        "imported_record",
    }
)
FOLLOWED = frozenset(_SELF)
# Of a trial, only what it says of fair hits: its state and its words change often.
_OF_A_TRIAL = frozenset({"near_opened", "near_dented", "near_edge", "position_accuracy", "spoils"})


@dataclass
class Touched:
    """`everything`: no shot may be taken as it was kept. Else those at these panel builds or of these arrow builds may not."""

    everything: bool = False
    panel_builds: set[str] = field(default_factory=set)
    arrow_builds: set[str] = field(default_factory=set)

    def touches(self, panel_build_id: str, arrow_build_id: str) -> bool:
        return self.everything or panel_build_id in self.panel_builds or arrow_build_id in self.arrow_builds


def touched_since(session: Session, seq: int) -> Touched:
    """By all changes after a number of the notebook."""
    changes = changes_since(session, seq, most=MOST_CHANGES + 1)
    if len(changes) > MOST_CHANGES:
        return Touched(everything=True)
    return touched_by(session, changes)


def changes_since(session: Session, seq: int, *, most: int) -> Sequence[Any]:
    """So many of the changes after a number of the notebook, as (noun, record id, rev, what changed as JSON)."""
    query = select(Revision.noun, Revision.record_id, Revision.rev, Revision.changes).where(_seq > seq).order_by(_seq).limit(most)
    return session.execute(query).all()


def change_at(session: Session, seq: int) -> tuple[Any, ...]:
    """What the change of this number was, as far as it takes to tell it from another book's; empty where there is none."""
    query = select(Revision.noun, Revision.record_id, Revision.rev, Revision.at).where(_seq == seq)
    return tuple(session.execute(query).one_or_none() or ())


def touched_by(session: Session, changes: Iterable[Any]) -> Touched:
    """By changes given as (noun, record id, rev, what changed as JSON)."""
    met: dict[str, set[str]] = {}
    for noun, record_id, rev, said in changes:
        if noun in FREE or noun not in _SELF:
            continue
        what: dict[str, Any] = json.loads(said)
        if noun == "trial" and not _OF_A_TRIAL & what.keys():
            continue
        if noun == "instrument":
            if rev > 1:  # nothing was read with one that is only being written down
                return Touched(everything=True)
            continue
        met.setdefault(_SELF[noun], set()).add(record_id)
        for name, (before, after, *_) in what.items():
            into = LINKS.get((noun, name))
            if into:
                met.setdefault(into, set()).update(one for one in (before, after) if one)
    return _followed(session, met) if met else Touched()


def _followed(session: Session, met: dict[str, set[str]]) -> Touched:
    """Down to the builds."""

    def found(column: Any, where: Any, *names: str) -> set[str]:
        ids = set().union(*(met.get(name, ()) for name in names))
        return {one for (one,) in session.execute(select(column).where(where.in_(ids)).distinct()) if one} if ids else set()

    def more(into: str, column: Any, where: Any, *names: str) -> None:
        met.setdefault(into, set()).update(found(column, where, *names))

    more("sessions", Day.id, Day.trial_id, "trials")
    more("setups", Setup.id, Setup.session_id, "sessions")
    more("ends", ShootingEnd.id, ShootingEnd.setup_id, "setups")
    # The whole end of a shot: when it was loosed may tell which of two ends came first.
    more("ends", Shot.shooting_end_id, Shot.id, "shots")
    more("ends_of_hits", Shot.shooting_end_id, Shot.id, "hits")
    more("spots", ShootingEnd.setup_id, ShootingEnd.id, "ends", "ends_of_hits")
    more("panel_builds", Setup.panel_build_id, Setup.id, "setups", "spots")
    more("panel_builds", PanelBuild.id, PanelBuild.panel_id, "panels")
    more("arrow_builds", Shot.arrow_build_id, Shot.shooting_end_id, "ends")
    more("series", SpeedReading.series_id, SpeedReading.id, "speeds")
    more("flights", SpeedReading.shot_id, SpeedReading.id, "speeds")
    more("arrow_builds", Shot.arrow_build_id, Shot.id, "shots", "hits", "flights")
    more("bow_builds", BowBuild.id, BowBuild.bow_id, "bows")
    more("combinations", SpeedSeries.combination_id, SpeedSeries.id, "series")
    more("arrow_builds", Combination.arrow_build_id, Combination.id, "combinations")
    more("arrow_builds", Combination.arrow_build_id, Combination.bow_build_id, "bow_builds")
    more("arrow_builds", ArrowBuild.id, ArrowBuild.arrow_id, "arrows")
    more("arrow_builds", ArrowBuild.id, ArrowBuild.head_id, "heads")
    more("arrow_builds", Reading.record_id, Reading.id, "readings")
    more("arrow_builds", ArrowCheck.arrow_build_id, ArrowCheck.id, "checks")
    return Touched(False, met.get("panel_builds", set()), met.get("arrow_builds", set()))
