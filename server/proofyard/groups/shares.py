"""How much of a server one group may take at once, so that no group can keep the others out."""

from collections import Counter

FEWEST = 2  # a browser asks for a page and its live part


class Shares:
    """So many places for all groups. Used on one thread, the event loop's.

    A group may hold as many as are still free, and no more: alone it has half, and k groups that all want everything come to 1/(k + 1)
    each, with as much free for the next one. One that took more before the others came takes no new place until it has as few as they.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._held: Counter[str] = Counter()

    def begin(self, name: str) -> bool:
        """Whether one more may begin for this group; if so it counts until `end`."""
        free, mine = self._most - self._held.total(), self.held(name)
        if free <= 0 or mine >= max(FEWEST, free):
            return False
        self._held[name] = mine + 1
        return True

    def end(self, name: str) -> None:
        self._held[name] -= 1
        if not self._held[name]:
            del self._held[name]

    def held(self, name: str) -> int:
        return self._held.get(name, 0)
