"""A shot's lower third and card, to lay over a film: SVG, and PNG where this laptop draws them."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from fastapi import APIRouter, HTTPException, Request, Response

from proofyard.access.seats import TheBook, ViewerSeat
from proofyard.charts.text_room import text_width, wrapped
from proofyard.exchange.drawing_png import NoPng, png_of
from proofyard.exchange.film_cues import words_of
from proofyard.exchange.shot_cards import CardWords, Wrap, lower_third, shot_card
from proofyard.pages.charts.files import KINDS, parted
from proofyard.pages.frame.rendering import frame_for
from proofyard.records.shot_facts import shot_facts
from proofyard.shots.impact import Impacts
from proofyard.shots.loosed import fair_in

router = APIRouter()

SPARE = 0.86  # bold DejaVu is that much wider than what charts reckon with
CARDS: Mapping[str, Callable[[CardWords, Wrap], str]] = MappingProxyType({"lower-third": lower_third, "card": shot_card})


def in_lines(text: str, wide: float, size: int, bold: bool) -> tuple[str, ...]:
    """Broken into lines that even the widest of the faces keeps within: a film is cut where this laptop's faces are not."""
    room = SPARE * wide
    most = max(1, int(room / text_width("W", size, bold=bold)))
    words: list[str] = []
    for word in text.split(" "):
        fits = text_width(word, size, bold=bold) <= room
        words += [word] if fits else [word[at : at + most] for at in range(0, len(word), most)]
    return wrapped(" ".join(words), room, size=size, bold=bold)


@router.get("/shots/{shot_id}/cards/{card}")
def card(request: Request, seat: ViewerSeat, book: TheBook, shot_id: str, card: str) -> Response:
    """One drawing, 1920 by 1080 points with a transparent ground; `?large` gives the PNG in 3840 by 2160."""
    name, ending = parted(card)
    reader = frame_for(request, title="").reader
    with book.read() as session:
        facts = shot_facts(session, shot_id=shot_id)
        found = fair_in(session, {one.trial_id for one in facts}, facts, impacts=Impacts.load(session, facts)).shots
    if name not in CARDS or not found:
        raise HTTPException(404, "There is no such card, or no such shot.")
    title, did = words_of(found[0], reader=reader)
    label = found[0].fact.label
    svg = CARDS[name](CardWords(label, title.removeprefix(f"{label}: "), did), in_lines)
    headers = {"Content-Disposition": f'attachment; filename="{label}-{name}{ending}"', "Cache-Control": "no-store"}
    if ending == ".svg":
        return Response(svg.encode(), media_type=KINDS[ending], headers=headers)
    try:
        content = png_of(svg, zoom=2.0 if "large" in request.query_params else 1.0)
    except NoPng as why:
        raise HTTPException(404, str(why)) from why
    return Response(content, media_type=KINDS[ending], headers=headers)
