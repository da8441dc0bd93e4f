"""What can be compared: heads, panels, constructions, trials, sessions, archers, bows; and what else must then be alike."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from server.findings.row_groups import RowGroup
from server.findings.view_settings import NOT_SAID, form_of, form_words, sort_of
from server.findings.when import day_words
from server.records.panel import CONSTRUCTIONS
from server.records.shot_facts import ShotFact

# What an outcome turns on beside the energy, and must be one and the same before two groups are ranked.
ASPECTS: Mapping[str, tuple[str, Callable[[ShotFact], str]]] = MappingProxyType(
    {
        "form": ("head form", form_of),
        "sort": ("sort of panel", lambda fact: sort_of(fact)[0]),
    }
)
# What may go together with the groups and says so beside them, without stopping the comparison.
BESIDE: Mapping[str, tuple[str, Callable[[ShotFact], str]]] = MappingProxyType(
    {
        "panel": ("panel", lambda fact: fact.panel_name),
        "archer": ("archer", lambda fact: fact.archer),
        "bow": ("bow", lambda fact: fact.bow_name),
        "day": ("day", lambda fact: day_words(fact.day)),
    }
)


@dataclass(frozen=True)
class Kind:
    """One sort of thing to compare.

    words     in "compared: head forms"
    group     the group that a shot belongs to
    free      how many of ASPECTS may differ between two groups: the ones that the comparison is about
    about     which those are; empty: whichever differ, but no more than `free`
    varied    words of a trial's "what is varied" that mean this
    varies    what the groups differ in by intent, as caveats call it: panel, day
    """

    key: str
    label: str
    words: str
    group: Callable[[ShotFact], RowGroup]
    about: tuple[str, ...] = ()
    free: int = 0
    beside: tuple[str, ...] = ("panel", "archer", "bow", "day")
    varied: tuple[str, ...] = ()
    varies: frozenset[str] = frozenset()


def _form(fact: ShotFact) -> RowGroup:
    form = form_of(fact)
    if form == NOT_SAID:
        return RowGroup(form, form_words(form), "the head whose form was not said")
    return RowGroup(form, form_words(form), f"the {form_words(form).lower()}", f"head-{form}")


def _head(fact: ShotFact) -> RowGroup:
    if fact.head_id is None:
        return RowGroup(NOT_SAID, "Head not said", "the head that was not said")
    name = fact.head_name or "without a name"
    return RowGroup(fact.head_id, name, f"head {name}", f"head-{fact.form}" if fact.form else "")


def _construction(fact: ShotFact) -> RowGroup:
    words = CONSTRUCTIONS.get(fact.construction or "", "Not said")
    return RowGroup(fact.construction or NOT_SAID, words, f"shots at {words.lower()}")


def _session(fact: ShotFact) -> RowGroup:
    words = day_words(fact.day) + (f", {fact.place}" if fact.place else "")
    return RowGroup(fact.session_id, words, f"shots of {day_words(fact.day)}")


_KINDS = (
    Kind("form", "Head forms", "head forms", _form, ("form",), varied=("form", "heads", "head shape", "shape of")),
    Kind("head", "Single heads", "single heads", _head, ("form",), varied=("heads", "hardness", "single head")),
    Kind(
        "panel", "Panels", "panels", lambda fact: RowGroup(fact.panel_id, fact.panel_name, f"shots at {fact.panel_name}"),
        ("sort",), beside=("archer", "bow", "day"), varied=("panel", "armour", "plate", "thickness"),
        varies=frozenset({"panel"}),
    ),
    Kind("construction", "Constructions", "constructions", _construction, ("sort",), beside=("archer", "bow", "day"),
         varied=("construction", "armour", "panel"), varies=frozenset({"panel"})),
    Kind(
        "trial", "Trials", "trials", lambda fact: RowGroup(fact.trial_id, fact.question, f"shots of “{fact.question}”"), free=1,
        beside=("panel", "archer", "bow"), varies=frozenset({"panel", "day"}),
    ),
    Kind("session", "Sessions", "sessions", _session, free=1, beside=("panel", "archer", "bow"), varied=("day", "session", "weather"),
         varies=frozenset({"day"})),
    Kind(
        "archer", "Archers", "archers", lambda fact: RowGroup(fact.archer_id, fact.archer, f"shots by {fact.archer}"),
        beside=("panel", "bow", "day"), varied=("archer",), varies=frozenset({"archer"}),
    ),
    Kind(
        "bow", "Bows", "bows", lambda fact: RowGroup(fact.bow_id, fact.bow_name, f"shots with {fact.bow_name}"),
        beside=("panel", "archer", "day"), varied=("bow",),
    ),
)  # fmt: skip
KINDS: Mapping[str, Kind] = MappingProxyType({one.key: one for one in _KINDS})
