"""A phone's queue, taken so that nothing in it can hold up the rest: not a bad operation, nor a count used twice."""

from collections.abc import Sequence
from dataclasses import replace

from sqlalchemy import exc

from server.records.apply import apply_each
from server.records.operations import Answer, Operation, refused
from server.records.typed_values import Problem
from server.storage import Storage

NOT_STORED = Problem("", "The book could not store this as it stands. It waits here; correct it, or leave it out.")


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
