"""Asking to join, being let in, and being put out.

A stranger names itself and is shown two words; the owner sees the same two and lets the phone in, or turns it away.
The new cookie is then handed out when the waiting phone next asks. Each step is a line in the notebook.
"""

import threading
import unicodedata
from dataclasses import dataclass
from typing import Any

from server.access.limits import Pace
from server.access.seat_book import SeatBook
from server.access.sessions import asking_hash_of, hash_of, new_token
from server.access.words import two_words
from server.records import devices
from server.records.book import Device
from server.storage import Storage

ASKING_LASTS_MS = 15 * 60 * 1000
MOST_WAITING = 20
MOST_NAME = 40
ASKS_A_MINUTE = 6
DAY_MS = 24 * 3600 * 1000
MOST_DAYS = 400


class NotNow(Exception):
    """Asking can't be taken now; the sentence says why and when it can."""

    def __init__(self, sentence: str, *, retry_after_s: int) -> None:
        super().__init__(sentence)
        self.sentence, self.retry_after_s = sentence, retry_after_s


@dataclass(frozen=True)
class Claim:
    """A cookie that waits for its phone."""

    token: str
    role: str
    until: int


def wrong_with_name(call_name: str) -> str | None:
    """What is wrong with a call name, in words; None for one that can be used."""
    if not call_name:
        return "Type what you are called at the range, for example Wren."
    if len(call_name) > MOST_NAME:
        return f"{len(call_name)} letters are too many. Use {MOST_NAME} at most."
    if any(unicodedata.category(sign).startswith("C") for sign in call_name):
        return "There is a sign in it that can’t be shown. Type it in plain letters."
    return None


class Joining:
    """The door of one book. Every method may be called from any thread."""

    def __init__(self, storage: Storage, seats: SeatBook) -> None:
        self._storage, self._seats = storage, seats
        self._pace = Pace(ASKS_A_MINUTE, 60.0)
        self._claims: dict[bytes, Claim] = {}
        self._lock = threading.Lock()

    def ask(self, call_name: str, *, agent: str, address: str, earlier: str | None = None) -> str:
        """Put a phone among those that ask; gives the token of its asking cookie.

        call_name   spaces squeezed; see `wrong_with_name`
        earlier     the asking cookie that it still has: that request is withdrawn
        Refuses
            NotNow  too many ask, or this address asks too often
        """
        with self._lock:
            wait = self._pace.wait_s(address)
        if wait > 0:
            raise NotNow(f"This phone asked {ASKS_A_MINUTE} times within a minute. Wait a minute, then ask again.", retry_after_s=int(wait) + 1)
        token = new_token()
        with self._storage.write() as session:
            waiting = self._still_asking(session)
            if earlier is not None:
                waiting = self._withdraw(session, waiting, earlier)
            if len(waiting) >= MOST_WAITING:
                raise NotNow(f"{MOST_WAITING} phones wait at the door already. Have the owner answer them, then ask again.", retry_after_s=60)
            words = two_words({one.words for one in waiting if one.words})
            devices.add_device(
                session, call_name=call_name, role="asking", words=words, session_hash=asking_hash_of(token), agent=agent,
                expires_at=devices.now_ms() + ASKING_LASTS_MS,
            )  # fmt: skip
        return token

    def _still_asking(self, session: Any) -> list[Device]:
        """Those that ask, after turning out those that nobody answered in time."""
        waiting, now = [], devices.now_ms()
        for one in devices.devices(session):
            if one.role == "asking" and (one.expires_at or 0) <= now:
                devices.change_role(session, one, "out", why="nobody answered within 15 minutes")
            elif one.role == "asking":
                waiting.append(one)
        return waiting

    def _withdraw(self, session: Any, waiting: list[Device], token: str) -> list[Device]:
        key = asking_hash_of(token)
        for one in [one for one in waiting if one.session_hash == key]:
            devices.change_role(session, one, "out", why="asked again")
        return [one for one in waiting if one.role == "asking"]

    def waiting(self, token: str) -> Device | None:
        """The phone that carries this asking cookie, while it waits."""
        with self._storage.read() as session:
            device = devices.device_of_session(session, asking_hash_of(token))
        return device if device is not None and device.role == "asking" and (device.expires_at or 0) > devices.now_ms() else None

    def claim(self, token: str) -> Claim | None:
        """The seat's cookie for a phone that was let in. It may fetch it again if the answer was lost on the way."""
        with self._lock:
            now = devices.now_ms()
            for key in [key for key, claim in self._claims.items() if claim.until <= now]:
                del self._claims[key]
            return self._claims.get(asking_hash_of(token))

    def let_in(
        self, device_id: str, role: str, *, by: str, trial_id: str | None = None, days: int | None = None
    ) -> Device | None:
        """Let a phone in as archer or viewer; None if it no longer asks.

        trial_id, days  viewers only: one trial instead of the whole book; the seat ends by itself
        """
        if role not in ("archer", "viewer"):
            raise ValueError(f"nobody is let in as {role!r}")
        token = new_token()
        with self._storage.write() as session:
            device = devices.device(session, device_id)
            if device is None or device.role != "asking" or device.session_hash is None:
                return None
            if (device.expires_at or 0) <= devices.now_ms():
                return None
            asked_with, now = device.session_hash, devices.now_ms()
            device.session_hash = hash_of(token)
            device.trial_id = trial_id if role == "viewer" else None
            device.expires_at = now + days * DAY_MS if days is not None and role == "viewer" else None
            devices.change_role(session, device, role, by=by)
        with self._lock:
            self._claims[asked_with] = Claim(token, role, now + ASKING_LASTS_MS)
        self._seats.forget()
        return device

    def put_out(self, device_id: str, *, by: str, why: str) -> Device | None:
        """End a phone's seat, or turn away one that asks, at once; None if there is no such phone in or asking."""
        with self._storage.write() as session:
            device = devices.device(session, device_id)
            if device is None or device.role == "out":
                return None
            devices.change_role(session, device, "out", why=why, by=by)
        self._seats.forget()
        return device

    def make_owner(self, *, call_name: str, agent: str, device_id: str | None) -> str:
        """The owner's laptop: the device that it was before, letter and all, or a new one. Gives its new cookie."""
        token = new_token()
        with self._storage.write() as session:
            device = devices.device(session, device_id) if device_id else None
            if device is None or device.role == "out":
                devices.add_device(session, call_name=call_name, role="owner", session_hash=hash_of(token), agent=agent)
            else:
                device.session_hash, device.trial_id, device.expires_at = hash_of(token), None, None
                devices.change_role(session, device, "owner")
        self._seats.forget()
        return token
