"""A bow build's page: stored energy, what arrows of different mass get of it, speeds to expect, how it stood on its days."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from server import quantities
from server.access.seats import ArcherSeat, Seat, TheBook, ViewerSeat
from server.charts.force_draw import ForceDraw
from server.charts.speed_by_mass import SpeedByMass
from server.findings.bow.curve import CantTell
from server.findings.bow.drawings import force_draw_of, speed_by_mass_of
from server.findings.bow.page import BowFound, bow_found
from server.findings.bow.speeds import Expected, expected
from server.pages import bow_shown
from server.pages.bow_shown import ArrowLine, ShortLine
from server.pages.figures import doubtful, reader_of
from server.pages.forms import FormField, body_of, form_fields, operation_id, unit_of, wrongs
from server.pages.kit_parts import PASTED, save_pasted, whose
from server.pages.posted import Posted
from server.pages.rendering import frame_for, html
from server.pages.shapes import Column, FieldState, Wrong
from server.records.bow import DrawPoint
from server.records.columns import Meaning
from server.records.ids import new_id
from server.records.typed_values import Problem
from server.storage import Storage

router = APIRouter()

CHECKS = ("When", "Archer", "Part of the day", "Weight", "Draw", "How found", "Temperature", "Humidity", "Arrows since braced")
LINES_HINT = "A line each, draw then force, for example 28 in 95 lbf. Where the string rests the force is 0."


@dataclass(frozen=True)
class BowPage:
    """What bow/page.html shows."""

    build_id: str
    name: str
    bow_href: str
    points_href: str
    checks_href: str
    finding: str
    why_no_energy: str
    no_doubt: str
    brace_note: str
    drawing: ForceDraw | None
    stored: list[tuple[str, str]]
    doubts: list[list[str]]
    doubt_columns: tuple[Column, ...]
    paste: list[FormField]
    operation: str
    archers: list[tuple[str, str, bool]]
    archer: str
    arrows: list[ArrowLine]
    arrow_columns: tuple[Column, ...]
    arrow_notes: list[str]
    not_used: list[tuple[str, str]]
    light: str
    speeds: SpeedByMass | None
    fit_words: str
    fit: list[tuple[str, str]]
    scale_note: str
    mass: FieldState
    mass_unit: tuple[str, str]
    may_expect: bool
    expected: list[tuple[str, str]]
    why_not_expected: str
    check_columns: tuple[str, ...]
    checks: list[list[str]]
    drifts: list[str]
    drift_notes: list[str]
    short: list[ShortLine]
    errors: Sequence[Wrong]
    may_change: bool


@dataclass(frozen=True)
class _Paste:
    """Lines that were not taken, with what is wrong about them."""

    typed: dict[str, Any]
    problems: Sequence[Problem]
    operation: str


def _page(
    request: Request, seat: Seat, storage: Storage, build_id: str, *, archer: str = "", mass: str = "", paste: _Paste | None = None
) -> HTMLResponse:
    reader = reader_of(frame_for(request, title=""))
    with storage.read() as session:
        found = bow_found(session, build_id, archer_id=archer or None)
        if found is None:
            raise HTTPException(404, "The book has no such bow build.")
    fields = _paste_fields(bow_shown.tools_to_pick(found), paste)
    state, asked, why_not = _asked(found, mass)
    errors = wrongs(fields, paste.problems if paste else [])
    errors += [Wrong("mass", "Mass of the arrow", state.error)] if state.error else []
    page = _shown(found, reader, asked=asked)
    page |= {
        "paste": fields, "operation": paste.operation if paste else new_id(), "mass": state, "why_not_expected": bow_shown.reason(why_not),
        "errors": errors, "may_change": seat.at_least("archer"),
    }  # fmt: skip
    shown = BowPage(**page)
    frame = frame_for(request, title=shown.name, nav="kit", wrong=bool(errors))
    return html("bow/page.html", shown, frame=frame, status=422 if errors else 200)


def _paste_fields(tools: list[tuple[str, str]], paste: _Paste | None) -> list[FormField]:
    typed = paste.typed if paste else {}
    wrong = " ".join(one.sentence for one in (paste.problems if paste else ()) if one.field == PASTED)
    lines = FormField(PASTED, "Force and draw, pasted", "lines", FieldState(typed=str(typed.get(PASTED, "")), error=wrong), hint=LINES_HINT)
    return [lines, *form_fields(DrawPoint, ("instrument",), typed=typed, problems=paste.problems if paste else [], options={"instrument": tools})]


def _asked(found: BowFound, mass: str) -> tuple[FieldState, Expected | None, str]:
    """The box with what was typed, the answer, and why there is none."""
    read = quantities.read(mass, "arrow_mass")
    if isinstance(read, quantities.Empty):
        return FieldState(typed=mass), None, ""
    if isinstance(read, quantities.Refused):
        return FieldState(typed=mass, error=quantities.sentence(read)), None, ""
    state = FieldState(typed=mass, warning=" ".join(read.warnings))
    if isinstance(found.speeds.fit, CantTell):
        return state, None, found.speeds.fit.reason
    answer = expected(found.speeds.fit, read.value_si)
    return (state, None, answer.reason) if isinstance(answer, CantTell) else (state, answer, "")


def _shown(found: BowFound, reader: str, *, asked: Expected | None) -> dict[str, Any]:
    """Everything but the two forms."""
    fit_words, finding = bow_shown.fit_words(found, reader), bow_shown.finding_words(found, reader)
    stored, build = found.stored_at, found.build
    brace = ""
    if not isinstance(found.curve, CantTell) and found.curve.rest_from_brace:
        brace = f"The string’s rest is taken from the brace height, {quantities.figure(build.brace_height_m or 0.0, 'brace_height', reader)}. That holds if draw and brace height are measured from the same place on the bow; if not, add a point with force 0."
    scale = "" if found.speeds.scale_known or isinstance(found.speeds.fit, CantTell) else "How far the chronograph itself may be off is not written down, so it is in none of these."
    return {
        "build_id": build.id, "name": f"{found.bow.name}, build {build.number}", "bow_href": f"/kit/bow/{found.bow.id}",
        "points_href": f"/kit/bow/{found.bow.id}/draw?build={build.id}", "checks_href": f"/kit/bow/{found.bow.id}/check?build={build.id}",
        "finding": finding, "why_no_energy": bow_shown.sentence(stored.reason) if isinstance(stored, CantTell) else "",
        "no_doubt": "" if isinstance(stored, CantTell) or not stored.why_no_doubt else bow_shown.sentence(stored.why_no_doubt), "brace_note": brace,
        "drawing": force_draw_of(found, reader, energy_words=finding), "stored": bow_shown.stored_facts(found, reader),
        "doubts": bow_shown.stored_doubts(found, reader),
        "doubt_columns": (Column("Cause"), Column(f"u, {quantities.unit_for_reader('energy', reader)}", number=True)),
        "archers": [(f"/bows/{build.id}?archer={one}", found.archers[one], one == found.archer_id) for one in found.may_choose],
        "archer": found.archers.get(found.archer_id or "", ""), "arrows": [bow_shown.arrow_line(one, reader) for one in found.speeds.arrows],
        "arrow_columns": tuple(Column(words, number) for words, number in bow_shown.arrow_columns(reader)),
        "arrow_notes": bow_shown.arrow_notes(found), "light": bow_shown.light_arrows(found),
        "not_used": [(f"/pairings/{fact.pairing_id}", f"{fact.arrow_tag}: {why}") for fact, why in found.speeds.not_used],
        "speeds": speed_by_mass_of(found, reader, fit_words=fit_words, asked=asked), "fit_words": fit_words,
        "fit": bow_shown.fit_facts(found, reader), "scale_note": scale, "mass_unit": unit_of(Meaning("", "quantity", kind="arrow_mass"), {}),
        "may_expect": not isinstance(found.speeds.fit, CantTell), "expected": bow_shown.expected_facts(asked, reader) if asked else [],
        "check_columns": CHECKS, "checks": [bow_shown.check_row(found, check, reader) for check in found.checks],
        "drifts": [bow_shown.drift_words(found, drift, reader) for drift in found.drifts], "drift_notes": bow_shown.drift_notes(found, reader),
        "short": [
            ShortLine(f"/shots/{one.shot_id}", one.label, f"{one.archer}, arrow {one.arrow_tag}, {one.day}: {doubtful(one.speed, 'speed', reader, none='speed not read')}")
            for one in found.short_draws
        ],
    }  # fmt: skip


@router.get("/bows/{bow_build_id}", response_class=HTMLResponse)
def bow(request: Request, seat: ViewerSeat, storage: TheBook, bow_build_id: str, archer: str = "", mass: str = "") -> Response:
    return _page(request, seat, storage, bow_build_id, archer=archer, mass=mass)


@router.post("/bows/{bow_build_id}/points", response_class=HTMLResponse)
def paste_points(request: Request, seat: ArcherSeat, storage: TheBook, form: Posted, bow_build_id: str) -> Response:
    """Many points at once: all of them, or none with every fault said by its line."""
    with storage.read() as session:
        found = bow_found(session, bow_build_id)
        if found is None:
            raise HTTPException(404, "The book has no such bow build.")
        at = whose(session, "bow", found.bow.id, "draw", build_id=bow_build_id)
    typed, pasted, operation = body_of(form, DrawPoint, ("instrument",)), str(form.get(PASTED, "")), operation_id(form)
    if pasted.strip():
        problems = save_pasted(seat, storage, at, pasted, typed=typed, operation=operation)
    else:
        problems = [Problem(PASTED, "Nothing was typed yet. A line each, for example 28 in 95 lbf.")]
    if problems:
        return _page(request, seat, storage, bow_build_id, paste=_Paste({**typed, PASTED: pasted}, problems, operation))
    return RedirectResponse(f"/bows/{bow_build_id}", 303)
