"""Pictures of the book as files: what a page shows, as an SVG of its own or a PNG, with its title and what was counted."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response

from server.access.seats import ScopedViewerSeat, TheBook, ViewerSeat
from server.charts.text_room import wrapped
from server.exchange.drawing_files import HEADING, NOTE, standalone_svg
from server.exchange.drawing_png import NoPng, png_of
from server.findings.drawing_of_speeds import day_speeds_drawn, pairing_speeds_drawn
from server.findings.drawings_of_results import drawings_of
from server.findings.pairing_speeds import pairing_found
from server.findings.panel_hits import read_panel
from server.findings.results import Results, read_results
from server.findings.session_page import read_session
from server.findings.when import day_words, today
from server.pages.figures import reader_of
from server.pages.rendering import environment, frame_for
from server.pages.results import query_of
from server.pages.speed_shown import name_of_pairing

router = APIRouter()

KINDS = {".svg": "image/svg+xml", ".png": "image/png"}
OUTCOMES = "outcomes-"


class Drawing(Protocol):
    """What every picture of server/charts has."""

    @property
    def width(self) -> float: ...
    @property
    def title(self) -> str: ...


@dataclass(frozen=True)
class Sheet:
    """A picture to take along: the macro that draws it, and what stands under it."""

    macro: str
    drawing: Drawing
    notes: Sequence[str]


def parted(name: str) -> tuple[str, str]:
    """ "shares.svg" as its picture and its kind."""
    for ending in KINDS:
        if name.endswith(ending):
            return name.removesuffix(ending), ending
    raise HTTPException(404, "A picture is drawn as .svg or .png.")


def drawn_file(request: Request, sheet: Sheet | None, name: str, ending: str) -> Response:
    """The file of one picture; 404 where there is none."""
    if sheet is None:
        raise HTTPException(404, "There is no such picture, or nothing to draw in it.")
    drawn_on = f"Drawn on {day_words(today())}."
    if frame_for(request, title="").demo:
        drawn_on += " An invented example: nobody shot these."
    wide = sheet.drawing.width
    svg = standalone_svg(
        str(environment().globals[sheet.macro](sheet.drawing, "drawing")),  # type: ignore[operator]
        heading=wrapped(sheet.drawing.title, wide, size=HEADING, bold=True),
        notes=[line for note in (*sheet.notes, drawn_on) for line in wrapped(note, wide, size=NOTE)],
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
    """A picture of the results page, for the same view: shares, ladder, depth, or outcomes- and a row."""
    name, ending = parted(drawing)
    results = read_results(book, query_of(request), only_trial=seat.trial_id)
    sheet = _of_results(results, name, reader=reader_of(frame_for(request, title="")))
    return drawn_file(request, sheet, name, ending)


def _of_results(results: Results, name: str, *, reader: str) -> Sheet | None:
    found = drawings_of(results, reader=reader)
    if found is None:
        return None
    notes = found.notes
    sheets = {
        "shares": Sheet("share_forest", found.shares, (found.shares.key, *notes)),
        "ladder": Sheet("ladder_stack", found.ladder, (found.ladder.key, *notes)),
        "depth": Sheet("depth_by_energy", found.depth, (found.depth.key, *notes)),
    }
    for group in results.groups:
        sheets[OUTCOMES + group.id] = Sheet("chart", group.picture, (group.note, *notes))
    return sheets.get(name)


@router.get("/panels/{build_id}/drawings/{drawing}")
def panel_drawing(request: Request, seat: ScopedViewerSeat, book: TheBook, build_id: str, drawing: str) -> Response:
    """A panel's face with its hits, or their order."""
    name, ending = parted(drawing)
    with book.read() as session:
        read = read_panel(session, build_id, reader=reader_of(frame_for(request, title="")), only_trial=seat.trial_id)
    if read is None:
        raise HTTPException(404, "The book has no such panel build.")
    sheets: dict[str, Sheet] = {}
    if read.hits.drawing:
        sheets["face"] = Sheet("panel", read.hits.drawing, (read.hits.caption, read.lead))
    if read.in_order:
        sheets["order"] = Sheet("hits_in_order", read.in_order, (read.in_order.key, read.lead))
    return drawn_file(request, sheets.get(name), name, ending)


@router.get("/pairings/{pairing_id}/drawings/{drawing}")
def pairing_drawing(request: Request, seat: ViewerSeat, book: TheBook, pairing_id: str, drawing: str) -> Response:
    """A pairing's speeds in order."""
    name, ending = parted(drawing)
    with book.read() as session:
        found = pairing_found(session, pairing_id)
    if found is None or name != "speeds":
        raise HTTPException(404, "The book has no such picture of a pairing.")
    drawn = pairing_speeds_drawn(found, name=name_of_pairing(found.fact), reader=reader_of(frame_for(request, title="")))
    return drawn_file(request, Sheet("speeds_in_order", drawn, (drawn.key,)) if drawn else None, name, ending)


@router.get("/sessions/{session_id}/drawings/{drawing}")
def session_drawing(request: Request, seat: ViewerSeat, book: TheBook, session_id: str, drawing: str) -> Response:
    """A day's speeds in order."""
    name, ending = parted(drawing)
    reader = reader_of(frame_for(request, title=""))
    with book.read() as session:
        read = read_session(session, session_id, reader=reader)
        if read is None or name != "speeds":
            raise HTTPException(404, "The book has no such picture of a session.")
        drawn = day_speeds_drawn(session, read.facts, name=read.heading, reader=reader)
    return drawn_file(request, Sheet("speeds_in_order", drawn, (drawn.key,)) if drawn else None, name, ending)
