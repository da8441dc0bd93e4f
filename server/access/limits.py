"""How much one address may ask of the laptop at once. For pace only: no right ever comes from an address."""

import time
from collections import deque
from collections.abc import Callable

MOST_ADDRESSES = 1000


class Pace:
    """At most `most` times in `within_s` seconds, for each address."""

    def __init__(self, most: int, within_s: float, *, clock: Callable[[], float] = time.monotonic) -> None:
        self._most, self._within, self._clock = most, within_s, clock
        self._times: dict[str, deque[float]] = {}

    def wait_s(self, address: str) -> float:
        """0 and counted, or the seconds until it may be tried again."""
        now = self._clock()
        times = self._times.setdefault(address, deque())
        while times and now - times[0] >= self._within:
            times.popleft()
        if len(times) >= self._most:
            return self._within - (now - times[0])
        times.append(now)
        if len(self._times) > MOST_ADDRESSES:
            self._forget_idle(now)
        return 0.0

    def _forget_idle(self, now: float) -> None:
        for address in [one for one, times in self._times.items() if not times or now - times[-1] >= self._within]:
            del self._times[address]


class InHand:
    """Requests that are being answered now: in all, and for each address. Used on one thread, the event loop's."""

    def __init__(self, *, most: int, most_each: int) -> None:
        self._most, self._most_each = most, most_each
        self._all = 0
        self._each: dict[str, int] = {}

    def begin(self, address: str, *, leave: int = 0) -> bool:
        """Whether one more may begin, with so many places left for others; if so it counts until `end`."""
        here = self._each.get(address, 0)
        if self._all >= self._most - leave or here >= self._most_each:
            return False
        self._all += 1
        self._each[address] = here + 1
        return True

    def end(self, address: str) -> None:
        self._all -= 1
        left = self._each[address] - 1
        if left:
            self._each[address] = left
        else:
            del self._each[address]
