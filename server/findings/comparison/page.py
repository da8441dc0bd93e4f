"""What the page of comparisons shows: the view's settings, the groups in it, what each shows, and what is left out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from urllib.parse import urlencode

from server.charts.share_forest import ShareForest, ShareRow, share_forest
from server.findings.axes import AXES
from server.findings.bands import Band, bands_of, edges_text
from server.findings.caveats.caveat import Caveat
from server.findings.caveats.chosen_energies import energies_chosen
from server.findings.caveats.collected import caveats_of
from server.findings.caveats.of_results import view_of_results
from server.findings.comparison.asked import CompareAsked, Declared, compare_asked, declared_of
from server.findings.comparison.groups import MOST_GROUPS, Comparison, ShotGroup, compare_groups, shot_group
from server.findings.comparison.sentences import (
    CouldLine,
    QuestionLine,
    beside_sentence,
    could_lines,
    could_summary,
    level_sentence,
    more_of,
    question_lines,
    rank_sentence,
    title_of,
    unjudged_words,
    unlike_lines,
)
from server.findings.left_out import REASONS, SET_APART, LeftOut, left_out_rows
from server.findings.loosed import Loosed, LoosedShot, load_loosed
from server.findings.results import Sorted, ask, setting_names, sort_shots, suggested_edges
from server.findings.row_groups import RowGroup
from server.findings.sentences import NO_TOTALS, Finding, settings_words
from server.findings.view_settings import METHOD_WORDS, Asked, Choices, Query, ViewSettings, sort_of, wants_pool
from server.records.caveat_facts import CaveatFacts, caveat_facts
from server.statistics.refusals import CantTell
from server.storage import Storage

NO_FACTS = CaveatFacts()
SMALL = 10  # fewer than this on one side, and the page says that numbers are small


@dataclass(frozen=True)
class GroupOut:
    """A group as the page tells it: what counts, what doesn't, and why."""

    row: RowGroup
    group: ShotGroup | None
    counted: int
    loosed: int
    words: str

    @property
    def id(self) -> str:
        return self.row.key.replace(".", "_")


@dataclass(frozen=True)
class PairOut:
    """One pair in sentences. `shown`: something of it stands out from chance."""

    title: str
    levels: tuple[str, ...]
    unlike: tuple[str, ...]
    ranks: tuple[str, ...]
    beside: str
    shown: bool


@dataclass(frozen=True)
class SortAlone:
    """One sort of panel, where the view mixes several: its words, how many shots, and the view of it alone."""

    words: str
    shots: int
    href: str


@dataclass(frozen=True)
class CompareFindings:
    """All that the page shows. `found` is CantTell with its reason where there is nothing to compare."""

    asked: Asked
    choices: Choices
    compare: CompareAsked
    declared: Declared
    showing: str
    method: str
    edges: tuple[float, ...]
    bands: tuple[Band, ...]
    finding: Finding
    found: Comparison | CantTell
    groups: tuple[GroupOut, ...]
    forest: ShareForest | None
    pairs: tuple[PairOut, ...]
    could: tuple[CouldLine, ...]
    could_words: str
    questions: tuple[QuestionLine, ...]
    sorts: tuple[SortAlone, ...]
    small: str
    to_mind: tuple[Caveat, ...]
    left_out: tuple[LeftOut, ...]
    counted: int
    loosed: int
    struck: int
    results_href: str
    wear_href: str

    @property
    def settings(self) -> ViewSettings:
        return self.asked.settings

    @property
    def comparison(self) -> Comparison | None:
        return None if isinstance(self.found, CantTell) else self.found

    @property
    def edges_words(self) -> str:
        return edges_text(self.edges)

    @property
    def unit(self) -> str:
        return AXES[self.settings.axis].unit


def compare_address(settings: ViewSettings, pairs: Sequence[tuple[str, str]] = (), *, path: str = "/compare") -> str:
    """The address of a comparison in this view."""
    query = urlencode([*settings.pairs(), *pairs])
    return f"{path}?{query}" if query else path


def read_comparison(book: Storage, query: Query, *, only_trial: str | None = None) -> CompareFindings:
    """The comparison of a book as an address asks for it. `only_trial`: all that this viewer may see."""
    with book.read() as session:
        loosed = load_loosed(session, pool=wants_pool(query))
        facts = caveat_facts(session)
    return comparison_of(loosed.of_trial(only_trial), query, facts=facts)


def comparison_of(loosed: Loosed, query: Query, *, facts: CaveatFacts = NO_FACTS) -> CompareFindings:
    """The comparison of these shots. `facts`: what caveats ask for beside them."""
    choices, asked = ask(loosed, query)
    settings = replace(asked.settings, rows="form", row_edges=None)
    asked = replace(asked, settings=settings)
    shots = sort_shots(loosed, settings)
    not_known = shots.apart.get("not_known", ())
    compare = compare_asked(query, loosed, settings=settings, counted=shots.counted)
    declared = declared_of(compare, loosed, counted=shots.counted)
    edges = settings.edges or suggested_edges(settings, shots.counted, not_known)
    by_group = {row.key: _group(row, compare, shots, settings=settings, edges=edges) for row in compare.groups}
    placed = [one.energy.value for group in by_group.values() for one in (*group.shots, *group.not_known) if one.energy]
    bands = bands_of(edges, placed, unit=AXES[settings.axis].unit)
    found = compare_groups(list(by_group.values()), bands=bands, kind=compare.kind, declared=declared.pair, method=settings.method)
    full = {group.key: group for group in found.groups} if not isinstance(found, CantTell) else {}
    cells = [cell for group in full.values() for cell in group.cells]
    view = view_of_results(loosed, [one for group in full.values() for one in group.shots], cells=cells, facts=facts, settings=settings)
    view = replace(view, varied=compare.kind.varies, alike=None)  # no range of that sort stands on this page
    one_level = len({cell.band for cell in cells if cell.shots}) == 1
    groups = tuple(_group_out(row, full.get(row.key), loosed, compare, shots, settings) for row in compare.groups)
    return CompareFindings(
        asked=asked,
        choices=choices,
        compare=compare,
        declared=declared if isinstance(found, CantTell) else replace(declared, words=f"{declared.words} {unjudged_words(found)}".strip()),
        showing=settings_words(settings, setting_names(settings, choices)),
        method=METHOD_WORDS[settings.method],
        edges=tuple(edges),
        bands=bands,
        finding=NO_TOTALS if one_level and energies_chosen(view) else _finding(found, groups, loosed=shots.loosed, settings=settings),
        found=found,
        groups=groups,
        forest=None if isinstance(found, CantTell) else _forest(found, settings),
        pairs=() if isinstance(found, CantTell) else _pairs(found, settings),
        could=() if isinstance(found, CantTell) else tuple(could_lines(found)),
        could_words="" if isinstance(found, CantTell) else could_summary(found),
        questions=() if isinstance(found, CantTell) else tuple(question_lines(found)),
        sorts=_sorts(shots.counted, settings, compare),
        small=_small(found),
        to_mind=caveats_of(view) if full else (),
        left_out=left_out_rows(shots.apart, settings, edges=edges),
        counted=len(shots.counted),
        loosed=shots.loosed,
        struck=len(shots.struck),
        results_href=settings.address(edges=settings.edges),
        wear_href=compare_address(settings, path="/compare/wear"),
    )


def _group(row: RowGroup, compare: CompareAsked, shots: Sorted, *, settings: ViewSettings, edges: Sequence[float]) -> ShotGroup:
    mine, unsure = (_of_group(some, row, compare) for some in (shots.counted, shots.apart.get("not_known", ())))
    return shot_group(row, mine, settings=settings, edges=edges, not_known=unsure)


def _of_group(shots: Sequence[LoosedShot], row: RowGroup, compare: CompareAsked) -> list[LoosedShot]:
    return [shot for shot in shots if compare.kind.group(shot.fact).key == row.key]


def _finding(found: Comparison | CantTell, groups: Sequence[GroupOut], *, loosed: int, settings: ViewSettings) -> Finding:
    if isinstance(found, CantTell):
        if loosed == 0:
            return Finding("No shots here yet", ("Nothing in the book answers to what you picked.",))
        empty = tuple(f"{one.row.words}: {one.words}." for one in groups if not one.counted)
        return Finding(f"Nothing to compare: {found.reason}", empty)
    return Finding(title_of(found, settings.through), tuple(more_of(found)))


def _group_out(
    row: RowGroup, group: ShotGroup | None, loosed: Loosed, compare: CompareAsked, shots: Sorted, settings: ViewSettings
) -> GroupOut:
    every = [shot for shot in loosed.shots if settings.takes(shot.fact) and compare.kind.group(shot.fact).key == row.key]
    counted = len(_of_group(shots.counted, row, compare))
    apart = {key: len(_of_group(some, row, compare)) for key, some in shots.apart.items()}
    return GroupOut(row, group, counted, len(every), _left_words(counted, len(every), apart))


def _left_words(counted: int, loosed: int, apart: Mapping[str, int]) -> str:
    """ "5 of 8 loosed count; 2 not fair, 1 unread"; of a group that has none, the reasons are all there is to say."""
    said = [f"{apart[key]} {_reason(key)}" for key in REASONS if apart.get(key)]
    return f"{counted or 'none'} of {loosed} loosed count{'s' if counted == 1 else ''}" + (f"; {', '.join(said)}" if said else "")


def _reason(key: str) -> str:
    words = REASONS[key].words
    words = words[:1].lower() + words[1:]
    return f"{words} (not tested)" if key in SET_APART else words


def _forest(found: Comparison, settings: ViewSettings) -> ShareForest:
    """The shares under each other, those of one energy level together."""
    rows = [
        ShareRow(
            group.words, cell.tally.hits_low, cell.tally.hits_high, cell.tally.shots, cell.tally.interval_low, cell.tally.interval_high,
            heading=cell.band.with_unit, glyph=group.row.glyph,
        )
        for band in found.bands
        for group in found.groups
        for cell in group.cells
        if cell.band == band and cell.shots
    ]  # fmt: skip
    return share_forest("Shares by energy level", rows, through_words=settings.through.past)


def _pairs(found: Comparison, settings: ViewSettings) -> tuple[PairOut, ...]:
    out = []
    for pair in found.pairs:
        ranks: list[str] = []
        if pair.alike:
            ranks = [rank_sentence(pair, pair.depth, sort="depth"), rank_sentence(pair, pair.ladder, sort="ladder")]
            ranks = [rank_sentence(pair, pair.through, sort="through"), *ranks] if len(pair.alike) > 1 else ranks
        out.append(
            PairOut(
                f"{pair.first.words} against {pair.second.words}",
                tuple(level_sentence(pair, level, through=settings.through) for level in pair.alike),
                tuple(unlike_lines(pair)), tuple(ranks), beside_sentence(pair),
                any(one.judged and one.judged.shown for one in pair.questions),
            )
        )  # fmt: skip
    return tuple(out)


def _sorts(counted: Sequence[LoosedShot], settings: ViewSettings, compare: CompareAsked) -> tuple[SortAlone, ...]:
    """Where heads are compared over several sorts of panel: each sort's own view, the one with the most shots first."""
    if "sort" in compare.kind.about or compare.kind.free:
        return ()
    found: dict[str, list[str]] = {}
    for shot in counted:
        value, words = sort_of(shot.fact)
        found.setdefault(value, []).append(words)
    if len(found) < 2:
        return ()
    alone = [
        SortAlone(words[0], len(words), compare_address(replace(settings, only={**settings.only, "sort": value}), compare.address_pairs()))
        for value, words in found.items()
    ]
    return tuple(sorted(alone, key=lambda one: -one.shots))


def _small(found: Comparison | CantTell) -> str:
    """Said where any level that is compared has few on one side."""
    if isinstance(found, CantTell):
        return ""
    few = [min(level.first.tally.shots, level.second.tally.shots) for pair in found.pairs for level in pair.alike]
    if not few or min(few) >= SMALL:
        return ""
    least = "1 shot" if min(few) == 1 else f"{min(few)} shots"
    return f"These are small numbers, down to {least} of one at a level: the ranges are wide, and a single shot moves them."


__all__ = ["MOST_GROUPS", "CompareFindings", "compare_address", "comparison_of", "read_comparison"]
