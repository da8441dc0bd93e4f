"""Protection for weight: each head's 50 % energies over what a square metre weighs, and what each extra kilogram buys."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from proofyard.answers.protection.weights import LayerWeight, TypeWeight, layers_behind, type_weight
from proofyard.caveats.caveat import Caveat, View
from proofyard.caveats.collected import caveats_of
from proofyard.caveats.of_shots import view_of_shots
from proofyard.charts.energy_by_weight import WeightMark, draw_energy_by_weight
from proofyard.charts.figure import Figure
from proofyard.how_far import part_by_part
from proofyard.quantities import unit_for_reader
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.caveat_facts import NO_FACTS, CaveatFacts, caveat_facts
from proofyard.records.kit_between import StandFact, stands_built
from proofyard.shots.loosed import Loosed, load_loosed
from proofyard.shots.panel_measures import Areal
from proofyard.shots.panel_weight import areal_weights
from proofyard.statistics.energy_for_weight import (
    EnergyEnds,
    EnergyForExtraWeight,
    EnergyForWeight,
    Weight,
    energy_for_extra_weight,
    energy_for_weight,
)
from proofyard.storage import Storage
from proofyard.views.address import Query
from proofyard.views.cells import RowGroup, counted_shot, row_key, rows_of
from proofyard.views.comparable import KINDS
from proofyard.views.counted import Sorted, ask, setting_names, settings_words, sort_shots
from proofyard.views.curve import FiftyPercent, fifty_percent_of, told_of
from proofyard.views.pair_comparison import Pair, PairFamily, pair_families, pair_told
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import Asked, asked_trial, wants_pool
from proofyard.wording.reasons.said import said

NOT_OF_A_WEIGHT = ("axis", "edges", "rows", "row_edges", "method")  # settings of the counts that mean nothing here


@dataclass(frozen=True)
class WeightRow:
    """One panel type with one head. `for_weight` None: `why_not` says why there is no figure."""

    panel_type: str
    words: str
    weight: TypeWeight
    found: FiftyPercent
    for_weight: EnergyForWeight | None
    why_not: Reason | None
    href: str

    @property
    def energy(self) -> Reason:
        return told_of(self.found)

    @property
    def figure(self) -> Reason:
        """J per kg/m² with its interval, or why there is none."""
        one = self.for_weight
        if one is None:
            return because("no_figure_for_weight", why=self.weight.why_not if self.found.point is not None else None)
        return because("figure_for_weight", j_per_kg_m2=one.value, low=one.low, high=one.high)


@dataclass(frozen=True)
class ExtraRow:
    """A heavier panel type against the lightest, with one head. `found` says why there is no figure, where there is none.

    pair    the one comparison of the two, which says whether the heavier holds more; `found` says how much it adds
    """

    lighter: str
    heavier: str
    extra: Weight
    found: EnergyForExtraWeight | CantTell
    pair: Pair | None

    @property
    def shown(self) -> bool:
        """Whether a figure can be given: where the two were compared, only as far as that comparison shows it too."""
        one = self.found
        if not (isinstance(one, EnergyForExtraWeight) and one.shown):
            return False
        compared = self.pair is not None and self.pair.verdict not in ("apart", "too_few")
        return not compared or self._side == ("heavier" if one.difference_j > 0 else "lighter")

    @property
    def _side(self) -> str:
        """Which of the two is shown to hold more: that which is not got through more easily; empty where neither."""
        if self.pair is None or not self.pair.shown:
            return ""
        easier = self.pair.first if self.pair.verdict == "first" else self.pair.second
        return "heavier" if easier.row.words == self.lighter else "lighter"

    @property
    def heavier_by(self) -> Reason:
        return because("heavier_by", heavier=self.heavier, lighter=self.lighter, extra_kg_m2=self.extra.kg_m2, u_kg_m2=self.extra.u_kg_m2)

    @property
    def told(self) -> Reason:
        one = self.found
        if isinstance(one, CantTell):
            return because("extra_not_told", why=one.reason)
        return because(
            "extra_told",
            difference_j=one.difference_j,
            low_j=one.difference_low_j,
            high_j=one.difference_high_j,
            j_per_kg_m2=one.value,
            low=one.low,
            high=one.high,
            shown=self.shown,
            side=self._side,
        )

    @property
    def compared(self) -> Reason | None:
        """The sentence on the two that every page has."""
        return None if self.pair is None else because("sentence_of_its_own", why=pair_told(self.pair))


@dataclass(frozen=True)
class HeadForWeight:
    """One head at every panel type that it was shot at, the lightest first; those without a weight at the end."""

    key: str
    words: str
    who: str
    glyph: str
    rows: tuple[WeightRow, ...]
    extra: tuple[ExtraRow, ...]
    drawing: Figure | None

    @property
    def id(self) -> str:
        """For an element, and for its drawing as a file."""
        return self.key.replace(".", "_")


@dataclass(frozen=True)
class Protection:
    """All that the page shows. `types`: each panel type with its weight and panels; `layers`: garments and backings behind them."""

    asked: Asked
    showing: str
    finding: Reason
    heads: tuple[HeadForWeight, ...]
    types: tuple[tuple[str, TypeWeight], ...]
    layers: tuple[LayerWeight, ...]
    counted: int
    loosed: int
    view: View
    reader: str

    @cached_property
    def to_check(self) -> tuple[Caveat, ...]:
        """What to check here: a download of the same answer says none of it, and need not wait for it."""
        return caveats_of(self.view)

    @property
    def back(self) -> str:
        """The 50 % energies of these shots."""
        return self.asked.settings.address("/fifty-percent")

    @property
    def results(self) -> str:
        return self.asked.settings.address("/results")


def read_protection(book: Storage, query: Query, *, reader: str, only_trial: str | None = None) -> Protection:
    """As an address asks for it. `only_trial`: all that this viewer may see."""
    with book.read() as session:
        loosed = load_loosed(session, pool=wants_pool(query), trial_id=asked_trial(query, only_trial)).of_trial(only_trial)
        areals = areal_weights(session, {shot.fact.panel_build_id for shot in loosed.shots})
        stands = stands_built(session, {shot.fact.stand_id for shot in loosed.shots if shot.fact.stand_id})
        facts = caveat_facts(session, loosed.facts)
    return protection(loosed, query, areals=areals, stands=stands, facts=facts, reader=reader)


def protection(
    loosed: Loosed,
    query: Query,
    *,
    areals: Mapping[str, Areal],
    stands: Mapping[str, StandFact],
    facts: CaveatFacts = NO_FACTS,
    reader: str = "metric",
) -> Protection:
    """Of these shots. `areals`: by panel build; `facts`: what caveats ask for beside them."""
    asked = ask(loosed, {name: values for name, values in query.items() if name not in NOT_OF_A_WEIGHT}, reader)
    found = sort_shots(loosed, asked.settings)
    types = _types(found, areals, stands, asked)
    families = {one.key: one for one in pair_families(loosed, asked.settings, kind=KINDS["panel_type"])}
    work = _Work(asked, found, types, families, reader)
    heads = tuple(_head(row, work) for row in part_by_part(_rows(found, asked), "heads"))
    view = view_of_shots(
        found.counted, facts, around=loosed.shots, trials=loosed.trials, through=asked.settings.through, place=asked.settings.place
    )
    return Protection(
        asked=asked,
        showing=settings_words(asked.settings, setting_names(asked.settings, asked)).partition(" Intervals: ")[0],
        finding=finding_of(heads, loosed=found.loosed),
        heads=heads,
        types=tuple((words, weight) for words, weight in types.values()),
        layers=layers_behind({key: one for key, one in stands.items() if key in {shot.fact.stand_id for shot in found.counted}}),
        counted=len(found.counted),
        loosed=found.loosed,
        view=view,
        reader=reader,
    )


Types = Mapping[str, tuple[str, TypeWeight]]


@dataclass(frozen=True)
class _Work:
    """What every head of one page is worked out with."""

    asked: Asked
    found: Sorted
    types: Types
    families: Mapping[str, PairFamily]
    reader: str


def _types(found: Sorted, areals: Mapping[str, Areal], stands: Mapping[str, StandFact], asked: Asked) -> Types:
    """Panel type -> its words and weight, the lightest first, those of unknown weight last."""
    facts = [shot.fact for shot in (*found.counted, *found.off_axis)]
    by_type = {sort: [fact for fact in facts if panel_type_of(fact) == sort] for sort in dict.fromkeys(map(panel_type_of, facts))}
    how = asked.settings.through.how
    made = {value: (words, type_weight(some, areals, stands=stands, how=how)) for (value, words), some in by_type.items()}
    return dict(sorted(made.items(), key=lambda pair: (_kg_m2(pair[1][1]), pair[0])))


def _kg_m2(weight: TypeWeight) -> float:
    return weight.value.value if weight.value else math.inf


def _rows(found: Sorted, asked: Asked) -> list[RowGroup]:
    """The heads, the most shot first: of that one most can be told."""
    keys = [row_key(shot, asked.settings) for shot in (*found.counted, *found.off_axis)]
    return sorted(rows_of(keys, asked.settings), key=lambda row: -keys.count(row.key))


def _head(row: RowGroup, work: _Work) -> HeadForWeight:
    rows = tuple(made for value, (words, weight) in work.types.items() if (made := _weight_row(row, value, words, weight, work)))
    return HeadForWeight(
        key=row.key,
        words=row.words,
        who=row.who,
        glyph=row.glyph,
        rows=rows,
        extra=_extra(rows, work.families.get(row.key)),
        drawing=_drawing(row, rows, work.reader),
    )


def _weight_row(row: RowGroup, value: str, words: str, weight: TypeWeight, work: _Work) -> WeightRow | None:
    """None where this head was never shot at that panel type."""
    settings = work.asked.settings
    mine, without = (
        [shot for shot in some if panel_type_of(shot.fact)[0] == value and row_key(shot, settings) == row.key]
        for some in (work.found.counted, work.found.off_axis)
    )
    if not mine and not without:
        return None
    found = fifty_percent_of([counted_shot(shot, settings, edges=()) for shot in mine], unmeasured=len(without))
    for_weight = _for_weight(found, weight)
    why = None if for_weight else (found.why_not if found.point is None else weight.why_not)
    href = settings.address("/fifty-percent", panel_type=value, head=row.key)
    return WeightRow(value, words, weight, found, for_weight, why, href)


def _for_weight(found: FiftyPercent, weight: TypeWeight) -> EnergyForWeight | None:
    if found.point is None or weight.value is None:
        return None
    return energy_for_weight(ends_of(found), _weight(weight), level=found.point.level)


def ends_of(found: FiftyPercent) -> EnergyEnds:
    """Of one that has a point."""
    assert found.point is not None
    return EnergyEnds(found.point.energy_j, found.point.low_j, found.point.high_j)


def _weight(weight: TypeWeight) -> Weight:
    assert weight.value is not None
    return Weight(weight.value.value, weight.value.standard_uncertainty or 0.0)


def _extra(rows: Sequence[WeightRow], family: PairFamily | None) -> tuple[ExtraRow, ...]:
    """Each heavier type against the lightest one, so that one panel type is what all are measured by."""
    told = [one for one in rows if one.for_weight is not None]
    if len(told) < 2:
        return ()
    lightest, *heavier = told
    return tuple(
        _extra_row(lightest, one, family.pair(lightest.panel_type, one.panel_type) if family is not None else None) for one in heavier
    )


def _extra_row(lighter: WeightRow, heavier: WeightRow, pair: Pair | None) -> ExtraRow:
    one, other = _weight(lighter.weight), _weight(heavier.weight)
    extra = Weight(other.kg_m2 - one.kg_m2, math.hypot(one.u_kg_m2, other.u_kg_m2))
    found = energy_for_extra_weight(ends_of(lighter.found), ends_of(heavier.found), extra=extra)
    return ExtraRow(lighter.words, heavier.words, extra, found, pair)


def finding_of(heads: Sequence[HeadForWeight], *, loosed: int) -> Reason:
    """What an extra kilogram buys where that is shown; else the figure that is best known; else why there is none."""
    shown = [
        (head, one, one.found)
        for head in heads
        for one in head.extra
        if isinstance(one.found, EnergyForExtraWeight) and one.shown and one.found.low > 0
    ]
    if shown:
        head, row, extra = min(shown, key=lambda found: found[2].high / found[2].low)
        return because(
            "extra_weight_found",
            who=head.who,
            heavier=row.heavier,
            lighter=row.lighter,
            j_per_kg_m2=extra.value,
            low=extra.low,
            high=extra.high,
        )
    told = [(head, row, row.for_weight) for head in heads for row in head.rows if row.for_weight is not None]
    if told:
        first, best, figure = min(told, key=lambda found: (_width(found[2]), -found[1].found.shots))
        return because("for_weight_found", who=first.who, on=best.words, j_per_kg_m2=figure.value, low=figure.low, high=figure.high)
    rows = [row for head in heads for row in head.rows]
    if not rows:
        return because("no_shots_for_weight") if loosed == 0 else because("none_counted_for_weight")
    why = next((row.why_not for row in rows if row.why_not is not None), None)
    return because("none_for_weight", why=why)


def _width(figure: EnergyForWeight) -> float:
    return figure.high / figure.low if figure.low and figure.high else math.inf


def _drawing(row: RowGroup, rows: Sequence[WeightRow], reader: str) -> Figure | None:
    unit = unit_for_reader("energy", reader)
    marks = []
    for one in rows:
        weight, point = one.weight.value, one.found.point
        if weight is not None and point is not None:
            words = f"{one.words}: {said(one.weight.told, reader)}; {said(one.energy, reader)}; {said(one.figure, reader)}"
            marks.append(WeightMark(one.words, one.href, words, weight, point.energy_j, point.low_j, point.high_j))
    return draw_energy_by_weight(row.words, marks, unit=unit, weight_unit=unit_for_reader("areal_density", reader)) if marks else None
