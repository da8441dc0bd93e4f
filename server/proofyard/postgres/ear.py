"""How one server hears that another changed the book: LISTEN, on a connection of its own, which no pool gives to anybody else."""

import threading
from collections.abc import Callable
from typing import Any

from sqlalchemy.engine import URL

CHANNEL = "proofyard_changed"
# A book that shares its database with others has a channel of its own: nobody wakes for another's changes, or learns when they were.
THIS_CHANNEL = f"CASE current_schema() WHEN 'public' THEN '{CHANNEL}' ELSE '{CHANNEL} ' || current_schema() END"
LOOKED_UP_EVERY_S = 0.5  # how long a stop may have to wait
TRIED_AGAIN_AFTER_S = 2.0


class Ear:
    """A thread that rings whenever somebody commits, until it is closed.

    Nothing is heard while the connection is away, so it rings once after every new one: whoever listens reads the last number then.
    """

    def __init__(self, url: URL, ring: Callable[[], None]) -> None:
        self._given: dict[str, Any] = {**url.query, **url.translate_connect_args(username="user", database="dbname")}
        self._ring = ring
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._listen, name="hears-other-servers", daemon=True)
        self._thread.start()

    def close(self) -> None:
        self._over.set()
        self._thread.join(timeout=5)

    def _listen(self) -> None:
        import psycopg
        from psycopg import sql

        while not self._over.is_set():
            try:
                with psycopg.connect(**self._given, autocommit=True, connect_timeout=10, application_name="proofyard bell") as connection:
                    row = connection.execute(sql.SQL("SELECT {}").format(sql.SQL(THIS_CHANNEL))).fetchone()
                    connection.execute(sql.SQL("LISTEN {}").format(sql.Identifier(row[0] if row else CHANNEL)))
                    self._ring()
                    while not self._over.is_set():
                        for _ in connection.notifies(timeout=LOOKED_UP_EVERY_S, stop_after=1):
                            self._ring()
            except psycopg.Error:
                self._over.wait(TRIED_AGAIN_AFTER_S)
