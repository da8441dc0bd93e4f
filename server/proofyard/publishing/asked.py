"""Asks the app for its own pages, within this process: no socket, no cookie, no phone in the book."""

import asyncio
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from proofyard.access.seats import Seat

MOST_TURNS = 5  # from one address to another, before a page is given up


App = Callable[[Any, Any, Any], Awaitable[None]]  # as ASGI asks: scope, receive, send


@dataclass(frozen=True)
class Answer:
    """What the app said: `address` is where the answer stood in the end, with the place on its page."""

    status: int
    media_type: str
    content: bytes
    address: str


class Asker:
    """The app on a book, asked as one seat asks. `cookies`: such as the units that pages speak."""

    def __init__(self, app: App, seat: Seat, *, cookies: Mapping[str, str]) -> None:
        self._app, self._seat = app, seat
        cookie = "; ".join(f"{name}={value}" for name, value in cookies.items())
        # One loop for all that is asked: a new one for each page costs more than some pages.
        self._runner = asyncio.Runner()
        self._headers = [(b"host", b"localhost"), *([(b"cookie", cookie.encode())] if cookie else [])]

    def ask(self, address: str) -> Answer:
        """The answer at an address, after all turns to another."""
        return self._runner.run(self._ask(address))

    def close(self) -> None:
        """Nothing is asked any more."""
        self._runner.close()

    async def _ask(self, address: str) -> Answer:
        for _ in range(MOST_TURNS):
            status, headers, content = await self._once(address)
            if status not in (301, 302, 303, 307):
                break
            address = headers.get("location", "")
        return Answer(status, headers.get("content-type", "").split(";")[0], content, address)

    async def _once(self, address: str) -> tuple[int, dict[str, str], bytes]:
        parts = urlsplit(address)
        said: dict[str, Any] = {}
        content: list[bytes] = []

        async def receive() -> dict[str, Any]:
            return {"type": "http.request", "body": b"", "more_body": False}

        async def send(message: dict[str, Any]) -> None:
            if message["type"] == "http.response.start":
                said.update(message)
            else:
                content.append(message.get("body", b""))

        await self._app(self._scope(parts.path, parts.query), receive, send)
        headers = {name.decode().lower(): value.decode("latin-1") for name, value in said["headers"]}
        return said["status"], headers, b"".join(content)

    def _scope(self, path: str, query: str) -> dict[str, Any]:
        return {
            "type": "http",
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": "GET",
            "scheme": "http",
            "path": path,
            "raw_path": path.encode(),
            "query_string": query.encode(),
            "root_path": "",
            "headers": self._headers,
            "client": ("127.0.0.1", 0),
            "server": ("localhost", 80),
            "state": {"seat": self._seat, "role": self._seat.role, "moved": None},
        }
