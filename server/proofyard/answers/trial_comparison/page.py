"""Two or more trials side by side: what changed, what was the same, what is not recorded, and what the shots of each show."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from proofyard.answers.trial_comparison.builds_between import BuildLine, build_lines
from proofyard.answers.trial_comparison.confounding import Between, alike_shots, as_said, between, news
from proofyard.answers.trial_comparison.factors import EVERY, FACTORS, NOT_KNOWN, SAME, SOME, Around, Contrast, DiffRow, contrast
from proofyard.answers.trial_comparison.figures import backing_words, energy_rows, weight_rows
from proofyard.answers.trial_comparison.picked import Picked, TrialName, common_through, newest_pair, pick_trials
from proofyard.answers.trial_comparison.questions import asked_rows, rules_caution
from proofyard.answers.trial_comparison.side_by_side import Counted, SideBySide, count_shots, side_by_side
from proofyard.quantities import unit_for_reader
from proofyard.quantities.reason import Reason, because
from proofyard.records.kit_between import BuildMade, Measured, StandFact, builds_made, measured_between, stands_built
from proofyard.records.trial_days import DayFact, days_of
from proofyard.shots.loosed import Loosed, LoosedShot, load_loosed
from proofyard.storage import Session
from proofyard.views.address import Query, address
from proofyard.views.axes import edges_told
from proofyard.views.counted import settled_at
from proofyard.views.settings import Asked, asked_of, choices_of
from proofyard.wording.reasons.said import said
from proofyard.wording.when import day_words

# What this page's address may ask; the other filters of results would only hide a part of a trial.
FIELDS = ("through", "depth", "fair", "entry", "head", "at", "edges", "method")


@dataclass(frozen=True)
class TrialColumn:
    """One trial: its number in the list of trials, its question, days, and how its shots were counted."""

    name: TrialName
    days: str
    counted: Counted
    href: str


@dataclass(frozen=True)
class TrialComparison:
    """The page. With fewer than two trials picked only `picked` and `asked` mean anything.

    basis   said where the differences rest on other shots than those counted
    """

    picked: Picked
    asked: Asked
    title: Reason
    lead: tuple[Reason, ...]
    columns: tuple[TrialColumn, ...] = ()
    rows: tuple[DiffRow, ...] = ()
    between: tuple[Between, ...] = ()
    builds: tuple[BuildLine, ...] = ()
    backings: tuple[str, ...] = ()
    results: SideBySide | None = None
    cautions: tuple[Reason, ...] = ()
    basis: Reason | None = None
    edges_words: str = ""
    reader: str = "metric"

    @property
    def alike(self) -> bool:
        return self.picked.alike

    @property
    def heading(self) -> str:
        title = said(self.title)
        return f"{title}: {' and '.join(one.short for one in self.picked.names)}" if self.columns else title

    @property
    def changed(self) -> tuple[DiffRow, ...]:
        return tuple(row for row in self.rows if row.differs)

    @property
    def same(self) -> tuple[DiffRow, ...]:
        return tuple(row for row in self.rows if row.status == SAME)

    def address(self, *, alike: bool) -> str:
        """The address of this comparison, of all shots or of like with like."""
        settings = self.asked.settings
        pairs = [("trial", trial.id) for trial in self.picked.trials]
        pairs += [one for one in settings.pairs(edges=settings.edges) if one[0] not in ("through", "axis", "rows", "row_edges", "pool")]
        return address("/trials/compare", [*pairs, ("through", settings.through.value), ("alike", "yes" if alike else "")])

    @property
    def can_be_alike(self) -> bool:
        """Whether something changed for some shots, and shots are left on every side without it."""
        told = [one.alike for one in self.between if one.alike is not None]
        return bool(told) and all(min(one) > 0 for one in told)

    @property
    def not_known(self) -> tuple[DiffRow, ...]:
        return tuple(row for row in self.rows if row.status == NOT_KNOWN)


def read_trial_comparison(session: Session, query: Query, *, reader: str, only_trial: str | None = None) -> TrialComparison:
    """The comparison that an address asks for, in twelve statements whatever the number of trials and shots."""
    everything = load_loosed(session)
    loosed = everything.of_trial(only_trial)
    picked = pick_trials(query, loosed.trials)
    if not picked.ticked["trial"] and (pair := newest_pair(loosed)):
        picked = pick_trials({**query, "trial": list(pair)}, loosed.trials, by_default=True)
    asked = _asked(query, loosed, picked, reader)
    page = TrialComparison(picked, asked, because("trials_side_by_side"), (picked.why_none,), reader=reader)
    if len(picked.trials) < 2:
        return page
    mine = [[shot for shot in loosed.shots if shot.fact.trial_id == trial.id] for trial in picked.trials]
    return _compared(page, mine, _gather(session, mine, picked), everything=everything.shots, reader=reader)


def _asked(query: Query, loosed: Loosed, picked: Picked, reader: str) -> Asked:
    mine = {name: query[name] for name in FIELDS if name in query}
    # The filter of one trial is none of this page's, so with no trial through means what all of these call so.
    asked = asked_of(mine, choices_of(loosed, reader), through_of_trial={"": common_through(picked.trials)})
    ids = {one.trial.id for one in picked.names}
    return settled_at(asked, [shot for shot in loosed.shots if shot.fact.trial_id in ids])


@dataclass(frozen=True)
class _Gathered:
    """What the book holds around the trials' shots."""

    days: Mapping[str, DayFact]
    stands: Mapping[str, StandFact]
    measured: Measured
    builds: Sequence[BuildMade]

    def sessions(self, trial_id: str) -> list[str]:
        return [key for key, day in self.days.items() if day.trial.id == trial_id]


def _gather(session: Session, shots: Sequence[Sequence[LoosedShot]], picked: Picked) -> _Gathered:
    """Four statements."""
    facts = [shot.fact for mine in shots for shot in mine]
    ids = {trial.id for trial in picked.trials}
    days = {day.day.id: day for day in days_of(session) if day.trial.id in ids}
    stands = stands_built(session, {fact.stand_id for fact in facts if fact.stand_id})
    measured = measured_between(session, head_ids={fact.head_id for fact in facts if fact.head_id}, session_ids=days, stand_ids=stands)
    things = {key for fact in facts for key in (fact.panel_id, fact.arrow_id, fact.bow_id)}
    return _Gathered(days, stands, measured, builds_made(session, things))


def _compared(
    page: TrialComparison, shots: Sequence[Sequence[LoosedShot]], held: _Gathered, *, everything: Sequence[LoosedShot], reader: str
) -> TrialComparison:
    settings, names = page.asked.settings, page.picked.names
    counted = [count_shots(mine, settings) for mine in shots]
    asked_about, basis = _in_question(counted, shots)
    around = Around.of(held.days, held.stands, held.measured, reader=reader)
    contrasts = [contrast(factor, asked_about, around=around) for factor in FACTORS]
    if page.alike:
        counted = [_alike_only(one, contrasts, around) for one in counted]
    found = side_by_side(counted, settings, trial_ids=[one.trial.id for one in names], names=[one.short for one in names], reader=reader)
    asked = asked_rows(page.picked.trials, [[shot.fact for shot in mine] for mine in asked_about], reader=reader)
    every, some = (as_said([one.factor for one in news(contrasts) if one.status == status]) for status in (EVERY, SOME))
    figures = _figures(asked_about, held, page, reader=reader)
    return replace(
        page,
        title=_title(every, some) if len(names) == 2 else _title_of_many(as_said([one.factor for one in news(contrasts)])),
        lead=_lead(every, some, [one.label for one in figures if one.differs], page),
        columns=tuple(_column(name, one, held) for name, one in zip(names, counted, strict=True)),
        rows=(*asked, *(one.row for one in contrasts), *figures),
        between=tuple(between(n, n + 1, shots=asked_about, around=around) for n in range(len(names) - 1)),
        builds=build_lines(shots, held.builds, names=[one.short for one in names], everything=everything, reader=reader),
        backings=backing_words(held.stands, held.measured.backings, reader=reader),
        results=found,
        cautions=tuple(rules_caution(page.picked.trials, settings, rows=asked)),
        basis=basis,
        reader=reader,
        edges_words=edges_told(found.edges, unit_for_reader("energy", reader)),
    )


def _in_question(counted: Sequence[Counted], shots: Sequence[Sequence[LoosedShot]]) -> tuple[list[Sequence[LoosedShot]], Reason | None]:
    """The shots that differences are looked for in: those that count; before any is read, those that were loosed."""
    if all(one.in_question for one in counted):
        return [one.in_question for one in counted], None
    loosed = [[shot for shot in mine if shot.fact.purpose == "counted"] for mine in shots]
    return list(loosed), because("all_shots_looked_at")


def _alike_only(one: Counted, contrasts: Sequence[Contrast], around: Around) -> Counted:
    """Like with like: what is not alike is left out under a reason of its own."""
    kept, unsure, off_axis = (tuple(alike_shots(some, contrasts, around=around)) for some in (one.counted, one.open_shots, one.off_axis))
    dropped = len(one.counted) + len(one.open_shots) + len(one.off_axis) - len(kept) - len(unsure) - len(off_axis)
    left_out = one.left_out + ((("Not alike", dropped),) if dropped else ())
    return Counted(kept, unsure, off_axis, left_out, one.loosed)


def _figures(shots: Sequence[Sequence[LoosedShot]], held: _Gathered, page: TrialComparison, *, reader: str) -> list[DiffRow]:
    bows = {shot.fact.bow_build_id: shot.fact.bow_name for mine in shots for shot in mine}
    sessions = [held.sessions(trial.id) for trial in page.picked.trials]
    weights = weight_rows(held.measured.bows, bows, sessions=sessions, reader=reader)
    return [*weights, *energy_rows(shots, reader=reader)]


def _title(every: tuple[str, ...], some: tuple[str, ...]) -> Reason:
    if every:
        return because("changed_for_every_shot", factors=every)
    return because("changed_for_some_shots", factors=some) if some else because("nothing_recorded_changed")


def _title_of_many(changed: tuple[str, ...]) -> Reason:
    return because("different_between_these", factors=changed) if changed else because("nothing_recorded_changed")


def _lead(every: tuple[str, ...], some: tuple[str, ...], figures: Sequence[str], page: TrialComparison) -> tuple[Reason, ...]:
    told = []
    if len(page.picked.names) > 2:
        told.append(because("changes_listed_below"))
    elif every and some:
        told.append(because("for_some_shots_only", factors=some))
    if figures:
        told.append(because("measured_differences", figures=tuple(label[0].lower() + label[1:] for label in figures)))
    if page.picked.by_default:
        one, other = page.picked.names
        told.append(because("newest_pair_shown", follows=other.trial.follows_id == one.trial.id))
    return tuple(told)


def _column(name: TrialName, counted: Counted, held: _Gathered) -> TrialColumn:
    days = sorted({held.days[key].day.day for key in held.sessions(name.trial.id)})
    return TrialColumn(name, " and ".join(map(day_words, days)) or "no day yet", counted, f"/trials/{name.trial.id}")
