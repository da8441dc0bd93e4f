"""Every part in every state on one page: to look at after a change of style, and for the tests to read."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proofyard.charts.figure import Figure
from proofyard.charts.outcome_by_energy import draw_outcome_by_energy
from proofyard.charts.outcome_words import BandShare, Hit, Share, ShotMark
from proofyard.charts.panel_drawing import AimSpot, Features, draw_panel
from proofyard.charts.panel_words import Here
from proofyard.pages.frame.forms import Change, Column, FieldState, Option, Wrong
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.pages.parts.drawings import drawing_states
from proofyard.records.arrow import FORMS
from proofyard.records.trial import OUTCOME_WORDS
from proofyard.shots.shot_energy import StepTold
from proofyard.views.head_strips import HeadStrip, Piece

router = APIRouter()

MARKS = {
    "unread": "Unread",
    "rear-check": "Check from behind",
    "partial": "Partial",
    "missed": "Missed",
    "spoiled": "Spoiled",
    "rivet": "By a rivet",
    "voided": "Crossed out",
}


@dataclass(frozen=True)
class PartsPage:
    """Invented figures; nothing of a book."""

    forms: dict[str, str]
    marks: dict[str, str]
    states: dict[str, FieldState]
    errors: tuple[Wrong, ...]
    bows: dict[str, str]
    arrows: tuple[Option, ...]
    steps_shown: tuple[StepTold, ...]
    changes: tuple[Change, ...]
    columns_shown: tuple[Column, ...]
    drawing: Figure
    face: Figure
    strips: tuple[HeadStrip, ...]
    drawings: Mapping[str, Sequence[Figure]]
    outcome_words: Sequence[str] = OUTCOME_WORDS


def _states() -> dict[str, FieldState]:
    return {
        "empty": FieldState(),
        "main": FieldState("52.6"),
        "said": FieldState("31½ in", said="Read as 800 mm"),
        "unusual": FieldState("690", warning="86 % of the length. Arrows here lie between 55 and 75 %. Kept as typed; look again?"),
        "wrong": FieldState("16 ga", error="Gauges differ. Type millimetres, for example 1.6 mm"),
        "words": FieldState("lime-kiln yard"),
        "lines": FieldState("Dry, wind from behind.\nStopped for rain at four."),
        "date": FieldState("2026-10-24"),
        "form": FieldState("barbed"),
        "ticked": FieldState("yes"),
        "not_ticked": FieldState(error="Tick this before the first arrow, or leave the session closed."),
        "no_answer": FieldState(error="Say who loosed it, for example Wren."),
    }


def _drawing() -> Figure:
    seen = [("A1", 66.8, 2, 2), ("A2", 72.9, 2, 2), ("B1", 78.1, 3, 3), ("A3", 88.0, 3, 3), ("B2", 95.4, 3, 3), ("A4", 103.5, 4, 4)]
    later = [("B3", 110.8, 3, 3), ("A5", 120.9, 3, 4), ("B4", 127.0, 4, 5)]
    shots = [ShotMark(label, f"#shot-{label}", energy, 1.4, low, high) for label, energy, low, high in seen + later]
    bands = [
        BandShare(60, 80, Share(0, 0, 3, 0.0, 0.63)),
        BandShare(80, 105, Share(1, 1, 3, 0.02, 0.87)),
        BandShare(105, 130, Share(1, 2, 3, 0.02, 0.98)),
    ]
    return draw_outcome_by_energy("Leaf", shots, bands, outcome_words=OUTCOME_WORDS)


def _panel() -> Figure:
    hits = (
        Hit(1, "A1", -0.084, -0.072, 2, 2, "#shot-A1"),
        Hit(2, "A2", -0.052, 0.062, 3, 3, "#shot-A2"),
        Hit(3, "A3", 0.095, -0.046, 2, 2, "#shot-A3"),
        Hit(4, "B1", -0.066, 0.004, 4, 4, "#shot-B1"),
        Hit(5, "B2", 0.024, -0.100, 3, 4, "#shot-B2"),
        Hit(6, "B6", 0.020, -0.020, None, None, "#shot-B6"),
    )
    features = Features(ridge=True, rolled_edge=True, rivets=((-0.12, 0.08), (0.12, 0.08)), aim_spots=(AimSpot("1", 0.06, 0.1),))
    return draw_panel(
        "Panel P3",
        "breastplate",
        width_m=0.30,
        height_m=0.30,
        outcome_words=OUTCOME_WORDS,
        features=features,
        hits=hits,
        here=Here("A8", 0.052, 0.042),
    )


def _strips() -> tuple[HeadStrip, ...]:
    held = (Piece(1, 1, 2), Piece(2, 2, 4), Piece(3, 4, 1))
    return (
        HeadStrip(
            "needle",
            "Long needle bodkin",
            held,
            (Piece(4, 4, 3), Piece(5, 5, 1)),
            "4 or 5 of 11",
            "Long needle bodkin: 4 or 5 of 11 through",
        ),
        HeadStrip("leaf", "Leaf", (Piece(2, 2, 5),), (), "0 of 5", "Leaf: 0 of 5 through"),
    )


def parts_page() -> PartsPage:
    """What the page shows."""
    return PartsPage(
        forms=FORMS,
        marks=MARKS,
        states=_states(),
        errors=(
            Wrong("p-wrong", "Thickness", "Gauges differ. Type millimetres, for example 1.6 mm"),
            Wrong("p-loosed-by", "Loosed by", "Say who loosed it, for example Wren."),
        ),
        bows={"82": "82", "112": "112", "145": "145"},
        arrows=(
            Option("7", "7", glyph="head-needle", unseen=", long needle bodkin"),
            Option("8", "8", glyph="head-short_bodkin", unseen=", short bodkin"),
            Option("9", "9, to check", need=True),
            Option("10", "10", disabled=True),
        ),
        steps_shown=(
            StepTold("Arrow 5, build 2, weighed", "72.4 g", "± 0.1", "scale S2, checked against 50 g", "#", "3 readings"),
            StepTold("Speed at the chronograph", "52.6 m/s", "± 0.3", "2 m from the bow"),
            StepTold("Energy there, ½ m v²", "100.2 J", "± 1.2", method="/methods/of/kinetic_energy_j"),
            StepTold("Energy at the target", "98.3 J", "± 1.4", last=True),
        ),
        changes=(Change("Outcome", "Opened", "Point through"), Change("Depth", "≥ 20 mm", "31 mm")),
        columns_shown=(Column("Arrow"), Column("Head"), Column("Mass, g", number=True), Column("Shots", number=True)),
        drawing=_drawing(),
        face=_panel(),
        strips=_strips(),
        drawings=drawing_states(),
    )


@router.get("/parts", response_class=HTMLResponse, include_in_schema=False)
async def parts(request: Request) -> Any:
    """Every part in every state."""
    return html("parts/page.html", parts_page(), frame=frame_for(request, title="Parts"))
