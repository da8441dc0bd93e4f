"""Servers in processes of their own, for benchmarks: each listens at a free port and prints it.

python -m tests.bench.a_child bare FOLDER      one FastAPI route that inserts one row with the book's own durability
python -m tests.bench.a_child ours FOLDER      Proofyard
"""

from __future__ import annotations

import contextlib
import http.client
import json
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

REPOSITORY = Path(__file__).resolve().parents[2]


def bare_app(folder: Path) -> Any:
    from fastapi import FastAPI
    from proofyard.book_file import library as sqlite3
    from proofyard.storage import durability_here
    from pydantic import BaseModel

    mode = durability_here()
    connection = sqlite3.connect(folder / "bare.db", isolation_level=None, check_same_thread=False)
    for line in (
        f"journal_mode={mode.journal}",
        f"synchronous={mode.synchronous}",
        "foreign_keys=ON",
        "fullfsync=ON",
        "checkpoint_fullfsync=ON",
    ):
        connection.execute(f"PRAGMA {line}")
    connection.execute("CREATE TABLE IF NOT EXISTS item (id TEXT PRIMARY KEY, label TEXT NOT NULL, body TEXT NOT NULL) STRICT")
    turn = threading.Lock()
    app = FastAPI(openapi_url=None)

    class Item(BaseModel):
        id: str
        label: str
        body: dict[str, str | int]

    # The class is local, so its name can't be read from an annotation that is kept as text.
    def insert(item: Any) -> dict[str, str]:
        with turn:
            connection.execute("BEGIN IMMEDIATE")
            connection.execute("INSERT INTO item VALUES (?, ?, ?)", (item.id, item.label, json.dumps(item.body)))
            connection.execute("COMMIT")
        return {"id": item.id}

    insert.__annotations__ = {"item": Item, "return": dict[str, str]}
    app.post("/items")(insert)
    return app


def main(kind: str, folder: str) -> None:
    from proofyard.access.connections import Connections
    from proofyard.opening import HeldFolder, open_book
    from proofyard.serving import listening_socket, server_of, stopping_is_no_failure
    from proofyard.settings import Settings

    listener = listening_socket("127.0.0.1", 0)
    port = listener.getsockname()[1]
    with contextlib.ExitStack() as stack:
        if kind == "bare":
            app = bare_app(Path(folder))
            # the server counts its connections in the app's gate, which is all of the gate that it asks for
            app.state.gate = SimpleNamespace(connections=Connections())
        else:
            from proofyard.app import create_app

            stack.enter_context(HeldFolder(Path(folder)))
            app = create_app(open_book(Path(folder)), Settings(Path(folder), "127.0.0.1", port))
        print(port, flush=True)
        with stopping_is_no_failure():
            server_of(app).run(sockets=[listener])


@contextlib.contextmanager
def child(kind: str, folder: Path) -> Iterator[tuple[http.client.HTTPConnection, int]]:
    """A connection to such a server that is kept open, and the port."""
    folder.mkdir(parents=True, exist_ok=True)
    line = [sys.executable, "-m", "tests.bench.a_child", kind, str(folder)]
    with subprocess.Popen(line, cwd=REPOSITORY, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout
            port = int(process.stdout.readline())
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
            connection.connect()
            with contextlib.closing(connection):
                yield connection, port
        finally:
            process.terminate()
            process.wait(20)


if __name__ == "__main__":
    main(*sys.argv[1:])
