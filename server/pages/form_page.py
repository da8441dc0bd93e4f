"""A page with one form: what it shows, and how it answers. 422 when something typed is wrong, with all of it still there."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from fastapi import Request
from fastapi.responses import HTMLResponse

from server.pages.forms import FormField
from server.pages.rendering import frame_for, html
from server.pages.shapes import Wrong


@dataclass(frozen=True)
class FormPage:
    """What forms/page.html shows.

    unseen    what travels unseen: the revision that the sender saw, the number of a build
    classes   of the form; layout__words keeps its lines short
    """

    heading: str
    lead: str
    action: str
    operation: str
    fields: Sequence[FormField]
    errors: Sequence[Wrong]
    save: str
    back: str
    back_words: str = "Leave it"
    unseen: Mapping[str, str] = field(default_factory=dict)
    caution: str = ""
    classes: str = "form"


def form_answer(request: Request, page: FormPage, *, nav: str, title: str = "", template: str = "forms/page.html") -> HTMLResponse:
    """The page as a whole; `title` where it isn't the heading."""
    frame = frame_for(request, title=title or page.heading, nav=nav, wrong=bool(page.errors))
    return html(template, page, frame=frame, status=422 if page.errors else 200)
