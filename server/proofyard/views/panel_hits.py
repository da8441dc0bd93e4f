"""A panel build’s hits so far: drawn in order, listed, and which aim spots still have room for a fair one."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from proofyard.charts.figure import Figure
from proofyard.charts.hits_in_order import hits_in_order
from proofyard.charts.outcome_words import Hit
from proofyard.charts.panel_drawing import AimSpot, Features, PanelPlan, draw_panel, panel_plan, small_panel
from proofyard.quantities.reason import because
from proofyard.records.panel import Panel, PanelArea, PanelBuild
from proofyard.records.trial import OUTCOME_WORDS
from proofyard.shots.fair_hits import FairRules
from proofyard.shots.lines import ShotLine, shot_line
from proofyard.shots.loosed import LoosedShot, on_the_panel
from proofyard.wording.panels import build_words, panel_title, panel_words
from proofyard.wording.reasons.said import said
from proofyard.wording.reasons.said import said as reason_words


@dataclass(frozen=True)
class PanelHits:
    """One build: its drawing and the scale of it (None while its size is not in the book), its hits in order, and what is left of it."""

    build_id: str
    name: str
    words: str
    drawing: Figure | None
    plan: PanelPlan | None
    hits: tuple[ShotLine, ...]
    caption: str
    room: str


def panel_hits(
    panel: Panel,
    build: PanelBuild,
    *,
    areas: Sequence[PanelArea],
    shots: Sequence[LoosedShot],
    reader: str,
    rules: FairRules,
    only_trial: str | None = None,
    home: str | None = None,
) -> PanelHits:
    """The build's hits. `shots`: all that were loosed at it, in order; `home`: hits of another trial than this say so.

    only_trial  a viewer of one trial, to whom `shots` are that trial's alone: the order counts those, and what is free
                is left out, since hits of other trials would show in it
    """
    shown = list(enumerate(on_the_panel(shots), 1))
    unplaced = sum(s.fact.x_m is None or s.fact.y_m is None for _, s in shown)
    return PanelHits(
        build_id=build.id,
        name=build_words(panel, build),
        words=panel_words(panel),
        plan=panel_plan(panel.width_m, panel.height_m) if panel.width_m and panel.height_m else None,
        drawing=_drawing(panel, build, areas=areas, shown=shown, reader=reader),
        hits=tuple(_elsewhere(shot_line(s, reader, mark=str(n)), s, home) for n, s in shown),
        caption=said(because("panel_hits_caption", order=order_words(only_trial), unplaced=unplaced)),
        room="" if only_trial else room_words(areas, on_the_panel(shots), rules=rules),
    )


@dataclass(frozen=True)
class PanelBrief:
    """One build at a glance: a small drawing, how many hits it took, and how many aim spots are free of all (None: not told)."""

    build_id: str
    name: str
    words: str
    drawing: Figure | None
    hits: int
    free: tuple[int, int] | None


def panel_brief(
    panel: Panel,
    build: PanelBuild,
    *,
    areas: Sequence[PanelArea],
    shots: Sequence[LoosedShot],
    rules: FairRules,
    reader: str,
    only_trial: str | None = None,
) -> PanelBrief:
    """`shots` and `only_trial` as in panel_hits."""
    on_it = on_the_panel(shots)
    drawing = None
    if panel.width_m and panel.height_m:
        hits = [_hit(n, shot, reader) for n, shot in enumerate(on_it, 1)]
        drawing = small_panel(
            panel_title(panel, build),
            panel.outline or "rectangle",
            width_m=panel.width_m,
            height_m=panel.height_m,
            outcome_words=OUTCOME_WORDS,
            hits=hits,
            reader=reader,
        )
    spots = len(_aim_spots(areas))
    free = (len(free_spots(areas, on_it, rules=rules)), spots) if spots and not only_trial else None
    return PanelBrief(build.id, build_words(panel, build), panel_words(panel), drawing, len(on_it), free)


def order_words(only_trial: str | None) -> str:
    """What the numbers of hits are: a viewer of one trial is not told how many hits of others lie between."""
    return said(because("order_on_panel", of_trial=bool(only_trial)))


def _elsewhere(line: ShotLine, shot: LoosedShot, home: str | None) -> ShotLine:
    if home is None or shot.fact.trial_id == home:
        return line
    # Its mark was worked out with this trial's rules, not its own: it is left away rather than said wrongly.
    return replace(line, small="in another trial")


def _drawing(
    panel: Panel, build: PanelBuild, *, areas: Sequence[PanelArea], shown: Sequence[tuple[int, LoosedShot]], reader: str
) -> Figure | None:
    if not panel.width_m or not panel.height_m:
        return None
    return draw_panel(
        panel_title(panel, build),
        panel.outline or "rectangle",
        width_m=panel.width_m,
        height_m=panel.height_m,
        outcome_words=OUTCOME_WORDS,
        features=features_of(panel, areas),
        hits=[_hit(n, shot, reader) for n, shot in shown],
        reader=reader,
    )


def _hit(n: int, shot: LoosedShot, reader: str) -> Hit:
    fact, fair = shot.fact, shot.fair
    low, high = fact.outcome_low, fact.outcome_high
    both = low is not None and high is not None
    return Hit(
        n,
        fact.label,
        fact.x_m,
        fact.y_m,
        low if both else None,
        high if both else None,
        f"/shots/{fact.shot_id}",
        clipped=fact.hit == "partial",
        fair=fair.answer if fair else "",
        note=reason_words(fair.reason, reader) if fair else "",
    )


def hits_drawn(name: str, shown: Sequence[tuple[int, LoosedShot]], *, order: str, reader: str) -> Figure:
    """Hits in the order of their numbers: whether the panel stopped less and less. `order` says what the numbers are."""
    return hits_in_order(name, [_hit(n, shot, reader) for n, shot in shown], outcome_words=OUTCOME_WORDS, order=order)


def features_of(panel: Panel, areas: Sequence[PanelArea]) -> Features:
    """What is drawn of a panel besides its hits."""
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
    """Which aim spots an arrow could still hit fairly, if it hit them squarely. Empty where none are marked."""
    spots = _aim_spots(areas)
    if not spots:
        return ""
    free = free_spots(areas, hits, rules=rules)
    unplaced = sum(hit.fact.x_m is None for hit in hits)
    return said(because("panel_room", free=tuple(free), spots=len(spots), unplaced=unplaced))


def free_spots(areas: Sequence[PanelArea], hits: Sequence[LoosedShot], *, rules: FairRules) -> list[str]:
    """The aim spots that no hit is near enough to spoil, by name."""
    return [name for name, area in _aim_spots(areas) if all(_clear(area, hit, rules) for hit in hits)]


def _clear(area: PanelArea, hit: LoosedShot, rules: FairRules) -> bool:
    fact = hit.fact
    if fact.x_m is None or fact.y_m is None:
        return True
    # An unread hit may have opened it: it is taken for one that did.
    reach = rules.reach_of(fact.outcome_high if fact.outcome_high is not None else 3)
    return reach == 0 or math.hypot(area.x_m - fact.x_m, area.y_m - fact.y_m) >= reach + rules.position_accuracy_m
