"""Programs that the owner lets in: each has a token that is shown once, ends by itself, and counts at the programs' interface alone.

A program is a device: what it logs carries its letter and its name, and that it was let in or removed stands in the notebook.
"""

from collections.abc import Mapping
from types import MappingProxyType

from proofyard.access.connections import Pace
from proofyard.access.joining import DAY_MS
from proofyard.access.problem import MOST_ASKED_A_MINUTE
from proofyard.access.seats import SeatBook, new_token, program_hash_of
from proofyard.records import devices
from proofyard.storage import Storage

PREFIX = "proofyard_"  # so that a search of files finds a token that somebody left lying about
USUAL_DAYS = 90
MOST_DAYS = 366
# What a token may do, and the role that it sits in.
SCOPES: Mapping[str, str] = MappingProxyType({"read": "viewer", "log": "archer"})


class Programs:
    """The programs of one book. Every method may be called from any thread, but for `must_wait_s`, which is the door's."""

    def __init__(self, storage: Storage, seats: SeatBook) -> None:
        self._storage, self._seats = storage, seats
        self._pace = Pace(MOST_ASKED_A_MINUTE, 60.0)

    def let_in(self, call_name: str, scope: str, *, days: int, by: str, trial_id: str | None = None) -> str:
        """The token of a new program, which is kept nowhere: the book has its hash.

        scope     a key of SCOPES
        days      until it ends, 1 to MOST_DAYS
        by        the owner's device
        trial_id  only to read: one trial instead of the whole book
        Refuses
            ValueError  what no page lets come to this
        """
        if scope not in SCOPES or not 1 <= days <= MOST_DAYS or (trial_id is not None and scope != "read"):
            raise ValueError(f"no program is let in to {scope} {trial_id} for {days} days")
        token = PREFIX + new_token()
        with self._storage.write() as session:
            devices.add_device(
                session,
                call_name=call_name,
                role=SCOPES[scope],
                session_hash=program_hash_of(token),
                trial_id=trial_id,
                expires_at=devices.now_ms() + days * DAY_MS,
                kind="program",
                by=by,
            )
        self._seats.forget()
        return token

    def remove(self, device_id: str, *, by: str) -> bool:
        """End a program's token at once; False if there is none."""
        with self._storage.write() as session:
            device = devices.device(session, device_id)
            if device is None or device.kind != "program" or device.role == "out":
                return False
            devices.change_role(session, device, "out", why="removed by the owner", by=by)
        self._seats.forget()
        return True

    def must_wait_s(self, who: str) -> int:
        """Whole seconds until a program, or an address whose tokens are none, may ask again; 0, and counted, if it may now."""
        wait_s = self._pace.wait_s(who)
        return int(wait_s) + 1 if wait_s > 0 else 0
