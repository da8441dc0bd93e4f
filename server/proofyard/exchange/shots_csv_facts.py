"""Columns of shots.csv that say in numbers what a hit's fairness rests on, what the panel weighs, and how hard it and the head are."""

from collections.abc import Iterable

from proofyard.exchange.csv_writing import Column
from proofyard.exchange.shots_csv_columns import Ask, PieceHardness, ShotRow, number_column, text_column
from proofyard.records.instrument import HardnessReading
from proofyard.shots.hardness_found import by_piece, hardness_hv, on_rockwell_c
from proofyard.wording.fairness import UNNAMED


def _of_hit(name: str) -> Ask:
    return lambda row: getattr(row.fair_figures, name) if row.fair_figures else None


def _rule(name: str) -> Ask:
    return lambda row: getattr(row.fair_figures.rules, name) if row.fair_figures else None


def _nearest(row: ShotRow, *, as_id: bool) -> str | None:
    """The earlier hit, unnamed where it is of another trial than this reader may see."""
    figures = row.fair_figures
    if figures is None or figures.nearest is None:
        return None
    if row.fetched.within is not None and figures.nearest.trial_id != row.shot.fact.trial_id:
        return None if as_id else UNNAMED
    return figures.nearest.shot_id if as_id else figures.nearest.label


FAIRNESS = (
    number_column(
        "fair_nearest_m",
        "How far the nearest earlier hit on this build of the panel lay, of those known to be earlier",
        "m",
        "worked out",
        _of_hit("nearest_m"),
    ),
    text_column("fair_nearest_shot", "Label of the shot that made that hit", "worked out", lambda r: _nearest(r, as_id=False)),
    text_column("fair_nearest_shot_id", "Identifier of that shot", "worked out", lambda r: _nearest(r, as_id=True)),
    number_column("fair_edge_m", "How far inside the panel’s edge it lay; below 0 outside", "m", "worked out", _of_hit("from_edge_m")),
    number_column(
        "fair_limit_opened_m",
        "Nearer to a hit that opened it: not fair; the trial’s, else the default",
        "m",
        "typed",
        _rule("near_opened_m"),
    ),
    number_column("fair_limit_dented_m", "Nearer to a dent: not fair, likewise", "m", "typed", _rule("near_dented_m")),
    number_column("fair_limit_edge_m", "Nearer to the panel’s edge: not fair, likewise", "m", "typed", _rule("near_edge_m")),
    number_column("fair_position_accuracy_m", "So near a limit: undecided, likewise", "m", "typed", _rule("position_accuracy_m")),
)


def _areal_figure(name: str) -> Ask:
    return lambda row: getattr(row.areal.value, name) if row.areal and row.areal.value else None


def hardness_by_piece(rows: Iterable[HardnessReading]) -> dict[str, PieceHardness]:
    """Of every panel build and head that was read, by its id."""
    return {piece: PieceHardness(hardness_hv(mine), *on_rockwell_c(mine)) for piece, mine in by_piece(rows).items()}


def _hardness_columns(what: str, words: str, piece: str) -> tuple[tuple[Column, Ask], ...]:
    def of(name: str) -> Ask:
        return lambda row: getattr(getattr(row, piece), name)

    picked = "where it was read in one place; empty: open, or not read so"
    return (
        number_column(
            f"{what}_hardness_hv",
            f"Hardness of the {words} on the Vickers scale: the middle of what picks and testers leave; empty where an end is open",
            "HV",
            "worked out",
            of("hv"),
        ),
        number_column(f"{what}_hardness_low_hrc", f"Low end for the {words}, {picked}", "HRC", "worked out", of("low_hrc")),
        number_column(f"{what}_hardness_high_hrc", f"High end of it, {picked}", "HRC", "worked out", of("high_hrc")),
    )


MATERIAL = (
    number_column(
        "panel_areal_kg_m2", "What a square metre of this build weighs, as in panels.csv", "kg/m²", "worked out", _areal_figure("value")
    ),
    number_column(
        "panel_areal_u_kg_m2", "Standard uncertainty of that (GUM)", "kg/m²", "worked out", _areal_figure("standard_uncertainty")
    ),
    *_hardness_columns("panel", "panel’s build", "panel_hardness"),
    *_hardness_columns("head", "head", "head_hardness"),
)
