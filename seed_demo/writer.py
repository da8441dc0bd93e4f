"""Writes the demo's records through the one door, with ids and times that come out the same each time."""

import random
import uuid
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from proofyard.records import devices
from proofyard.records.apply import apply
from proofyard.records.book import Revision
from proofyard.records.operations import Operation
from sqlalchemy import update
from sqlmodel import Session, col


class Refused(Exception):
    """The demo asked for something that the book would not take: a fault of the demo."""


class Writer:
    """Puts records as a phone would. `phone` says whose operation the next one is."""

    def __init__(self, session: Session, rng: random.Random) -> None:
        self.session, self.rng = session, rng
        self.now = 0
        self.phones = {name: devices.add_device(session, call_name=name, role="archer").id for name in ("Tallow", "Wren")}
        self.phone = "Tallow"
        self.count = 0

    def at(self, day: str, hour: int, minute: int = 0) -> None:
        moment = datetime.fromisoformat(f"{day}T{hour:02d}:{minute:02d}:00").replace(tzinfo=UTC)
        self.now = int(moment.timestamp() * 1000)

    def wait(self, seconds: int) -> int:
        self.now += seconds * 1000
        return self.now

    def new_id(self) -> str:
        """A UUIDv7 of the demo's own clock and seed."""
        self.count += 1
        value = (self.now & ((1 << 48) - 1)) << 80 | 7 << 76 | (self.count & 0xFFF) << 64 | 0b10 << 62 | self.rng.getrandbits(62)
        return str(uuid.UUID(int=value))

    def put(
        self,
        noun: str,
        body: Mapping[str, Any],
        *,
        record_id: str | None = None,
        base_rev: int = 0,
        reason: str | None = None,
        action: str = "put",
    ) -> str:
        kept = {name: value for name, value in body.items() if value is not None}
        op = Operation(
            op_id=self.new_id(),
            device_id=self.phones[self.phone],
            action=action,
            noun=noun,
            record_id=record_id or self.new_id(),
            base_rev=base_rev,
            body=kept,
            reason=reason,
            t_device=self.now,
            clock_offset_ms=self.rng.randint(-40, 40),
            clock_error_ms=self.rng.randint(5, 25),
        )
        answer = apply(self.session, op)
        if not answer.taken:
            raise Refused(f"{noun} {kept}: " + "; ".join(f"{p.field}: {p.sentence}" for p in answer.problems))
        # The book writes down when it heard of a thing; the demo's days are invented, and so are these moments.
        self.session.execute(update(Revision).where(col(Revision.seq) == answer.seq).values(at=self.now))
        return answer.record_id

    def put_away_phones(self) -> None:
        """The invented phones keep their letters on their shots and can't be used by anyone."""
        for device_id in self.phones.values():
            device = devices.device(self.session, device_id)
            assert device is not None
            devices.change_role(self.session, device, "out", why="an invented phone of the demo")
