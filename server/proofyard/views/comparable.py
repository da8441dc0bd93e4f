"""What can be compared: heads, panels, constructions, trials, sessions, archers, bows; and what else must then be alike."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from proofyard.quantities.reason import because
from proofyard.records.panel import CONSTRUCTIONS
from proofyard.records.shot_facts import ShotFact
from proofyard.views.cells import RowGroup
from proofyard.views.panel_type import NOT_RECORDED, backing_of, garment_of, panel_type_in, panel_type_of
from proofyard.views.settings import form_of, form_words
from proofyard.wording.reasons.said import said
from proofyard.wording.when import day_words

# What an outcome turns on beside the energy, and must be one and the same before two groups are ranked. A panel type is the
# last three of them together.
OF_PANELS = ("panel_alone", "garment", "backing")
ASPECTS = ("form", *OF_PANELS)
# What may go together with the groups and says so beside them, without stopping the comparison.
CONFOUNDERS: Mapping[str, tuple[str, Callable[[ShotFact], str]]] = MappingProxyType(
    {
        "panel": ("panel", lambda fact: fact.panel_name),
        "archer": ("archer", lambda fact: fact.archer),
        "bow": ("bow", lambda fact: fact.bow_name),
        "day": ("day", lambda fact: day_words(fact.day)),
        "garment": ("garment behind", lambda fact: garment_of(fact)[1]),
        "backing": ("backing", lambda fact: backing_of(fact)[1]),
    }
)


@dataclass(frozen=True)
class Kind:
    """One sort of thing to compare.

    words     in "compared: head forms"
    group     the group that a shot belongs to
    about     which of ASPECTS may differ between two groups: the ones that the comparison is about
    free      of head form and panel type, how many may differ, whichever those are
    varied    words of a trial's "what is varied" that mean this
    varies    what the groups differ in by intent, as caveats call it: panel, day
    """

    key: str
    label: str
    words: str
    group: Callable[[ShotFact], RowGroup]
    about: tuple[str, ...] = ()
    free: int = 0
    confounders: tuple[str, ...] = ("panel", "archer", "bow", "day")
    varied: tuple[str, ...] = ()
    varies: frozenset[str] = frozenset()

    @property
    def of_panels(self) -> bool:
        """Whether it sets panel types against each other, in one of their parts or in all."""
        return not set(OF_PANELS).isdisjoint(self.about)


def _form(fact: ShotFact) -> RowGroup:
    return _of_form(form_of(fact))


@lru_cache(maxsize=64)
def _of_form(form: str) -> RowGroup:
    if form == NOT_RECORDED:
        return RowGroup(form, form_words(form), "heads of unrecorded form")
    return RowGroup(form, form_words(form), f"the {form_words(form).lower()}", f"head-{form}")


def _head(fact: ShotFact) -> RowGroup:
    if fact.head_id is None:
        return RowGroup(NOT_RECORDED, "Head not recorded", "heads not recorded")
    name = fact.head_name or "without a name"
    return RowGroup(fact.head_id, name, f"head {name}", f"head-{fact.form}" if fact.form else "")


def _panel(fact: ShotFact) -> RowGroup:
    """One panel before one garment and one backing: where those differed, each is a group of its own."""
    key, behind = panel_type_in(fact, ("garment", "backing"))
    name = f"{fact.panel_name} {behind}".strip()
    return RowGroup(f"{fact.panel_id}-{key}" if key else fact.panel_id, name, f"shots at {name}")


def _panel_type(fact: ShotFact) -> RowGroup:
    value, words = panel_type_of(fact)
    return RowGroup(value, words, f"shots at {words}")


def _garment(fact: ShotFact) -> RowGroup:
    value, words = garment_of(fact)
    return RowGroup(value, words, said(because("shots_over", garment=words)))


def _backing(fact: ShotFact) -> RowGroup:
    value, words = backing_of(fact)
    return RowGroup(value, words, said(because("shots_in_front", backing=words)))


def _construction(fact: ShotFact) -> RowGroup:
    words = CONSTRUCTIONS.get(fact.construction or "", "Not recorded")
    return RowGroup(fact.construction or NOT_RECORDED, words, f"shots at {words.lower()}")


def _session(fact: ShotFact) -> RowGroup:
    words = day_words(fact.day) + (f", {fact.place}" if fact.place else "")
    return RowGroup(fact.session_id, words, f"shots of {day_words(fact.day)}")


_KINDS = (
    Kind("form", "Head forms", "head forms", _form, ("form",), varied=("form", "heads", "head shape", "shape of")),
    Kind("head", "Single heads", "single heads", _head, ("form",), varied=("heads", "hardness", "single head")),
    Kind(
        "panel",
        "Panels",
        "panels",
        _panel,
        OF_PANELS,
        confounders=("garment", "backing", "archer", "bow", "day"),
        varied=("panel", "armour", "plate", "thickness"),
        varies=frozenset({"panel"}),
    ),
    Kind(
        "panel_type",
        "Panel types",
        "panel types",
        _panel_type,
        OF_PANELS,
        confounders=("archer", "bow", "day"),
        varied=("panel", "armour", "plate", "thickness", "mail", "scale"),
        varies=frozenset({"panel"}),
    ),
    Kind(
        "construction",
        "Constructions",
        "constructions",
        _construction,
        OF_PANELS,
        confounders=("garment", "backing", "archer", "bow", "day"),
        varied=("construction", "armour", "panel"),
        varies=frozenset({"panel"}),
    ),
    Kind("garment", "Garments behind", "garments behind panels", _garment, ("garment",), varied=("garment", "cloth behind", "padding")),
    Kind("backing", "Backings", "backings", _backing, ("backing",), varied=("backing", "behind")),
    Kind(
        "trial",
        "Trials",
        "trials",
        lambda fact: RowGroup(fact.trial_id, fact.question, f"shots of “{fact.question}”"),
        free=1,
        confounders=("panel", "garment", "backing", "archer", "bow"),
        varies=frozenset({"panel", "day"}),
    ),
    Kind(
        "session",
        "Sessions",
        "sessions",
        _session,
        free=1,
        confounders=("panel", "garment", "backing", "archer", "bow"),
        varied=("day", "session", "weather"),
        varies=frozenset({"day"}),
    ),
    Kind(
        "archer",
        "Archers",
        "archers",
        lambda fact: RowGroup(fact.archer_id, fact.archer, f"shots by {fact.archer}"),
        confounders=("panel", "bow", "day"),
        varied=("archer",),
        varies=frozenset({"archer"}),
    ),
    Kind(
        "bow",
        "Bows",
        "bows",
        lambda fact: RowGroup(fact.bow_id, fact.bow_name, f"shots with {fact.bow_name}"),
        confounders=("panel", "archer", "day"),
        varied=("bow",),
    ),
)
KINDS: Mapping[str, Kind] = MappingProxyType({one.key: one for one in _KINDS})
