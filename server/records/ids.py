"""Identifiers that anyone can make alone: UUID version 7, RFC 9562 section 5.7."""

import os
import threading
import time
import uuid

_lock = threading.Lock()
_last = [0, 0]  # the last millisecond used, and the counter within it


def new_id() -> str:
    """A UUIDv7 as text: 48 bits of milliseconds, then a counter and random bits, so that ids made here sort.

    Uniqueness rests on the random bits; order is only told within one machine, never between phones.
    """
    with _lock:
        now = time.time_ns() // 1_000_000
        if now > _last[0]:
            _last[0], _last[1] = now, int.from_bytes(os.urandom(1), "big")
        else:
            # The clock stood or went back: stay on the last millisecond and count on, so that ids still sort.
            _last[1] += 1
            if _last[1] > 0xFFF:
                _last[0], _last[1] = _last[0] + 1, 0
        milliseconds, counter = _last
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
