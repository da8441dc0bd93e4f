"""What a phone shows at the range: set-ups with their panels drawn, arrows with their soundness, labels of bows.

Phones draw hits themselves, since they must go on without the laptop; the panel's own lines come ready from here.
"""

from collections.abc import Iterable, Sequence
from typing import Any

from server.charts.panel_drawing import AimSpot, Features, draw_panel
from server.findings.soundness import soundness_of
from server.findings.strikes import Strikes, strikes_by_arrow
from server.quantities import from_si, with_unit, written
from server.records.kit_facts import FlightFact
from server.records.panel import CONSTRUCTIONS, PanelArea
from server.records.range_facts import CurrentArrow, CurrentBow, OpenSetup, TwoSaid, current_arrows
from server.records.shot import WAYS_IN
from server.records.trial import CAUTIONS, RUNGS
from server.storage import Session

# What a hit through the construction's ordinary ground is called: proposed where nothing else is near.
PLAIN_WAY = {"mail": "broke_rings", "textile": "field", "other": "field"}
AREAS_DRAWN_APART = ("aim", "rivet", "ridge", "rolled_edge")


def setup_for_phone(one: OpenSetup, areas: Sequence[PanelArea]) -> dict[str, Any]:
    """A set-up as the phones show it; lengths in metres."""
    panel, construction = one.panel, one.panel.construction or "other"
    distance = one.setup.distance_m
    return {
        "id": one.setup.id,
        "trial": one.trial.id,
        "question": one.trial.question,
        "session": one.day.id,
        "day": one.day.day,
        "place": one.day.place or "",
        "ready": one.ticked >= len(CAUTIONS),
        "distance": written(distance, "m") if distance is not None else "",
        "panel": one.panel_build.id,
        "panel_name": panel.name,
        "panel_words": panel_in_a_line(panel.name, construction, thickness_m=panel.thickness_m),
        "construction": construction,
        "ways": list(WAYS_IN.get(construction, WAYS_IN["other"])),
        "plain_way": PLAIN_WAY.get(construction, "plate"),
        "finger_m": one.trial.finger_m,
        "areas": [_area(area) for area in areas],
        "drawing": drawing_for_phone(one, areas),
        "arrows": list(one.arrows),
        "bows": list(one.bows),
    }


def panel_in_a_line(name: str, construction: str, *, thickness_m: float | None) -> str:
    """ "P3, one-piece plate, 1.6 mm": a name that already begins with Panel is left alone."""
    thick = f", {written(thickness_m, 'mm')}" if thickness_m is not None else ""
    return f"{name}, {CONSTRUCTIONS.get(construction, 'other').lower()}{thick}"


def _area(area: PanelArea) -> dict[str, Any]:
    return {
        "sort": area.sort, "name": area.name or "", "x": area.x_m, "y": area.y_m, "to_x": area.to_x_m, "to_y": area.to_y_m,
        "reach": area.reach_m,
    }  # fmt: skip


def drawing_for_phone(one: OpenSetup, areas: Sequence[PanelArea]) -> dict[str, Any] | None:
    """The panel without its hits; None while its size is not in the book, since a place needs a scale."""
    panel = one.panel
    if not panel.width_m or not panel.height_m:
        return None
    rows = panel.rows or 0
    plates = round(panel.width_m / panel.plate_width_m) if panel.plate_width_m and rows else 0
    sorts = {area.sort for area in areas}
    features = Features(
        ridge="ridge" in sorts,
        rolled_edge="rolled_edge" in sorts,
        rivets=tuple((area.x_m, area.y_m) for area in areas if area.sort == "rivet"),
        aim_spots=tuple(
            AimSpot(area.name or str(n), area.x_m, area.y_m)
            for n, area in enumerate((a for a in areas if a.sort == "aim"), 1)
        ),
        rows_of_plates=min(rows, 40),
        plates_a_row=min(plates, 40),
    )
    drawn = draw_panel(
        panel.name, panel.outline or "rectangle", width_m=panel.width_m, height_m=panel.height_m,
        rung_words=list(RUNGS.values()), features=features,
    )  # fmt: skip
    return {
        "width": drawn.width, "height": drawn.height, "outline": drawn.outline,
        "folds": drawn.folds + _lines(areas, drawn.plan), "rivets": drawn.rivets, "rivet_radius": drawn.rivet_radius,
        "spots": [[spot.label, spot.x, spot.y, spot.radius] for spot in drawn.aim_spots], "bar": drawn.scale_bar,
        "bar_words": drawn.scale_text, "bar_x": drawn.scale_text_x, "bar_y": drawn.scale_text_y,
        "units_per_m": drawn.plan.units_per_m, "middle": [drawn.plan.middle_x, drawn.plan.middle_y],
    }  # fmt: skip


def _lines(areas: Iterable[PanelArea], plan: Any) -> str:
    """Seams, gaps and other lines of the panel, where they were measured."""
    pieces = []
    for area in areas:
        if area.sort in AREAS_DRAWN_APART or area.to_x_m is None or area.to_y_m is None:
            continue
        (x1, y1), (x2, y2) = plan.to_view(area.x_m, area.y_m), plan.to_view(area.to_x_m, area.to_y_m)
        pieces.append(f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}")
    return "".join(pieces)


def soundness(arrow: CurrentArrow) -> str:
    """sound, to_check or not_sound, by the rule of every page; an arrow that never flew is sound here."""
    fact = FlightFact(arrow.build, arrow.last_loosed_at, None, arrow.last_checked_at, arrow.last_check)
    answer = soundness_of(fact).answer
    return "sound" if answer == "new" else answer


def arrow_for_phone(arrow: CurrentArrow) -> dict[str, Any]:
    return {
        "build": arrow.build, "arrow": arrow.arrow, "tag": arrow.tag, "form": arrow.form or "other", "head": arrow.head or "",
        "state": soundness(arrow), "strikes": arrow.strikes, "last_shot": arrow.last_shot,
        "loosed_at": arrow.last_loosed_at, "check": arrow.last_check, "checked_at": arrow.last_checked_at,
    }  # fmt: skip


def bow_label(marked_weight_n: float | None, name: str) -> str:
    """The marked weight in pounds of force, as archers call a bow; its name where nothing is marked."""
    return name if marked_weight_n is None else f"{from_si(marked_weight_n, 'lbf'):.0f}"


def bows_for_phone(bows: Sequence[CurrentBow]) -> list[dict[str, Any]]:
    """Bows by weight; two of the same weight are told apart by name."""
    labels = [bow_label(bow.marked_weight_n, bow.name) for bow in bows]
    return [
        {"build": bow.build, "bow": bow.bow, "name": bow.name,
         "label": label if labels.count(label) == 1 else bow.name, "weight": label if bow.marked_weight_n is not None else ""}
        for bow, label in zip(bows, labels, strict=True)
    ]  # fmt: skip


def shot_for_phone(shot: dict[str, Any]) -> dict[str, Any]:
    weight = shot.pop("marked_weight_n")
    name = shot.pop("bow_name")
    shot["bow"] = with_unit(bow_label(weight, name), "lb") if weight is not None else name
    return shot


def clash_for_phone(clash: TwoSaid) -> dict[str, Any]:
    """Both answers of one field, with who said which, when; `say` is what a phone sends to let that one stand."""

    def side(value: tuple[Any, str | None], who: str | None, at: int | None) -> dict[str, Any]:
        return {"say": value[1] if value[1] is not None else value[0], "who": who or "Somebody", "at": at}

    return {
        "id": clash.id, "noun": clash.noun, "record": clash.record_id, "field": clash.field,
        "stands": side(clash.stands, clash.stands_by, clash.stands_at),
        "offered": side(clash.offered, clash.offered_by, clash.offered_at),
    }  # fmt: skip


def arrows_for_phone(session: Session) -> list[dict[str, Any]]:
    """Each with how often it struck since it was made, sharpened and mounted (None: no build says so)."""
    struck = strikes_by_arrow(session)
    return [arrow_for_phone(one) | {"struck": _struck(struck.get(one.arrow))} for one in current_arrows(session)]


def _struck(found: Strikes | None) -> dict[str, int | None]:
    return {} if found is None else {"made": found.made, "sharpened": found.sharpened, "mounted": found.mounted, "unread": found.unread}
