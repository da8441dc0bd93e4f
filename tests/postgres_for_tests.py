"""A PostgreSQL of the tests' own: started once a process, with a database a test, copied from one that has an empty book.

Nothing of it outlives the run, so nothing waits for the disk.
"""

from __future__ import annotations

import itertools
import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from proofyard.opening import newest_form
from proofyard.postgres.book import PostgresBook, url_of
from proofyard.postgres.forms import migrate
from proofyard.settings import BOOK_FILE, data_folder

USER = "postgres"  # PostgreSQL refuses to run as root
_NUMBERS = itertools.count(1)


def program(name: str) -> str | None:
    """Debian keeps them out of the path."""
    found = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"))
    return str(found[-1]) if found else shutil.which(name)


class Server:
    """A running server, by the folder of its socket."""

    def __init__(self, folder: Path, again: Callable[[], None] = lambda: None) -> None:
        self.folder = folder
        self.restart = again

    def address(self, database: str) -> str:
        return f"postgresql+psycopg://{USER}@/{database}?host={self.folder}&port=5432"

    def say(self, statement: str) -> None:
        import psycopg

        with psycopg.connect(host=str(self.folder), port=5432, user=USER, dbname="postgres", autocommit=True) as connection:
            connection.execute(statement.encode())

    def new_database(self, template: str = "template0") -> str:
        """The address of a new one."""
        name = f"test_{next(_NUMBERS)}"
        self.say(f"CREATE DATABASE {name} TEMPLATE {template}")
        return self.address(name)

    def book(self, folder: Path) -> PostgresBook:
        """A new, empty book; its photos would lie in the folder."""
        folder.mkdir(parents=True, exist_ok=True)
        return PostgresBook(folder / BOOK_FILE, url_of(self.new_database("empty_book")))


@contextmanager
def running_server(*, hurried: bool = True) -> Iterator[Server]:
    """Start one, with an empty book as a template. `hurried`: nothing waits for the disk; otherwise as it is by itself."""
    initdb, postgres, ctl = (program(name) for name in ("initdb", "postgres", "pg_ctl"))
    assert initdb and postgres and ctl
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    other: dict[str, Any] = {}
    if os.geteuid() == 0:
        shutil.chown(folder, USER, USER)
        other = {"user": USER, "group": USER, "extra_groups": []}

    def run(*words: str) -> None:
        subprocess.run(words, check=True, stdout=subprocess.DEVNULL, cwd=folder, **other)

    data = str(folder / "data")
    run(initdb, "-D", data, "-U", USER, "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")
    pace = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off" if hurried else ""
    said = f"-k {folder} -c listen_addresses='' -c max_connections=120 {pace}"

    def do(*what: str) -> None:
        run(ctl, "-D", data, "-w", "-l", str(folder / "log"), "-o", said, *what)

    do("start")
    try:
        server = Server(folder, lambda: do("-m", "fast", "restart"))
        server.say("CREATE DATABASE empty_book")
        migrate(url_of(server.address("empty_book")), data_folder("migrations"), newest_form())
        yield server
    finally:
        run(ctl, "-D", data, "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)
