"""Sheets between their being chosen and their being brought in: held by the server alone, packed small, the oldest let go first."""

import json
import threading
import zlib
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.exchange.bring_in.sheet import Sheet
from proofyard.records.ids import new_id

MOST_HELD = 4


@dataclass(frozen=True)
class Chosen:
    """A file that was read: what it is called, what its person says it holds, its sheets."""

    file_name: str
    holds: str
    sheets: tuple[Sheet, ...]


class HeldSheets:
    """The last few. Its id becomes the id of the batch, so that a form that is sent twice is one batch."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._held: OrderedDict[str, tuple[str, str, bytes]] = OrderedDict()

    def hold(self, file_name: str, holds: str, sheets: Sequence[Sheet]) -> str:
        """Gives the id under which it is found again."""
        packed = zlib.compress(json.dumps([[one.name, one.rows] for one in sheets]).encode(), 3)
        held_id = new_id()
        with self._lock:
            self._held[held_id] = (file_name, holds, packed)
            while len(self._held) > MOST_HELD:
                self._held.popitem(last=False)
        return held_id

    def chosen(self, held_id: str) -> Chosen | None:
        """None if it was let go, or if the laptop was started again since."""
        with self._lock:
            held = self._held.get(held_id)
            if held is not None:
                self._held.move_to_end(held_id)
        if held is None:
            return None
        file_name, holds, packed = held
        sheets = json.loads(zlib.decompress(packed))
        return Chosen(file_name, holds, tuple(Sheet(name, tuple(tuple(row) for row in rows)) for name, rows in sheets))
