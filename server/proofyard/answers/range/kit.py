"""What a phone shows at the range: set-ups with their panels drawn, arrows with their soundness, labels of bows.

Phones draw hits themselves, since they must go on without the laptop; the panel's own lines come ready from here.
"""

import json
from collections.abc import Iterable, Sequence
from typing import Any

from proofyard.charts.panel_drawing import RIVET_RADIUS, panel_face
from proofyard.charts.panel_labels import SPOT_RADIUS
from proofyard.quantities import READERS, with_unit, written
from proofyard.quantities.reason import Reason, because
from proofyard.records.arrows_at_the_range import arrows_for
from proofyard.records.columns import meanings, picked
from proofyard.records.listing import one as row_of
from proofyard.records.nouns import TABLES
from proofyard.records.panel import CONSTRUCTIONS, PanelArea
from proofyard.records.place_on_panel import farthest_from_middle
from proofyard.records.range_facts import CurrentArrow, CurrentBow, OpenSetup, TwoSaid, current_arrows
from proofyard.records.shot import ENTRIES, Shot
from proofyard.records.trial import CAUTIONS
from proofyard.shots.soundness import ArrowHits, hits_by_arrow, soundness
from proofyard.storage import Session
from proofyard.views.panel_hits import features_of
from proofyard.wording.counts import bow_label
from proofyard.wording.figures import as_typed_first
from proofyard.wording.reasons.said import said

# What a hit through the construction's ordinary ground is called: proposed where nothing else is near.
PLAIN_ENTRY = {"mail": "broke_rings", "textile": "field", "other": "field"}
MOST_LATELY_SHOT = 60
OF_LAST_SHOTS = ("last_shot", "loosed_at", "shot_before", "loosed_before")
AREAS_DRAWN_APART = ("aim", "rivet", "ridge", "rolled_edge")


def setup_for_phone(one: OpenSetup, areas: Sequence[PanelArea], *, all_open: Sequence[OpenSetup] = ()) -> dict[str, Any]:
    """A set-up as the phones show it; lengths in metres. `all_open`: those beside it, of which one may have a newer build."""
    panel, construction = one.panel, one.panel.construction or "other"
    name = build_in_a_list(panel.name, one.panel_build.number, newest=one.newest)
    angle = one.setup.angle_rad
    return {
        "id": one.setup.id,
        "trial": one.trial.id,
        "trial_number": one.trial_number,
        "question": one.trial.question,
        "session": one.day.id,
        "day": one.day.day,
        "place": one.day.place or "",
        "ready": one.ticked >= len(CAUTIONS),
        "distance": distance_as_typed(one, "metric"),
        "distance_in": distance_as_typed(one, "archery"),
        "angle": f"{written(angle, 'deg')} from square" if angle else "",
        "panel": one.panel_build.id,
        "panel_name": name,
        "older": said(older_build(one, all_open)),
        "panel_words": panel_in_a_line(name, construction, thickness_m=panel.thickness_m),
        "construction": construction,
        "farthest": farthest_from_middle(panel),
        "entries": list(ENTRIES.get(construction, ENTRIES["other"])),
        "plain_entry": PLAIN_ENTRY.get(construction, "plate"),
        "position_accuracy_m": one.trial.position_accuracy_m,
        "areas": [_area(area) for area in areas],
        "drawing": drawing_for_phone(one, areas),
        "arrows": list(one.arrows),
        "bows": list(one.bows),
    }


def distance_as_typed(one: OpenSetup, reader: str) -> str:
    """ "14 m"; where another unit was typed than this reader's, that first: "15 yd (13.72 m)"."""
    if one.setup.distance_m is None:
        return ""
    typed = str(json.loads(one.setup.typed).get("distance") or "").strip()
    return as_typed_first(typed, one.setup.distance_m, "distance", reader)


def setup_in_a_list(one: OpenSetup) -> str:
    """ "P3, build 2, 17 October 2026, trial 3: Which heads …?": one set-up among those of every open trial."""
    panel = build_in_a_list(one.panel.name, one.panel_build.number, newest=one.newest)
    return said(because("setup_in_a_list", panel=panel, day=one.day.day, trial=one.trial_number, question=one.trial.question))


def build_in_a_list(name: str, number: int, *, newest: int) -> str:
    """ "P3", and "P3, build 1" as soon as there are more than one."""
    return name if newest == 1 else f"{name}, build {number}"


def older_build(one: OpenSetup, all_open: Sequence[OpenSetup]) -> Reason | None:
    """What a phone says at a set-up whose panel has been built again since; None where it stands on the newest build."""
    if one.panel_build.number >= one.newest:
        return None
    there = any(
        other.day.id == one.day.id and other.panel.id == one.panel.id and other.panel_build.number == one.newest for other in all_open
    )
    return because("range_older_build", panel=one.panel.name, build=one.panel_build.number, newest=one.newest, there=there)


def panel_in_a_line(name: str, construction: str, *, thickness_m: float | None) -> str:
    """ "P3, one-piece plate, 1.6 mm": a name that already begins with Panel is left alone."""
    thick = f", {written(thickness_m, 'mm')}" if thickness_m is not None else ""
    return f"{name}, {CONSTRUCTIONS.get(construction, 'other').lower()}{thick}"


def _area(area: PanelArea) -> dict[str, Any]:
    return {
        "sort": area.sort,
        "name": area.name or "",
        "x": area.x_m,
        "y": area.y_m,
        "to_x": area.to_x_m,
        "to_y": area.to_y_m,
        "reach": area.reach_m,
    }


def drawing_for_phone(one: OpenSetup, areas: Sequence[PanelArea]) -> dict[str, Any] | None:
    """The panel without its hits; None while its size is not in the book, since a place needs a scale."""
    panel = one.panel
    if not panel.width_m or not panel.height_m:
        return None
    faces = [
        panel_face(
            panel.outline or "rectangle", width_m=panel.width_m, height_m=panel.height_m, features=features_of(panel, areas), reader=reader
        )
        for reader in READERS
    ]
    face = faces[0]
    bar_words, bar, bar_x, bar_y = face.scale
    return {
        "width": face.plan.view_width,
        "height": face.plan.view_height,
        "outline": face.outline,
        "folds": face.folds + _lines(areas, face.plan),
        "rivets": face.rivets,
        "rivet_radius": RIVET_RADIUS,
        "spots": [[*spot, SPOT_RADIUS] for spot in face.spots],
        "spot_radius": SPOT_RADIUS,
        "bar": bar,
        "bar_words": bar_words,
        "bar_x": bar_x,
        "bar_y": bar_y,
        "bar_in": faces[1].scale,
        "units_per_m": face.plan.units_per_m,
        "middle": [face.plan.middle_x, face.plan.middle_y],
    }


def _lines(areas: Iterable[PanelArea], plan: Any) -> str:
    """Seams, gaps and other lines of the panel, where they were measured."""
    pieces = []
    for area in areas:
        if area.sort in AREAS_DRAWN_APART or area.to_x_m is None or area.to_y_m is None:
            continue
        (x1, y1), (x2, y2) = plan.to_view(area.x_m, area.y_m), plan.to_view(area.to_x_m, area.to_y_m)
        pieces.append(f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}")
    return "".join(pieces)


def arrow_for_phone(arrow: CurrentArrow) -> dict[str, Any]:
    return {
        "build": arrow.build,
        "arrow": arrow.arrow,
        "tag": arrow.tag,
        "form": arrow.form or "other",
        "head": arrow.head or "",
        "state": soundness(arrow),
        "shots": arrow.shots,
        "last_shot": arrow.last_shot,
        "loosed_at": arrow.last_loosed_at,
        "shot_before": arrow.shot_before,
        "loosed_before": arrow.loosed_before,
        "check": arrow.last_check,
        "checked_at": arrow.last_checked_at,
        "grounded_by": arrow.grounded_by if arrow.grounded_at is not None and arrow.grounded_at > (arrow.last_checked_at or -1) else None,
    }


def bows_for_phone(bows: Sequence[CurrentBow]) -> list[dict[str, Any]]:
    """Bows by weight; two of the same weight are told apart by name."""
    labels = [bow_label(bow.marked_weight_n, bow.name) for bow in bows]
    return [
        {
            "build": bow.build,
            "bow": bow.bow,
            "name": bow.name,
            "label": label if labels.count(label) == 1 else bow.name,
            "weight": label if bow.marked_weight_n is not None else "",
        }
        for bow, label in zip(bows, labels, strict=True)
    ]


def shot_for_phone(shot: dict[str, Any]) -> dict[str, Any]:
    weight = shot.pop("marked_weight_n")
    name = shot.pop("bow_name")
    shot["bow"] = with_unit(bow_label(weight, name), "lb") if weight is not None else name
    return shot


def clash_for_phone(clash: TwoSaid) -> dict[str, Any]:
    """Both answers of one field, with who said which, when; `say` is what a phone sends to let that one stand."""

    known = meanings(TABLES[clash.noun]) if clash.noun in TABLES else {}
    several = clash.field in known and known[clash.field][1].value == "several"

    def side(value: tuple[Any, str | None], who: str | None, at: int | None) -> dict[str, Any]:
        say = picked(value[0]) if several else value[1] if value[1] is not None else value[0]
        return {"say": say, "who": who or "Somebody", "at": at}

    return {
        "id": clash.id,
        "noun": clash.noun,
        "record": clash.record_id,
        "field": clash.field,
        "stands": side(clash.stands, clash.stands_by, clash.stands_at),
        "offered": side(clash.offered, clash.offered_by, clash.offered_at),
    }


def arrows_for_phone(session: Session, setups: Sequence[OpenSetup] | None = None) -> list[dict[str, Any]]:
    """Each with how often it hit since it was made, sharpened and mounted (None: no build says so). setups: what they are needed at."""
    arrows = current_arrows(session) if setups is None else arrows_for(session, setups)
    hits = hits_by_arrow(session, None if setups is None else [one.arrow for one in arrows])
    told = [arrow_for_phone(one) | {"hits": _hits(hits.get(one.arrow))} for one in arrows]
    return [{name: value for name, value in one.items() if value is not None} for one in _lighter(told, setups or ())]


def _lighter(told: list[dict[str, Any]], setups: Sequence[OpenSetup]) -> list[dict[str, Any]]:
    """Without what no phone asks of them: the arrow's own id where no trial says what it uses, the last shots of those long not shot.

    A phone takes back its last shots; of an arrow shot before so many others it says only how often that was.
    """
    named = {arrow for one in setups for arrow in one.arrows}
    lately = sorted((one["loosed_at"] or 0 for one in told), reverse=True)[:MOST_LATELY_SHOT]
    for one in told:
        long_ago = (one["loosed_at"] or 0) < lately[-1]
        gone = (() if one["arrow"] in named else ("arrow",)) + (OF_LAST_SHOTS if long_ago else ())
        one.update(dict.fromkeys(gone))
    return told


def _hits(found: ArrowHits | None) -> dict[str, int | None]:
    return {} if found is None else {"made": found.made, "sharpened": found.sharpened, "mounted": found.mounted, "unread": found.unread}


def unchecked(session: Session, arrow_build_id: str) -> Reason | None:
    """What to ask before a shot with an arrow that nobody looked at since it was last shot.

    None for one that may fly, and for one that is not in the book: that is another complaint.
    """
    arrow = next((a for a in current_arrows(session) if a.build == arrow_build_id), None)
    if arrow is None or soundness(arrow) != "to_check":
        return None
    last = row_of(session, Shot, arrow.last_shot) if arrow.last_shot else None
    return because("arrow_unchecked", tag=arrow.tag, label=last.label if last else "")
