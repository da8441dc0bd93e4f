"""What a results page was asked to show, as it stands in the address: which shots, what counts, which bands.

A value that can't be used gets a sentence beside its field and the default in its place; the rest is kept.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from urllib.parse import urlencode

from server.findings.axes import AXES, PLACES, ROWS
from server.findings.bands import edges_text, read_edges
from server.findings.loosed import Loosed
from server.findings.through import Through
from server.quantities import Empty, Refused, plainly, read, sentence, with_unit
from server.records.arrow import FORMS
from server.records.panel import CONSTRUCTIONS
from server.records.shot import ALL_WAYS_IN
from server.records.shot_facts import ShotFact
from server.records.trial import RUNG_WORDS

NOT_SAID = "not_said"
FAIRS = MappingProxyType(
    {"fair": "Fair only", "fair_or_not_known": "Fair, and not known", "any": "Any, fair or not"}
)
WAYS = MappingProxyType({"no_gap": "Not by a gap", "by_gap": "Only by a gap", "any": "Any way in"})
METHODS = MappingProxyType({"mid-p": "Mid-P", "wilson": "Wilson", "exact": "Exact", "jeffreys": "Jeffreys"})
METHOD_WORDS = MappingProxyType({"mid-p": "mid-P", "wilson": "Wilson", "exact": "exact, Clopper and Pearson", "jeffreys": "Jeffreys"})
# Intraclass correlations to try: what a range would be if shots of one arrow, bow or panel were so alike.
ALIKES = MappingProxyType({"0.05": "0.05, hardly", "0.1": "0.1, a little", "0.2": "0.2, somewhat", "0.5": "0.5, much"})
THROUGHS = MappingProxyType(
    {str(rung): RUNG_WORDS[rung] for rung in range(1, 6)}
    | {"depth": "Tip past the rear face by", "body_line": "Past the body line"}
)


@dataclass(frozen=True)
class Filter:
    """One filter whose answers come from the data: its field, its label, and what a shot says to it."""

    name: str
    label: str
    all_words: str
    of: Callable[[ShotFact], tuple[str, str]]


def distance_words(distance_m: float) -> str:
    return with_unit(plainly(distance_m), "m")


def _construction(fact: ShotFact) -> tuple[str, str]:
    return fact.construction or NOT_SAID, CONSTRUCTIONS.get(fact.construction or "", "Not said")


def _distance(fact: ShotFact) -> tuple[str, str]:
    if fact.distance_m is None:
        return NOT_SAID, "Not said"
    return plainly(fact.distance_m), distance_words(fact.distance_m)


def sort_of(fact: ShotFact) -> tuple[str, str]:
    """What makes two panels the same to a comparison: how they are made, and how thick they were sold as."""
    made = fact.construction or NOT_SAID
    words = CONSTRUCTIONS.get(made, "Construction not said").lower()
    if not fact.thickness_m:
        return made, words
    thickness = plainly(fact.thickness_m * 1000)
    return f"{made}-{thickness}", f"{with_unit(thickness, 'mm')} {words}"


def form_of(fact: ShotFact) -> str:
    return fact.form or NOT_SAID


def form_words(form: str) -> str:
    return FORMS.get(form, "Head form not said")


FILTERS = (
    Filter("trial", "Trial", "All trials", lambda fact: (fact.trial_id, fact.question)),
    Filter("panel", "Panel", "All panels", lambda fact: (fact.panel_id, fact.panel_name)),
    Filter("sort", "Sort of panel", "All sorts", sort_of),
    Filter("construction", "Construction", "All constructions", _construction),
    Filter("archer", "Loosed by", "Everyone", lambda fact: (fact.archer_id, fact.archer)),
    Filter("bow", "Bow", "All bows", lambda fact: (fact.bow_id, fact.bow_name)),
    Filter("distance", "Distance", "All distances", _distance),
)
HEAD = Filter("head", "Head", "All heads", lambda fact: (form_of(fact), form_words(form_of(fact))))
Choices = Mapping[str, Mapping[str, str]]


def choices_of(loosed: Loosed) -> Choices:
    """Each filter's answers as the data has them. Trials newest first; distances by length; the rest by name."""
    facts = [shot.fact for shot in (*loosed.shots, *loosed.struck)]
    found: dict[str, dict[str, str]] = {}
    for one in (*FILTERS, HEAD):
        pairs = dict(one.of(fact) for fact in (reversed(facts) if one.name == "trial" else facts))
        found[one.name] = pairs if one.name == "trial" else dict(sorted(pairs.items(), key=_by_words))
    order = list(FORMS)
    found["head"] = dict(sorted(found["head"].items(), key=lambda pair: order.index(pair[0]) if pair[0] in order else 99))
    ways = {fact.way_in for fact in facts if fact.way_in}
    found["way"] = {**WAYS, **{key: words for key, words in ALL_WAYS_IN.items() if key in ways}}
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
    way: str = "no_gap"
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

    def pairs(self, *, edges: Sequence[float] | None = None) -> list[tuple[str, str]]:
        """What an address needs to show this again; what stands at its default is left out."""
        pairs = list(self.only.items()) + [("head", head) for head in self.heads]
        for name, value, default in (
            ("way", self.way, "no_gap"),
            ("fair", self.fair, "fair"),
            ("method", self.method, "mid-p"),
            ("alike", self.alike, "0.2"),
            ("pool", "yes" if self.pool else "", ""),
            ("at", self.at or "", ""),
            ("axis", self.axis, "energy"),
            ("rows", self.rows, "form"),
            ("row_edges", edges_text(self.row_edges) if self.rows != "form" and self.row_edges else "", ""),
        ):
            pairs += [(name, value)] if value != default else []
        # A trial may bring its own meaning of through, so with one chosen this can't be left out.
        if self.through != Through() or "trial" in self.only:
            pairs.append(("through", self.through.value))
        if self.through.how == "depth":
            pairs.append(("depth", f"{plainly((self.through.depth_m or 0.0) * 1000)} mm"))
        shown = self.edges or edges
        return pairs + ([("edges", edges_text(shown))] if shown else [])

    def address(self, path: str = "/results", *, edges: Sequence[float] | None = None, **more: str) -> str:
        """The address of this view, or of a list of its shots."""
        query = urlencode(self.pairs(edges=edges) + list(more.items()))
        return f"{path}?{query}" if query else path


@dataclass(frozen=True)
class Asked:
    """What was asked, as it was typed, with what is wrong with it, and the settings that follow."""

    settings: ViewSettings
    typed: Mapping[str, str]
    heads_typed: tuple[str, ...] = ()
    problems: Mapping[str, str] = field(default_factory=dict)


Query = Mapping[str, Sequence[str]]


def wants_pool(query: Query) -> bool:
    return _one(query, "pool") == "yes"


def asked_of(query: Query, choices: Choices, *, through_of_trial: Mapping[str, str | None]) -> Asked:
    """Settings from an address. `query`: field -> its values; `through_of_trial`: what each trial calls through."""
    problems: dict[str, str] = {}
    typed = {name: _one(query, name) for name in (*(f.name for f in FILTERS), "way", "fair", "through", "depth", "edges", "method", "alike", "pool", "at", "axis", "rows", "row_edges")}
    only = {}
    for one in FILTERS:
        value = _picked(typed[one.name], choices[one.name], one, problems)
        if value:
            only[one.name] = value
    asked_heads = tuple(value for value in query.get("head", ()) if value)
    heads = tuple(value for value in choices["head"] if value in asked_heads)
    if len(heads) < len(set(asked_heads)):
        problems["head"] = "No shot in the book has that head. Pick from those below."
    own = through_of_trial.get(only.get("trial", ""))
    typed["through"] = typed["through"] or own or "4"
    axis = _known(typed, "axis", {key: one.label for key, one in AXES.items()}, "energy", problems)
    rows = _known(typed, "rows", {key: one.label for key, one in ROWS.items()}, "form", problems)
    edges = _edges(typed, "edges", AXES[axis].unit, problems)
    settings = ViewSettings(
        only=only,
        heads=heads,
        way=_known(typed, "way", choices["way"], "no_gap", problems),
        fair=_known(typed, "fair", FAIRS, "fair", problems),
        through=_through(typed, problems),
        edges=edges,
        method=_known(typed, "method", METHODS, "mid-p", problems),
        alike=_known(typed, "alike", ALIKES, "0.2", problems),
        pool=typed["pool"] == "yes",
        at=_known(typed, "at", PLACES, "", problems) or None,
        axis=axis,
        rows=rows,
        row_edges=_edges(typed, "row_edges", ROWS[rows].unit, problems) if rows != "form" else None,
    )
    return Asked(settings, typed, asked_heads, problems)


def _one(query: Query, name: str) -> str:
    values = query.get(name, ())
    return values[-1].strip() if values else ""


def _cut(text: str) -> str:
    shown = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text[:40])
    return shown + ("…" if len(text) > 40 else "")


def _picked(typed: str, known: Iterable[str], one: Filter, problems: dict[str, str]) -> str:
    if typed and typed not in known:
        problems[one.name] = f"The book has no shot for “{_cut(typed)}”. Pick one from the list; until then it shows all."
        return ""
    return typed


def _edges(typed: dict[str, str], name: str, unit: str, problems: dict[str, str]) -> tuple[float, ...] | None:
    found = read_edges(typed[name], unit=unit)
    if isinstance(found, str):
        problems[name] = found
        return None
    return found


def _known(typed: dict[str, str], name: str, known: Mapping[str, str], default: str, problems: dict[str, str]) -> str:
    if typed[name] and typed[name] not in known:
        until = f"; until then it shows “{known[default]}”" if default else ""
        problems[name] = f"“{_cut(typed[name])}” is none of the answers here. Pick one{until}."
    typed[name] = typed[name] if typed[name] in known else default
    return typed[name]


def _through(typed: dict[str, str], problems: dict[str, str]) -> Through:
    how = typed["through"]
    if how not in THROUGHS:
        problems["through"] = f"“{_cut(how)}” is none of the answers here. Pick one; until then it shows “{RUNG_WORDS[4]}”."
        typed["through"] = "4"
        return Through()
    if how == "body_line":
        return Through("body_line")
    if how != "depth":
        return Through("rung", int(how))
    found = read(typed["depth"], "depth")
    if isinstance(found, Empty):
        problems["depth"] = "Say how far past the rear face, for example 20 mm; until then it shows any depth."
        return Through("depth", depth_m=0.0)
    if isinstance(found, Refused):
        problems["depth"] = sentence(found)
        return Through("depth", depth_m=0.0)
    return Through("depth", depth_m=found.value_si)
