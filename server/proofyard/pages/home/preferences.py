"""What a reader chose for this phone alone: light and units. Kept in cookies, never in the book."""

from typing import Annotated

from fastapi import APIRouter, Form, HTTPException
from fastapi.responses import RedirectResponse

from proofyard.access.seats import COOKIE_LASTS_S, AnySeat
from proofyard.pages.frame.rendering import THEMES, own_path

router = APIRouter()

UNITS = {"metric": "Metric: J, m/s, mm, g", "imperial": "Inch, pound, fps: ft·lbf, ft/s, in, gr"}


@router.post("/theme")
async def theme(
    _: AnySeat, theme: Annotated[str, Form(max_length=20)], next: Annotated[str, Form(max_length=2000)] = "/"
) -> RedirectResponse:
    """Sun, paper or dark; "follow" goes back to what the phone itself is set to."""
    if theme not in (*THEMES, "follow"):
        raise HTTPException(422, "Choose sun, paper, dark, or as the device.")
    return _kept("theme", theme if theme in THEMES else None, next)


@router.post("/units")
async def units(
    _: AnySeat, units: Annotated[str, Form(max_length=20)], next: Annotated[str, Form(max_length=2000)] = "/"
) -> RedirectResponse:
    """In which units figures are shown to this reader. What is stored stays in SI."""
    if units not in UNITS:
        raise HTTPException(422, "Choose metric or imperial.")
    return _kept("units", units, next)


def _kept(name: str, value: str | None, back_to: str) -> RedirectResponse:
    answer = RedirectResponse(own_path(back_to), 303)
    if value is None:
        answer.delete_cookie(name, path="/")
    else:
        # Never for https alone: it is no secret, and a laptop back on plain http could not replace it.
        answer.set_cookie(name, value, max_age=COOKIE_LASTS_S, path="/", samesite="lax")
    return answer
