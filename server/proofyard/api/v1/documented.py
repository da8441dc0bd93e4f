"""What a route says of itself in the document: the shape of its answer, its filters, and whether it may find nothing."""

from collections.abc import Iterable, Mapping
from typing import Any

from fastapi import APIRouter
from pydantic import BaseModel

from proofyard.access.problem import INTERFACE
from proofyard.api.v1.asked import AT_ONCE, LONGEST, MOST_AT_ONCE
from proofyard.views.address import Amount, Choice, Setting, Several, Tick
from proofyard.views.settings import Filter

FINDS_NOTHING = "x-may-find-nothing"
_LIMIT = {
    "name": "limit",
    "in": "query",
    "description": f"How many at once, 1 to {MOST_AT_ONCE}",
    "schema": {"type": "integer", "minimum": 1, "maximum": MOST_AT_ONCE, "default": AT_ONCE},
}
_CURSOR = {
    "name": "cursor",
    "in": "query",
    "description": "Where to go on: taken from “next” as it stands. It names the last one that was given, so new rows shift nothing.",
    "schema": {"type": "string", "minLength": 1, "maxLength": LONGEST, "pattern": "^[A-Za-z0-9_-]+$"},
}


def routes(tag: str) -> APIRouter:
    """A router under this interface; each route is called as its function is."""
    return APIRouter(prefix=INTERFACE, tags=[tag], generate_unique_id_function=lambda route: route.name)


def told(
    answer: type[BaseModel],
    *,
    filters: Iterable[Setting[Any] | Filter] = (),
    one: bool = False,
    listed: bool = True,
    sends: type[BaseModel] | None = None,
) -> dict[str, Any]:
    """What the decorator of a route takes.

    one     of one record: it may find nothing, and has no parts
    listed  whether the answer comes in parts
    sends   the shape of what is sent
    """
    settings = [each.setting if isinstance(each, Filter) else each for each in filters]
    parameters = [_parameter(setting) for setting in settings] + ([] if one or not listed else [_LIMIT, _CURSOR])
    more: dict[str, Any] = {FINDS_NOTHING: True} if one else {}
    if sends is not None:
        shape = {"$ref": f"#/components/schemas/{sends.__name__}"}
        more["requestBody"] = {"required": True, "content": {"application/json": {"schema": shape}}}
    return {
        "responses": {200: {"model": answer, "description": (answer.__doc__ or "").strip()}},
        "openapi_extra": {"parameters": parameters} | more,
    }


def _parameter(setting: Setting[Any]) -> Mapping[str, Any]:
    schema: dict[str, Any] = {"type": "string", "minLength": 1, "maxLength": LONGEST}
    if isinstance(setting, Tick):
        schema = {"type": "string", "enum": ["yes"]}
    elif isinstance(setting, Several):
        each: dict[str, Any] = (
            {"type": "string", "enum": list(setting.choices)}
            if setting.choices
            else {"type": "string", "minLength": 1, "maxLength": LONGEST}
        )
        schema = {"type": "array", "items": each}
    elif isinstance(setting, Choice) and setting.choices:
        schema = {"type": "string", "enum": [value for value in setting.choices if value]}
        if setting.default:
            schema["default"] = setting.default
    words = [setting.label.strip() or setting.name]
    if isinstance(setting, Amount):
        words.append(f"A number with its unit, for example “20 {setting.unit}”; without one it is in {setting.unit}")
    words += [setting.hint.strip().rstrip(".")] if setting.hint else []
    words += ["; ".join(f"{value}: {shown}" for value, shown in setting.choices.items() if value)] if setting.choices else []
    return {"name": setting.name, "in": "query", "description": ". ".join(words), "schema": schema}
