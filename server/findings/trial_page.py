"""What a trial's page shows: the question, what its shots say so far in counts, what was said beforehand, its days."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from server.charts.outcome_words import BandShare, count_text
from server.findings.caveats.caveat import Caveat
from server.findings.caveats.chosen_energies import energies_chosen
from server.findings.caveats.collected import caveats_of
from server.findings.caveats.of_shots import view_of_shots
from server.findings.fair_rules import rules_of
from server.findings.left_out import REASONS, standing
from server.findings.loosed import LoosedShot
from server.findings.loosed_on import loosed_on
from server.findings.panel_hits import PanelHits, build_words, free_spots, panel_hits, panel_words, struck_panel
from server.findings.planning.kept_rule import kept_rule
from server.findings.shot_lines import ShotLine, shot_lines
from server.findings.through import Through, may_be_through, through_of
from server.findings.trial_rules import RuleLine, rule_lines
from server.findings.trials_compared.follow_up import FieldChange, changes_between, meant_words
from server.findings.view_settings import ViewSettings, form_of, form_words
from server.findings.when import day_words, moment_words
from server.quantities import unit_for_reader, written
from server.records.arrow import FORMS
from server.records.caveat_facts import NO_FACTS, CaveatFacts, caveat_facts
from server.records.kit_between import kit_of_trials
from server.records.listing import belonging
from server.records.notebook import Line, revisions_of
from server.records.panel import PanelArea
from server.records.shot_facts import ShotFact
from server.records.trial import CAUTIONS, STATES, Trial
from server.records.trial_days import DayFact, SetupFact, days_of, family
from server.storage import Session


@dataclass(frozen=True)
class SessionLine:
    session_id: str
    mark: str
    words: str
    small: str
    end: str
    open: bool


@dataclass(frozen=True)
class StateChange:
    """When the trial was opened, closed, reopened, by whom, and why."""

    words: str
    reason: str


@dataclass(frozen=True)
class TrialRead:
    """The page, in words and drawings.

    panels  one for each panel build that was shot at, or is set up, with its hits in order
    others  what is on no panel: unread first, then misses, sighters, and those struck through, newest first
    meant   kit written down beforehand, by sort
    changed from the trial it follows; changed_after: to each trial that follows, by its id
    """

    trial: Trial
    lead: str
    left_out: str
    said_by: str
    rules: tuple[RuleLine, ...]
    through: str
    sessions: tuple[SessionLine, ...]
    kit: tuple[tuple[str, tuple[str, ...]], ...]
    others: tuple[ShotLine, ...]
    panels: tuple[PanelHits, ...]
    follows: Trial | None
    followers: Sequence[Trial]
    states: tuple[StateChange, ...]
    meant: tuple[tuple[str, str], ...]
    changed: tuple[FieldChange, ...]
    changed_after: Mapping[str, tuple[FieldChange, ...]]
    to_mind: tuple[Caveat, ...]
    rule: tuple[tuple[str, str], ...]


def read_trial(session: Session, trial_id: str, *, reader: str, only_trial: str | None = None) -> TrialRead | None:
    """Twelve statements whatever the number of shots; None if there is no such trial."""
    related = family(session, trial_id)
    if related is None:
        return None
    trial = related.trial
    days = days_of(session, trial_id=trial_id)
    setups = {s.build.id: s for day in days for s in day.setups}
    # Marks are made with the rules of each shot's own trial; those of other trials are not shown here.
    on_builds = loosed_on(session, setups, trials={trial.id: trial})
    mine = [s for s in on_builds if s.fact.trial_id == trial_id]
    lines = revisions_of(session, "trial", trial_id)
    areas = belonging(session, PanelArea, "panel_build_id", list(setups)) if setups else ()
    standing_shots = [s for s in mine if not s.fact.struck]
    lead, left_out = counts_in_words(trial, standing_shots)
    follows, followers = (None, ()) if only_trial else (related.follows, related.followers)
    kit = kit_of_trials(session, [trial_id, *(one.id for one in (follows, *followers) if one)])
    return TrialRead(
        trial=trial,
        lead=lead,
        left_out=left_out,
        said_by=said_by(lines, related.first_shot_seq),
        rules=rule_lines(trial, [s.panel.construction for s in setups.values()], reader=reader),
        through=through_of(trial).meaning,
        sessions=session_lines(days, [s.fact for s in standing_shots], reader=reader),
        kit=kit_used([s.fact for s in standing_shots], setups.values()),
        others=others_of(mine, reader=reader),
        panels=_panels(trial, setups, on_builds, areas=areas, reader=reader, only_trial=only_trial),
        follows=follows,
        followers=followers,
        states=state_changes(lines),
        meant=meant_words(kit, trial_id),
        changed=changes_between(follows, trial, kit=kit, reader=reader) if follows else (),
        changed_after={one.id: changes_between(trial, one, kit=kit, reader=reader) for one in followers},
        to_mind=_to_mind(
            trial, standing_shots, caveat_facts(session), around=mine if only_trial else on_builds, room=_room(trial, setups, on_builds, areas=areas)
        ),
        rule=kept_rule(trial),
    )


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
        hits = struck_panel([shot for shot in shots if shot.fact.panel_build_id == build_id])
        found[build_id] = (len(free_spots(spots, hits, rules=rules_of(trial, one.panel.construction))), len(spots))
    return found


def _to_mind(
    trial: Trial, shots: Sequence[LoosedShot], facts: CaveatFacts, *, around: Sequence[LoosedShot], room: Mapping[str, tuple[int, int]]
) -> tuple[Caveat, ...]:
    """What the trial's counts can't carry. Hits of other trials at the same panels stand around: they use a panel up too."""
    standing_around = [shot for shot in around if not shot.fact.struck]
    counted, through = _counted(shots), through_of(trial)
    return caveats_of(view_of_shots(counted, facts, around=standing_around, trials={trial.id: trial}, through=through, free_spots=room))


def _counted(shots: Sequence[LoosedShot]) -> list[LoosedShot]:
    """A count of hits needs no energy: those not measured are counted here."""
    return [shot for shot in shots if standing(shot, ViewSettings()) in (None, "not_measured")]


def _panels(
    trial: Trial, setups: Mapping[str, SetupFact], shots: Sequence[LoosedShot], *, areas: Sequence[PanelArea], reader: str, only_trial: str | None
) -> tuple[PanelHits, ...]:
    return tuple(
        panel_hits(
            one.panel, one.build, areas=[a for a in areas if a.panel_build_id == build_id],
            shots=[s for s in shots if s.fact.panel_build_id == build_id], reader=reader,
            rules=rules_of(trial, one.panel.construction), only_trial=only_trial, home=trial.id,
        )
        for build_id, one in setups.items()
    )  # fmt: skip


def others_of(shots: Sequence[LoosedShot], *, reader: str) -> tuple[ShotLine, ...]:
    on_panel = {s.fact.shot_id for s in struck_panel(shots)}
    lines = shot_lines([s for s in reversed(shots) if s.fact.shot_id not in on_panel], reader)
    return tuple(sorted(lines, key=lambda line: (not line.unread, line.struck)))


def counts_in_words(trial: Trial, shots: Sequence[LoosedShot]) -> tuple[str, str]:
    """The finding in counts, head by head in the order of the forms, never of the counts; and what is left out.

    Counted as the results page counts when nothing is picked there: fair hits, not by a gap.
    """
    loosed = [s for s in shots if s.fact.purpose != "let_down"]
    if not loosed:
        return f"{STATES[trial.state]}. No shots yet.", ""
    by_reason: dict[str | None, list[LoosedShot]] = {}
    for shot in shots:
        reason = standing(shot, ViewSettings())
        # A count of hits needs no energy: those not measured are counted here.
        by_reason.setdefault(None if reason == "not_measured" else reason, []).append(shot)
    counted = by_reason.pop(None, [])
    said = f"{STATES[trial.state]}. {_many(len(loosed), 'shot')} loosed, {len(counted)} counted as fair hits."
    if counted:
        through = through_of(trial)
        if energies_chosen(view_of_shots(counted, NO_FACTS, around=loosed, trials={trial.id: trial}, through=through)):
            said += " No count by head: energies were chosen by the outcomes so far, and a count over all of them means nothing."
        else:
            said += f" {through.meaning[0].upper()}{through.meaning[1:]}: {', '.join(_by_head(counted, through))}."
            said += " These counts mix energies."
    rest = [f"{len(group)} {REASONS[reason or ''].words.lower()}" for reason, group in _in_order(by_reason)]
    return said, f"Not counted: {', '.join(rest)}." if rest else ""


def _in_order(groups: Mapping[str | None, list[LoosedShot]]) -> list[tuple[str | None, list[LoosedShot]]]:
    order = list(REASONS)
    return sorted(groups.items(), key=lambda pair: order.index(pair[0] or ""))


def _by_head(shots: Sequence[LoosedShot], through: Through) -> list[str]:
    forms = [*FORMS, "not_said"]
    groups: dict[str, list[tuple[bool, bool]]] = {}
    for shot in shots:
        groups.setdefault(form_of(shot.fact), []).append(may_be_through(shot.fact, through))
    said = []
    for form in sorted(groups, key=forms.index):
        found = groups[form]
        count = count_text(BandShare(0, 1, sum(sure for sure, _ in found), sum(maybe for _, maybe in found), len(found), None, None))
        said.append(f"{form_words(form).lower()} in {count}")
    return said


def _many(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"


def said_by(lines: Sequence[Line], first_shot: int | None) -> str:
    """Who wrote the prediction, when, whether that was before the first shot, and whether it was changed since."""
    said = [line for line in lines if "prediction" in line.changes and any(line.changes["prediction"][:2])]
    if not said:
        return ""
    first, last = said[-1], said[0]
    words = f"Written down by {first.who} at {moment_words(first.at)}"
    if first_shot is not None:
        words += ", before the first shot" if first.seq < first_shot else ", after the first shot"
    if last is first:
        return words + ". Not changed since."
    return words + f". Changed by {last.who} at {moment_words(last.at)}: the notebook keeps what it said."


def state_changes(lines: Sequence[Line]) -> tuple[StateChange, ...]:
    """Newest first."""
    found = []
    for line in lines:
        before, after = line.changes.get("state", (None, None))[:2]
        if after is None or (before is None and after == "planned"):
            continue
        verb = {"closed": "Closed", "planned": "Back to planned"}.get(after, "Reopened" if before == "closed" else "Opened")
        found.append(StateChange(f"{verb} by {line.who}, {moment_words(line.at)}", line.reason or ""))
    return tuple(found)


def session_lines(days: Sequence[DayFact], facts: Sequence[ShotFact], *, reader: str) -> tuple[SessionLine, ...]:
    """Newest first, each with what a day is known by."""
    shots = Counter(fact.session_id for fact in facts if fact.purpose != "let_down")
    lines = [_session_line(n, day, shots[day.day.id], reader=reader) for n, day in enumerate(days, 1)]
    return tuple(reversed(lines))


def _session_line(n: int, day: DayFact, shots: int, *, reader: str) -> SessionLine:
    one = day.day
    is_open = day.ticked >= len(CAUTIONS)
    small = [] if is_open else [f"not open yet: {day.ticked} of {len(CAUTIONS)} cautions ticked"]
    distances = sorted({s.setup.distance_m for s in day.setups if s.setup.distance_m is not None})
    small += [written(d, unit_for_reader("distance", reader)) for d in distances]
    if one.temperature_k is not None:
        small.append(written(one.temperature_k, unit_for_reader("temperature", reader)))
    small += [text for text in (one.weather, f"{one.officer} has the line" if one.officer else None) if text]
    words = day_words(one.day) + (f", {one.place}" if one.place else "")
    return SessionLine(one.id, str(n), words, ", ".join(small), _many(shots, "shot"), is_open)


def kit_used(facts: Sequence[ShotFact], setups: Iterable[SetupFact]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What was shot, and shot at, by name; of the stands and panels also those that are only set up."""
    setups = list(setups)
    heads: dict[str, set[str]] = {}
    for fact in facts:
        heads.setdefault(form_of(fact), set()).add(fact.head_name or "a head with no name")
    by_form = sorted(heads.items(), key=lambda pair: [*FORMS, "not_said"].index(pair[0]))
    pairs = (
        ("Panels", [f"{build_words(s.panel, s.build)}: {panel_words(s.panel)}".rstrip(": ") for s in setups]),
        ("Heads", [f"{form_words(form)}: {', '.join(sorted(names))}" for form, names in by_form]),
        ("Arrows", [", ".join(sorted({f.arrow_tag for f in facts}, key=_by_number))]),
        ("Bows", sorted({f.bow_name if f.bow_build_number == 1 else f"{f.bow_name}, build {f.bow_build_number}" for f in facts})),
        ("Archers", sorted({f.archer for f in facts})),
        ("Stands", sorted({s.stand for s in setups if s.stand})),
    )
    return tuple((term, tuple(dict.fromkeys(w for w in words if w))) for term, words in pairs if any(words))


def _by_number(tag: str) -> tuple[int, str]:
    digits = "".join(c for c in tag if c.isdigit())
    return (int(digits[:9]) if digits else 0, tag)
