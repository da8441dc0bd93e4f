"""A real server on a real file: uvicorn in a thread of its own."""

from __future__ import annotations

import asyncio
import socket
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import uvicorn
from proofyard.access.seats import hash_of, new_token
from proofyard.app import create_app
from proofyard.opening import open_book
from proofyard.records import devices
from proofyard.settings import Certificate, Settings
from proofyard.storage import Storage

from tests.conftest import with_known_routes


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class RealServer:
    """uvicorn in a thread of its own, on a book in a folder of its own."""

    folder: Path
    port: int = field(default_factory=free_port)
    certificate: Certificate | None = None
    behind: dict[str, Any] = field(default_factory=dict)  # what of its settings is about proxies
    _server: uvicorn.Server | None = None
    _thread: threading.Thread | None = None
    app: Any = None

    @property
    def address(self) -> str:
        return f"{'https' if self.certificate else 'http'}://127.0.0.1:{self.port}"

    @property
    def book(self) -> Storage:
        """The book as the server has it open; a stopped server has none."""
        storage: Storage = self.app.state.storage
        return storage

    def start(self) -> None:
        settings = Settings(self.folder, host="127.0.0.1", port=self.port, certificate=self.certificate, **self.behind)
        self.app = with_known_routes(create_app(open_book(self.folder), settings))
        pair = {"ssl_certfile": self.certificate.shown, "ssl_keyfile": self.certificate.key} if self.certificate else {}
        self._server = uvicorn.Server(
            uvicorn.Config(self.app, host="127.0.0.1", port=self.port, log_level="warning", timeout_graceful_shutdown=1, **pair)
        )
        self._thread = threading.Thread(target=asyncio.run, args=(self._serve(self._server),), daemon=True)
        self._thread.start()
        until = time.monotonic() + 20
        while not self._server.started:
            assert time.monotonic() < until and self._thread.is_alive(), "the server did not start"
            time.sleep(0.02)

    async def _serve(self, server: uvicorn.Server) -> None:
        await server.serve()
        for one in list(server.server_state.connections):  # by https they wait for the phone's farewell
            one.transport.abort()
        await asyncio.sleep(0.05)

    def stop(self) -> None:
        assert self._server is not None and self._thread is not None
        self.app.state.doorbell.close()  # open streams end first: in a thread the server hears no signal
        self._server.should_exit = True
        self._thread.join(timeout=20)
        assert not self._thread.is_alive(), "the server did not stop"

    def let_in(self, call_name: str, role: str = "archer") -> str:
        """A device that was let in; gives the secret of its cookie."""
        token = new_token()
        with self.book.write() as session:
            devices.add_device(session, call_name=call_name, role=role, session_hash=hash_of(token))
        return token
