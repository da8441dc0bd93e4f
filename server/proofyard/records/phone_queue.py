"""A phone's queue, taken so that nothing in it can hold up the rest: not a bad operation, nor a count used twice, nor a
fault of ours that one operation brings out.

Savers that wait at the same moment share one commit: the disk is asked once for all of them. Who they are is asked once
the book is ours, since another server, or a form, may have it for as long as a whole commit takes.
"""

import logging
import threading
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace

from sqlalchemy import exc

from proofyard.records.apply import apply_each, apply_those
from proofyard.records.fault_code import new_code
from proofyard.records.operations import Answer, Operation, refused
from proofyard.records.typed_values import Problem
from proofyard.storage import Storage, StorageTrouble

log = logging.getLogger("proofyard")

NOT_STORED = Problem("", "The book could not store this as it stands. It waits here; correct it, or leave it out.")
MOST_IN_ONE_COMMIT = 200


class PhoneQueues:
    """All phones' queues into one book. One thread takes them; whoever hands in while it works shares its next commit.

    A thread for each saver would do no more, since there is one writer, and a crowd of them wakes slowly.
    """

    def __init__(self, storage: Storage) -> None:
        self._storage = storage
        self._door = threading.Lock()
        self._waiting: deque[tuple[Sequence[Operation], Future[list[Answer]]]] = deque()
        self._taker = ThreadPoolExecutor(1, thread_name_prefix="saving")

    def hand_in(self, operations: Sequence[Operation]) -> "Future[list[Answer]]":
        """Every operation's answer, in order, soon. All that can be stored is on disk when they are there.

        Refuses
            StorageTrouble  nothing was saved; the phone keeps everything and tries again
        """
        answers: Future[list[Answer]] = Future()
        with self._door:
            self._waiting.append((operations, answers))
        self._taker.submit(self._take_some)
        return answers

    def close(self) -> None:
        """What was handed in is still taken; call it before the storage is closed."""
        self._taker.shutdown()

    def _take_some(self) -> None:
        """One commit for those who wait now; nothing if an earlier one took them along."""
        if not self._waiting:
            return
        some: list[tuple[Sequence[Operation], Future[list[Answer]]]] = []

        def those() -> list[Operation]:
            some.extend(self._next())
            return [op for operations, _ in some for op in operations]

        try:
            answers = iter(take_those(self._storage, those))
            for operations, waiting in some:
                waiting.set_result([next(answers) for _ in operations])
        except Exception as fault:  # each of them must hear of it, or it would wait for ever
            for _, waiting in some or self._next():
                if not waiting.done():
                    waiting.set_exception(fault)

    def _next(self) -> list[tuple[Sequence[Operation], "Future[list[Answer]]"]]:
        some: list[tuple[Sequence[Operation], Future[list[Answer]]]] = []
        many = 0
        with self._door:
            while self._waiting and (not some or many + len(self._waiting[0][0]) <= MOST_IN_ONE_COMMIT):
                operations, waiting = self._waiting.popleft()
                if waiting.set_running_or_notify_cancel():  # who has gone meanwhile will send it again
                    some.append((operations, waiting))
                    many += len(operations)
            if self._waiting:
                self._taker.submit(self._take_some)
        return some


def take_queue(storage: Storage, operations: Sequence[Operation]) -> list[Answer]:
    """Every operation's answer, in order. All that can be stored is on disk when this returns.

    Refuses
        StorageTrouble  nothing was saved; the phone keeps everything and tries again
    """
    return take_those(storage, lambda: operations)


def take_those(storage: Storage, those: Callable[[], Sequence[Operation]]) -> list[Answer]:
    """The same of those who wait once the book is ours."""
    taken: list[Operation] = []

    def once() -> list[Operation]:
        taken.extend(those())
        return taken

    try:
        return apply_those(storage, once)
    except StorageTrouble:
        raise
    except Exception:
        if not taken:
            raise  # the fault is the book's
        # One of them breaks a rule of the file itself, or brings out a fault of ours, and that undoes the whole commit.
        # Rare, so only then one by one: the phone would send all of it for ever, and what waits behind it too.
        return [_take_alone(storage, op) for op in taken]


def _take_alone(storage: Storage, op: Operation) -> Answer:
    # A phone whose store was emptied counts from one again: its count says less than the shot, so it is let go.
    for attempt in (op, replace(op, device_seq=None)):
        try:
            return apply_each(storage, [attempt])[0]
        except exc.IntegrityError:
            continue
        except StorageTrouble:
            raise
        except Exception as fault:
            with storage.write():
                pass  # a book that takes nothing now is no fault of this operation: that goes up, and the phone sends again
            return _our_fault(op, fault)
    return refused(op, NOT_STORED)


def _our_fault(op: Operation, fault: Exception) -> Answer:
    """Refused with a code that stands in the log too: the phone keeps it under "needs you", and sends the rest."""
    code = new_code()
    log.error("fault %s in operation %s, %s %s from device %s", code, op.op_id, op.action, op.noun, op.device_id, exc_info=fault)
    sentence = (
        f"The book has a fault and could not take this one; the others are not held up. It waits here. Tell whoever looks after the "
        f"laptop: code {code}."
    )
    return refused(op, Problem("", sentence))
