"""A panel build with its hits so far: drawn in order, listed, and which aim spots still have room for a fair one."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from server.charts.hits_in_order import HitsInOrder
from server.charts.panel_drawing import AimSpot, Features, PanelDrawing, draw_panel
from server.charts.panel_words import Hit
from server.findings.drawing_of_hits import hits_drawn
from server.findings.fair_rules import FairRules, rules_of
from server.findings.loosed import LoosedShot
from server.findings.loosed_on import loosed_on
from server.findings.shot_lines import ShotLine, shot_line
from server.quantities import written
from server.records.listing import belonging
from server.records.panel import CONSTRUCTIONS, WORK, Panel, PanelArea, PanelBuild
from server.records.trial import RUNG_WORDS
from server.records.trial_days import panels_of
from server.storage import Session


@dataclass(frozen=True)
class PanelHits:
    """One build: its picture (None while its size is not in the book), its hits in order, and what is left of it."""

    build_id: str
    name: str
    words: str
    drawing: PanelDrawing | None
    hits: tuple[ShotLine, ...]
    caption: str
    room: str


@dataclass(frozen=True)
class OtherBuild:
    build_id: str
    words: str


@dataclass(frozen=True)
class PanelPage:
    """A build's page: the panel, its hits, what else was loosed at it, and its other builds."""

    build_id: str
    panel_id: str
    heading: str
    lead: str
    hits: PanelHits
    in_order: HitsInOrder | None
    others_loosed: tuple[ShotLine, ...]
    builds: tuple[OtherBuild, ...]


def panel_words(panel: Panel) -> str:
    """ "one-piece plate, 1.6 mm, mild steel": what it is, as far as it was written down."""
    said = [CONSTRUCTIONS[panel.construction].lower()] if panel.construction else []
    if panel.thickness_m is not None:
        said.append(written(panel.thickness_m, "mm"))
    if panel.material:
        said.append(panel.material)
    return ", ".join(said)


def build_words(panel: Panel, build: PanelBuild) -> str:
    """ "P3", or "P3, build 2" once there is more than the first."""
    return panel.name if build.number == 1 else f"{panel.name}, build {build.number}"


def panel_title(panel: Panel, build: PanelBuild) -> str:
    """What a picture of it is called: "Panel P3"."""
    name = build_words(panel, build)
    return name if name.lower().startswith("panel") else f"Panel {name}"


def struck_panel(shots: Sequence[LoosedShot]) -> list[LoosedShot]:
    """Those that left something on the panel, in order."""
    return [s for s in shots if not s.fact.struck and s.fact.hit in ("fair_target", "partial") and s.fact.purpose != "let_down"]


def panel_hits(
    panel: Panel, build: PanelBuild, *, areas: Sequence[PanelArea], shots: Sequence[LoosedShot], reader: str, rules: FairRules, only_trial: str | None = None, home: str | None = None
) -> PanelHits:
    """The build's hits. `shots`: all that were loosed at it, in order; `home`: hits of another trial than this say so.

    only_trial  what a viewer of one trial sees; the order still counts every hit, since it is the panel's
    """
    hits = list(enumerate(struck_panel(shots), 1))
    shown = [(n, s) for n, s in hits if only_trial is None or s.fact.trial_id == only_trial]
    unplaced = sum(s.fact.x_m is None or s.fact.y_m is None for _, s in shown)
    caption = "Figure: order on this panel. Letter: phone and its count. Tile: the rung."
    if unplaced:
        caption += f" {unplaced} with no known place {'is' if unplaced == 1 else 'are'} only in the list."
    return PanelHits(
        build_id=build.id,
        name=build_words(panel, build),
        words=panel_words(panel),
        drawing=_drawing(panel, build, areas=areas, shown=shown),
        hits=tuple(_elsewhere(shot_line(s, reader, mark=str(n)), s, home) for n, s in shown),
        caption=caption,
        room=room_words(areas, struck_panel(shots), rules=rules),
    )


def _elsewhere(line: ShotLine, shot: LoosedShot, home: str | None) -> ShotLine:
    if home is None or shot.fact.trial_id == home:
        return line
    # Its mark was worked out with this trial's rules, not its own: it is left away rather than said wrongly.
    return replace(line, small="in another trial")


def _drawing(panel: Panel, build: PanelBuild, *, areas: Sequence[PanelArea], shown: Sequence[tuple[int, LoosedShot]]) -> PanelDrawing | None:
    if not panel.width_m or not panel.height_m:
        return None
    hits = [
        Hit(n, s.fact.label, s.fact.x_m, s.fact.y_m, s.fact.outcome_low, s.fact.outcome_high, f"/shots/{s.fact.shot_id}", s.fact.hit == "partial")
        for n, s in shown
    ]
    return draw_panel(
        panel_title(panel, build),
        panel.outline or "rectangle",
        width_m=panel.width_m,
        height_m=panel.height_m,
        rung_words=RUNG_WORDS,
        features=_features(panel, areas),
        hits=hits,
    )


def _features(panel: Panel, areas: Sequence[PanelArea]) -> Features:
    rows = panel.rows or 0
    plates = round(panel.width_m / panel.plate_width_m) if rows and panel.width_m and panel.plate_width_m else 0
    sorts = {area.sort for area in areas}
    return Features(
        ridge="ridge" in sorts,
        rolled_edge="rolled_edge" in sorts,
        rivets=tuple((area.x_m, area.y_m) for area in areas if area.sort == "rivet"),
        aim_spots=tuple(AimSpot(name, area.x_m, area.y_m) for name, area in _aim_spots(areas)),
        # A slip of the finger (4000 rows) must not draw itself into a page of megabytes.
        rows_of_plates=min(rows, 40),
        plates_a_row=min(plates, 40),
    )


def _aim_spots(areas: Sequence[PanelArea]) -> list[tuple[str, PanelArea]]:
    return [(area.name or str(n), area) for n, area in enumerate((a for a in areas if a.sort == "aim"), 1)]


def room_words(areas: Sequence[PanelArea], hits: Sequence[LoosedShot], *, rules: FairRules) -> str:
    """Which aim spots an arrow could still strike fairly, if it struck them squarely. Empty where none are marked."""
    spots = _aim_spots(areas)
    if not spots:
        return ""
    free = free_spots(areas, hits, rules=rules)
    unplaced = sum(hit.fact.x_m is None for hit in hits)
    said = f"{len(free)} of {len(spots)} aim spots still free: {', '.join(free)}." if free else f"None of {len(spots)} aim spots is free."
    if unplaced:
        said += f" {unplaced} hit{'s' if unplaced > 1 else ''} with no known place may spoil more."
    return said


def free_spots(areas: Sequence[PanelArea], hits: Sequence[LoosedShot], *, rules: FairRules) -> list[str]:
    """The aim spots that no hit is near enough to spoil, by name."""
    return [name for name, area in _aim_spots(areas) if all(_clear(area, hit, rules) for hit in hits)]


def _clear(area: PanelArea, hit: LoosedShot, rules: FairRules) -> bool:
    fact = hit.fact
    if fact.x_m is None or fact.y_m is None:
        return True
    # An unread hit may have opened it: it is taken for one that did.
    reach = rules.reach_of(fact.outcome_high if fact.outcome_high is not None else 3)
    return reach == 0 or math.hypot(area.x_m - fact.x_m, area.y_m - fact.y_m) >= reach + rules.finger_m


def read_panel(session: Session, build_id: str, *, reader: str, only_trial: str | None = None) -> PanelPage | None:
    """What a panel build's page shows; None if there is none, or none that this viewer may see."""
    builds = panels_of(session, build_id)
    if not builds or builds[0][0].id != build_id:
        return None
    build, panel = builds[0]
    shots = loosed_on(session, [build_id])
    mine = [s for s in shots if only_trial is None or s.fact.trial_id == only_trial]
    if only_trial is not None and not mine:
        return None
    areas = belonging(session, PanelArea, "panel_build_id", build_id)
    hits = panel_hits(
        panel, build, areas=areas, shots=shots, reader=reader, rules=rules_of(None, panel.construction), only_trial=only_trial
    )
    struck = {s.fact.shot_id for s in struck_panel(shots)}
    shown = [(n, s) for n, s in enumerate(struck_panel(shots), 1) if only_trial is None or s.fact.trial_id == only_trial]
    return PanelPage(
        build_id=build_id,
        panel_id=panel.id,
        heading=f"{_count(len(hits.hits), 'hit')} on {build_words(panel, build)} so far",
        lead=_lead(panel, build),
        hits=hits,
        in_order=hits_drawn(panel_title(panel, build), shown) if shown else None,
        others_loosed=tuple(shot_line(s, reader) for s in mine if s.fact.shot_id not in struck),
        builds=() if only_trial else tuple(OtherBuild(b.id, _build_line(b)) for b, _ in builds[1:]),
    )


def _lead(panel: Panel, build: PanelBuild) -> str:
    words = panel_words(panel)
    said = f"{words[0].upper()}{words[1:]}. " if words else ""
    return said + f"{_build_line(build)}. Hits on its other builds are another’s."


def _build_line(build: PanelBuild) -> str:
    work = WORK[build.work].lower() if build.work else "no work written down"
    return f"Build {build.number}, {work}" + (f": {build.note.rstrip('.')}" if build.note else "")


def _count(n: int, word: str) -> str:
    return f"{'No' if n == 0 else n} {word}{'' if n == 1 else 's'}"
