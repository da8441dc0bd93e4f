"""Silent connections and crowds of listeners, against the real server: the owner and phones that are in are served."""

import contextlib
import sys
import time
from pathlib import Path

import pytest
from proofyard.access.connections import (
    BODY,
    HEADERS_WITHIN_S,
    IDLE,
    IDLE_S,
    LISTENING,
    MOST_EACH,
    MOST_EACH_STRANGER,
    MOST_OF_STRANGERS,
    NEW,
    STRANGERS_BODY_WITHIN_S,
    UNREAD_S,
    Connections,
)

from tests.bench import idle_connections

pytestmark = pytest.mark.slow

LENT = pytest.mark.skipif(sys.platform != "linux", reason="only Linux lends out all of 127/8")


class Hand:
    def __init__(self) -> None:
        self.closed = False

    def close_now(self) -> None:
        self.closed = True


class Crowd:
    """Connections with a clock that is turned by hand."""

    def __init__(self) -> None:
        self.time = 0.0
        self.places = Connections(clock=lambda: self.time)
        self.hands: dict[int, Hand] = {}

    def come(self, address: str, *, seated: bool = False, state: str = NEW) -> Hand | None:
        key, hand = len(self.hands), Hand()
        self.hands[key] = hand
        self.time += 0.001
        place = self.places.begin(key, address, hand)
        if place is None:
            return None
        place.state, place.seated = state, seated
        return hand


def test_headers_have_ten_seconds_an_idle_connection_thirty_and_an_answer_as_long_as_it_needs() -> None:
    for state, limit in ((NEW, HEADERS_WITHIN_S), (IDLE, IDLE_S), (BODY, STRANGERS_BODY_WITHIN_S), ("answering", None), (LISTENING, None)):
        crowd = Crowd()
        hand = crowd.come("192.0.2.1", state=state)
        assert hand
        crowd.time = (limit or 3600.0) - 0.1
        assert crowd.places.sweep() == 0 and not hand.closed, state
        crowd.time += 0.3
        assert crowd.places.sweep() == (0 if limit is None else 1) and hand.closed is (limit is not None), state
    assert HEADERS_WITHIN_S == 10.0


def test_a_head_that_comes_letter_by_letter_has_no_longer() -> None:
    crowd = Crowd()
    place = crowd.places.begin("one", "192.0.2.1", Hand())
    assert place
    for second in range(1, 12):
        crowd.time = place.since = float(second)
        crowd.places.sweep()
    assert len(crowd.places) == 0


def test_whoever_never_takes_the_answer_is_let_go() -> None:
    crowd = Crowd()
    place = crowd.places.begin("one", "192.0.2.1", Hand())
    assert place
    place.state, place.unread_since = "answering", 0.0
    crowd.time = UNREAD_S + 1
    assert crowd.places.sweep() == 1


def test_one_address_has_so_many_and_its_own_idle_ones_give_way() -> None:
    crowd = Crowd()
    other = crowd.come("192.0.2.9")
    hands = [crowd.come("192.0.2.1") for _ in range(MOST_EACH_STRANGER)]
    assert crowd.come("192.0.2.1")
    assert hands[0] and hands[0].closed and not any(hand.closed for hand in hands[1:] if hand)
    assert other and not other.closed
    busy = Crowd()
    for _ in range(MOST_EACH_STRANGER):
        busy.come("192.0.2.1", state="answering")
    assert busy.come("192.0.2.1") is None, "nothing idle to give way: the next is refused"


def test_a_crowd_of_strangers_from_many_addresses_takes_no_place_of_those_who_are_in() -> None:
    crowd = Crowd()
    phone = crowd.come("192.0.2.9", seated=True, state=IDLE)
    laptop = crowd.come("127.0.0.1")
    for number in range(5000):
        crowd.come(f"198.51.100.{number % 200}")
    assert len(crowd.places) <= MOST_OF_STRANGERS + 2
    assert phone and not phone.closed and laptop and not laptop.closed
    assert crowd.come("192.0.2.10") is not None, "a phone that comes again finds a place"
    assert crowd.come("127.0.0.1") is not None


def test_when_all_listen_from_one_address_the_oldest_listener_gives_way_to_a_save() -> None:
    crowd = Crowd()
    hands = [crowd.come("192.0.2.1", seated=True, state=LISTENING) for _ in range(MOST_EACH)]
    assert crowd.come("192.0.2.1") is not None
    assert hands[0] and hands[0].closed


def test_a_full_house_of_phones_that_are_in_still_takes_the_laptop() -> None:
    crowd = Crowd()
    for number in range(2000):
        crowd.come(f"198.51.{number % 100}.1", seated=True, state=IDLE)
    assert crowd.come("127.0.0.1") is not None


@LENT
def test_idle_connections_and_a_crowd_of_listeners_keep_nobody_out() -> None:
    told = idle_connections.measure(idle_connections.HERE, idle=(256,), listeners=500, tries=3, wait_s=0)
    assert set(told) == {"nobody", "256 idle", "256 half heads", "500 listeners", "half a head is closed after"}
    for name, found in told.items():
        if isinstance(found, dict):
            assert {who: good for who, (good, _, _) in found.items()} == {"a stranger": 3, "a saver": 3, "the laptop": 3}, name


@pytest.mark.long
@LENT
def test_half_a_head_and_half_a_body_are_closed_and_a_whole_request_is_not(tmp_path: Path) -> None:
    with idle_connections.served(idle_connections.HERE) as here:
        began = time.monotonic()
        with contextlib.closing(idle_connections.connect(here.port, "127.0.5.1")) as body:
            body.sendall(here.head("POST", "/join", 100, inside=False))
            after = idle_connections.closed_after(here, 15)
            assert after is not None and 9 < after < 12.5
            body.settimeout(STRANGERS_BODY_WITHIN_S + 3)
            with contextlib.suppress(ConnectionError):
                while body.recv(1000):  # it may be answered before it came whole, and is closed all the same
                    pass
            assert time.monotonic() - began < STRANGERS_BODY_WITHIN_S + 3
        assert here.ask("127.0.5.2", "GET", "/join", inside=False)[0] == 200


def test_a_refused_connection_is_told_so_in_words() -> None:
    from proofyard.listening import REFUSED

    head, _, body = REFUSED.partition(b"\r\n\r\n")
    assert b" 503 " in head and b"connection: close" in head and f"content-length: {len(body)}".encode() in head
    assert "try again" in body.decode()
