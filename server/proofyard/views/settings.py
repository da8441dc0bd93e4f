"""What a results page was asked to show, as it stands in the address: which shots, what counts as through, which bands.

A value that can't be used gets a sentence beside its field and the default in its place; the rest is kept. A shot may be through, not
through, or either: while the rear has not been seen, or nobody said how deep it went.
"""

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from operator import attrgetter
from types import MappingProxyType

from proofyard.quantities import in_readers, plainly, with_unit
from proofyard.quantities.reason import because
from proofyard.records.arrow import FORMS
from proofyard.records.listing import held
from proofyard.records.panel import CONSTRUCTIONS
from proofyard.records.shot import ALL_ENTRIES
from proofyard.records.shot_facts import ShotFact
from proofyard.records.trial import Trial
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.views.address import Amount, AsTyped, Choice, Query, Reading, Setting, Several, Tick, Unusable, address, last
from proofyard.views.axes import AXES, PLACES, ROWS, edges_text, read_edges
from proofyard.views.panel_type import NOT_RECORDED, backing_of, by_type, garment_of, panel_type_of
from proofyard.wording.counts import THROUGHS, did_words, meaning_words, past_words

FIRST_BEHIND = 4  # the lowest outcome level at which the point is through the rear face


@dataclass(frozen=True)
class Through:
    """One meaning of through.

    how      outcome level, depth, or body_line
    outcome level     with how outcome level: the lowest outcome level that counts, 1 to 5
    depth_m  with how depth: how far past the rear face the tip must have come, 0 for at all
    """

    how: str = "outcome_level"
    outcome_level: int = FIRST_BEHIND
    depth_m: float | None = None

    @property
    def value(self) -> str:
        """As it stands in an address: "4", "depth", "body_line"."""
        return str(self.outcome_level) if self.how == "outcome_level" else self.how

    @property
    def past(self) -> str:
        """How a count of such shots goes on: "4 of 6 through"."""
        return past_words(self.how, self.outcome_level, self.depth_m or 0.0)

    @property
    def heading(self) -> str:
        """A column's heading."""
        return self.past[0].upper() + self.past[1:]

    @property
    def meaning(self) -> str:
        """After "through means"."""
        return meaning_words(self.how, self.outcome_level, self.depth_m or 0.0)

    def did(self, on: str) -> str:
        """What such a shot did, with what it was done to: "went through the plate"."""
        return did_words(self.how, self.outcome_level, self.depth_m or 0.0, on=on)


def through_of(trial: Trial) -> Through:
    """What through means in this trial; point through where it says nothing. No mark can't be a way through."""
    return Through(outcome_level=max(1, int(trial.through))) if trial.through else Through(outcome_level=FIRST_BEHIND)


def through_bounds_of(fact: ShotFact, through: Through) -> tuple[bool, bool]:
    """Whether a read shot surely is through, and whether it may be: (True, True), (False, True) or (False, False)."""
    low, high = fact.outcome_low, fact.outcome_high
    if low is None or high is None:
        return False, False
    if through.how == "outcome_level":
        return low >= through.outcome_level, high >= through.outcome_level
    return _past_body_line(fact, high) if through.how == "body_line" else _deep_enough(fact, through.depth_m or 0.0)


def all_through_bounds(shots: Sequence[LoosedShot], through: Through) -> list[tuple[bool, bool]]:
    """The same of every shot."""
    return [through_bounds_of(shot.fact, through) for shot in shots]


def _deep_enough(fact: ShotFact, depth_m: float) -> tuple[bool, bool]:
    assert fact.outcome_low is not None and fact.outcome_high is not None
    if fact.outcome_high < FIRST_BEHIND:
        return False, False
    # A millimetre typed is a millimetre meant: the last bit of a float must not decide.
    if fact.depth_m is not None and fact.depth_m > 0:
        deep = fact.depth_m >= depth_m - 1e-9
        return deep, deep or fact.depth_bound == "at_least"
    behind = fact.outcome_low >= FIRST_BEHIND
    return behind and depth_m == 0, True


def _past_body_line(fact: ShotFact, high: int) -> tuple[bool, bool]:
    if fact.reached is not None:
        past = fact.reached == "body_line"
        return past, past
    return False, high >= FIRST_BEHIND


FAIRS = MappingProxyType({"fair": "Fair only", "fair_or_not_known": "Fair, and fairness undecided", "any": "Any, fair or not"})
ENTRY_CHOICES = MappingProxyType({"no_gap": "Not through a gap", "by_gap": "Only through a gap", "any": "Wherever it went in"})
METHODS = MappingProxyType({"mid-p": "Mid-P", "wilson": "Wilson", "exact": "Exact", "jeffreys": "Jeffreys"})
METHOD_WORDS = MappingProxyType({"mid-p": "mid-P", "wilson": "Wilson", "exact": "exact, Clopper and Pearson", "jeffreys": "Jeffreys"})
# Intraclass correlations to try: what a range would be if shots of one arrow, bow or panel were so alike.
ALIKES = MappingProxyType({"0.05": "0.05, weak", "0.1": "0.1", "0.2": "0.2, usual", "0.5": "0.5, strong"})


@dataclass(frozen=True)
class Filter:
    """One filter whose answers come from the data: its setting, and what a shot says to it. `always`: shown without a choice too.

    by  what the answer hangs on: shots of which it is the same give the same answer, so one of them is asked
    """

    name: str
    setting: Choice
    of: Callable[[ShotFact], tuple[str, str]]
    by: Callable[[ShotFact], Hashable]
    always: bool = True

    def taken(self, shots: Sequence[LoosedShot], value: str) -> list[LoosedShot]:
        """Those that say this to it."""
        by, told, found = self.by, dict[Hashable, bool](), []
        for shot in shots:
            key = by(shot.fact)
            yes = told.get(key)
            if yes is None:
                yes = told[key] = self.of(shot.fact)[0] == value
            if yes:
                found.append(shot)
        return found


def filter_of(
    name: str,
    label: str,
    all_words: str,
    of: Callable[[ShotFact], tuple[str, str]],
    by: Callable[[ShotFact], Hashable],
    *,
    always: bool = True,
) -> Filter:
    """A list of what the shots have, with its empty answer."""
    setting = Choice(name=name, label=label, blank=all_words, wrong="No shot for “{}”. Pick one from the list; until then it shows all.")
    return Filter(name, setting, of, by, always)


@lru_cache(maxsize=256)
def distance_words(distance_m: float) -> str:
    return with_unit(plainly(distance_m), "m")


def _construction(fact: ShotFact) -> tuple[str, str]:
    return fact.construction or NOT_RECORDED, CONSTRUCTIONS.get(fact.construction or "", "Not recorded")


def _distance(fact: ShotFact) -> tuple[str, str]:
    if fact.distance_m is None:
        return NOT_RECORDED, "Not recorded"
    words = distance_words(fact.distance_m)
    return words.split("\N{NO-BREAK SPACE}")[0], words


def form_of(fact: ShotFact) -> str:
    return fact.form or NOT_RECORDED


def form_words(form: str) -> str:
    return FORMS.get(form, "Head form not recorded")


FILTERS = (
    filter_of("trial", "Trial", "All trials", lambda fact: (fact.trial_id, fact.question), attrgetter("trial_id")),
    filter_of("panel", "Panel", "All panels", lambda fact: (fact.panel_id, fact.panel_name), attrgetter("panel_id")),
    filter_of("panel_type", "Panel type", "All panel types", panel_type_of, by_type),
    filter_of("garment", "Garment behind", "All garments", garment_of, by_type, always=False),
    filter_of("backing", "Backing", "All backings", backing_of, by_type, always=False),
    filter_of("construction", "Construction", "All constructions", _construction, by_type),
    filter_of("archer", "Loosed by", "Everyone", lambda fact: (fact.archer_id, fact.archer), attrgetter("archer_id")),
    filter_of("bow", "Bow", "All bows", lambda fact: (fact.bow_id, fact.bow_name), attrgetter("bow_id")),
    filter_of("distance", "Distance", "All distances", _distance, attrgetter("distance_m")),
)


@dataclass(frozen=True, kw_only=True)
class Edges(Setting[tuple[float, ...] | None]):
    """Limits of bands, in the unit of what they are bands of."""

    default: tuple[float, ...] | None = None
    of_unit: str = "J"

    def parse(self, text: str) -> tuple[float, ...] | None | Unusable:
        found = read_edges(text, unit=self.of_unit)
        return Unusable(found) if isinstance(found, str) else found


HEADS = Several(name="head", label="Head", hint="None ticked shows all.", wrong="No shot has that head. Pick from those below.")
ENTRY = Choice(name="entry", label="Where it went in", hint="A hit through a gap says nothing about the plate.", default="no_gap")
FAIR = Choice(name="fair", label="Fair hits", control="choice", choices=FAIRS, default="fair")
THROUGH = Choice(name="through", label="Through means", control="choice", choices=THROUGHS, default="4")
DEPTH = Amount(name="depth", label="Past the rear face by", hint="Only for “Tip past the rear face by”.", kind="depth")
METHOD = Choice(
    name="method",
    label="Interval of the share, 95 %",
    hint="Mid-P holds 95 % on average. Exact always holds at least 95 % and is wider. Wilson is less accurate near none and all. "
    "Jeffreys is close to Mid-P.",
    control="choice",
    choices=METHODS,
    default="mid-p",
)
ALIKE = Choice(
    name="alike",
    label="Correlation of shots of one arrow, bow or panel",
    hint="0 = independent, 1 = identical. So few shots cannot show it, so you choose it and see how much the interval widens where "
    "one arrow, bow or panel dominates.",
    control="choice",
    choices=ALIKES,
    default="0.2",
)
POOL = Tick(
    name="pool",
    label="Where a combination has no speed readings, use those of similar arrows",
    hint="Same bow, archer and fletching, mass within 2 %; the uncertainty grows.",
)
# Left open it is settled by what can be told for most shots.
AT = Choice(
    name="at", label="Energy", hint="At the target needs the panel’s distance and the shaft’s diameter.", control="choice", choices=PLACES
)
AXIS = Choice(name="axis", label="Plot against", choices={key: one.label for key, one in AXES.items()}, default="energy")
GROUP_BY = Choice(
    name="rows",
    label="Group by",
    hint="Head form, or bands of a measure of the head.",
    choices={key: one.label for key, one in ROWS.items()},
    default="form",
)
EDGES = Edges(name="edges", label="Band limits")
ROW_EDGES = Edges(name="row_edges", label="Band limits of the groups", hint="Only when grouped by a measure.")
Choices = Mapping[str, Mapping[str, str]]


def choices_of(loosed: Loosed, reader: str = "metric") -> Choices:
    """Each filter's answers as the data has them. Trials newest first; distances by length; the rest by name."""
    # The shots are kept beside them: of shots that are gone others may be told by the same number.
    return held(("choices", id(loosed), reader), lambda: (loosed, _choices(loosed, reader)))[1]


def facts_offered(loosed: Loosed) -> list[ShotFact]:
    """The shots that a filter's answers come from: of a view of one trial, its own, so that none leads to nothing."""
    facts = [shot.fact for shot in (*loosed.shots, *loosed.voided)]
    return facts if loosed.only_trial is None else [fact for fact in facts if fact.trial_id == loosed.only_trial]


def _trials_offered(loosed: Loosed) -> dict[str, str]:
    """Newest first."""
    if loosed.only_trial is None:
        return {shot.fact.trial_id: shot.fact.question for shot in reversed((*loosed.voided, *loosed.shots))}
    return {**loosed.newest, loosed.only_trial: loosed.trials[loosed.only_trial].question}


def _choices(loosed: Loosed, reader: str) -> Choices:
    facts = facts_offered(loosed)
    each = {by: {by(fact): fact for fact in facts}.values() for by in {one.by for one in FILTERS if one.name != "trial"}}
    found = {"trial": _trials_offered(loosed)}
    for one in FILTERS[1:]:
        found[one.name] = dict(sorted(dict(one.of(fact) for fact in each[one.by]).items(), key=_by_words))
    # Picked by the metres that stand in the address, read in the reader's own unit.
    found["distance"] = {
        key: words if key == NOT_RECORDED else in_readers(float(key), "distance", reader) for key, words in found["distance"].items()
    }
    forms = {form or NOT_RECORDED for form in {fact.form for fact in facts}}
    found["head"] = {form: form_words(form) for form in (*FORMS, *sorted(forms.difference(FORMS))) if form in forms}
    ways = {fact.entry for fact in facts if fact.entry}
    found["entry"] = {**ENTRY_CHOICES, **{key: words for key, words in ALL_ENTRIES.items() if key in ways}}
    return found


def _by_words(pair: tuple[str, str]) -> tuple[int, float, str]:
    number = pair[1].split("\N{NO-BREAK SPACE}")[0]
    try:
        return (0, float(number), pair[1])
    except ValueError:
        return (1, 0.0, pair[1].casefold())


@dataclass(frozen=True)
class ViewSettings:
    """What is shown. `only`: filter name -> the value that shots must have. `edges` None: suggested by the shots.

    at         where the energy holds; None until it is settled by what can be told for most
    alike      how alike shots of one arrow, bow or panel are taken to be, for the range beside a count that one carries
    axis       what outcomes stand against; rows: what the table's rows are made of, with the edges of a measure
    """

    only: Mapping[str, str] = field(default_factory=dict)
    heads: tuple[str, ...] = ()
    entry: str = "no_gap"
    fair: str = "fair"
    through: Through = Through()
    edges: tuple[float, ...] | None = None
    method: str = "mid-p"
    alike: str = "0.2"
    pool: bool = False
    at: str | None = None
    axis: str = "energy"
    rows: str = "form"
    row_edges: tuple[float, ...] | None = None

    @property
    def place(self) -> str:
        return self.at or "chronograph"

    def takes(self, fact: ShotFact) -> bool:
        """Whether a shot is among those that this view is about, counted or left out."""
        if self.heads and form_of(fact) not in self.heads:
            return False
        return all(one.of(fact)[0] == self.only[one.name] for one in FILTERS if one.name in self.only)

    def taken(self, shots: Sequence[LoosedShot]) -> list[LoosedShot]:
        """Those that this view is about."""
        found = [shot for shot in shots if form_of(shot.fact) in self.heads] if self.heads else list(shots)
        for one in FILTERS:
            if one.name in self.only:
                found = one.taken(found, self.only[one.name])
        return found

    def pairs(self, *, edges: Sequence[float] | None = None) -> list[tuple[str, str]]:
        """What an address needs to show this again; what stands at its default is left out."""
        pairs = list(self.only.items()) + [("head", head) for head in self.heads]
        pairs += [
            (one.name, value)
            for one, value in (
                (ENTRY, self.entry),
                (FAIR, self.fair),
                (METHOD, self.method),
                (ALIKE, self.alike),
                (POOL, "yes" if self.pool else ""),
                (AT, self.at or ""),
                (AXIS, self.axis),
                (GROUP_BY, self.rows),
                (ROW_EDGES, edges_text(self.row_edges) if self.rows != "form" and self.row_edges else ""),
            )
            if value and value != one.default
        ]
        # A trial may bring its own meaning of through, so with one chosen this can't be left out.
        if self.through != Through() or "trial" in self.only:
            pairs.append(("through", self.through.value))
        if self.through.how == "depth":
            pairs.append(("depth", f"{plainly((self.through.depth_m or 0.0) * 1000)} mm"))
        shown = self.edges or edges
        return pairs + ([("edges", edges_text(shown))] if shown else [])

    def address(self, path: str = "/results", *, edges: Sequence[float] | None = None, **more: str) -> str:
        """The address of this view, or of a list of its shots."""
        return address(path, [*self.pairs(edges=edges), *more.items()])


@dataclass(frozen=True, kw_only=True)
class Asked(AsTyped):
    """What was asked, as it was typed, with what is wrong with it, and the settings that follow."""

    settings: ViewSettings


def wants_pool(query: Query) -> bool:
    return last(query, POOL.name) == "yes"


def asked_trial(query: Query, only_trial: str | None = None) -> str | None:
    """The one trial that a view is of: the viewer's, or the one that its address names; None where it is of all."""
    return only_trial or last(query, "trial") or None


def asked_of(query: Query, choices: Choices, *, through_of_trial: Mapping[str, str | None]) -> Asked:
    """Settings from an address. `query`: field -> its values; `through_of_trial`: what each trial calls through."""
    reading = Reading(query)
    only = {one.name: value for one in FILTERS if (value := reading.one(one.setting.of(choices[one.name])))}
    glyphs = {form: f"head-{form}" for form in choices["head"] if form != NOT_RECORDED}
    heads = reading.many(HEADS.of(choices["head"], glyphs=glyphs))
    axis, rows = reading.one(AXIS), reading.one(GROUP_BY)
    row_edges = replace(ROW_EDGES, of_unit=ROWS[rows].unit)
    settings = ViewSettings(
        only=only,
        heads=heads,
        entry=reading.one(ENTRY.of(choices["entry"])),
        fair=reading.one(FAIR),
        through=_through(reading, own=through_of_trial.get(only.get("trial", ""))),
        edges=reading.one(replace(EDGES, of_unit=AXES[axis].unit)),
        method=reading.one(METHOD),
        alike=reading.one(ALIKE),
        pool=reading.one(POOL),
        at=reading.one(AT) or None,
        axis=axis,
        rows=rows,
        row_edges=reading.one(row_edges) if rows != "form" else reading.unread(row_edges),
    )
    return Asked(settings=settings, **reading.as_typed())


def _through(reading: Reading, *, own: str | None) -> Through:
    """`own`: what the trial calls through. No mark can't be a way through."""
    how = reading.one(replace(THROUGH, default={None: THROUGH.default, "0": "1"}.get(own, own or "")))
    if how != "depth":
        reading.unread(DEPTH)
        return Through("body_line") if how == "body_line" else Through("outcome_level", int(how))
    depth_m = reading.one(DEPTH)
    if depth_m is None:
        reading.refuse(DEPTH, because("asked_depth"))
    return Through("depth", depth_m=depth_m or 0.0)
