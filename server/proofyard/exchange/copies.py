"""Copies that nobody has to think of: every ten minutes while somebody shoots, and when a trial is closed.

Each copy is one packed file; photos, which never change, lie once beside them. Copies are kept by count, each book's
apart, so that a stick that serves two books loses none of either.
"""

import re
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from proofyard.exchange.backup import BACKUPS
from proofyard.exchange.packed_copy import Packed, pack
from proofyard.records.devices import the_book
from proofyard.records.notebook import latest_seq
from proofyard.records.trial_days import closed_since, is_open_on
from proofyard.storage import Storage, StorageTrouble
from proofyard.wording.when import today

EVERY_S = 600.0
LOOK_EVERY_S = 5.0
KEPT = 12
_NAME = re.compile(r"copy-([0-9a-f]{8})-[0-9]{8}-[0-9]{6}(-[0-9]+)?\.zip", re.ASCII)


@dataclass(frozen=True)
class Made:
    """What became of the last copy into one folder: the file, or the trouble in words. `at`: seconds since 1970."""

    folder: Path
    at: float
    packed: Packed | None
    trouble: str = ""


class Copies:
    """The automatic copies of one open book.

    also_to  a second folder, on another disk
    """

    def __init__(self, storage: Storage, *, also_to: Path | None = None, clock: Callable[[], float] = time.monotonic) -> None:
        self._storage = storage
        self._folders = [storage.path.parent / BACKUPS, *([also_to] if also_to else [])]
        self._clock = clock
        self._changed = True
        self._last_at: float | None = None
        self._last_seq = 0
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self.last: tuple[Made, ...] = ()
        with storage.read() as session:
            book = the_book(session)
            self._seen_seq = self._last_seq = latest_seq(session)
        self._book = book.book_id.replace("-", "")[-8:] if book else "00000000"
        storage.after_commit(self._note)

    def _note(self) -> None:
        self._changed = True

    def begin(self) -> None:
        if not self._storage.in_a_file:
            return  # PostgreSQL makes its own
        self._thread = threading.Thread(target=self._go_on, name="copies", daemon=True)
        self._thread.start()

    def _go_on(self) -> None:
        while not self._stop.wait(LOOK_EVERY_S):
            self.look()

    def end(self) -> None:
        """Stop; what was put down since the last copy of a day at the range is copied first."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join()
            self.look(at_once=True)

    def look(self, *, at_once: bool = False) -> bool:
        """Make a copy if one is due; whether one was made. Nothing that goes wrong here stops the server."""
        try:
            if not self._changed or not self._due(at_once):
                return False
            self.copy_now()
            return True
        except StorageTrouble as trouble:
            self.last = (Made(self._folders[0], time.time(), None, str(trouble)),)
            return False

    def _due(self, at_once: bool) -> bool:
        waited = self._last_at is None or self._clock() - self._last_at >= EVERY_S
        self._changed = False
        with self._storage.read() as session:
            seq = latest_seq(session)
            closed = closed_since(session, self._seen_seq)
            self._seen_seq = seq
            if seq == self._last_seq:
                return False
            due = closed or ((waited or at_once) and is_open_on(session, today()))
        self._changed = not due  # asked again when ten minutes are over
        return due

    def copy_now(self) -> None:
        """A copy into each folder; the second is tried whatever becomes of the first."""
        with self._storage.read() as session:
            seq = latest_seq(session)
        self._last_at = self._clock()
        self.last = tuple(self._copy_into(folder) for folder in self._folders)
        if self.last[0].packed:
            self._last_seq = seq

    def _copy_into(self, folder: Path) -> Made:
        try:
            packed = pack(self._storage.path, self._name(folder), pool=folder, photos=self._storage.photos_at)
            self._let_go_of_the_oldest(folder)
        except (StorageTrouble, OSError) as error:
            said = str(error) if isinstance(error, StorageTrouble) else f"{folder} can’t be written ({error.strerror})."
            return Made(folder, time.time(), None, said)
        if packed.missing:
            return Made(
                folder, time.time(), packed, f"{len(packed.missing)} photos that the book names are missing in its folder or damaged."
            )
        return Made(folder, time.time(), packed)

    def _name(self, folder: Path) -> Path:
        stem = f"copy-{self._book}-{time.strftime('%Y%m%d-%H%M%S')}"
        return next(
            path for n in range(1000) if not (path := folder / f"{stem}{f'-{n}' if n else ''}.zip").exists()
        )  # two within a second, or a clock set back

    def _let_go_of_the_oldest(self, folder: Path) -> None:
        mine = [path for path in folder.glob("copy-*.zip") if (found := _NAME.fullmatch(path.name)) and found.group(1) == self._book]
        for path in sorted(mine, key=lambda one: (one.stat().st_mtime, one.name))[:-KEPT]:
            path.unlink(missing_ok=True)
