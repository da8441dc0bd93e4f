"""The shots at some panel builds, with their figures and fair marks: what trial, panel, arrow and shot pages start from.

Fairness asks for every shot at a build, across trials; so a page loads builds, and then shows those it is about.
"""

from collections.abc import Iterable, Mapping

from server.findings.fair_hits import mark_hits
from server.findings.impact import Impacts
from server.findings.loosed import LoosedShot
from server.records.arrow import ArrowCheck
from server.records.listing import all_of
from server.records.shot_facts import shot_facts
from server.records.trial import Trial
from server.storage import Session


def loosed_on(session: Session, panel_build_ids: Iterable[str], *, trials: Mapping[str, Trial] | None = None) -> list[LoosedShot]:
    """In the order they were loosed, struck ones too; seven statements, and one more if `trials` are not given."""
    builds = sorted(set(panel_build_ids))
    if not builds:
        return []
    facts = shot_facts(session, struck=True, panel_build_id=builds)
    known = trials if trials is not None else {one.id: one for one in all_of(session, Trial, struck=True)}
    marks = mark_hits([f for f in facts if not f.struck], trials=known, checks=all_of(session, ArrowCheck))
    impacts = Impacts.load(session, facts)
    return [LoosedShot(f, impacts.of_shot(f), None if f.struck else marks.get(f.shot_id)) for f in facts]
