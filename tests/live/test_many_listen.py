"""Many who listen cost one look at the book, and leave room for who saves."""

from __future__ import annotations

import asyncio
import threading

from proofyard.access.connections import InHand
from proofyard.live.doorbell import Doorbell
from proofyard.live.hands import Hands
from proofyard.storage import Storage

from tests import kit_for_tests as kit


def test_forty_who_are_woken_by_one_ring_read_the_book_once(book: Storage) -> None:
    bell, reads = Doorbell(book), []
    read = bell._read
    bell._read = lambda: (reads.append(1), read())[1]  # type: ignore[method-assign]

    async def all_ask() -> list[int]:
        return await asyncio.gather(*(bell.latest() for _ in range(40)))

    before = asyncio.run(all_ask())
    assert len(set(before)) == 1 and len(reads) == 1
    kit.archer(book, "Wren")
    after = asyncio.run(all_ask())
    assert len(set(after)) == 1 and after[0] > before[0] and len(reads) == 2


def test_who_only_looks_leaves_places_for_who_saves() -> None:
    hands = InHand(most=6, most_each=6)
    assert [hands.begin(f"phone {n}", leave=2) for n in range(5)] == [True] * 4 + [False]
    assert [hands.begin(f"saver {n}") for n in range(3)] == [True, True, False]


def test_no_more_hands_work_at_once_than_there_are() -> None:
    hands, now, most, door = Hands("test", 2), [0], [0], threading.Lock()
    a_moment = threading.Event()

    def work(number: int) -> int:
        with door:
            now[0] += 1
            most[0] = max(most[0], now[0])
        a_moment.wait(0.01)
        with door:
            now[0] -= 1
        return number

    async def all_of_it() -> list[int]:
        return await asyncio.gather(*(hands.do(work, number) for number in range(12)))

    assert asyncio.run(all_of_it()) == list(range(12))
    assert most[0] == 2
    hands.close()
