"""A server with several groups, asked without a network: its front, and a browser at each group's door."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from proofyard.access.seats import COOKIE, hash_of, named, new_token, program_hash_of
from proofyard.app import create_app
from proofyard.groups import open_groups
from proofyard.groups.front import Front
from proofyard.groups.places import folder_of
from proofyard.groups.register import open_register
from proofyard.records import devices
from proofyard.settings import Settings
from proofyard.storage import Storage
from starlette.testclient import TestClient

from tests.conftest import ADDRESS, HOST, ONE_LOOP, PORT, with_known_routes

SEAT = named(COOKIE, ADDRESS)


class Served:
    """A running front. `book(name)` is the open book of a group."""

    def __init__(self, front: Front, folder: Path) -> None:
        self.front, self.folder = front, folder

    def book(self, name: str) -> Storage:
        storage: Storage = self.front.opened.app_of(name).state.storage
        return storage

    def look(self) -> None:
        """As the server itself does every few seconds."""
        ONE_LOOP.portal().call(self.front.look)

    def closed(self, name: str) -> None:
        ONE_LOOP.portal().call(self.front.opened.close, name)

    def client(self, cookies: dict[str, str] | None = None) -> TestClient:
        """A browser; it shows these cookies wherever it asks, which no browser would."""
        client = TestClient(self.front, base_url=ADDRESS, headers={"Origin": ADDRESS}, follow_redirects=False)
        client.portal = ONE_LOOP.portal()
        for name, value in (cookies or {}).items():
            client.cookies.set(name, value, domain=HOST)
        return client

    def let_in(self, name: str, role: str, *, trial_id: str | None = None) -> str:
        """The secret of a new cookie."""
        token = new_token()
        with self.book(name).write() as session:
            devices.add_device(session, call_name=f"A {role}", role=role, session_hash=hash_of(token), trial_id=trial_id)
        return token

    def program(self, name: str, role: str) -> str:
        """The token of a new program."""
        token, ends = f"proofyard_{new_token()}", devices.now_ms() + 86_400_000
        with self.book(name).write() as session:
            key = program_hash_of(token)
            devices.add_device(session, call_name="A program", role=role, session_hash=key, kind="program", expires_at=ends, by=None)
        return token

    def seated(self, name: str, role: str, **more: Any) -> TestClient:
        """A browser that one group has let in."""
        return self.client({f"{name}.{SEAT}": self.let_in(name, role, **more)})


@contextmanager
def served(folder: Path, **more: Any) -> Iterator[Served]:
    """The groups of a folder, or of the database that is set, served. `more`: of the front."""
    settings = Settings(folder, host=HOST, port=PORT, **more.pop("settings", {}))
    register = open_register(folder)
    front = Front(register, settings, addresses=lambda: ["192.0.2.7"], looks_every_s=3600.0, **more)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(open_groups, "create_app", lambda *given, **named: with_known_routes(create_app(*given, **named)))
        portal = ONE_LOOP.portal()
        with portal.wrap_async_context_manager(front.running()):
            yield Served(front, folder)
    register.close()


def begun_in(folder: Path, name: str, empty_book_file: Path) -> None:
    """The group's book in its folder, in today's form already: migrating takes longer than most tests."""
    import shutil

    shutil.copyfile(empty_book_file, folder_of(folder, name) / empty_book_file.name)
