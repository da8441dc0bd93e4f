"""Whether a place can lie on its panel: a figure measured from the edge, or a slip of a digit, lands beside it."""

from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from proofyard.records.panel import Panel, PanelBuild
from proofyard.records.trial import Setup, ShootingEnd
from proofyard.records.typed_values import Problem

# A flat panel ends at its edge, give or take a tape and a finger. A shaped one is measured along its curve, which round
# half a cylinder is π/2 times as long as it is wide.
FLAT, FLAT_MORE_M, CURVED = 1.02, 0.010, 1.6
ON_IT = ("on_panel", "partial")
SIDES = (("x", "width", ("right of", "left of")), ("y", "height", ("above", "below")))


def farthest_from_middle(panel: Panel) -> tuple[float | None, float | None]:
    """How far across and how far up or down a hit can lie, in m; None where that size is not in the book."""

    def reach(size_m: float | None) -> float | None:
        if not size_m:
            return None
        return size_m / 2 * FLAT + FLAT_MORE_M if panel.outline in ("rectangle", "disc") else size_m / 2 * CURVED

    return reach(panel.width_m), reach(panel.height_m)


def off_the_panel(session: Session, shooting_end_id: str, *, said: Mapping[str, Any], whole: Mapping[str, Any]) -> list[Problem]:
    """What is wrong with a place that this operation gives; `said`: its body. One statement, and only where a place is said."""
    if whole.get("hit") not in ON_IT or not {"x", "y", "hit"} & set(said) or whole.get("x_m") is None:
        return []
    panel = session.execute(
        select(Panel)
        .join(PanelBuild, PanelBuild.panel_id == Panel.id)
        .join(Setup, Setup.panel_build_id == PanelBuild.id)
        .join(ShootingEnd, ShootingEnd.setup_id == Setup.id)
        .where(ShootingEnd.id == shooting_end_id)
    ).scalar()
    if panel is None:
        return []
    problems = []
    for (name, size, words), most in zip(SIDES, farthest_from_middle(panel), strict=True):
        at = whole.get(f"{name}_m")
        if most is not None and at is not None and abs(at) > most:
            whole_m = getattr(panel, f"{size}_m")
            problems.append(
                Problem(
                    name,
                    f"{abs(at) * 1000:.0f} mm {words[at < 0]} the middle is off {panel.name}: its {size} is {whole_m * 1000:.0f} mm, "
                    f"so its edge is "
                    f"{whole_m * 500:.0f} mm from the middle. Measure from the middle. If the {size} is wrong, correct the panel first.",
                )
            )
    return problems
