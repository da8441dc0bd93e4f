"""Drawings of the book as files: what a page shows, as an SVG of its own or a PNG, with its title and what was counted."""

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response

from proofyard.access.seats import ScopedViewerSeat, TheBook, ViewerSeat
from proofyard.answers.panel.page import read_panel
from proofyard.answers.results.drawings import drawings_of, drawn_heads, notes_of
from proofyard.answers.results.page import Results, read_results
from proofyard.answers.session.page import read_session
from proofyard.answers.speeds.drawings import combination_speeds_drawn, day_speeds_drawn
from proofyard.charts.figure import Figure
from proofyard.charts.text_room import wrapped
from proofyard.exchange.drawing_files import HEADING, NOTE, standalone_svg
from proofyard.exchange.drawing_png import NoPng, png_of
from proofyard.pages.frame.figures import Reader
from proofyard.pages.frame.forms import query_of
from proofyard.pages.frame.rendering import environment, frame_for
from proofyard.shots.combination_speeds import combination_found
from proofyard.wording.combinations import combination_name
from proofyard.wording.reasons.said import said
from proofyard.wording.when import day_words, today

router = APIRouter()

KINDS = {".svg": "image/svg+xml", ".png": "image/png"}
OUTCOMES = "outcomes-"


@dataclass(frozen=True)
class Sheet:
    """A drawing to download, and what stands under it beside how it is read."""

    drawing: Figure
    notes: Sequence[str] = ()


def parted(name: str) -> tuple[str, str]:
    """ "shares.svg" as its drawing and its kind."""
    for ending in KINDS:
        if name.endswith(ending):
            return name.removesuffix(ending), ending
    raise HTTPException(404, "A drawing is drawn as .svg or .png.")


def drawn_file(request: Request, sheet: Sheet | None, name: str, ending: str) -> Response:
    """The file of one drawing; 404 where there is none."""
    if sheet is None:
        raise HTTPException(404, "There is no such drawing, or nothing to draw in it.")
    drawn_on = f"Drawn on {day_words(today())}."
    if frame_for(request, title="").demo:
        drawn_on += " An invented example: nobody shot these."
    wide = sheet.drawing.width
    svg = standalone_svg(
        str(environment().globals["chart"](sheet.drawing, "drawing")),  # type: ignore[operator]
        heading=wrapped(sheet.drawing.title, wide, size=HEADING, bold=True),
        notes=[line for note in (sheet.drawing.key, *sheet.notes, drawn_on) if note for line in wrapped(note, wide, size=NOTE)],
    )
    headers = {"Content-Disposition": f'inline; filename="{name}{ending}"', "Cache-Control": "no-cache"}
    if ending == ".svg":
        return Response(svg, media_type=KINDS[ending], headers=headers)
    try:
        return Response(png_of(svg), media_type=KINDS[ending], headers=headers)
    except NoPng as error:
        raise HTTPException(404, str(error)) from error


@router.get("/results/drawings/{drawing}")
def results_drawing(request: Request, seat: ScopedViewerSeat, book: TheBook, drawing: str) -> Response:
    """A drawing of the results page, for the same view: shares, outcome, depth, or outcomes- and a row."""
    name, ending = parted(drawing)
    results = read_results(book, query_of(request), only_trial=seat.trial_id, reader=frame_for(request, title="").reader)
    return drawn_file(request, _of_results(results, name), name, ending)


def _of_results(results: Results, name: str) -> Sheet | None:
    notes = notes_of(results)
    if name.startswith(OUTCOMES):
        heads = {OUTCOMES + one.group.id: Sheet(one.drawing, (said(one.note), *notes)) for one in drawn_heads(results)}
        return heads.get(name)
    found = drawings_of(results)
    drawn = {"shares": found.shares, "outcomes": found.outcomes, "depth": found.depth} if found else {}
    return Sheet(drawn[name], notes) if name in drawn else None


@router.get("/panels/{build_id}/drawings/{drawing}")
def panel_drawing(request: Request, seat: ScopedViewerSeat, book: TheBook, reader: Reader, build_id: str, drawing: str) -> Response:
    """A panel's face with its hits, or their order."""
    name, ending = parted(drawing)
    with book.read() as session:
        read = read_panel(session, build_id, reader=reader, only_trial=seat.trial_id)
    if read is None:
        raise HTTPException(404, "The book has no such panel build.")
    lead = said(read.lead, reader)
    sheets: dict[str, Sheet] = {}
    if read.hits.drawing:
        sheets["face"] = Sheet(read.hits.drawing, (read.hits.caption, lead))
    if read.in_order:
        sheets["order"] = Sheet(read.in_order, (lead,))
    return drawn_file(request, sheets.get(name), name, ending)


@router.get("/combinations/{combination_id}/drawings/{drawing}")
def combination_drawing(request: Request, seat: ViewerSeat, book: TheBook, combination_id: str, drawing: str) -> Response:
    """A combination's speeds in order."""
    name, ending = parted(drawing)
    with book.read() as session:
        found = combination_found(session, combination_id)
    if found is None or name != "speeds":
        raise HTTPException(404, "The book has no such drawing of a combination.")
    drawn = combination_speeds_drawn(found, name=combination_name(found.fact), reader=frame_for(request, title="").reader)
    return drawn_file(request, Sheet(drawn) if drawn else None, name, ending)


@router.get("/sessions/{session_id}/drawings/{drawing}")
def session_drawing(request: Request, seat: ViewerSeat, book: TheBook, session_id: str, drawing: str) -> Response:
    """A day's speeds in order."""
    name, ending = parted(drawing)
    reader = frame_for(request, title="").reader
    with book.read() as session:
        read = read_session(session, session_id, reader=reader)
        if read is None or name != "speeds":
            raise HTTPException(404, "The book has no such drawing of a session.")
        drawn = day_speeds_drawn(read.speeds, read.facts, name=read.heading, reader=reader)
    return drawn_file(request, Sheet(drawn) if drawn else None, name, ending)
