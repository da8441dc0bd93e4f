"""A form as a browser would send it: every control of a drawn page with what stands in it, and what a person changed."""

from html.parser import HTMLParser
from typing import Any

from starlette.testclient import TestClient


class _Forms(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.forms: list[tuple[str, list[tuple[str, str]]]] = []
        self._select: str | None = None
        self._area: str | None = None
        self._open = False
        self.feed(text)

    def _put(self, name: str | None, value: str) -> None:
        if name and self._open:
            self.forms[-1][1].append((name, value))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        at = dict(attrs)
        if tag == "form":
            self.forms.append((at.get("action") or "", []))
            self._open = True
        elif tag == "input":
            kind = at.get("type")
            if kind not in ("radio", "checkbox") or "checked" in at:
                self._put(at.get("name"), at.get("value") or "")
        elif tag == "select":
            self._select = at.get("name")
        elif tag == "option" and "selected" in at:
            self._put(self._select, at.get("value") or "")
        elif tag == "textarea":
            self._area, self._text = at.get("name"), ""

    def handle_data(self, data: str) -> None:
        if self._area is not None:
            self._text += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._open = False
        elif tag == "textarea":
            self._put(self._area, self._text)
            self._area = None


def forms_of(page: str) -> dict[str, dict[str, Any]]:
    """Action -> what the form would send as it stands."""
    found: dict[str, dict[str, Any]] = {}
    for action, pairs in _Forms(page).forms:
        sent: dict[str, Any] = {}
        for name, value in pairs:
            sent[name] = value
        found[action] = sent
    return found


def filled(client: TestClient, address: str, action: str = "", **changed: Any) -> tuple[str, dict[str, Any]]:
    """The form of a page with some of its controls changed; "__" stands for "-" in a name."""
    page = client.get(address)
    assert page.status_code == 200, page.text
    action = action or address.partition("?")[0]
    form = next(sent for where, sent in forms_of(page.text).items() if where.partition("?")[0] == action)
    where = next(where for where in forms_of(page.text) if where.partition("?")[0] == action)
    return where, {**form, **{name.replace("__", "-"): value for name, value in changed.items()}}


def send(client: TestClient, address: str, action: str = "", **changed: Any) -> Any:
    """Open a page, change some controls, press its button."""
    where, form = filled(client, address, action, **changed)
    return client.post(where, data=form)
