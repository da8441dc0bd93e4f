"""What a trial's page shows: the question, what its shots say so far in counts, what was said beforehand, its days."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from proofyard.answers.trial.expected import Beside, beside_the_outcome
from proofyard.caveats.caveat import Caveat
from proofyard.caveats.collected import caveats_of
from proofyard.caveats.of_shots import view_of_shots
from proofyard.caveats.over_time import energies_chosen
from proofyard.charts.outcome_words import share_text
from proofyard.quantities.reason import Reason, because
from proofyard.records.arrow import FORMS, Arrow
from proofyard.records.bow import Bow
from proofyard.records.caveat_facts import NO_FACTS, CaveatFacts, caveat_facts
from proofyard.records.claim_facts import ClaimFact, FirstShot
from proofyard.records.kit_between import kit_of_trials
from proofyard.records.kit_to_pick import newest_of
from proofyard.records.listing import belonging, by_number, name_of
from proofyard.records.notebook import Line, revisions_of
from proofyard.records.panel import Panel, PanelArea
from proofyard.records.shot_facts import ShotFact
from proofyard.records.stand import Stand
from proofyard.records.trial import CAUTIONS, Trial, TrialUses
from proofyard.records.trial_days import DayFact, SetupFact, days_of, family
from proofyard.shots.fair_hits import rules_of
from proofyard.shots.lines import ShotLine, shot_lines
from proofyard.shots.loosed import Loosed, LoosedShot, loosed_on, on_the_panel, seen_from
from proofyard.shots.rule_words import RuleLine, rule_lines
from proofyard.storage import Session
from proofyard.views.cells import settled
from proofyard.views.counted import standing
from proofyard.views.pair_comparison import pair_families, pair_told
from proofyard.views.panel_hits import PanelBrief, free_spots, panel_brief
from proofyard.views.predictions import SaidBefore, said_at, said_before
from proofyard.views.settings import Through, ViewSettings, form_of, form_words, through_bounds_of, through_of
from proofyard.wording.left_out import REASONS
from proofyard.wording.panels import build_words, panel_words
from proofyard.wording.reasons.results import kept_rule
from proofyard.wording.reasons.said import said
from proofyard.wording.trial_changes import FieldChange, by_name, changes_between, meant_words
from proofyard.wording.when import day_at, day_words


@dataclass(frozen=True)
class SessionLine:
    session_id: str
    mark: str
    words: str
    about: Reason
    shots: int
    open: bool


@dataclass(frozen=True)
class StateChange:
    """When the trial was opened, closed, reopened, by whom, and why."""

    moved: Reason
    reason: str


@dataclass(frozen=True)
class TrialRead:
    """The page, in words and drawings.

    panels  one for each panel build that was shot at, or is set up, and how many of the trial's fair hits there got through
    others  what is on no panel: unread first, then misses, sighters, and those crossed out, newest first
    meant   kit written down beforehand, by sort
    compared: panel type -> a sentence on each pair of heads shot at it
    changed from the trial it follows; changed_after: to each trial that follows, by its id
    claim   what it claims, to be judged by its standing shots
    beside  what was expected in figures, beside what was found
    """

    trial: Trial
    lead: Reason
    left_out: Reason | None
    said_by: Reason | None
    expected: tuple[SaidBefore, ...]
    rules: tuple[RuleLine, ...]
    through: str
    sessions: tuple[SessionLine, ...]
    kit: tuple[tuple[str, tuple[str, ...]], ...]
    others: tuple[ShotLine, ...]
    panels: tuple[tuple[PanelBrief, str], ...]
    follows: Trial | None
    followers: Sequence[Trial]
    states: tuple[StateChange, ...]
    meant: tuple[tuple[str, str], ...]
    changed: tuple[FieldChange, ...]
    changed_after: Mapping[str, tuple[FieldChange, ...]]
    to_check: tuple[Caveat, ...]
    rule: tuple[tuple[str, str], ...]
    claim: ClaimFact | None
    shots: tuple[LoosedShot, ...]
    compared: tuple[tuple[str, tuple[Reason, ...]], ...] = ()
    beside: tuple[Beside, ...] = ()


def read_trial(session: Session, trial_id: str, *, reader: str, only_trial: str | None = None) -> TrialRead | None:
    """Twelve statements whatever the number of shots; None if there is no such trial."""
    related = family(session, trial_id)
    if related is None:
        return None
    trial = related.trial
    days = days_of(session, trial_id=trial_id)
    setups = {s.build.id: s for day in days for s in day.setups}
    # Marks are made with the rules of each shot's own trial; those of other trials are not shown here.
    on_builds = seen_from(loosed_on(session, setups, trials={trial.id: trial}), only_trial)
    mine = [s for s in on_builds if s.fact.trial_id == trial_id]
    lines = revisions_of(session, "trial", trial_id)
    areas = belonging(session, PanelArea, "panel_build_id", list(setups)) if setups else ()
    standing_shots = [s for s in mine if not s.fact.voided]
    lead, left_out = counts_of(trial, standing_shots)
    follows, followers = (None, ()) if only_trial else (related.follows, related.followers)
    kit = kit_of_trials(session, [trial_id, *(one.id for one in (follows, *followers) if one)])
    expected = said_before(session, trial_id, reader=reader)
    return TrialRead(
        trial=trial,
        lead=lead,
        left_out=left_out,
        said_by=said_by(lines, related.first),
        expected=expected,
        rules=rule_lines(trial, [s.panel.construction for s in setups.values()], reader=reader),
        through=through_of(trial).meaning,
        sessions=session_lines(days, [s.fact for s in standing_shots]),
        kit=kit_used([s.fact for s in standing_shots], setups.values()),
        others=others_of(mine, reader=reader),
        panels=_panels(trial, setups, on_builds, areas=areas, only_trial=only_trial, reader=reader),
        follows=follows,
        followers=followers,
        states=state_changes(lines),
        meant=meant_words(kit, trial_id),
        changed=changes_between(follows, trial, kit=kit, reader=reader) if follows else (),
        changed_after={one.id: changes_between(trial, one, kit=kit, reader=reader) for one in followers},
        to_check=_to_check(
            trial,
            standing_shots,
            caveat_facts(session, [s.fact for s in standing_shots]),
            around=on_builds,
            room={} if only_trial else _room(trial, setups, on_builds, areas=areas),
        ),
        rule=kept_rule(trial),
        claim=related.claim,
        shots=tuple(standing_shots),
        compared=_compared(trial, standing_shots, related.claim),
        beside=beside_the_outcome(expected, trial, _counted(standing_shots)) if standing_shots else (),
    )


def _compared(trial: Trial, shots: Sequence[LoosedShot], claim: ClaimFact | None) -> tuple[tuple[str, tuple[Reason, ...]], ...]:
    """How its heads stand to each other, as every other page has it."""
    settings = settled(ViewSettings(only={"trial": trial.id}, through=through_of(trial)), shots)
    families = pair_families(Loosed(tuple(shots), (), {trial.id: trial}, {trial.id: claim} if claim else {}), settings)
    told = [(one.on, tuple(because("sentence_of_its_own", why=pair_told(pair)) for pair in one.pairs)) for one in families]
    return tuple((on, pairs) for on, pairs in told if pairs)


def _room(
    trial: Trial, setups: Mapping[str, SetupFact], shots: Sequence[LoosedShot], *, areas: Sequence[PanelArea]
) -> dict[str, tuple[int, int]]:
    """Panel build -> aim spots still free, and all. A closed trial takes no shots, nor does a build that gave way to another."""
    found = {}
    latest = {one.panel.id: build_id for build_id, one in sorted(setups.items(), key=lambda pair: pair[1].build.number)}
    for build_id, one in setups.items():
        if trial.state == "closed" or latest[one.panel.id] != build_id:
            continue
        spots = [area for area in areas if area.panel_build_id == build_id and area.sort == "aim"]
        hits = on_the_panel([shot for shot in shots if shot.fact.panel_build_id == build_id])
        found[build_id] = (len(free_spots(spots, hits, rules=rules_of(trial, one.panel.construction))), len(spots))
    return found


def _to_check(
    trial: Trial, shots: Sequence[LoosedShot], facts: CaveatFacts, *, around: Sequence[LoosedShot], room: Mapping[str, tuple[int, int]]
) -> tuple[Caveat, ...]:
    """What the trial's counts can't carry. Hits of other trials at the same panels stand around: they use a panel up too."""
    standing_around = [shot for shot in around if not shot.fact.voided]
    counted, through = _counted(shots), through_of(trial)
    return caveats_of(view_of_shots(counted, facts, around=standing_around, trials={trial.id: trial}, through=through, free_spots=room))


def _counted(shots: Sequence[LoosedShot]) -> list[LoosedShot]:
    """A count of hits needs no energy: those not measured are counted here."""
    return [shot for shot in shots if standing(shot, ViewSettings()) in (None, "not_measured")]


def _panels(
    trial: Trial,
    setups: Mapping[str, SetupFact],
    shots: Sequence[LoosedShot],
    *,
    areas: Sequence[PanelArea],
    only_trial: str | None,
    reader: str,
) -> tuple[tuple[PanelBrief, str], ...]:
    found = []
    for build_id, one in setups.items():
        here = [s for s in shots if s.fact.panel_build_id == build_id]
        brief = panel_brief(
            one.panel,
            one.build,
            areas=[a for a in areas if a.panel_build_id == build_id],
            shots=here,
            rules=rules_of(trial, one.panel.construction),
            reader=reader,
            only_trial=only_trial,
        )
        found.append((brief, _through_words(trial, [s for s in here if not s.fact.voided])))
    return tuple(found)


def _through_words(trial: Trial, shots: Sequence[LoosedShot]) -> str:
    """ "3 of 11 through", of the trial's fair hits at one panel; empty where none counts yet."""
    bounds = [through_bounds_of(s.fact, through_of(trial)) for s in _counted(shots) if s.fact.trial_id == trial.id]
    return f"{share_text(sum(sure for sure, _ in bounds), sum(maybe for _, maybe in bounds), len(bounds))} through" if bounds else ""


def others_of(shots: Sequence[LoosedShot], *, reader: str) -> tuple[ShotLine, ...]:
    on_panel = {s.fact.shot_id for s in on_the_panel(shots)}
    lines = shot_lines([s for s in reversed(shots) if s.fact.shot_id not in on_panel], reader)
    return tuple(sorted(lines, key=lambda line: (not line.unread, line.voided)))


def counts_of(trial: Trial, shots: Sequence[LoosedShot]) -> tuple[Reason, Reason | None]:
    """The finding in counts, head by head in the order of the forms, never of the counts; and what is left out.

    Counted as the results page counts when nothing is picked there: fair hits, not by a gap.
    """
    loosed = [s for s in shots if s.fact.purpose != "let_down"]
    if not loosed:
        return because("trial_no_shots", state=trial.state), None
    by_reason: dict[str | None, list[LoosedShot]] = {}
    for shot in loosed:
        reason = standing(shot, ViewSettings())
        # A count of hits needs no energy: those not measured are counted here.
        by_reason.setdefault(None if reason == "not_measured" else reason, []).append(shot)
    counted, through = by_reason.pop(None, []), through_of(trial)
    lead = because(
        "trial_counts",
        state=trial.state,
        shots=len(loosed),
        counts=len(counted),
        chosen=bool(counted)
        and bool(energies_chosen(view_of_shots(counted, NO_FACTS, around=loosed, trials={trial.id: trial}, through=through))),
        through=through.meaning,
        heads=tuple(_by_head(counted, through)),
    )
    reasons = tuple((len(group), REASONS[reason or ""].words) for reason, group in _in_order(by_reason))
    let_down = len(shots) - len(loosed)
    return lead, because("trial_left_out", reasons=reasons, let_down=let_down) if reasons or let_down else None


def _in_order(groups: Mapping[str | None, list[LoosedShot]]) -> list[tuple[str | None, list[LoosedShot]]]:
    order = list(REASONS)
    return sorted(groups.items(), key=lambda pair: order.index(pair[0] or ""))


def _by_head(shots: Sequence[LoosedShot], through: Through) -> list[str]:
    forms = [*FORMS, "not_recorded"]
    groups: dict[str, list[tuple[bool, bool]]] = {}
    for shot in shots:
        groups.setdefault(form_of(shot.fact), []).append(through_bounds_of(shot.fact, through))
    said = []
    for form in sorted(groups, key=forms.index):
        found = groups[form]
        count = share_text(sum(sure for sure, _ in found), sum(maybe for _, maybe in found), len(found))
        said.append(f"{form_words(form).lower()} in {count}")
    return said


def said_by(lines: Sequence[Line], first_shot: FirstShot) -> Reason | None:
    """Who wrote the prediction, when, whether that was before the first shot, and whether it was changed since."""
    said = [line for line in lines if "prediction" in line.changes and any(line.changes["prediction"][:2])]
    if not said:
        return None
    first, last = said[-1], said[0]
    when: Reason | str = ""
    if first_shot.seq is not None:
        sure, maybe = first_shot.shots_before(first.seq, at=first.at, day=day_at(first.at))
        when = because("trial_after_first_shot") if sure else said_at(0, int(maybe))
    changed = last is not first
    by, at = (last.who, last.at) if changed else (None, None)
    return because("trial_prediction", who=first.who, at=first.at, when=when, changed_by=by, changed_at=at)


def state_changes(lines: Sequence[Line]) -> tuple[StateChange, ...]:
    """Newest first."""
    found = []
    for line in lines:
        before, after = line.changes.get("state", (None, None))[:2]
        if after is None or (before is None and after == "planned"):
            continue
        moved = because("trial_moved", state=after, reopened=before == "closed", who=line.who, at=line.at)
        found.append(StateChange(moved, line.reason or ""))
    return tuple(found)


def session_lines(days: Sequence[DayFact], facts: Sequence[ShotFact]) -> tuple[SessionLine, ...]:
    """Newest first, each with what a day is known by."""
    shots = Counter(fact.session_id for fact in facts if fact.purpose != "let_down")
    lines = [_session_line(n, day, shots[day.day.id]) for n, day in enumerate(days, 1)]
    return tuple(reversed(lines))


def _session_line(n: int, day: DayFact, shots: int) -> SessionLine:
    one = day.day
    about = because(
        "trial_day",
        ticked=day.ticked,
        cautions=len(CAUTIONS),
        distances_m=tuple(sorted({s.setup.distance_m for s in day.setups if s.setup.distance_m is not None})),
        temperature_k=one.temperature_k,
        weather=one.weather,
        officer=one.officer,
    )
    words = day_words(one.day) + (f", {one.place}" if one.place else "")
    return SessionLine(one.id, str(n), words, about, shots, day.ticked >= len(CAUTIONS))


def kit_used(facts: Sequence[ShotFact], setups: Iterable[SetupFact]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What was shot, and shot at, by name; of the stands and panels also those that are only set up."""
    setups = list(setups)
    heads: dict[str, set[str]] = {}
    for fact in facts:
        heads.setdefault(form_of(fact), set()).add(fact.head_name or said(because("head_without_name")))
    by_form = sorted(heads.items(), key=lambda pair: [*FORMS, "not_recorded"].index(pair[0]))
    pairs = (
        ("Panels", [f"{build_words(s.panel, s.build)}: {panel_words(s.panel)}".rstrip(": ") for s in setups]),
        ("Heads", [f"{form_words(form)}: {', '.join(sorted(names))}" for form, names in by_form]),
        ("Arrows", [", ".join(sorted({f.arrow_tag for f in facts}, key=by_number))]),
        ("Bows", sorted({f.bow_name if f.bow_build_number == 1 else f"{f.bow_name}, build {f.bow_build_number}" for f in facts})),
        ("Archers", sorted({f.archer for f in facts})),
        ("Stands", sorted({s.stand for s in setups if s.stand})),
    )
    return tuple((term, tuple(dict.fromkeys(w for w in words if w))) for term, words in pairs if any(words))


@dataclass(frozen=True)
class KitMeant:
    """What a trial is to use, as ticks: kit that is not retired, and what is ticked of it; of very much kit the newest and what was found.

    `offered`: noun -> (id, name); `rows`: (noun, id) -> the record that says so, crossed out or not; `more`: nouns with more than these.
    """

    offered: Mapping[str, tuple[tuple[str, str], ...]]
    rows: Mapping[tuple[str, str], TrialUses]
    more: frozenset[str] = frozenset()

    def ticked(self, noun: str) -> list[str]:
        return [key for (of, key), row in self.rows.items() if of == noun and row.voided_rev is None]


def read_kit_meant(
    session: Session, trial_id: str, *, words: str = "", sent: Mapping[str, Sequence[str]] = MappingProxyType({})
) -> KitMeant:
    """Five statements.

    words   what names must hold; "" for the newest
    sent    noun -> ids that a form sent: they are offered too, if they are in use
    """
    rows = {(row.noun, row.record_id): row for row in belonging(session, TrialUses, "trial_id", trial_id, voided=True)}
    offered, more = {}, set()
    for noun, table in (("panel", Panel), ("stand", Stand), ("bow", Bow), ("arrow", Arrow)):
        # What was ticked stays to be seen, retired or not.
        keep = {key for of, key in rows if of == noun} | set(sent.get(noun, ()))
        found: tuple[list[Any], bool] = newest_of(session, table, keep=keep, words=words)
        kept = [one for one in found[0] if not one.retired or (noun, one.id) in rows]
        named = [(one.id, name_of(one) + (", retired" if one.retired else "")) for one in kept]
        offered[noun] = tuple(sorted(named, key=lambda pair: by_name(pair[1])))
        more |= {noun} if found[1] else set()
    return KitMeant(offered, rows, frozenset(more))
