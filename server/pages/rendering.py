"""From a page's facts to HTML: the one Jinja environment, the frame around every page, and the answers sent.

A page is a template and a frozen dataclass; a part is a file `_name.html` with one root element, sent alone to htmx
and included by its page. The macros of templates/macros stand in the environment once: use them, don't import them.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import NamedTuple
from urllib.parse import urlsplit

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from jinja2.runtime import Macro

from server.access.seats import seat_of
from server.exchange.drawing_png import makes_png
from server.pages.assets import Assets
from server.pages.shapes import as_columns, as_options, as_state, chosen_values
from server.records.trial import rung_name
from server.settings import data_folder

# A macro sees only those that were loaded before it, so the order is by need, not by the alphabet.
MACRO_FILES = (
    "glyph", "rung", "fair", "button", "notice", "strip", "field", "choice", "ladder", "form",
    "row", "tally", "facts", "steps", "revision", "axes", "chart", "drawings", "flight", "panel",
)  # fmt: skip
THEMES = ("sun", "paper", "dark")
HTMX_SETTINGS = {
    "allowEval": False,
    "allowScriptTags": False,
    "includeIndicatorStyles": False,
    "historyCacheSize": 0,
    "refreshOnHistoryMiss": True,
    "timeout": 8000,
    # The first match wins: a form with errors (422) and a form that came too late (409) are shown, not dropped.
    "responseHandling": [
        {"code": "204", "swap": False},
        {"code": "[23]..", "swap": True},
        {"code": "422", "swap": True},
        {"code": "409", "swap": True},
        {"code": "[45]..", "swap": False, "error": True},
    ],
}


class Place(NamedTuple):
    """One item of the masthead."""

    key: str
    words: str
    href: str
    roles: tuple[str, ...]


EVERYONE_IN = ("owner", "archer", "viewer")
BOOK_PLACES = (
    Place("trials", "Trials", "/trials", EVERYONE_IN),
    Place("results", "Results", "/results", EVERYONE_IN),
    Place("kit", "Kit", "/kit", EVERYONE_IN),
    Place("phones", "Phones", "/phones", ("owner",)),
    Place("range", "Range", "/range", ("owner", "archer")),
    Place("download", "Download", "/download", EVERYONE_IN),
)
RANGE_PLACES = (
    Place("line", "Line", "/range", ("owner", "archer")),
    Place("butt", "Butt", "/range/butt", ("owner", "archer")),
    Place("bench", "Bench", "/range/bench", ("owner", "archer")),
    Place("book", "Book", "/trials", EVERYONE_IN),
)


@dataclass(frozen=True)
class Frame:
    """What stands around a page: who looks, under what light, where in the book.

    title        without the program's name
    nav          key of the current place (see BOOK_PLACES, RANGE_PLACES), or ""
    role         owner, archer, viewer, stranger
    theme        sun, paper, dark, or None to follow the phone
    wrong        the page shows errors: the title says so first
    live         the page listens for new shots
    range        the masthead of the range: line, butt, bench
    units        metric or imperial, as the reader chose
    here         where the theme switch comes back to
    only_trial   a viewer who was let in to one trial goes nowhere else
    to_do        counts shown in the range masthead: {"butt": 3, "bench": 4}
    """

    title: str
    nav: str = ""
    role: str = "stranger"
    theme: str | None = None
    demo: bool = False
    wrong: bool = False
    live: bool = False
    range: bool = False
    units: str = "metric"
    here: str = "/"
    to_do: Mapping[str, int] | None = None
    only_trial: str | None = None

    @property
    def places(self) -> tuple[Place, ...]:
        """What this reader may go to from the masthead."""
        if self.only_trial is not None:
            return (Place("trials", "The trial", f"/trials/{self.only_trial}", EVERYONE_IN),)
        return tuple(place for place in (RANGE_PLACES if self.range else BOOK_PLACES) if self.role in place.roles)

    @property
    def light(self) -> str | None:
        """The theme that is drawn. The range opens in sun; a choice made by hand outranks that."""
        return self.theme or ("sun" if self.range else None)


def own_path(text: str) -> str:
    """A path on this server to come back to; "/" for anything that could lead elsewhere."""
    parts = urlsplit(text)
    if parts.scheme or parts.netloc or not text.startswith("/") or text.startswith("//") or "\\" in text:
        return "/"
    return text if text.isprintable() else "/"


def frame_for(
    request: Request,
    *,
    title: str,
    nav: str = "",
    wrong: bool = False,
    live: bool = False,
    range: bool = False,
    to_do: Mapping[str, int] | None = None,
) -> Frame:
    """The frame of a page for this request.

    Who asks is the seat that the door found; demo is `app.state.demo`, which the app sets; theme and units are
    cookies of the phone. A request that nobody vouched for is a stranger's.
    """
    seat = seat_of(request)
    theme = request.cookies.get("theme")
    units = request.cookies.get("units")
    here = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    return Frame(
        title=title,
        nav=nav,
        role=seat.role,
        only_trial=seat.trial_id,
        theme=theme if theme in THEMES else None,
        demo=bool(getattr(request.app.state, "demo", False)),
        wrong=wrong,
        live=live,
        range=range,
        units=units if units in ("metric", "imperial") else "metric",
        # A form that came back with errors stands at an address that can't be fetched: go to where it was shown.
        here=own_path(here) if request.method in ("GET", "HEAD") else "/",
        to_do=to_do,
    )


@cache
def assets() -> Assets:
    """The assets that ship with the program, read once."""
    return Assets(data_folder("static"))


@cache
def environment() -> Environment:
    """The environment of the shipped templates."""
    return make_environment(data_folder("templates"), assets())


def make_environment(templates: Path, served: Assets) -> Environment:
    """A Jinja environment in which an unknown name is an error, all text is escaped, and the macros stand ready."""
    env = Environment(
        loader=FileSystemLoader(templates),
        undefined=StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    env.filters |= {"options": as_options, "chosen": chosen_values, "columns": as_columns, "state": as_state}
    env.globals |= {"rung_name": rung_name, "makes_png": makes_png}
    env.globals |= {"asset": served.url, "htmx_settings": json.dumps(HTMX_SETTINGS, separators=(",", ":"))}
    for name in MACRO_FILES:
        module = env.get_template(f"macros/{name}.html").module
        env.globals |= {key: value for key, value in vars(module).items() if isinstance(value, Macro)}
    return env


def facts_of(context: object) -> dict[str, object]:
    """The fields of a page's dataclass by name, as the template sees them."""
    if not is_dataclass(context) or isinstance(context, type):
        raise TypeError(f"A page's context is a dataclass, not {type(context).__name__}.")
    return {field.name: getattr(context, field.name) for field in fields(context)}


def render(template: str, context: object, *, frame: Frame) -> str:
    """A whole page. The template sees the context's fields by name, and `frame`."""
    return environment().get_template(template).render(facts_of(context) | {"frame": frame})


def render_part(template: str, context: object) -> str:
    """A part alone: what htmx swaps in. It sees the context's fields and nothing of the frame."""
    return environment().get_template(template).render(facts_of(context))


def html(
    template: str, context: object, *, frame: Frame, status: int = 200, headers: Mapping[str, str] | None = None
) -> HTMLResponse:
    """The answer that carries a whole page."""
    return HTMLResponse(render(template, context, frame=frame), status, {"Vary": "HX-Request"} | dict(headers or {}))


def part(
    template: str, context: object, *, status: int = 200, said: str = "", headers: Mapping[str, str] | None = None
) -> HTMLResponse:
    """The answer that carries one part; `said` is read out by a screen reader ("A7 saved")."""
    more = {"Vary": "HX-Request"} | dict(headers or {})
    if said:
        more["HX-Trigger"] = json.dumps({"proofyard:said": said})  # ASCII by escapes: headers hold nothing else
    return HTMLResponse(render_part(template, context), status, more)


def wants_part(request: Request) -> bool:
    """Whether htmx asks for a part. A boosted or history-restore request gets the whole page."""
    asked = request.headers
    return (
        asked.get("HX-Request") == "true"
        and asked.get("HX-Boosted") != "true"
        and asked.get("HX-History-Restore-Request") != "true"
    )
