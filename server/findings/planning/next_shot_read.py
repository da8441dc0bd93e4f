"""What the next shot's choice starts from, fetched for one trial or for the set-ups that phones shoot at."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from server.findings.fair_hits import mark_hits
from server.findings.impact import Impacts
from server.findings.loosed import LoosedShot
from server.findings.panel_hits import build_words, panel_words
from server.findings.planning.at_hand import at_hand
from server.findings.planning.next_shot import NextShot, next_shot
from server.findings.through import through_of
from server.records.arrow import ArrowCheck
from server.records.listing import all_of
from server.records.panel import Panel, PanelBuild
from server.records.plan_facts import kit_at_hand, newest_planned
from server.records.range_facts import CurrentArrow, OpenSetup, current_arrows
from server.records.shot_facts import ShotFact, shot_facts
from server.records.speed_facts import PairingFact, all_speeds, masses_and_instruments, pairings
from server.records.trial import Trial
from server.records.trial_days import SetupFact, days_of
from server.storage import Session

ENOUGH = "Enough, by the trial’s rule"
UNREAD = "Once the last is read, the rule says which"
NONE_AT_HAND = "The rule has no sound arrow with a known energy"


@dataclass(frozen=True)
class NextShotRead:
    """The choice at the newest set-up's sort of panel, and which that is."""

    panel: str
    found: NextShot


@dataclass(frozen=True)
class _Yard:
    """All that a choice needs of kit: shots' own figures, and pairings' with like ones pooled."""

    impacts: Impacts
    pooled: Impacts
    known: Mapping[str, PairingFact]
    arrows: Sequence[CurrentArrow]
    archers: tuple[str, ...]
    bows: tuple[str, ...]
    uses: Mapping[str, tuple[str, ...]]
    checks: Sequence[ArrowCheck]

    @classmethod
    def load(cls, session: Session, *, trial_id: str | None = None) -> "_Yard":
        """Seven statements."""
        series, own = all_speeds(session)
        weighed, tools = masses_and_instruments(session)
        read: dict[str, Any] = {"series": series, "own": own, "mass_facts": weighed, "tools": tools, "known": pairings(session)}
        kit = {sort: tuple(key for key, _ in pairs) for sort, pairs in kit_at_hand(session, trial_id=trial_id).items()}
        return cls(
            Impacts(**read), Impacts(**read, pool=True), read["known"], current_arrows(session), kit["archer"], kit["bow"], kit,
            all_of(session, ArrowCheck),
        )  # fmt: skip

    def choose(
        self, trial: Trial, panel: Panel, facts: Sequence[ShotFact], *, arrows: Sequence[str], bows: Sequence[str], reader: str
    ) -> NextShot:
        """facts: every shot at the builds that the trial shot at, those of other trials too: earlier hits count.

        arrows, bows    those that the trial says it uses; empty for all
        """
        marks = mark_hits(facts, trials={trial.id: trial}, checks=self.checks)
        mine = [f for f in facts if f.trial_id == trial.id and (f.construction, f.thickness_m) == (panel.construction, panel.thickness_m)]
        shots = [LoosedShot(f, self.impacts.of_shot(f), marks.get(f.shot_id)) for f in mine]
        hand = at_hand(
            self.known, self.pooled, arrows=self.arrows, bow_builds=self.bows, archers=self.archers,
            only_arrows=arrows, only_bows=bows,
        )  # fmt: skip
        return next_shot(trial, shots, hand=hand, through=through_of(trial), reader=reader)


def read_next_shot(session: Session, trial_id: str, *, reader: str) -> NextShotRead | None:
    """Nine statements; None if there is no such trial or nothing is set up."""
    days = days_of(session, trial_id=trial_id)
    setups = [setup for day in days for setup in day.setups]
    if not setups:
        return None
    newest: SetupFact = setups[-1]
    facts = shot_facts(session, panel_build_id=sorted({one.build.id for one in setups}))
    yard = _Yard.load(session, trial_id=trial_id)
    found = yard.choose(days[0].trial, newest.panel, facts, arrows=yard.uses["uses_arrow"], bows=yard.uses["uses_bow"], reader=reader)
    return NextShotRead(_panel(newest.panel, newest.build), found)


def next_for_phones(session: Session, setups: Iterable[OpenSetup]) -> dict[str, dict[str, Any]]:
    """Set-up id -> what comes next there: by the trial's rule, or by its plan. Empty where there is neither.

    One statement where no trial has a rule, nine more where one has: worked out once for all phones.
    """
    open_ones = list(setups)
    planned: dict[tuple[str, str], list[list[Any]]] = {}
    for one in newest_planned(session, sorted({setup.trial.id for setup in open_ones})) if open_ones else ():
        shot = one.planned
        skipped = 1 if shot.skipped else 0
        row = [shot.id, shot.rev, shot.arrow_build_id, shot.archer_id or "", shot.bow_build_id or "", shot.aim_name or "", shot.place, skipped]
        planned.setdefault((one.trial_id, one.panel_build_id), []).append(row)
    told = {}
    by_rule = [setup for setup in open_ones if setup.trial.next_shot_rule not in (None, "none")]
    rules = _by_rule(session, by_rule) if by_rule else {}
    for setup in open_ones:
        rows = planned.get((setup.trial.id, setup.panel_build.id), [])
        more = ({"plan": rows} if rows else {}) | ({"rule": rules[setup.setup.id]} if setup.setup.id in rules else {})
        if more:
            told[setup.setup.id] = more
    return told


def _by_rule(session: Session, setups: Sequence[OpenSetup]) -> dict[str, dict[str, Any]]:
    """`loosed`: how many the rule has seen loosed at this set-up. One more, and what it says is out of date."""
    yard = _Yard.load(session)
    everything = shot_facts(session, panel_build_id=sorted({setup.panel_build.id for setup in setups}))
    found = {}
    for setup in setups:
        builds = {other.panel_build.id for other in setups if other.trial.id == setup.trial.id}
        near = [f for f in everything if f.panel_build_id in builds]
        chosen = yard.choose(setup.trial, setup.panel, near, arrows=setup.arrows, bows=setup.bows, reader="metric")
        here = [f for f in near if f.setup_id == setup.setup.id and f.purpose != "let_down"]
        unread = any(f.hit is None and f.purpose == "counted" for f in here)
        best = None if chosen.best is None or unread else chosen.best.hand.fact
        found[setup.setup.id] = {
            "loosed": len(here), "next": [best.arrow_build_id, best.archer_id, best.bow_build_id] if best else None,
            "wait": ENOUGH if chosen.stop else UNREAD if unread else NONE_AT_HAND, "unread": UNREAD,
        }  # fmt: skip
    return found


def _panel(panel: Panel, build: PanelBuild) -> str:
    words = panel_words(panel)
    return build_words(panel, build) + (f", {words}" if words else "")
