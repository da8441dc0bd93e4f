"""What a phone or a form asks of the book, and what the book answers."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from proofyard.records.typed_values import Problem

ACTIONS = ("put", "void", "unvoid")
_CANONICAL = json.JSONEncoder(sort_keys=True, ensure_ascii=False, separators=(",", ":")).encode  # `json.dumps` makes one each time
# The form of operations that the phones send; the one before is taken too, for pages that stayed open over an upgrade.
# No page sends form 2: form 1 has other names, so a page that sends it keeps what it holds for the page after it,
# which renames it (static/js/range/upgrade.js).
OP_VERSION = 3


@dataclass(frozen=True)
class Operation:
    """One change that somebody asks for.

    action      put: make the record, or change the named fields; void, unvoid: cross out and put back, each with a reason
    base_rev    the revision that the person saw; 0 for a new record
    body        field name -> value as typed (quantities as text with or without a unit)
    device_seq  the phone's own count of its operations; None for a form
    t_device    the phone's clock, UTC milliseconds, with its estimated offset from the server and that one's error
    """

    op_id: str
    device_id: str
    action: str
    noun: str
    record_id: str
    base_rev: int = 0
    body: Mapping[str, Any] = field(default_factory=dict)
    reason: str | None = None
    device_seq: int | None = None
    t_device: int | None = None
    clock_offset_ms: int | None = None
    clock_error_ms: int | None = None

    def canonical(self) -> bytes:
        """The same bytes for the same request, so that an id used twice for different things is noticed."""
        what = [self.action, self.noun, self.record_id, self.base_rev, self.body, self.reason]
        return _CANONICAL(what).encode()

    def is_said_again(self, taken: str) -> bool:
        """Whether it differs from what the book took under this id (its canonical form) in the revision alone that it builds on.

        A phone that never heard that the book has it lets it build on what it heard meanwhile: it is the same all the same.
        """
        before, now = json.loads(taken), json.loads(self.canonical())
        return bool(before[:3] == now[:3] and before[4:] == now[4:])


@dataclass(frozen=True)
class Stood:
    """A record of another book, as it stood there. It obeyed the rules as it was written; since then what they compare it with may
    have been corrected, a trial closed, a day's cautions changed. So only that its links lead somewhere is asked again.

    at      when that book wrote it down, UTC milliseconds
    values  column -> what is stored; typed: field -> text as typed
    """

    at: int
    values: Mapping[str, Any] = field(default_factory=dict)
    typed: Mapping[str, str | None] = field(default_factory=dict)


@dataclass(frozen=True)
class Answer:
    """What became of an operation.

    status      applied; merged (others changed other fields since); clash (somebody said otherwise of a field:
                theirs stands, yours is kept beside it); refused (nothing was stored: mend it and send it again)
    again       this very operation had been taken before, and this is the answer it got then
    """

    op_id: str
    status: str
    record_id: str
    rev: int | None = None
    seq: int | None = None
    problems: tuple[Problem, ...] = ()
    warnings: tuple[Problem, ...] = ()
    clashes: tuple[str, ...] = ()
    again: bool = False

    @property
    def taken(self) -> bool:
        return self.status != "refused"

    def as_json(self) -> dict[str, Any]:
        said = {**self.__dict__}
        for name in ("problems", "warnings"):
            said[name] = [asdict(one) for one in said[name]]
        return said

    @staticmethod
    def from_json(text: str) -> "Answer":
        held = json.loads(text)
        for name in ("problems", "warnings"):
            held[name] = tuple(Problem(**one) for one in held[name])
        held["clashes"] = tuple(held["clashes"])
        return Answer(**{**held, "again": True})


def refused(op: Operation, *problems: Problem) -> Answer:
    return Answer(op.op_id, "refused", op.record_id, problems=problems)
