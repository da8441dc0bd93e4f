"""A panel build with its hits so far: drawn in order, listed, and which aim spots still have room for a fair one."""

from dataclasses import dataclass

from proofyard.charts.figure import Figure
from proofyard.quantities.reason import Reason, because
from proofyard.records.listing import belonging
from proofyard.records.panel import PanelArea, PanelBuild
from proofyard.records.trial_days import panels_of
from proofyard.shots.fair_hits import rules_of
from proofyard.shots.lines import ShotLine, shot_line
from proofyard.shots.loosed import loosed_on, on_the_panel, seen_from
from proofyard.storage import Session
from proofyard.views.panel_hits import PanelHits, hits_drawn, order_words, panel_hits
from proofyard.wording.panels import build_words, panel_title, panel_words


@dataclass(frozen=True)
class PanelPage:
    """A build's page: the panel, its hits, what else was loosed at it, and its other builds by id."""

    build_id: str
    panel_id: str
    heading: str
    lead: Reason
    hits: PanelHits
    in_order: Figure | None
    others_loosed: tuple[ShotLine, ...]
    builds: tuple[tuple[str, Reason], ...]


def read_panel(session: Session, build_id: str, *, reader: str, only_trial: str | None = None) -> PanelPage | None:
    """What a panel build's page shows; None if there is none, or none that this viewer may see."""
    builds = panels_of(session, build_id)
    if not builds or builds[0][0].id != build_id:
        return None
    build, panel = builds[0]
    shots = seen_from(loosed_on(session, [build_id]), only_trial)
    if only_trial is not None and not shots:
        return None
    areas = belonging(session, PanelArea, "panel_build_id", build_id)
    hits = panel_hits(
        panel, build, areas=areas, shots=shots, reader=reader, rules=rules_of(None, panel.construction), only_trial=only_trial
    )
    shown = list(enumerate(on_the_panel(shots), 1))
    on_it = {s.fact.shot_id for _, s in shown}
    return PanelPage(
        build_id=build_id,
        panel_id=panel.id,
        heading=f"Panel {build_words(panel, build)}",
        lead=because("panel_lead", hits=len(hits.hits), made=panel_words(panel), build=_build(build)),
        hits=hits,
        in_order=hits_drawn(panel_title(panel, build), shown, order=order_words(only_trial), reader=reader) if shown else None,
        others_loosed=tuple(shot_line(s, reader) for s in shots if s.fact.shot_id not in on_it),
        builds=() if only_trial else tuple((b.id, _build(b)) for b, _ in builds[1:]),
    )


def _build(build: PanelBuild) -> Reason:
    return because("panel_build", number=build.number, work=build.work, note=build.note)
