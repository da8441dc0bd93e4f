"""Two trials or more laid side by side: what changed, what was the same, what nobody wrote down, and what the shots of each show."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from urllib.parse import urlencode

from server.findings.bands import edges_text
from server.findings.loosed import Loosed, LoosedShot, load_loosed
from server.findings.row_groups import settled
from server.findings.trials_compared.builds_between import BuildLine, build_lines
from server.findings.trials_compared.confounding import Between, alike_shots, as_said, between, listed, news
from server.findings.trials_compared.factors import EVERY, FACTORS, NOT_KNOWN, SAME, SOME, Around, Contrast, contrast
from server.findings.trials_compared.figures import FigureRow, backing_words, energy_rows, weight_rows
from server.findings.trials_compared.picked import Picked, TrialName, common_through, newest_pair, pick_trials
from server.findings.trials_compared.questions import AskedRow, asked_rows, rules_caution
from server.findings.trials_compared.side_by_side import Counted, SideBySide, count_shots, side_by_side
from server.findings.view_settings import Asked, Choices, Query, asked_of, choices_of
from server.findings.when import day_words
from server.records.kit_between import BuildMade, Measured, StandFact, builds_made, measured_between, stands_built
from server.records.trial_days import DayFact, days_of
from server.storage import Session

# What this page's address may ask; the other filters of results would only hide a part of a trial.
FIELDS = ("through", "depth", "fair", "way", "head", "at", "edges", "method")


@dataclass(frozen=True)
class DiffRow:
    """One thing laid side by side: `words` for each trial. status: same, some, every, not_known."""

    key: str
    label: str
    words: tuple[str, ...]
    status: str
    note: str = ""

    @property
    def differs(self) -> bool:
        return self.status in (SOME, EVERY)


@dataclass(frozen=True)
class TrialColumn:
    """One trial: its number in the list of trials, its question, days, and how its shots were counted."""

    name: TrialName
    days: str
    counted: Counted
    href: str


@dataclass(frozen=True)
class TrialComparison:
    """The page. With fewer than two trials picked only `picked` and the choices mean anything.

    basis   said where the differences rest on other shots than those counted
    """

    picked: Picked
    asked: Asked
    choices: Choices
    title: str
    lead: tuple[str, ...]
    columns: tuple[TrialColumn, ...] = ()
    rows: tuple[DiffRow, ...] = ()
    between: tuple[Between, ...] = ()
    builds: tuple[BuildLine, ...] = ()
    backings: tuple[str, ...] = ()
    results: SideBySide | None = None
    cautions: tuple[str, ...] = ()
    basis: str = ""
    alike: bool = False
    edges_words: str = ""
    problems: Mapping[str, str] = field(default_factory=dict)

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
        return f"/trials/compare?{urlencode([*pairs, ('through', settings.through.value), *([('alike', 'yes')] if alike else [])])}"

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
    if not picked.typed and (pair := newest_pair(loosed)):
        picked = pick_trials({**query, "trial": list(pair)}, loosed.trials, of_itself=True)
    choices, asked = _asked(query, loosed, picked)
    problems = {**picked.problems, **{name: words for name, words in asked.problems.items() if name in FIELDS}}
    if len(picked.trials) < 2:
        return TrialComparison(picked, asked, choices, "Trials side by side", (picked.why_none,), problems=problems)
    page = TrialComparison(picked, asked, choices, "", (), alike=_last(query, "alike") == "yes", problems=problems)
    mine = [[shot for shot in loosed.shots if shot.fact.trial_id == trial.id] for trial in picked.trials]
    return _compared(page, mine, _gather(session, mine, picked), everything=everything.shots, reader=reader)


def _asked(query: Query, loosed: Loosed, picked: Picked) -> tuple[Choices, Asked]:
    choices = choices_of(loosed)
    mine = {name: query[name] for name in FIELDS if name in query}
    if not _last(query, "through"):
        mine["through"] = [common_through(picked.trials)]
    asked = asked_of(mine, choices, through_of_trial={})
    ids = {one.trial.id for one in picked.names}
    return choices, replace(asked, settings=settled(asked.settings, [shot for shot in loosed.shots if shot.fact.trial_id in ids]))


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
        rows=(*_rows(asked), *_rows(contrasts), *figures),
        between=tuple(between(n, n + 1, shots=asked_about, around=around) for n in range(len(names) - 1)),
        builds=build_lines(shots, held.builds, names=[one.short for one in names], everything=everything, reader=reader),
        backings=backing_words(held.stands, held.measured.backings),
        results=found,
        cautions=tuple(rules_caution(page.picked.trials, settings, rows=asked)),
        basis=basis,
        edges_words=edges_text(found.edges),
    )


def _in_question(counted: Sequence[Counted], shots: Sequence[Sequence[LoosedShot]]) -> tuple[list[Sequence[LoosedShot]], str]:
    """The shots that differences are looked for in: those that count; before any is read, those that were loosed."""
    if all(one.in_question for one in counted):
        return [one.in_question for one in counted], ""
    loosed = [[shot for shot in mine if shot.fact.purpose == "counted"] for mine in shots]
    return list(loosed), "In one of them no shot counts here, so what changed is said of all that were loosed."


def _alike_only(one: Counted, contrasts: Sequence[Contrast], around: Around) -> Counted:
    """Like with like: what is not alike is left out under a reason of its own."""
    kept, unsure, off_axis = (tuple(alike_shots(some, contrasts, around=around)) for some in (one.counted, one.open_shots, one.off_axis))
    dropped = len(one.counted) + len(one.open_shots) + len(one.off_axis) - len(kept) - len(unsure) - len(off_axis)
    left_out = one.left_out + ((("Not alike", dropped),) if dropped else ())
    return Counted(kept, unsure, off_axis, left_out, one.loosed)


def _rows(found: Sequence[AskedRow | FigureRow | Contrast]) -> list[DiffRow]:
    return [
        DiffRow(one.factor.key, one.factor.label, one.words, one.status)
        if isinstance(one, Contrast)
        else DiffRow(one.key, one.label, one.words, one.status, one.note)
        for one in found
    ]


def _figures(shots: Sequence[Sequence[LoosedShot]], held: _Gathered, page: TrialComparison, *, reader: str) -> list[DiffRow]:
    bows = {shot.fact.bow_build_id: shot.fact.bow_name for mine in shots for shot in mine}
    sessions = [held.sessions(trial.id) for trial in page.picked.trials]
    weights = weight_rows(held.measured.bows, bows, sessions=sessions, reader=reader)
    return _rows([*weights, *energy_rows(shots)])


def _title(every: Sequence[str], some: Sequence[str]) -> str:
    if every:
        return f"Changed for every shot: {listed(every)}"
    return f"Changed for some shots: {listed(some)}" if some else "Nothing that the book knows of changed"


def _title_of_many(changed: Sequence[str]) -> str:
    """Of three and more nothing is said of every shot: two of them may well be alike."""
    return f"Not the same in all of these: {listed(changed)}" if changed else "Nothing that the book knows of changed"


def _lead(every: Sequence[str], some: Sequence[str], figures: Sequence[str], page: TrialComparison) -> tuple[str, ...]:
    said = []
    if len(page.picked.names) > 2:
        said.append("From each to the next, what changed for every shot and what for some stands below.")
    elif every and some:
        said.append(f"For some shots only: {listed(some)}.")
    if figures:
        said.append(f"By what was measured: {listed([words[0].lower() + words[1:] for words in figures])}.")
    if page.picked.of_itself:
        one, other = page.picked.names
        follows = other.trial.follows_id == one.trial.id
        said.append(f"Shown of itself: the newest trial {'that follows another, with that one' if follows else 'and the one before it'}. Pick others below.")
    return tuple(said)


def _column(name: TrialName, counted: Counted, held: _Gathered) -> TrialColumn:
    days = sorted({held.days[key].day.day for key in held.sessions(name.trial.id)})
    return TrialColumn(name, " and ".join(map(day_words, days)) or "no day yet", counted, f"/trials/{name.trial.id}")


def _last(query: Query, name: str) -> str:
    values = query.get(name, ())
    return values[-1].strip() if values else ""


__all__ = ["FIELDS", "DiffRow", "TrialColumn", "TrialComparison", "read_trial_comparison"]
