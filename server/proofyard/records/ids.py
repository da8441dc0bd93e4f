"""Identifiers that anyone can make alone: UUID version 7, RFC 9562 section 5.7."""

import hashlib
import os
import re
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
_USUAL_FORM = re.compile("[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}").fullmatch  # six times as quick as to build a UUID of it


def new_id() -> str:
    """A UUIDv7 as text: 48 bits of milliseconds, then a counter and random bits, so that ids made here sort.

    Uniqueness rests on the random bits; order is only told within one machine, never between phones.
    """
    milliseconds, counter = _clock.tick()
    tail = int.from_bytes(os.urandom(8), "big") & ((1 << 62) - 1)
    value = (milliseconds & ((1 << 48) - 1)) << 80 | 0x7 << 76 | counter << 64 | 0b10 << 62 | tail
    return str(uuid.UUID(int=value))


def id_after(first: str, words: object, n: int = 0) -> str:
    """An id that follows from another and from words: the same whenever it is made, so that what is sent twice is one record.

    It keeps the first's millisecond and counter, then counts by `n` (0 to 4095): records sort in the order of their forms and of
    each form's fields, also while the machine's clock stands still or has been set back and all forms share a millisecond.
    """
    moment_and_counter = uuid.UUID(first).int >> 64
    tail = int.from_bytes(hashlib.sha256(f"{first}/{words}".encode()).digest()[:8], "big") & ((1 << 50) - 1)
    return str(uuid.UUID(int=moment_and_counter << 64 | 0b10 << 62 | (n & 0xFFF) << 50 | tail))


def is_id(text: object) -> bool:
    """Whether a text is a UUID in its usual lower-case form."""
    return isinstance(text, str) and _USUAL_FORM(text) is not None
