"""Outcomes by head form and energy band: what every page of results counts. The download works from the same shots."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from proofyard.answers.results.finding import about_counts, finding_of
from proofyard.caveats.caveat import Caveat, view_of_results
from proofyard.caveats.collected import caveats_of, notes_by_group
from proofyard.quantities.reason import Reason
from proofyard.records.caveat_facts import NO_FACTS, CaveatFacts, caveat_facts
from proofyard.records.claim_facts import ClaimFact
from proofyard.shots.loosed import Loosed, LoosedShot, load_loosed
from proofyard.storage import Storage
from proofyard.views.address import Query, last
from proofyard.views.axes import AXES, ROWS, edges_text
from proofyard.views.cells import Cell, CountedShot, RowGroup, Tally, rows_of, table_of, tally_of
from proofyard.views.counted import NO_TOTALS, OFF_AXIS, CountedView, Finding, count_shots
from proofyard.views.pair_comparison import pair_families
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import asked_trial, wants_pool


@dataclass(frozen=True)
class HeadGroup:
    """One row of heads: its cells from the lowest band up, and its shots that stand nowhere on the axis.

    form  the row's key; `id` the same for an element; `who` inside a sentence
    """

    form: str
    id: str
    words: str
    who: str
    glyph: str
    cells: tuple[Cell, ...]
    unmeasured: tuple[CountedShot, ...]
    unmeasured_href: str
    method: str

    @property
    def unmeasured_tally(self) -> Tally:
        return tally_of(self.unmeasured, self.method)

    @property
    def shots(self) -> int:
        return sum(cell.tally.shots for cell in self.cells)


@dataclass(frozen=True)
class Limits:
    """Of bands, and of groups by a measure; each as a person would type them, with their unit."""

    unit: str
    edges: str
    row_unit: str
    row_edges: str


@dataclass(frozen=True)
class Results(CountedView):
    """What all pages of results show.

    to_check       what to check before these counts are trusted, those that weigh most first
    totals_hidden  energies were chosen by the outcomes: what is counted over all energies means nothing
    claim          of the one trial that the view shows, if it has one; trial_shots: all of that trial, whatever else is picked
    """

    groups: tuple[HeadGroup, ...]
    finding: Finding
    to_check: tuple[Caveat, ...]
    totals_hidden: bool
    claim: ClaimFact | None = None
    trial_shots: tuple[LoosedShot, ...] = ()

    @property
    def hidden(self) -> bool:
        """Whether even the one band is a total that means nothing."""
        return self.totals_hidden and len(self.bands) == 1

    @cached_property
    def about(self) -> tuple[Reason, ...]:
        """What to know of the counts."""
        return tuple(about_counts([cell for group in self.groups for cell in group.cells], self.counted_shots, settings=self.settings))

    @property
    def everything(self) -> Tally | None:
        """All bands together, with those that may be fair or not as bounds."""
        if not self.open_shots or self.totals_hidden:
            return None
        return tally_of(self.counted_shots, self.settings.method, open_shots=len(self.open_shots))

    @cached_property
    def notes(self) -> Mapping[str, tuple[str, ...]]:
        """What stands beside a cell's count."""
        return notes_by_group(self.to_check)

    @property
    def off_axis_words(self) -> str:
        """What is said of shots that stand nowhere on the axis."""
        keys = {row.key for row in self.left_out} & set(OFF_AXIS)
        return "not measured" if keys <= {"not_measured"} else "not known"

    @property
    def limits(self) -> "Limits":
        """The band limits as they are, for who wants others."""
        settings = self.settings
        rows = edges_text(settings.row_edges) if settings.row_edges else ""
        return Limits(AXES[settings.axis].unit, edges_text(self.edges), ROWS[settings.rows].shown_unit, rows)


def read_results(book: Storage, query: Query, *, only_trial: str | None = None, reader: str = "metric") -> Results:
    """The results of a book as an address asks for them, of one panel type. `only_trial`: all that this viewer may see."""
    with book.read() as session:
        loosed = load_loosed(session, pool=wants_pool(query), trial_id=asked_trial(query, only_trial))
        facts = caveat_facts(session, loosed.facts)
        trial = only_trial or last(query, "trial")
        claim = loosed.claims.get(trial) if trial else None
        # A claim's answer must not move with what a view takes from like arrows.
        asked = load_loosed(session, trial_id=trial) if claim is not None and wants_pool(query) else loosed
    found = results_of(loosed.of_trial(only_trial), query, facts=facts, one_type=True, reader=reader)
    return found if claim is None else replace(found, claim=claim, trial_shots=asked.of_trial(trial).shots)


def results_of(loosed: Loosed, query: Query, *, facts: CaveatFacts = NO_FACTS, one_type: bool = False, reader: str = "metric") -> Results:
    """The results of these shots. `facts`: what caveats ask for beside them."""
    view = count_shots(loosed, query, one_type=one_type, reader=reader)
    rows = rows_of({one.row for one in (*view.counted_shots, *view.open_shots, *view.off_axis)}, view.settings)
    table = _table(rows, view, counted=view.counted_shots, unsure=view.open_shots)
    cells = [cell for row in table for cell in row]
    about = view_of_results(loosed, view.counted_shots, cells=cells, facts=facts, settings=view.settings)
    to_check = caveats_of(about)
    hidden = any(one.kind == "chosen_energies" for one in to_check)
    lists, method = view.lists, view.settings.method
    return Results(
        **view.as_fields,
        groups=tuple([_group(row, mine, view, lists=lists, method=method) for row, mine in zip(rows, table, strict=True)]),
        finding=NO_TOTALS if hidden and len(view.bands) < 2 else _finding(rows, cells, view, loosed=loosed),
        to_check=to_check,
        totals_hidden=hidden,
    )


def _table(
    rows: Sequence[RowGroup], view: CountedView, *, counted: Sequence[CountedShot], unsure: Sequence[CountedShot]
) -> list[tuple[Cell, ...]]:
    return table_of(rows, view.bands, counted=counted, not_known=unsure, method=view.settings.method, list_href=view.lists)


def _finding(rows: Sequence[RowGroup], cells: Sequence[Cell], view: CountedView, *, loosed: Loosed) -> Finding:
    """The finding. Where panel types are mixed, that of the type with the clearest finding: a share of a mixture says little."""
    through = view.settings.through
    types = {panel_type_of(one.shot.fact)[0] for one in view.counted_shots}
    families = (
        {one.key: one for one in pair_families(loosed, view.settings, counted=view.counted_shots)} if view.settings.rows == "form" else {}
    )
    if len(types) < 2:
        return finding_of(cells, through, loosed=view.loosed, counted=view.counted, family=families.get(next(iter(types), "")))
    found = []
    for value in sorted(types):
        mine, unsure = ([one for one in some if panel_type_of(one.shot.fact)[0] == value] for some in (view.counted_shots, view.open_shots))
        of_type = [cell for row in _table(rows, view, counted=mine, unsure=unsure) for cell in row]
        found.append(finding_of(of_type, through, loosed=view.loosed, counted=len(mine), family=families.get(value)))
    return max(found, key=lambda one: one.weight)


def _group(row: RowGroup, cells: tuple[Cell, ...], view: CountedView, *, lists: str, method: str) -> HeadGroup:
    without = tuple([one for one in view.off_axis if one.row == row.key])
    return HeadGroup(
        form=row.key,
        id=row.key.replace(".", "_"),
        words=row.words,
        who=row.who,
        glyph=row.glyph,
        cells=cells,
        unmeasured=without,
        unmeasured_href=f"{lists}&cell={row.key}:not_measured",
        method=method,
    )
