"""How every figure is worked out: formula, units, range and source, as they stand with the code that does it."""

from dataclasses import dataclass
from itertools import groupby
from typing import Annotated

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse
from pydantic import AfterValidator

from proofyard.access.seats import AnySeat
from proofyard.answers.methods.page import Topic, topic_of, topics
from proofyard.pages.frame.rendering import frame_for, html

router = APIRouter()

# What is looked for, as it was typed; nothing in it can be wrong, and no page needs more than so many letters of it.
Asked = Annotated[str, AfterValidator(lambda text: text[:200]), Query()]


@dataclass(frozen=True)
class Found:
    """Topics under their heading, each with the methods that were asked for."""

    heading: str
    topics: tuple[Topic, ...]


@dataclass(frozen=True)
class MethodsPage:
    """asked: the words of the filter; methods: how many say them."""

    found: tuple[Found, ...]
    asked: str
    methods: int


@dataclass(frozen=True)
class TopicPage:
    """topic: with the methods that were asked for; all: how many it has; beside: the topics under the same heading."""

    topic: Topic
    asked: str
    all: int
    beside: tuple[Topic, ...]


@router.get("/methods", response_class=HTMLResponse)
def methods(request: Request, seat: AnySeat, q: Asked = "") -> HTMLResponse:
    """The topics; with a filter, those that have what was asked. It tells nothing of the book, so anybody may look a figure up."""
    some = [topic for one in topics() if (topic := one.only(q)).methods]
    found = tuple(Found(heading, tuple(group)) for heading, group in groupby(some, key=lambda topic: topic.heading))
    page = MethodsPage(found, q.strip(), sum(len(topic.methods) for topic in some))
    return html("methods/page.html", page, frame=frame_for(request, title="Methods", nav="more"))


@router.get("/methods/of/{method}", include_in_schema=False)
def one_method(seat: AnySeat, method: str) -> RedirectResponse:
    """A method by its name, wherever it stands: so a link needs to know no topic."""
    key = topic_of(method)
    if key is None:
        raise HTTPException(404, "There is no such method.")
    return RedirectResponse(f"/methods/{key}#{method}", 303)


@router.get("/methods/{topic}", response_class=HTMLResponse)
def one_topic(request: Request, seat: AnySeat, topic: str, q: Asked = "") -> HTMLResponse:
    """One topic, all of it or what the filter leaves."""
    whole = next((one for one in topics() if one.key == topic), None)
    if whole is None:
        raise HTTPException(404, "There is no such topic.")
    beside = tuple(one for one in topics() if one.heading == whole.heading)
    page = TopicPage(whole.only(q), q.strip(), len(whole.methods), beside)
    return html("methods/topic.html", page, frame=frame_for(request, title=f"Methods: {whole.name}", nav="more"))
