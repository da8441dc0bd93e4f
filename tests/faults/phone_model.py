"""A phone at the range without its browser: the rules of the outbox, step by step, over any network.

It mirrors static/js/range/, and must be changed along with it:

    Phone.add               queue.js add            first on this phone, with a count of its own
    Phone.mend              queue.js mend           other words make another operation; the same words the same one
    Phone.meet              queue.js meet           a restored book is offered again what it may lack; what waited for
                                                    the other phone's record is sent again once the book tells of it
    Phone.offer_again       queue.js offerAgain
    Phone._batch            queue.js batch          the first of each record, fifty at most
    Phone.send, _exchange   queue.js send, exchange; whichBook
    Phone._settle           queue.js settle, answered
    Phone._follows          queue.js follows        a phone's own earlier change is no second opinion
    Phone.look              snapshot.js look, merged, unpacked
    Phone.rev_of            seen.js laid            the revision that the person sees
    Phone.load              queue.js load           two weeks after it was made, what the book has is let go of

Left out, since one program has one tab and no clock to wait by: the lease, the waiting between tries, the clock's offset.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from proofyard.records.ids import new_id
from proofyard.records.operations import OP_VERSION

MOST_AT_ONCE = 50
KEEP_MS = 14 * 24 * 3600 * 1000
Op = dict[str, Any]


class Reply(NamedTuple):
    """What the phone got to see of an answer."""

    status: int
    text: str

    @property
    def said(self) -> dict[str, Any]:
        try:
            said = json.loads(self.text)
        except ValueError:
            return {}
        return said if isinstance(said, dict) else {}


# method, path, body -> the reply, or None when the laptop can't be reached or its answer was lost on the way
Ask = Callable[[str, str, bytes | None], Reply | None]


@dataclass
class Phone:
    """One phone. Its operations are dicts with `state` queued, book, needs or dropped, as in the phone's own store.

    now_ms  its clock; a test sets it forward
    """

    name: str
    ask: Ask
    letter: str = ""
    now_ms: int = 1_792_836_000_000
    ops: list[Op] = field(default_factory=list)
    count: int = 0
    labels: int = 0
    book: str = ""
    epoch: tuple[str, str] | None = None
    told: dict[str, Any] | None = None
    sure: bool = False
    sent: set[str] = field(default_factory=set)

    def add(self, *asked: Mapping[str, Any]) -> list[Op]:
        """Put operations on this phone. `saw`, for the test alone: the revision that the person saw when saying it."""
        made = []
        for one in asked:
            self.count += 1
            op = {
                "op_id": new_id(),
                "action": "put",
                "base_rev": 0,
                "body": {},
                "reason": None,
                "state": "queued",
                "problems": [],
                "lacked": [],
                **one,
                "n": self.count,
                "made_at": self.now_ms,
                "book": self.book,
            }
            made.append({**op, "saw": op["base_rev"]})
        self.ops += made
        return made

    def next_label(self) -> str:
        highest = self.told["phone"]["highest"] if self.told else 0
        self.labels = max(self.labels, highest) + 1
        return f"{self.letter}{self.labels}"

    def held(self, state: str) -> list[Op]:
        return [op for op in self.ops if op["state"] == state]

    def load(self) -> None:
        """The page is opened again."""
        self.ops = [op for op in self.ops if op["state"] in ("queued", "needs") or self.now_ms - op["made_at"] <= KEEP_MS]
        self.sure = False

    def mend(self, op: Op, body: Mapping[str, Any] | None = None) -> None:
        """A person looked at what was refused, and sends it again."""
        if body is None:
            op.update(state="queued", problems=[])
            return
        op["state"] = "dropped"
        kept = {name: op[name] for name in ("action", "noun", "record_id", "base_rev", "reason")}
        self.add({**kept, "body": {**op["body"], **body}})

    def rev_of(self, noun: str, record_id: str) -> int:
        rev, seq = self._told_rev(noun, record_id), self.told["seq"] if self.told else 0
        for op in self.ops:
            if op["state"] == "book" and op["answer"]["seq"] > seq and (op["noun"], op["record_id"]) == (noun, record_id):
                rev = max(rev, op["answer"]["rev"])
        return rev

    def _told_rev(self, noun: str, record_id: str) -> int:
        told = self.told or {"shots": [], "shooting_ends": []}
        if noun == "shooting_end":
            return next((int(one["rev"]) for one in told["shooting_ends"] if one["id"] == record_id), 0)
        for shot in told["shots"]:
            one = {"shot": shot, "shot_reading": shot["reading"], "speed_reading": shot["speed"]}[noun]
            if one and (one.get("id") or shot["id"]) == record_id:
                return int(one["rev"])
        return 0

    def look(self) -> None:
        """Ask what the book tells; a phone does so every two seconds while its page is in sight."""
        address = f"/api/range?since={self.told['seq']}&epoch={self.told['epoch']}" if self.told else "/api/range"
        reply = self._reached("GET", address, None)
        if reply is None or reply.status != 200 or "seq" not in reply.said:
            return
        news = reply.said
        news["shots"] = [*_laid_out(news.pop("earlier")), *news["shots"]]
        if self.told and not news["whole"]:
            for name in ("shots", "shooting_ends"):
                news[name] = list({one["id"]: one for one in [*self.told[name], *news[name]]}.values())
        self.told = news
        self.meet(news)

    def meet(self, told: Mapping[str, Any]) -> None:
        self.book = told["book"]
        self.letter = told["phone"]["letter"]
        self.count = max(self.count, told["phone"]["highest_seq"])
        known = {one["id"] for one in [*told["shots"], *told["shooting_ends"]]}
        restored = self.epoch is not None and self.epoch[0] == self.book and self.epoch[1] != told["epoch"]
        if restored:
            self.offer_again(lambda op: bool(op["book"] == self.book))
        for op in self.held("needs"):
            if restored or known & set(op["lacked"]):
                op.update(state="queued", problems=[], lacked=[])
        self.epoch = (self.book, told["epoch"])

    def offer_again(self, which: Callable[[Op], bool]) -> None:
        for op in self.held("book"):
            if which(op):
                op["state"] = "queued"

    def _batch(self) -> list[Op]:
        taken: list[Op] = []
        touched = set()
        for op in sorted(self.held("queued"), key=lambda one: int(one["n"])):
            record = (op["noun"], op["record_id"])
            if len(taken) == MOST_AT_ONCE or (op["book"] and self.book and op["book"] != self.book):
                continue
            if record in touched and op["action"] == "put":
                continue
            touched.add(record)
            taken.append(op)
        return taken

    def send(self) -> bool:
        """Send what waits until nothing does or the laptop fails; whether all is out."""
        while self._batch():
            if not self.sure:
                self._which_book()
            if not self._batch() or not self._exchange(self._batch()):
                return False
        return True

    def _which_book(self) -> None:
        reply = self._reached("GET", "/api/ping", None)
        if reply and reply.said.get("book_id"):
            self.book, self.sure = reply.said["book_id"], True

    def _reached(self, method: str, path: str, body: bytes | None) -> Reply | None:
        reply = self.ask(method, path, body)
        self.sure = self.sure and reply is not None
        return reply

    def _exchange(self, some: list[Op]) -> bool:
        self.sent |= {op["op_id"] for op in some}
        reply = self._reached("POST", "/api/ops", as_sent(some))
        if reply is None:
            return False
        if reply.status == 200:
            return self._settle(reply)
        if reply.said.get("trouble") != "version" and reply.status in (413, 422):
            if len(some) > 1:
                return self._exchange(some[:1])
            some[0].update(state="needs", problems=[{"field": "", "sentence": reply.said.get("sentence", "")}])
            return True
        return False

    def _settle(self, reply: Reply) -> bool:
        answers = reply.said.get("answers")
        if not isinstance(answers, list):
            return False
        heard = 0
        sending = {answer["op_id"] for answer in answers}
        for answer in answers:
            op = next((one for one in self.ops if one["op_id"] == answer["op_id"]), None)
            if op is None:
                continue
            heard += 1
            if answer["status"] == "refused":
                op.update(state="needs", problems=answer["problems"], lacked=self._lacked(op))
                continue
            op.update(state="book", answer=answer, problems=[])
            for other in self.ops:
                self._follows(other, op, answer, sending)
        return heard > 0

    def _lacked(self, op: Op) -> list[str]:
        """What it names that the book, as last told, does not have: perhaps the other phone does."""
        told = self.told or {"shots": [], "shooting_ends": []}
        known = {one["id"] for one in [*told["shots"], *told["shooting_ends"]]}
        known |= {one["record_id"] for one in self.ops if one["state"] == "book"}
        names = [op["record_id"], op["body"].get("shot"), op["body"].get("shooting_end")]
        return [one for one in names if one and one not in known]

    def _follows(self, one: Op, op: Op, answer: Mapping[str, Any], sending: Iterable[str]) -> None:
        same = (one["noun"], one["record_id"]) == (op["noun"], op["record_id"]) and one is not op
        builds_on = op["action"] == one["action"] == "put" and answer["status"] == "applied" and one["n"] > op["n"]
        if same and builds_on and one["state"] == "queued" and one["op_id"] not in sending:
            one["base_rev"] = max(one["base_rev"], answer["rev"])
        if one["state"] == "needs" and op["noun"] == "shot" and op["record_id"] in (one["record_id"], one["body"].get("shot")):
            one.update(state="queued", problems=[], lacked=[])


def _laid_out(earlier: Mapping[str, Any]) -> list[dict[str, Any]]:
    """As much of snapshot.js laidOut as the outbox needs: ids and revisions."""
    rows = [row for of_panel in earlier.values() for row in of_panel]
    return [{"id": row[0], "rev": row[1], "reading": {"rev": row[11]} if row[11] else None, "speed": None} for row in rows]


def as_sent(ops: Iterable[Op]) -> bytes:
    names = ("op_id", "action", "noun", "record_id", "base_rev", "body", "reason")
    told = [{**{name: op[name] for name in names}, "device_seq": op["n"], "t_device": op["made_at"]} for op in ops]
    return json.dumps({"op_v": OP_VERSION, "boot": "model", "ops": told}).encode()
