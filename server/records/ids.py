"""Identifiers that anyone can make alone: UUID version 7, RFC 9562 section 5.7."""

import os
import threading
import time
import uuid


class _Clock:
    """Milliseconds and a counter that never go back, even when the machine's clock does."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._milliseconds, self._counter = 0, 0

    def tick(self) -> tuple[int, int]:
        with self._lock:
            now = time.time_ns() // 1_000_000
            if now > self._milliseconds:
                self._milliseconds, self._counter = now, int.from_bytes(os.urandom(1), "big")
            else:
                self._counter += 1
                if self._counter > 0xFFF:
                    self._milliseconds, self._counter = self._milliseconds + 1, 0
            return self._milliseconds, self._counter


_clock = _Clock()


def new_id() -> str:
    """A UUIDv7 as text: 48 bits of milliseconds, then a counter and random bits, so that ids made here sort.

    Uniqueness rests on the random bits; order is only told within one machine, never between phones.
    """
    milliseconds, counter = _clock.tick()
    tail = int.from_bytes(os.urandom(8), "big") & ((1 << 62) - 1)
    value = (milliseconds & ((1 << 48) - 1)) << 80 | 0x7 << 76 | counter << 64 | 0b10 << 62 | tail
    return str(uuid.UUID(int=value))


def is_id(text: object) -> bool:
    """Whether a text is a UUID in its usual lower-case form."""
    if not isinstance(text, str) or len(text) != 36:
        return False
    try:
        return str(uuid.UUID(text)) == text
    except ValueError:
        return False
