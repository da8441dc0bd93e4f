"""What the page of comparisons shows: the view's settings, the groups in it, what each shows, and what is left out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from proofyard.answers.compare.asked import CompareAsked, compare_asked
from proofyard.answers.compare.groups import Comparison, ShotGroup, compare_groups
from proofyard.answers.compare.told import FamilyOut, families_told, more_of, title_of
from proofyard.caveats.caveat import Caveat, view_of_results
from proofyard.caveats.collected import caveats_of
from proofyard.caveats.over_time import energies_chosen
from proofyard.charts.figure import Figure
from proofyard.charts.group_rows import GroupRow
from proofyard.charts.share_forest import share_forest
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.caveat_facts import NO_FACTS, CaveatFacts, caveat_facts
from proofyard.shots.loosed import Loosed, LoosedShot, load_loosed
from proofyard.storage import Storage
from proofyard.views.address import Query, address
from proofyard.views.cells import CountedShot, RowGroup
from proofyard.views.counted import NO_TOTALS, SET_APART, CountedView, Finding, count_shots
from proofyard.views.pair_comparison import pair_families
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import ViewSettings, asked_trial, wants_pool
from proofyard.wording.left_out import REASONS

SMALL = 10  # fewer than this on one side, and the page says that numbers are small


@dataclass(frozen=True)
class GroupOut:
    """A group as the page shows it: what counts, what doesn't, and why."""

    row: RowGroup
    group: ShotGroup | None
    counted: int
    counts: Reason

    @property
    def id(self) -> str:
        return self.row.key.replace(".", "_")


@dataclass(frozen=True)
class PanelTypeAlone:
    """One panel type, where the view mixes several: its words, how many shots, and the view of it alone."""

    words: str
    shots: int
    href: str


@dataclass(frozen=True)
class CompareFindings(CountedView):
    """All that the page shows. `found` is CantTell with its reason where there is nothing to compare."""

    compare: CompareAsked
    finding: Finding
    found: Comparison | CantTell
    groups: tuple[GroupOut, ...]
    forest: Figure | None
    families: tuple[FamilyOut, ...]
    panel_types: tuple[PanelTypeAlone, ...]
    small: Reason | None
    to_check: tuple[Caveat, ...]

    @property
    def comparison(self) -> Comparison | None:
        return None if isinstance(self.found, CantTell) else self.found

    @property
    def results_href(self) -> str:
        return self.settings.address(edges=self.settings.edges)

    @property
    def fifty_percent_href(self) -> str:
        return self.settings.address("/fifty-percent")

    @property
    def wear_href(self) -> str:
        return compare_address(self.settings, path="/compare/wear")


def compare_address(settings: ViewSettings, pairs: Sequence[tuple[str, str]] = (), *, path: str = "/compare") -> str:
    """The address of a comparison in this view."""
    return address(path, [*settings.pairs(), *pairs])


def read_comparison(book: Storage, query: Query, *, only_trial: str | None = None, reader: str = "metric") -> CompareFindings:
    """The comparison of a book as an address asks for it. `only_trial`: all that this viewer may see."""
    with book.read() as session:
        loosed = load_loosed(session, pool=wants_pool(query), trial_id=asked_trial(query, only_trial))
        facts = caveat_facts(session, loosed.facts)
    return comparison_of(loosed.of_trial(only_trial), query, facts=facts, reader=reader)


def comparison_of(loosed: Loosed, query: Query, *, facts: CaveatFacts = NO_FACTS, reader: str = "metric") -> CompareFindings:
    """The comparison of these shots. `facts`: what caveats ask for beside them."""
    view = count_shots(loosed, query, by_form=True, reader=reader)
    settings = view.settings
    compare = compare_asked(query, loosed, settings=settings, counted=view.shots.counted)
    by_group = [
        ShotGroup(row, _of_group(view.counted_shots, row, compare), _of_group(view.open_shots, row, compare)) for row in compare.groups
    ]
    placed = [one.energy.value for group in by_group for one in (*group.shots, *group.not_known) if one.energy]
    bands = view.bands_for(placed)
    families = pair_families(loosed, settings, kind=compare.kind)
    found = compare_groups(by_group, bands=bands, families=families, method=settings.method, picked=compare.picked)
    told = None if isinstance(found, CantTell) else found
    full = {group.key: group for group in told.groups} if told else {}
    cells = [cell for group in full.values() for cell in group.cells]
    of_caveats = view_of_results(
        loosed, [one for group in full.values() for one in group.shots], cells=cells, facts=facts, settings=settings
    )
    of_caveats = replace(of_caveats, varied=compare.kind.varies, alike=None)  # no interval of that kind is on this page
    one_level = len({cell.band for cell in cells if cell.shots}) == 1
    groups = tuple(_group_out(row, full.get(row.key), loosed, compare, view) for row in compare.groups)
    return CompareFindings(
        **view.as_fields,
        compare=compare,
        finding=NO_TOTALS if one_level and energies_chosen(of_caveats) else _finding(found, groups, view),
        found=found,
        groups=groups,
        forest=_forest(told, settings) if told else None,
        families=families_told(told, kind=compare.kind, through=settings.through) if told else (),
        panel_types=_panel_types(view.shots.counted, settings, compare),
        small=_small(told) if told else None,
        to_check=caveats_of(of_caveats) if full else (),
    )


def _of_group(shots: Sequence[CountedShot], row: RowGroup, compare: CompareAsked) -> tuple[CountedShot, ...]:
    return tuple(one for one in shots if compare.kind.group(one.shot.fact).key == row.key)


def _finding(found: Comparison | CantTell, groups: Sequence[GroupOut], view: CountedView) -> Finding:
    if isinstance(found, CantTell):
        if view.loosed == 0:
            return Finding(because("no_shots_yet"), (because("no_shot_matches"),))
        empty = tuple(because("group_and_counts", name=one.row.words, counts=one.counts) for one in groups if not one.counted)
        return Finding(because("nothing_to_compare", why=found.reason), empty)
    return Finding(title_of(found), (more_of(found),))


def _group_out(row: RowGroup, group: ShotGroup | None, loosed: Loosed, compare: CompareAsked, view: CountedView) -> GroupOut:
    def mine(shots: Sequence[LoosedShot]) -> int:
        return sum(compare.kind.group(shot.fact).key == row.key for shot in shots)

    every, counted = mine([shot for shot in loosed.shots if view.settings.takes(shot.fact)]), mine(view.shots.counted)
    left = {key: mine(some) for key, some in view.shots.apart.items()}
    apart = tuple(f"{left[key]} {_reason(key)}" for key in REASONS if left.get(key))
    return GroupOut(row, group, counted, because("group_counted", counted=counted, loosed=every, apart=apart))


def _reason(key: str) -> str:
    words = REASONS[key].words
    words = words[:1].lower() + words[1:]
    return f"{words} (not tested)" if key in SET_APART else words


def _forest(found: Comparison, settings: ViewSettings) -> Figure:
    """The shares under each other, those of one energy level together."""
    rows = [
        GroupRow(group.words, cell.tally, heading=cell.band.with_unit, glyph=group.row.glyph)
        for band in found.bands
        for group in found.groups
        for cell in group.cells
        if cell.band == band and cell.shots
    ]
    return share_forest("Shares by energy level", rows, through_words=settings.through.past)


def _panel_types(counted: Sequence[LoosedShot], settings: ViewSettings, compare: CompareAsked) -> tuple[PanelTypeAlone, ...]:
    """Where heads are compared over several panel types: each panel type's own view, the one with the most shots first."""
    if compare.kind.of_panels or compare.kind.free:
        return ()
    found: dict[str, list[str]] = {}
    for shot in counted:
        value, words = panel_type_of(shot.fact)
        found.setdefault(value, []).append(words)
    if len(found) < 2:
        return ()
    alone = [
        PanelTypeAlone(
            words[0], len(words), compare_address(replace(settings, only={**settings.only, "panel_type": value}), compare.pairs())
        )
        for value, words in found.items()
    ]
    return tuple(sorted(alone, key=lambda one: -one.shots))


def _small(found: Comparison) -> Reason | None:
    """Said where any group that is compared has few shots."""
    few = [min(len(pair.first.shots), len(pair.second.shots)) for pair in found.pairs]
    return because("small_numbers", least=min(few)) if few and min(few) < SMALL else None
