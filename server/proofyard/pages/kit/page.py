"""All kit, noun by noun, with the facts that matter; retired kit stands apart. Its forms and pages hang on this router."""

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proofyard.access.seats import TheBook, ViewerSeat
from proofyard.answers.kit.kit_listed import AskedKit, Kit, KitPart, asked_kit, read_kit
from proofyard.pages.frame.figures import Reader
from proofyard.pages.frame.forms import query_of
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.pages.kit import builds as kit_builds
from proofyard.pages.kit import endings as kit_endings
from proofyard.pages.kit import forms as kit_forms
from proofyard.pages.kit import parts as kit_parts
from proofyard.pages.kit import record as kit_record
from proofyard.pages.kit.nouns import KIT, KitNoun

router = APIRouter()

# So many of one kind stand open on a phone; more are folded, so that the kinds below are reached without scrolling far.
FEW = 6


@dataclass(frozen=True)
class KitPage:
    """What kit/page.html shows: the kit, what of it is listed, and what each noun is called."""

    kit: Kit
    asked: AskedKit
    parts: tuple[KitPart, ...]
    kinds: Mapping[str, KitNoun]
    reader: str
    may_change: bool
    few: int


@router.get("/kit")
def page(request: Request, seat: ViewerSeat, storage: TheBook, reader: Reader) -> HTMLResponse:
    asked = asked_kit(query_of(request), tuple(KIT))
    with storage.read() as session:
        kit = read_kit(session, asked)
    shown = KitPage(kit, asked, kit.parts, KIT, reader, seat.at_least("archer"), FEW)
    return html("kit/page.html", shown, frame=frame_for(request, title="Kit", nav="kit"))


# The order matters: a word in the address (new, correct, start) must be met before a place that takes any word.
for _part in (kit_forms, kit_builds, kit_endings, kit_record, kit_parts):
    router.include_router(_part.router)
