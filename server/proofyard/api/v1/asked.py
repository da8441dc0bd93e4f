"""What a program asks through an address: the filters of the pages, how much at once, and where to go on."""

import base64
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar
from urllib.parse import urlencode

from fastapi import Request

from proofyard.access.problem import FieldProblem
from proofyard.views.address import AsTyped, Query, cut

T = TypeVar("T")
Key = tuple[str | int | float, ...]

MOST_AT_ONCE = 500
AT_ONCE = 100
PAGING = ("limit", "cursor")
LONGEST_CURSOR = 600


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


def query_of(request: Request, *, known: Iterable[str], paged: bool = True) -> Query:
    """The filters of an address. `paged`: limit and cursor may stand beside them.

    Refuses
        NotUsable  a name that this route doesn't know: a filter that was misspelt would otherwise give everything
    """
    asked, beside = request.query_params, PAGING if paged else ()
    strange = [name for name in dict.fromkeys(asked) if name not in {*known, *beside}]
    if strange:
        names = ", ".join(sorted(known)) or "none"
        raise NotUsable(*(FieldProblem(cut(name), f"Not known here. The filters are: {names}.") for name in strange))
    return {name: asked.getlist(name) for name in dict.fromkeys(asked) if name not in beside}


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
    return f"{request.url.path}?{urlencode([*kept, ('cursor', cursor)])}"


def _after(text: str | None, order: str) -> Key | None:
    if text is None:
        return None
    try:
        if len(text) > LONGEST_CURSOR:
            raise _no_cursor()
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
