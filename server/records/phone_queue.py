"""A phone's queue, taken so that nothing in it can hold up the rest: not a bad operation, nor a count used twice.

Savers that wait at the same moment share one commit: the disk is asked once for all of them.
"""

import threading
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from sqlalchemy import exc

from server.records.apply import apply_each
from server.records.operations import Answer, Operation, refused
from server.records.typed_values import Problem
from server.storage import Storage

NOT_STORED = Problem("", "The book could not store this as it stands. It waits here; correct it, or leave it out.")


MOST_IN_ONE_COMMIT = 200


@dataclass
class _Waiting:
    """One request's operations, and what became of them."""

    operations: Sequence[Operation]
    answers: list[Answer] = field(default_factory=list)
    fault: Exception | None = None
    done: bool = False


class PhoneQueues:
    """All phones' queues into one book."""

    def __init__(self, storage: Storage) -> None:
        self._storage = storage
        self._turn = threading.Lock()
        self._door = threading.Lock()
        self._waiting: list[_Waiting] = []

    def take(self, operations: Sequence[Operation]) -> list[Answer]:
        """Every operation's answer, in order. All that can be stored is on disk when this returns.

        Refuses
            StorageTrouble  nothing was saved; the phone keeps everything and tries again
        """
        mine = _Waiting(operations)
        with self._door:
            self._waiting.append(mine)
        while not mine.done:
            with self._turn:
                if not mine.done:
                    self._take_some()
        if mine.fault is not None:
            raise mine.fault
        return mine.answers

    def _take_some(self) -> None:
        """One commit for those who wait now; whoever holds the turn works for them all."""
        with self._door:
            some: list[_Waiting] = []
            many = 0
            while self._waiting and (not some or many + len(self._waiting[0].operations) <= MOST_IN_ONE_COMMIT):
                some.append(self._waiting.pop(0))
                many += len(some[-1].operations)
        try:
            answers = iter(take_queue(self._storage, [op for one in some for op in one.operations]))
            for one in some:
                one.answers = [next(answers) for _ in one.operations]
        except Exception as fault:  # each of them must hear of it, or it would wait for ever
            for one in some:
                one.fault = fault
        finally:
            for one in some:
                one.done = True


def take_queue(storage: Storage, operations: Sequence[Operation]) -> list[Answer]:
    """Every operation's answer, in order. All that can be stored is on disk when this returns.

    Refuses
        StorageTrouble  nothing was saved; the phone keeps everything and tries again
    """
    try:
        return apply_each(storage, operations)
    except exc.IntegrityError:
        # One of them breaks a rule of the file itself, which undoes the whole commit. Rare, so only then one by one.
        return [_take_alone(storage, op) for op in operations]


def _take_alone(storage: Storage, op: Operation) -> Answer:
    # A phone whose store was emptied counts from one again: its count says less than the shot, so it is let go.
    for attempt in (op, replace(op, device_seq=None)):
        try:
            return apply_each(storage, [attempt])[0]
        except exc.IntegrityError:
            continue
    return refused(op, NOT_STORED)
