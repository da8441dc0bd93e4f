"""What a program asks through an address: the filters of the pages, how much at once, and where to go on."""

import base64
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar
from urllib.parse import urlencode

from fastapi import Request

from proofyard.access.problem import FieldProblem
from proofyard.views.address import AsTyped, Query, Setting, Several, Tick, cut
from proofyard.views.settings import Filter

T = TypeVar("T")
Key = tuple[str | int | float, ...]

MOST_AT_ONCE = 500
AT_ONCE = 100
PAGING = ("limit", "cursor")
LONGEST = 600  # of a value; a cursor has less


class NotUsable(Exception):
    """What was asked can't be used; nothing else is wrong."""

    def __init__(self, *fields: FieldProblem) -> None:
        super().__init__(*fields)
        self.fields = fields


@dataclass(frozen=True)
class Part:
    """One part of a list: what stands in it, how many match in all, and the address of the next part; None after the last."""

    items: Sequence[Any]
    count: int
    next: str | None


def query_of(request: Request, *, known: Iterable[Setting[Any] | Filter], paged: bool = True) -> Query:
    """The filters of an address. `paged`: limit and cursor may stand beside them.

    A page takes what it can use of an address and shows the rest beside its controls; a program would not look.

    Refuses
        NotUsable  a name that this route doesn't know, one that stands twice and may once, one without a value or with too much of it
    """
    asked, beside = request.query_params, PAGING if paged else ()
    settings = {one.name: one.setting if isinstance(one, Filter) else one for one in known}
    names = dict.fromkeys(asked)
    wrongs = [FieldProblem(cut(name), _not_known(settings)) for name in names if name not in {*settings, *beside}]
    wrongs += [FieldProblem(name, wrong) for name in names if (wrong := _wrong_with(settings.get(name), asked.getlist(name)))]
    if wrongs:
        raise NotUsable(*wrongs)
    return {name: asked.getlist(name) for name in names if name not in beside}


def _not_known(settings: Iterable[str]) -> str:
    return f"Not known here. The filters are: {', '.join(sorted(settings)) or 'none'}."


def _wrong_with(setting: Setting[Any] | None, values: Sequence[str]) -> str:
    if len(values) > 1 and not isinstance(setting, Several):
        return "It stands there twice. Give it once."
    if not all(value.strip() for value in values):
        return "It has no value. Give it one, or leave it out."
    if any(len(value) > LONGEST for value in values):
        return f"It is longer than {LONGEST} signs."
    return "It is “yes”, or is left out." if isinstance(setting, Tick) and values != ["yes"] else ""


def must_be_usable(asked: AsTyped) -> None:
    """What a page would say beside its controls is said here, and nothing is given in its place.

    Refuses
        NotUsable  with the page's own sentences
    """
    if asked.problems:
        raise NotUsable(*(FieldProblem(name, sentence) for name, sentence in asked.problems.items()))


def part_of(request: Request, items: Iterable[T], key: Callable[[T], Key], *, order: str = "id", newest_first: bool = False) -> Part:
    """The part of a list that is asked for. A cursor names the last one that was given, so new rows shift nothing.

    key    what the list is ordered by, different for every item
    order  the order's name: a cursor of another order is refused
    Refuses
        NotUsable  limit or cursor can't be used
    """
    limit = _limit(request.query_params.get("limit"))
    every = sorted(((key(one), one) for one in items), key=lambda pair: pair[0], reverse=newest_first)
    after = _after(request.query_params.get("cursor"), order)
    rest = every if after is None else _beyond(every, after, newest_first=newest_first)
    shown = rest[:limit]
    more = len(rest) > len(shown)
    return Part([one for _, one in shown], len(every), _next(request, order, shown[-1][0]) if more else None)


def part_by_id(request: Request, read: Callable[[str | None, int], tuple[Sequence[Any], int, bool]], key: str) -> Part:
    """The part of a list by id that is asked for, of which no more is read.

    read  (after which id, at most so many) -> the rows, how many there are in all, whether more come after these
    key   the name of a row's id
    Refuses
        NotUsable  limit or cursor can't be used
    """
    limit, after = _limit(request.query_params.get("limit")), _after(request.query_params.get("cursor"), "id")
    if after is not None and not (len(after) == 1 and isinstance(after[0], str)):
        raise _no_cursor()
    found, count, more = read(None if after is None else str(after[0]), limit)
    rows = sorted(found, key=lambda row: row[key])
    return Part(rows, count, _next(request, "id", (rows[-1][key],)) if more and rows else None)


def _limit(text: str | None) -> int:
    if text is None:
        return AT_ONCE
    number = int(text) if text.isascii() and text.isdecimal() and len(text) < 7 else 0
    if not 1 <= number <= MOST_AT_ONCE:
        raise NotUsable(FieldProblem("limit", f"“{cut(text)}” is no count from 1 to {MOST_AT_ONCE}."))
    return number


def _beyond(every: Sequence[tuple[Key, T]], after: Key, *, newest_first: bool) -> list[tuple[Key, T]]:
    try:
        return [pair for pair in every if (pair[0] < after if newest_first else pair[0] > after)]
    except TypeError:
        raise _no_cursor() from None


def _next(request: Request, order: str, last: Key) -> str:
    told = json.dumps([order, *last], ensure_ascii=False, separators=(",", ":")).encode()
    kept = [(name, value) for name, value in request.query_params.multi_items() if name != "cursor"]
    cursor = base64.urlsafe_b64encode(told).decode().rstrip("=")
    return f"{outside(request, request.url.path)}?{urlencode([*kept, ('cursor', cursor)])}"


def outside(request: Request, path: str) -> str:
    """A path of ours as a program has to ask for it: behind a proxy all of it may stand below another."""
    below: str = request.app.state.settings.path
    return below + path


def _after(text: str | None, order: str) -> Key | None:
    if text is None:
        return None
    try:
        told = json.loads(base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True))
    except (ValueError, RecursionError):
        raise _no_cursor() from None
    if not isinstance(told, list) or len(told) < 2 or told[0] != order:
        raise _no_cursor()
    if any(isinstance(one, bool) or not isinstance(one, str | int | float) for one in told):
        raise _no_cursor()
    return tuple(told[1:])


def _no_cursor() -> NotUsable:
    return NotUsable(FieldProblem("cursor", "That is no cursor of this list. Take it from “next” as it stands, or begin without one."))
