"""Several trials counted in the same way and laid side by side: the same heads, the same bands of energy, one cell a trial."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from proofyard.quantities import unit_for_reader
from proofyard.quantities.reason import Reason, because
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.views.axes import AXES, Band, bands_of, default_edges, on_axis
from proofyard.views.cells import Cell, CountedShot, RowGroup, counted_shot, make_cell, rows_of
from proofyard.views.comparable import KINDS
from proofyard.views.counted import OFF_AXIS, standing
from proofyard.views.curve import fifty_percent_of, told_of
from proofyard.views.pair_comparison import PairFamily, pair_families, pair_notes, pair_told
from proofyard.views.panel_type import panel_type_of
from proofyard.views.settings import ViewSettings
from proofyard.wording.left_out import REASONS


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
    mine = [shot for shot in shots if not settings.heads or (shot.fact.form or "not_recorded") in settings.heads]
    for shot in mine:
        by_reason.setdefault(standing(shot, settings), []).append(shot)
    counted, unsure = by_reason.pop(None, []), by_reason.pop("not_known", [])
    off_axis = [shot for key in OFF_AXIS for shot in by_reason.pop(key, [])]
    left = [(REASONS[key].words, len(by_reason[key])) for key in REASONS if key in by_reason]
    return Counted(tuple(counted), tuple(unsure), tuple(off_axis), tuple(left), len(mine))


@dataclass(frozen=True)
class BandRow:
    """One band of energy of one head: a cell for each trial, in their order."""

    band: Band
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class HeadRows:
    """One head form: its bands; for each trial its shots that stand in no band, and the 50 % energy; each trial against the next."""

    row: RowGroup
    bands: tuple[BandRow, ...]
    off_axis: tuple[int, ...]
    fifty_percents: tuple[Reason, ...]
    told: tuple[Reason, ...] = ()

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


def side_by_side(
    trials: Sequence[Counted], settings: ViewSettings, *, trial_ids: Sequence[str], names: Sequence[str], reader: str = "metric"
) -> SideBySide:
    """The same bands for all: those that were asked for, or round ones that suit the shots of all trials together."""
    together = [shot for one in trials for shot in (*one.counted, *one.open_shots)]
    energies = [energy for shot in together if (energy := on_axis(shot, AXES["energy"], place=settings.place)) is not None]
    edges = settings.edges or default_edges(energies)
    counted = [[counted_shot(shot, settings, edges=edges) for shot in one.counted] for one in trials]
    unsure = [[counted_shot(shot, settings, edges=edges) for shot in one.open_shots] for one in trials]
    off_axis = [[counted_shot(shot, settings, edges=edges) for shot in one.off_axis] for one in trials]
    bands = bands_of(edges, [energy.value for energy in energies], shown=unit_for_reader("energy", reader))
    keys = (one.row for some in (*counted, *unsure, *off_axis) for one in some)
    heads = tuple(
        HeadRows(
            row,
            tuple(_band_row(row, band, counted, unsure, settings=settings, edges=edges, trial_ids=trial_ids) for band in bands),
            tuple(sum(one.row == row.key for one in some) for some in off_axis),
            tuple(_fifty_percent(mine, without, row.key) for mine, without in zip(counted, off_axis, strict=True)),
        )
        for row in rows_of(keys, settings)
    )
    families = _families([shot for one in trials for shot in one.counted], settings, names=dict(zip(trial_ids, names, strict=True)))
    return SideBySide(tuple(_told(head, families, trial_ids) for head in heads), tuple(edges), bands)


def _families(shots: Sequence[LoosedShot], settings: ViewSettings, *, names: Mapping[str, str]) -> tuple[PairFamily, ...]:
    """Trials against each other, a family for each head."""

    def of_trial(fact: ShotFact) -> RowGroup:
        return RowGroup(fact.trial_id, names[fact.trial_id], f"shots of {names[fact.trial_id]}")

    return pair_families(Loosed(tuple(shots), (), {}), settings, kind=replace(KINDS["trial"], group=of_trial))


def _told(head: HeadRows, families: Sequence[PairFamily], trial_ids: Sequence[str]) -> HeadRows:
    """Without the bands in which no trial shot this head; and how each trial stands to the next."""
    bands = [one for one in head.bands if any(cell.shots or cell.not_known for cell in one.cells)]
    mine = [family for family in families if family.key.partition("+")[0] == head.row.key]
    pairs = [pair for one, other in pairwise(trial_ids) for family in mine if (pair := family.pair(one, other)) is not None]
    told = [said for pair in pairs for said in (because("sentence_of_its_own", why=pair_told(pair)), *pair_notes(pair))]
    return replace(head, bands=tuple(bands), told=tuple(dict.fromkeys(told)))


def _fifty_percent(counted: Sequence[CountedShot], off_axis: Sequence[CountedShot], row: str) -> Reason:
    mine = [one for one in counted if one.row == row]
    if not mine:
        return because("none_shot")
    types = {panel_type_of(one.shot.fact)[0] for one in mine}
    if len(types) > 1:
        return because("estimate_of_mixed_types", types=len(types))
    return told_of(fifty_percent_of(mine, unmeasured=sum(one.row == row for one in off_axis)))


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
                row,
                band,
                counted=[one for one in mine if one.row == row.key],
                not_known=[one for one in open_shots if one.row == row.key],
                method=settings.method,
                href=replace(settings, only={"trial": trial_id}).address("/results/shots", edges=edges, cell=f"{row.key}:{band.value}"),
            )
            for mine, open_shots, trial_id in zip(counted, unsure, trial_ids, strict=True)
        ),
    )
