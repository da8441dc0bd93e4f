"""Several trials counted in the same way and laid side by side: the same heads, the same bands of energy, one cell a trial."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from server.findings.axes import AXES, on_axis
from server.findings.bands import Band, bands_of, default_edges
from server.findings.cells import Cell, CountedShot, counted_shot, make_cell
from server.findings.comparison.kinds import KINDS
from server.findings.comparison.levels import level_pair
from server.findings.comparison.sentences import size_words
from server.findings.half.point import half_point, point_words
from server.findings.left_out import OFF_AXIS, REASONS, standing
from server.findings.loosed import LoosedShot
from server.findings.row_groups import RowGroup, rows_of
from server.findings.view_settings import ViewSettings, sort_of


@dataclass(frozen=True)
class Counted:
    """One trial's shots under a view's settings. loosed = counted + open + without an energy + left out.

    open_shots  fair or not isn't known: in the bounds only
    left_out    reason in words -> how many
    """

    counted: tuple[LoosedShot, ...]
    open_shots: tuple[LoosedShot, ...]
    off_axis: tuple[LoosedShot, ...]
    left_out: tuple[tuple[str, int], ...]
    loosed: int

    @property
    def in_question(self) -> tuple[LoosedShot, ...]:
        """Those whose outcome counts, with a measured energy or not: what is asked for differences in kit."""
        return self.counted + self.off_axis


def count_shots(shots: Sequence[LoosedShot], settings: ViewSettings) -> Counted:
    """Sort one trial's standing shots as the results page does."""
    by_reason: dict[str | None, list[LoosedShot]] = {}
    mine = [shot for shot in shots if not settings.heads or (shot.fact.form or "not_said") in settings.heads]
    for shot in mine:
        by_reason.setdefault(standing(shot, settings), []).append(shot)
    counted, unsure = by_reason.pop(None, []), by_reason.pop("not_known", [])
    off_axis = [shot for key in OFF_AXIS for shot in by_reason.pop(key, [])]
    left = [(REASONS[key].words, len(by_reason[key])) for key in REASONS if key in by_reason]
    return Counted(tuple(counted), tuple(unsure), tuple(off_axis), tuple(left), len(mine))


@dataclass(frozen=True)
class BandRow:
    """One band of energy of one head: a cell for each trial, in their order; and each against the next, in words."""

    band: Band
    cells: tuple[Cell, ...]
    said: tuple[str, ...] = ()


@dataclass(frozen=True)
class HeadRows:
    """One head form: its bands; for each trial its shots that stand in no band, and the energy at which half get through."""

    row: RowGroup
    bands: tuple[BandRow, ...]
    off_axis: tuple[int, ...]
    halves: tuple[str, ...]

    @property
    def everywhere(self) -> bool:
        """Whether every trial has a shot of this head in a band."""
        cells = zip(*(one.cells for one in self.bands), strict=True)
        return all(any(cell.shots for cell in of_trial) for of_trial in cells)


@dataclass(frozen=True)
class SideBySide:
    heads: tuple[HeadRows, ...]
    edges: tuple[float, ...]
    bands: tuple[Band, ...]


def side_by_side(trials: Sequence[Counted], settings: ViewSettings, *, trial_ids: Sequence[str], names: Sequence[str], reader: str) -> SideBySide:
    """The same bands for all: those that were asked for, or round ones that suit the shots of all trials together."""
    together = [shot for one in trials for shot in (*one.counted, *one.open_shots)]
    energies = [energy for shot in together if (energy := on_axis(shot, AXES["energy"], place=settings.place)) is not None]
    edges = settings.edges or default_edges(energies)
    counted = [[counted_shot(shot, settings, edges=edges) for shot in one.counted] for one in trials]
    unsure = [[counted_shot(shot, settings, edges=edges) for shot in one.open_shots] for one in trials]
    off_axis = [[counted_shot(shot, settings, edges=edges) for shot in one.off_axis] for one in trials]
    bands = bands_of(edges, [energy.value for energy in energies])
    keys = (one.row for some in (*counted, *unsure, *off_axis) for one in some)
    heads = tuple(
        HeadRows(
            row,
            tuple(_band_row(row, band, counted, unsure, settings=settings, edges=edges, trial_ids=trial_ids) for band in bands),
            tuple(sum(one.row == row.key for one in some) for some in off_axis),
            tuple(_half_words(mine, without, row.key, reader=reader) for mine, without in zip(counted, off_axis, strict=True)),
        )
        for row in rows_of(keys, settings)
    )
    return SideBySide(tuple(_told(head, names) for head in heads), tuple(edges), bands)


def _told(head: HeadRows, names: Sequence[str]) -> HeadRows:
    """Without the bands in which no trial shot this head; the others with how far each trial stands from the next."""
    bands = [one for one in head.bands if any(cell.shots or cell.not_known for cell in one.cells)]
    return replace(head, bands=tuple(replace(one, said=tuple(_apart_words(one.cells, names))) for one in bands))


def _apart_words(cells: Sequence[Cell], names: Sequence[str]) -> list[str]:
    """Size and doubt of the difference between a trial and the next one; or why the two may not be ranked here."""
    said = []
    for n, (first, second) in enumerate(pairwise(cells)):
        if not first.shots or not second.shots:
            continue
        found = level_pair(first, second, kind=KINDS["trial"], level=0.95)
        could = found.could_show()
        who = f"{names[n]} against {names[n + 1]}"
        if found.unlike or found.gap is None:
            said.append(f"{who}: not ranked, since {found.unlike.full if found.unlike else 'nothing is known of the energies'}.")
        elif could is not None and not could.can_tell:
            said.append(f"{who}: {could.words}.")
        else:
            said.append(f"{who}: {size_words(found.gap).removeprefix('That is ')}")
    return said


def _half_words(counted: Sequence[CountedShot], off_axis: Sequence[CountedShot], row: str, *, reader: str) -> str:
    mine = [one for one in counted if one.row == row]
    if not mine:
        return "none shot"
    sorts = {sort_of(one.shot.fact)[0] for one in mine}
    if len(sorts) > 1:
        return f"not placed: it was shot at {len(sorts)} sorts of panel, which have no one such energy"
    return point_words(half_point(mine, unmeasured=sum(one.row == row for one in off_axis)), reader=reader)


def _band_row(
    row: RowGroup,
    band: Band,
    counted: Sequence[Sequence[CountedShot]],
    unsure: Sequence[Sequence[CountedShot]],
    *,
    settings: ViewSettings,
    edges: Sequence[float],
    trial_ids: Sequence[str],
) -> BandRow:
    return BandRow(
        band,
        tuple(
            make_cell(
                row, band, counted=[one for one in mine if one.row == row.key], not_known=[one for one in open_shots if one.row == row.key],
                method=settings.method,
                href=replace(settings, only={"trial": trial_id}).address("/results/shots", edges=edges, cell=f"{row.key}:{band.value}"),
            )
            for mine, open_shots, trial_id in zip(counted, unsure, trial_ids, strict=True)
        ),
    )  # fmt: skip
