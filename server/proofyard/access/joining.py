"""Asking to join, being let in, and being removed.

A stranger names itself and is shown two words; the owner sees the same two and lets the phone in, or turns it away.
The new cookie is then handed out when the waiting phone next asks. Each step is a line in the notebook.
"""

import secrets
import threading
import unicodedata
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any

import segno

from proofyard.access.connections import Pace
from proofyard.access.seats import SeatBook, asking_hash_of, hash_of, new_token
from proofyard.records import devices
from proofyard.records.book import Device
from proofyard.storage import Storage

# Two short plain words that a phone and the owner's page both show, so that the right phone is let in.

# Plain things and qualities, two to eight letters, none spoken like another of them, none that could hurt anyone.
_LIST = """
    acorn amber anchor apple apron arch ash aspen attic badger baker bank barley barn basin basket beacon bean
    bell bench berry birch blanket bloom board bonnet book boot bottle bracken branch brass bread brick bridge brine
    broom brush bucket buckle butter button cabin candle canvas cart cedar cellar chalk chapel cheese cherry chimney
    cider circle clay cliff cloak clover coal cobble coin comb copper coral cork corner cotton cradle crane cream
    creek crocus crumb cup curlew daisy dale desk dial door dove drum dusk east elbow elder elm ember engine fallow
    farm feather fence fern ferry fiddle field finch flag flax fleece flint flour flute fog forest fox frost gable
    garden garlic gate ginger glass glove goose granite grape grass gravel green grove gull hammer handle harbour hare
    harvest hat hazel heather hedge heron hill hinge holly honey hood horn island ivory ivy jacket jar jetty jug
    juniper kettle kitchen kite outcome lake lamp lantern lark laurel leaf leather lemon lichen lily linen lobster loft
    loom maple marble market marsh meadow melon milk mill mint mirror moon moor morning moss moth mountain muslin
    mustard nectar needle nest nettle north nutmeg oak oar oat olive onion orange orchard otter oven owl paddle paper
    parsley path pear pebble pencil pepper pewter piano pier pigeon pillow pine planet plum pocket pond poplar poppy
    porch potter prow pumpkin quartz quill quilt rabbit radish rain raven reed ribbon river robin rocket roof
    rope rose ruby rye saddle saffron sage sail salmon salt sand satin saucer seed shawl shell shore shovel silk
    silver sketch slate sleeve snow soap sorrel south spade sparrow spoon spring spruce squirrel stable star station
    stone stork straw stream sugar summer swallow swan table tailor tea thatch thimble thistle thyme ticket timber
    tin toast tower trail tulip tunnel turnip valley velvet vinegar violet violin wagon walnut water wave well west
    wharf wheat wheel willow window winter wool yarrow yellow
    """
WORDS = tuple(_LIST.split())


def two_words(taken: Collection[str] = ()) -> str:
    """A pair that no other phone shows now.

    Refuses
        RuntimeError  a hundred draws were all taken: more phones ask than `joining` lets wait
    """
    for _ in range(100):
        pair = f"{secrets.choice(WORDS)} {secrets.choice(WORDS)}"
        first, second = pair.split()
        if first != second and pair not in taken:
            return pair
    raise RuntimeError("no free pair of words")


# The square code that a phone's camera reads, as one path that a template draws.


@dataclass(frozen=True)
class JoinCode:
    """`size` modules on a side, without the quiet zone; `path` fills the dark ones, one unit a module."""

    address: str
    size: int
    path: str


def join_code(address: str) -> JoinCode:
    """The code of an address. Each run of dark modules in a row is one rectangle."""
    rows = [list(row) for row in segno.make(address, micro=False, error="m").matrix]
    pieces = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            if not row[x]:
                x += 1
                continue
            start = x
            while x < len(row) and row[x]:
                x += 1
            pieces.append(f"M{start} {y}h{x - start}v1h-{x - start}z")
    return JoinCode(address, len(rows), "".join(pieces))


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
    device_id: str


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
        self._came_from: dict[str, str] = {}
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
            raise NotNow(
                f"This phone asked {ASKS_A_MINUTE} times within a minute. Wait a minute, then ask again.", retry_after_s=int(wait) + 1
            )
        token = new_token()
        with self._storage.write() as session:
            waiting = self._still_asking(session)
            if earlier is not None:
                waiting = self._withdraw(session, waiting, earlier)
            if len(waiting) >= MOST_WAITING:
                raise NotNow(
                    f"{MOST_WAITING} phones wait at the door already. Have the owner answer them, then ask again.", retry_after_s=60
                )
            words = two_words({one.words for one in waiting if one.words})
            made = devices.add_device(
                session,
                call_name=call_name,
                role="asking",
                words=words,
                session_hash=asking_hash_of(token),
                agent=agent,
                expires_at=devices.now_ms() + ASKING_LASTS_MS,
            )
        with self._lock:
            here = {one.id for one in waiting}
            self._came_from = {key: at for key, at in self._came_from.items() if key in here} | {made.id: address}
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

    def let_in(self, device_id: str, role: str, *, by: str, trial_id: str | None = None, days: int | None = None) -> Device | None:
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
            self._claims[asked_with] = Claim(token, role, now + ASKING_LASTS_MS, device_id)
        self._seats.forget()
        return device

    def remove(self, device_id: str, *, by: str, why: str) -> Device | None:
        """End a phone's seat, or turn away one that asks, at once; None if there is no such phone in or asking."""
        with self._storage.write() as session:
            device = devices.device(session, device_id)
            if device is None or device.role == "out":
                return None
            devices.change_role(session, device, "out", why=why, by=by)
        with self._lock:
            # Else a phone removed soon after it was let in would be handed its dead cookie again and again.
            for key in [key for key, claim in self._claims.items() if claim.device_id == device_id]:
                del self._claims[key]
            self._came_from.pop(device_id, None)
        self._seats.forget()
        return device

    def refuse_all(self, device_ids: Iterable[str], *, by: str) -> int:
        """Turn away those of these phones that still ask, in one go; how many there were.

        Only those that the owner was shown: a friend who asked since then still waits.
        """
        wanted, refused = set(device_ids), 0
        with self._storage.write() as session:
            for device in devices.devices(session):
                if device.id in wanted and device.role == "asking":
                    devices.change_role(session, device, "out", why="turned away with all others who asked", by=by)
                    refused += 1
        with self._lock:
            for device_id in wanted:
                self._came_from.pop(device_id, None)
        self._seats.forget()
        return refused

    def came_from(self, device_id: str) -> str:
        """The address that a phone asked from; empty after a start of the server. In memory only: it gives no right."""
        with self._lock:
            return self._came_from.get(device_id, "")

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


# The first that is found counts: a phone's line names its elders too ("Linux; Android", "like Mac OS X").
FAMILIES = (
    ("iphone", "an iPhone"),
    ("ipad", "an iPad"),
    ("android", "an Android phone"),
    ("cros", "a Chromebook"),
    ("windows", "a Windows computer"),
    ("macintosh", "a Mac"),
    ("linux", "a Linux computer"),
)


def agent_in_words(agent: str) -> str:
    """ "an Android phone", or that it doesn't say."""
    lower = agent.lower()
    return next((words for mark, words in FAMILIES if mark in lower), "something that doesn’t say what it is")
