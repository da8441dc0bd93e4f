"""From a page's facts to HTML: the one Jinja environment, the frame around every page, and the answers sent.

A page is a template and a frozen dataclass; a part is a file `_name.html` with one root element, sent alone to htmx
and included by its page. The macros of templates/macros stand in the environment once: use them, don't import them.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import Protocol
from urllib.parse import urlsplit

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from jinja2.runtime import Macro

from proofyard.access.seats import seat_of
from proofyard.exchange.drawing_png import makes_png
from proofyard.pages.frame import figures
from proofyard.pages.frame.assets import Assets
from proofyard.pages.frame.forms import as_columns, as_options, as_state, cell, chosen_values, ticked
from proofyard.pages.frame.places import BOOK_PLACES, EVERYONE_IN, RANGE_PLACES, Place, family_of, open_to, place_at
from proofyard.quantities import figure, plainly, unit_for_reader, written, written_with_uncertainty
from proofyard.records.listing import name_of
from proofyard.records.trial import OUTCOME_SIGNS, outcome_name
from proofyard.settings import data_folder
from proofyard.wording import formula_names
from proofyard.wording.combinations import combination_name
from proofyard.wording.counts import counted
from proofyard.wording.figures import (
    bare,
    bare_spread,
    both_units,
    degrees_of_freedom,
    in_unit,
    share_words,
    spread_words,
    with_uncertainty,
)
from proofyard.wording.reasons.said import said as reason_words
from proofyard.wording.reasons.said import sentence
from proofyard.wording.reasons.session import incident_words, labels_listed
from proofyard.wording.what_it_did import what_it_did
from proofyard.wording.when import clock_words, day_words, moment_words

# A macro sees only those that were loaded before it, so the order is by need, not by the alphabet.
MACRO_FILES = (
    "glyph",
    "outcome",
    "fair",
    "button",
    "notice",
    "strip",
    "field",
    "choice",
    "control",
    "outcomes",
    "form",
    "row",
    "tally",
    "facts",
    "steps",
    "revision",
    "chart",
    "heads",
    "find",
)
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


@dataclass(frozen=True)
class Frame:
    """What stands around a page: who looks, under what light, where in the book.

    title        without the program's name
    nav          key of the current place (see pages/frame/places.py), or ""
    role         owner, archer, viewer, stranger
    theme        sun, paper, dark, or None to follow the phone
    wrong        how many fields are to be checked: the title says so first
    live         the page listens for new shots
    range        the masthead of the range: line, butt, bench
    path         where the page stands, for what stands beside it
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
    wrong: int = 0
    live: bool = False
    range: bool = False
    path: str = ""
    units: str = "metric"
    here: str = "/"
    to_do: Mapping[str, int] | None = None
    only_trial: str | None = None

    @property
    def places(self) -> tuple[Place, ...]:
        """What this reader may go to from the masthead."""
        if self.only_trial is not None:
            return (Place("trials", "The trial", f"/trials/{self.only_trial}", EVERYONE_IN),)
        return open_to(RANGE_PLACES if self.range else BOOK_PLACES, self.role, only_trial=None)

    @property
    def family(self) -> str:
        """What the pages beside this one have in common; "" where there is none to go to."""
        found = family_of(self.path)
        return found.words if found and len(self.siblings) > 1 else ""

    @property
    def siblings(self) -> tuple[Place, ...]:
        """The pages that stand beside this one, it among them, as far as this reader may go."""
        found = family_of(self.path)
        return open_to(found.places, self.role, only_trial=self.only_trial) if found else ()

    @property
    def sibling(self) -> str:
        """The key of the one that this page is, or is beneath."""
        found = place_at(self.path, self.siblings)
        return found.key if found else ""

    @property
    def title_words(self) -> str:
        """What the browser shows: "2 fields to check, new bow"."""
        return f"{counted(self.wrong, 'field')} to check, {mid_sentence(self.title)}" if self.wrong else self.title

    @property
    def reader(self) -> str:
        """Which units this reader chose, by the name that quantities knows."""
        return "archery" if self.units == "imperial" else "metric"

    @property
    def light(self) -> str | None:
        """The theme that is drawn. The range opens in sun; a choice made by hand outranks that."""
        return self.theme or ("sun" if self.range else None)


# Words that begin a page's title and are no name: after a comma they begin small.
PLAIN_WORDS = frozenset(
    [
        "A",
        "An",
        "Add",
        "All",
        "Ask",
        "Bow",
        "Blunt",
        "Compare",
        "Copy",
        "Correct",
        "Cross",
        "Download",
        "Earlier",
        "Every",
        "How",
        "Log",
        "New",
        "Photo",
        "Photos",
        "Plan",
        "Read",
        "Results",
        "Retire",
        "Set",
        "Shot",
        "Speed",
        "Speeds",
        "The",
        "Trials",
        "Type",
        "What",
        "Your",
    ]
)


def mid_sentence(title: str) -> str:
    """A title as it stands after a comma: "new bow", but "Old Meg"."""
    first = title.split(" ", 1)[0]
    return title[:1].lower() + title[1:] if first.rstrip(":,") in PLAIN_WORDS else title


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
    wrong: int = 0,
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
        wrong=int(wrong),
        live=live,
        range=range,
        path=request.url.path,
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
    env.filters |= {
        "said": reason_words,
        "sentence": sentence,
        "cell": cell,
        "options": as_options,
        "chosen": chosen_values,
        "columns": as_columns,
        "state": as_state,
        "ticked": ticked,
        "figure": figure,
        "uncertain": with_uncertainty,
        "measured": written_with_uncertainty,
        "both_units": both_units,
        "bare": bare,
        "fact": figures.fact,
        "as_marked": figures.as_marked,
        "name": name_of,
        "unit": unit_for_reader,
        "counted": counted,
        "plainly": plainly,
        "written": written,
        "day": day_words,
        "clock": clock_words,
        "moment": moment_words,
        "in_unit": in_unit,
        "bare_spread": bare_spread,
        "spread": spread_words,
        "degrees": degrees_of_freedom,
        "combination_name": combination_name,
        "incident": incident_words,
        "labels": labels_listed,
        "share": share_words,
        "what_it_did": what_it_did,
    }
    env.globals |= {"formulas": formula_names, "outcome_name": outcome_name, "outcome_signs": OUTCOME_SIGNS, "makes_png": makes_png}
    env.globals |= {"asset": served.urls.__getitem__, "htmx_settings": json.dumps(HTMX_SETTINGS, separators=(",", ":"))}
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


def html(template: str, context: object, *, frame: Frame, status: int = 200, headers: Mapping[str, str] | None = None) -> HTMLResponse:
    """The answer that carries a whole page."""
    return HTMLResponse(render(template, context, frame=frame), status, {"Vary": "HX-Request"} | dict(headers or {}))


class Faulted(Protocol):
    """What a page with settings shows; `wrongs`: what of them can't be used."""

    @property
    def wrongs(self) -> Sequence[object]: ...


def asked_page(request: Request, template: str, page: Faulted, *, title: str, nav: str = "results") -> HTMLResponse:
    """The answer of a page that is asked something: 422 where a setting can't be used."""
    frame = frame_for(request, title=title, nav=nav, wrong=len(page.wrongs))
    return html(template, page, frame=frame, status=422 if page.wrongs else 200)


def part(template: str, context: object, *, status: int = 200, said: str = "", headers: Mapping[str, str] | None = None) -> HTMLResponse:
    """The answer that carries one part; `said` is read out by a screen reader ("A7 saved")."""
    more = {"Vary": "HX-Request"} | dict(headers or {})
    if said:
        more["HX-Trigger"] = json.dumps({"proofyard:said": said})  # ASCII by escapes: headers hold nothing else
    return HTMLResponse(render_part(template, context), status, more)


def wants_part(request: Request) -> bool:
    """Whether htmx asks for a part. A boosted or history-restore request gets the whole page."""
    asked = request.headers
    return asked.get("HX-Request") == "true" and asked.get("HX-Boosted") != "true" and asked.get("HX-History-Restore-Request") != "true"
