"""When a page can't be had: the four voices of failure, each with what is safe now."""

import secrets
from dataclasses import dataclass

from fastapi.responses import HTMLResponse

from server.pages.rendering import Frame, html

# No letter that is read as another one when a person reads the code out over a phone.
CODE_LETTERS = "BCDFGHJKMNPQRSTVWXYZ"


@dataclass(frozen=True)
class NotFound:
    """404: nothing there, or never was."""

    what: str = "It may have been typed wrong, or belong to another book."
    way: str = "/trials"
    way_words: str = "To the trials"


@dataclass(frozen=True)
class NotAllowed:
    """403: this phone may not do that; who may, and how to get there."""

    heading: str = "This phone may not do that"
    what: str = "Ask the owner to let it in: they see it under Phones."
    way: str = "/"
    way_words: str = "To the first page"


@dataclass(frozen=True)
class SomeoneElse:
    """409: someone else's change came first, or the thing is gone."""

    heading: str = "Someone else changed this first"
    what: str = "Nothing of theirs was overwritten. Look at what stands now, then decide."
    way: str = "/trials"
    way_words: str = "See what stands now"
    theirs: str = ""
    yours: str = ""


@dataclass(frozen=True)
class OurFault:
    """500: a short code that stands in the log too; never the exception's text."""

    code: str


TEMPLATES = {
    NotFound: ("oops/not_found.html", 404),
    NotAllowed: ("oops/not_allowed.html", 403),
    SomeoneElse: ("oops/someone_else.html", 409),
    OurFault: ("oops/our_fault.html", 500),
}


def new_code() -> str:
    """A code for one fault, short enough to be read out: "KTR-WMB"."""
    letters = "".join(secrets.choice(CODE_LETTERS) for _ in range(6))
    return f"{letters[:3]}-{letters[3:]}"


def trouble(what: NotFound | NotAllowed | SomeoneElse | OurFault, *, frame: Frame) -> HTMLResponse:
    """The page for one of the four, with its status, never kept by a browser."""
    template, status = TEMPLATES[type(what)]
    return html(template, what, frame=frame, status=status, headers={"Cache-Control": "no-store"})
