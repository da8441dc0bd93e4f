"""Every panel with each of its builds, in one statement."""

from sqlalchemy import select
from sqlmodel import Session

from proofyard.records.panel import Panel, PanelBuild


def panels_with_builds(session: Session) -> list[tuple[Panel, PanelBuild]]:
    """By the panel's name, its newest build first; what is crossed out is left out."""
    query = (
        select(Panel, PanelBuild)
        .join(PanelBuild, PanelBuild.panel_id == Panel.id)
        .where(Panel.voided_rev.is_(None), PanelBuild.voided_rev.is_(None))
        .order_by(Panel.name, Panel.id, PanelBuild.number.desc(), PanelBuild.id.desc())
    )
    return [(panel, build) for panel, build in session.execute(query)]
