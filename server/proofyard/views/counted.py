"""The shots of a view: what the address asks for, each shot counted or left out under one reason so that all adds up, and their bands."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from types import MappingProxyType
from typing import Any

from proofyard.quantities import unit_for_reader
from proofyard.quantities.reason import Reason, because
from proofyard.records.shot import ALL_ENTRIES, BY_A_GAP
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.fair_hits import FAIR, NOT_FAIR
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.views.address import AsTyped, Query
from proofyard.views.axes import (
    AXES,
    Axis,
    Band,
    all_on_axis,
    all_why_off_axis,
    bands_of,
    default_edges,
    edges_text,
    round_edges,
    why_off_axis,
)
from proofyard.views.cells import CountedShot, counted_shots, settled, settled_by
from proofyard.views.panel_type import panel_types_of
from proofyard.views.settings import METHOD_WORDS, Asked, ViewSettings, asked_of, choices_of, form_words
from proofyard.wording.fairness import SORTS
from proofyard.wording.left_out import REASONS
from proofyard.wording.reasons.results import FAIR_HITS
from proofyard.wording.reasons.said import said as reason_words

SHOWN: Mapping[str, str] = MappingProxyType({reader: unit_for_reader("energy", reader) for reader in ("metric", "archery")})
# Not fair by itself, and no gap either: said as what it is, unless unfair hits are wanted.
SPOILT_ENTRIES = ("panel_edge", "old_hit")


# What is left out, and what is set apart: a shot of the latter is shown beside its cell or its head.
OFF_AXIS = ("not_measured", "no_target", "no_measure")
SET_APART = ("not_known", *OFF_AXIS)


def standing(shot: LoosedShot, settings: ViewSettings) -> str | None:
    """The reason why this loose is in no cell of this view; None where it is counted."""
    return _as_seen(shot, settings) or why_off_axis(shot, AXES[settings.axis], place=settings.place)


def _as_seen(shot: LoosedShot, settings: ViewSettings) -> str | None:
    """The reason that needs no figure."""
    fact = shot.fact
    if without := without_outcome(fact):
        return without
    by_way = off_the_way(fact.entry, settings.entry)
    by_fairness = _by_fairness(shot, settings.fair)
    if by_fairness == "not_fair" and fact.entry in SPOILT_ENTRIES:
        return by_fairness
    return by_way or by_fairness


def without_outcome(fact: ShotFact) -> str | None:
    """Why a loose has no outcome at the panel's rear face; None where it has one."""
    if fact.purpose != "counted":
        return fact.purpose
    if fact.hit is None:
        return "unread"
    if fact.hit != "on_panel":
        return fact.hit
    return "no_outcome" if fact.outcome_low is None else None


def off_the_way(way: str | None, wanted: str) -> str | None:
    """The reason why where it went in is not what was asked for; None where it is."""
    if wanted == "any" or way == wanted:
        return None
    if wanted not in ("no_gap", "by_gap"):
        return "other_entry"
    if way == "cant_tell":
        return "cant_tell_way"
    # A where it went in that nobody gave is counted with the plain ones, and the page says how many those are.
    gap = way in BY_A_GAP
    if wanted == "no_gap":
        return "by_gap" if gap else None
    return None if gap else "other_entry"


def _by_fairness(shot: LoosedShot, wanted: str) -> str | None:
    answer = shot.fair_answer or "not_known"
    if wanted == "any" or answer == FAIR:
        return None
    if answer == NOT_FAIR:
        return "not_fair"
    return None if wanted == "fair_or_not_known" else "not_known"


@dataclass(frozen=True)
class LeftOut:
    """One row: how many, why, and where they are listed."""

    key: str
    count: int
    words: str
    small: str
    glyph: str
    href: str


def left_out_rows(apart: Mapping[str, Sequence[LoosedShot]], settings: ViewSettings, *, list_href: str) -> tuple[LeftOut, ...]:
    """A row for every reason that took at least one shot, in the order of REASONS. `list_href`: of a list of shots, to be told which."""
    rows = []
    for key, reason in REASONS.items():
        shots = apart.get(key, ())
        if shots:
            small = _detail(key, shots, settings) or reason.small
            rows.append(LeftOut(key, len(shots), reason.words, small, reason.glyph, f"{list_href}&out={key}"))
    return tuple(rows)


def _detail(key: str, shots: Iterable[LoosedShot], settings: ViewSettings) -> str:
    """The sub-reasons with their counts: "3 too near an earlier hit, 2 arrows not sound"."""
    if key in ("not_fair", "not_known"):
        said = Counter(SORTS[shot.fair_sort] if shot.fair_sort else "not worked out" for shot in shots)
    elif key == "by_gap":
        said = Counter(f"by {ALL_ENTRIES[shot.fact.entry or ''].lower()}" for shot in shots)
        return reason_words(because("of_a_gap", counts=_listed(said)))
    elif key == "other_entry":
        said = Counter(ALL_ENTRIES.get(shot.fact.entry or "", "not recorded").lower() for shot in shots)
    elif key in OFF_AXIS:
        over = AXES[settings.axis].over
        said = Counter(reason_words(over(shot).how if key == "no_measure" and over else _unmeasured(shot)) for shot in shots)
        return reason_words(because("of_no_band", counts=_listed(said)))
    elif key in ("missed", "spoiled"):
        said = Counter(shot.fact.why.strip().rstrip(".") for shot in shots if shot.fact.why and shot.fact.why.strip())
        return ", ".join(f"{count} {words}" for words, count in said.most_common(3))
    else:
        return ""
    return _listed(said)


def _listed(said: Counter[str]) -> str:
    return ", ".join(f"{count} {words}" for words, count in said.most_common())


def _unmeasured(shot: LoosedShot) -> Reason:
    if shot.measured:
        if shot.fact.distance_m is None:
            return because("no_distance")
        return because("no_shaft") if shot.fact.shaft_diameter_m is None else because("no_flight")
    if shot.fact.short_draw and shot.speed_m_s is None:
        return because("no_own_speed")
    if shot.speed_m_s is None:
        return because("no_speed")
    return because("left_out_never_weighed")


@dataclass(frozen=True)
class Finding:
    """The one finding, said without its stop, and what it leaves open. `weight`: how much it says, to choose between several."""

    title: Reason
    more: tuple[Reason, ...]
    weight: tuple[int, int] = (0, 0)


NO_TOTALS = Finding(because("no_totals"), (because("no_totals_do"),))


def settings_words(settings: ViewSettings, names: dict[str, str]) -> str:
    """The filters in one line: "Showing: fair hits, not by a gap, on P16; through means point through, or more"."""
    way = {"no_gap": "not through a gap", "by_gap": "only through a gap", "any": "wherever it went in"}.get(
        settings.entry, names.get("entry", "")
    )
    showing = because(
        "showing",
        fair=settings.fair,
        picked=(way, *(names[name] for name in names if name != "entry")),
        place=settings.place,
        by="" if settings.axis == "energy" else AXES[settings.axis].words.removeprefix("energy "),
        meaning=settings.through.meaning,
        interval=METHOD_WORDS[settings.method],
    )
    return reason_words(showing)


@dataclass(frozen=True)
class Sorted:
    """The shots of a view by what becomes of them: counted in a band, or left out under a reason.

    let_down  no shots: nothing was loosed, so they are in no count, and listed beside
    """

    counted: tuple[LoosedShot, ...]
    apart: Mapping[str, tuple[LoosedShot, ...]]
    voided: tuple[LoosedShot, ...]
    let_down: tuple[LoosedShot, ...] = ()

    @property
    def loosed(self) -> int:
        return len(self.counted) + sum(map(len, self.apart.values()))

    @property
    def in_order(self) -> list[LoosedShot]:
        """Counted or left out, in the order loosed."""
        found = [*self.counted, *(shot for shots in self.apart.values() for shot in shots)]
        return sorted(found, key=lambda shot: (shot.fact.loosed_at or 0, shot.fact.label))

    @property
    def not_known(self) -> tuple[LoosedShot, ...]:
        """Fair or not isn't known: in the bounds only."""
        return self.apart.get("not_known", ())

    @property
    def off_axis(self) -> tuple[LoosedShot, ...]:
        """Without an energy or a measure that the view's axis needs: in no band."""
        return tuple(shot for key in OFF_AXIS for shot in self.apart.get(key, ()))


def sort_shots(loosed: Loosed, settings: ViewSettings) -> Sorted:
    """Each loose that this view is about under exactly one heading."""
    return _sorted(settings.taken(loosed.shots), settings.taken(loosed.voided), settings)


def _sorted(mine: Sequence[LoosedShot], voided: Sequence[LoosedShot], settings: ViewSettings) -> Sorted:
    reasons = [_as_seen(shot, settings) for shot in mine]
    seen = [shot for shot, reason in zip(mine, reasons, strict=True) if reason is None]
    off = iter(all_why_off_axis(seen, AXES[settings.axis], place=settings.place))
    counted: list[LoosedShot] = []
    apart: dict[str, list[LoosedShot]] = {}
    for shot, seen_why in zip(mine, reasons, strict=True):
        reason = seen_why or next(off)
        (counted if reason is None else apart.setdefault(reason, [])).append(shot)
    let_down = apart.pop("let_down", [])
    return Sorted(
        counted=tuple(counted), let_down=tuple(let_down), apart={key: tuple(shots) for key, shots in apart.items()}, voided=tuple(voided)
    )


@dataclass(frozen=True)
class CountedView:
    """What every page that counts outcomes shows of its view; the page's own answer adds to it.

    counted + the counts of left_out = loosed; shots crossed out and let-downs are in neither.

    counted_shots  in the order loosed; open_shots: fairness not known; off_axis: in no band
    types          panel types that the view could show, where it shows one at a time: value -> words
    reader         whose units bands and depths are told in: metric, archery
    """

    asked: Asked
    shots: Sorted
    edges: tuple[float, ...]
    counted_shots: tuple[CountedShot, ...]
    open_shots: tuple[CountedShot, ...]
    off_axis: tuple[CountedShot, ...]
    types: Mapping[str, str]
    reader: str

    @property
    def as_fields(self) -> dict[str, Any]:
        """To make a page's own answer of it."""
        return {one.name: getattr(self, one.name) for one in fields(CountedView)}

    @property
    def settings(self) -> ViewSettings:
        return self.asked.settings

    @property
    def axis(self) -> Axis:
        return AXES[self.settings.axis]

    @cached_property
    def bands(self) -> tuple[Band, ...]:
        placed = [one.energy.value for one in (*self.counted_shots, *self.open_shots) if one.energy is not None]
        return self.bands_for(placed)

    def bands_for(self, placed: Iterable[float]) -> tuple[Band, ...]:
        """The view's bands for shots that stand there, told in its reader's unit."""
        return bands_of(self.edges, placed, unit=self.axis.unit, shown=SHOWN[self.reader])

    @property
    def unit(self) -> str:
        """The unit that figures of its axis are told in."""
        return SHOWN[self.reader] if self.axis.unit == "J" else self.axis.unit

    @property
    def showing(self) -> str:
        return settings_words(self.settings, setting_names(self.settings, self.asked))

    @property
    def showing_short(self) -> str:
        """What an archer would ask of the counts, and all that was narrowed beside the panel type."""
        settings, names = self.settings, setting_names(self.settings, self.asked)
        narrowed = [words for name, words in names.items() if name not in ("entry", "panel_type")]
        place, through = f"energy at the {settings.place}", f"through is {settings.through.meaning}"
        return ", ".join([FAIR_HITS[settings.fair], *narrowed, place, through])

    @property
    def method(self) -> str:
        return METHOD_WORDS[self.settings.method]

    @property
    def edges_words(self) -> str:
        return edges_text(self.edges)

    @cached_property
    def left_out(self) -> tuple[LeftOut, ...]:
        return left_out_rows(self.shots.apart, self.settings, list_href=self.lists)

    @property
    def counted(self) -> int:
        return len(self.shots.counted)

    @property
    def loosed(self) -> int:
        return self.shots.loosed

    @property
    def voided(self) -> int:
        return len(self.shots.voided)

    @property
    def let_down(self) -> int:
        return len(self.shots.let_down)

    @cached_property
    def lists(self) -> str:
        """The address of a list of these shots, to be told which: `&cell=…`, `&out=…`."""
        return self.settings.address("/results/shots", edges=self.edges)


def ask(loosed: Loosed, query: Query, reader: str = "metric") -> Asked:
    """What this address asks of what the data offers."""
    return settled_at(_asked(loosed, query, reader), loosed.shots)


def _asked(loosed: Loosed, query: Query, reader: str) -> Asked:
    own = {trial.id: trial.through for trial in loosed.trials.values()}
    return asked_of(query, choices_of(loosed, reader), through_of_trial=own)


def hits_by_type(loosed: Loosed, asked: Asked) -> dict[str, int]:
    """Each panel type that these settings could show, in the order of their words, and how many hits it has."""
    settings = asked.settings
    wider = replace(settings, only={name: value for name, value in settings.only.items() if name != "panel_type"})
    mine = wider.taken(loosed.shots)
    types = panel_types_of(mine)
    found = Counter({value: 0 for value, _ in set(types)})
    facts = (shot.fact for shot in mine)
    found.update([value for (value, _), fact in zip(types, facts, strict=True) if fact.hit == "on_panel" and fact.purpose == "counted"])
    return {value: found[value] for value in asked.schema["panel_type"].choices if value in found}


def of_one_type(asked: Asked, hits: Mapping[str, int]) -> Asked:
    """With a panel type chosen where none was asked for: the one that was hit most, which no outcome can sway."""
    if "panel_type" in asked.settings.only or not hits:
        return asked
    chosen = max(hits, key=lambda value: hits[value])
    settings = replace(asked.settings, only={**asked.settings.only, "panel_type": chosen})
    typed = asked.typed if "panel_type" in asked.problems else {**asked.typed, "panel_type": chosen}
    return replace(asked, settings=settings, typed=typed)


def settled_at(asked: Asked, shots: Sequence[LoosedShot]) -> Asked:
    """With the place of the energy settled by these shots where it was left open; its control shows which it is."""
    return _settled(asked, settled(asked.settings, shots))


def _settled(asked: Asked, settings: ViewSettings) -> Asked:
    return replace(asked, settings=settings, typed={**asked.typed, "at": asked.typed["at"] or settings.at or ""})


def count_shots(loosed: Loosed, query: Query, *, by_form: bool = False, one_type: bool = False, reader: str = "metric") -> CountedView:
    """The shots that an address asks for, counted.

    by_form   rows are forms of head, whatever the address says
    one_type  of one panel type, chosen where the address leaves it open
    """
    asked = _asked(loosed, query, reader)
    hits = hits_by_type(loosed, asked) if one_type else {}
    asked = of_one_type(asked, hits)
    mine, voided = asked.settings.taken(loosed.shots), asked.settings.taken(loosed.voided)
    asked = _settled(asked, settled_by(asked.settings, mine))
    if by_form:
        asked = replace(asked, settings=replace(asked.settings, rows="form", row_edges=None))
    settings = asked.settings
    shots = _sorted(mine, voided, settings)
    edges = tuple(settings.edges or suggested_edges(settings, shots.counted, shots.not_known))
    counted, unsure, off_axis = (
        counted_shots(some, settings, edges=edges) if some else () for some in (shots.counted, shots.not_known, shots.off_axis)
    )
    types = {value: asked.schema["panel_type"].choices[value] for value in hits}
    return CountedView(asked, shots, edges, counted, unsure, off_axis, types, reader)


def suggested_edges(settings: ViewSettings, *groups: Sequence[LoosedShot]) -> tuple[float, ...]:
    """Round edges of bands that suit these shots, where nobody typed any."""
    axis = AXES[settings.axis]
    found = all_on_axis([shot for group in groups for shot in group], axis, place=settings.place)
    known = [one for one in found if one is not None]
    return default_edges(known) if axis.unit == "J" else round_edges([one.value for one in known])


def setting_names(settings: ViewSettings, asked: AsTyped) -> dict[str, str]:
    """What is narrowed to, by filter, in words."""
    entries = asked.schema["entry"].choices
    names = {name: asked.schema[name].choices[value] for name, value in settings.only.items()}
    names |= {"head": " and ".join(form_words(head).lower() for head in settings.heads)} if settings.heads else {}
    return names | {"entry": entries.get(settings.entry, settings.entry).lower()}
