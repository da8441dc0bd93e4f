"""What a form posted, read before the route runs, so that the route itself may wait for the book in a thread."""

from typing import Annotated

from fastapi import Depends, Request
from starlette.datastructures import FormData


async def posted(request: Request) -> FormData:
    return await request.form(max_fields=500, max_files=0)


Posted = Annotated[FormData, Depends(posted)]


def base_rev(form: FormData, name: str = "base_rev") -> int:
    """The revision that the person saw; 0 where the form does not say, which makes every change a second opinion."""
    text = str(form.get(name, ""))
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
