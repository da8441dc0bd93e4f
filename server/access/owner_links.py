"""The one-time link that makes its opener the owner: made in memory, printed by `serve`, worth nothing once used."""

import hmac
import threading

from server.access.sessions import hash_of, new_token


class OwnerLinks:
    """At most one link is open at a time; a new one closes the one before."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._open: bytes | None = None

    def new(self) -> str:
        """The token of a new link."""
        token = new_token()
        with self._lock:
            self._open = hash_of(token)
        return token

    def is_open(self, token: str) -> bool:
        """Whether this token would be taken. Looking doesn't use it up: a browser may fetch a link before a person does."""
        given = hash_of(token)
        with self._lock:
            return self._open is not None and hmac.compare_digest(self._open, given)

    def use(self, token: str) -> bool:
        """Use it up. Of two that come at once one wins."""
        given = hash_of(token)
        with self._lock:
            if self._open is None or not hmac.compare_digest(self._open, given):
                return False
            self._open = None
            return True
