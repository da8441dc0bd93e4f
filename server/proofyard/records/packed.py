"""The notebook's texts in a fraction of their room: ids as their 16 bytes, then packed (raw deflate) with words that all begin with.

A packed text begins with a byte that says how, so that a better way can come later and what was written before stays readable:

    0  as it is, in UTF-8
    1  two bytes of a sum of the text (so that damage is noticed), then the text packed with WORDS_1, or beside another text

What a text is packed beside is needed to read it again, every byte of it. So whoever changes stored changes, nouns, record ids or numbers
of revisions (a migration) unpacks `asked` of those rows before and packs it after.

Errors
    Unreadable  a packed text is damaged, or was packed by a newer program
"""

import re
import uuid
import zlib
from binascii import unhexlify
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from sqlalchemy import LargeBinary
from sqlalchemy.types import TypeDecorator

from proofyard.records.ids import is_id
from proofyard.records.packed_words import WORDS_1

AS_IT_IS, DEFLATED = 0, 1
MOST_BYTES = 64_000_000  # of one text: a file that somebody hands in may have been made to fill the memory
_WINDOW, _MEMORY, _LEVEL = -13, 5, 4  # raw, reaching 8 KB back: twice as quick for texts of some hundred bytes as zlib's own choice
# As JSON has it, after its quotation mark: to look for that first is three times as quick.
_AN_ID = re.compile(rb'"([0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12})')
_MARK = b"\x01"  # before an id's bytes; no JSON has it
_SHORT_ID = re.compile(rb"\x01(.{16})", re.DOTALL)
_PUT = frozenset({"make", "change"})
_OF_EVERY_ANSWER = b'"problems": [], "warnings": [], "clashes": [], "again": false}\n'


class Unreadable(ValueError):
    """A packed text that can't be read again."""


def _packer(words: bytes) -> Any:
    return zlib.compressobj(_LEVEL, zlib.DEFLATED, _WINDOW, _MEMORY, zlib.Z_DEFAULT_STRATEGY, words)


_WITH_WORDS_1 = _packer(WORDS_1)


def _shortened(plain: bytes) -> bytes:
    parts = _AN_ID.split(plain)  # text, id, text, id …, text
    parts[1::2] = map(_short_part, parts[1::2])
    return b"".join(parts)


@lru_cache(4096)  # a shot's own ids stand in its row several times, those of its end, bow and archer in many rows
def _short_part(an_id: bytes) -> bytes:
    return b'"\x01' + unhexlify(an_id.replace(b"-", b""))


def _long_id(found: re.Match[bytes]) -> bytes:
    said = found[1].hex()
    return f"{said[:8]}-{said[8:12]}-{said[12:16]}-{said[16:20]}-{said[20:]}".encode("ascii")


def pack(text: str, beside: str | None = None) -> bytes:
    """A text packed with the common words, or beside another text that says much of the same."""
    plain = text.encode()
    return _packed(plain, _shortened(plain), _WITH_WORDS_1.copy() if beside is None else _packer(_shortened(beside.encode())))


def _packed(plain: bytes, short: bytes, packer: Any) -> bytes:
    if _MARK in plain:
        return b"\0" + plain
    packed: bytes = packer.compress(short) + packer.flush()
    return b"\1" + _sum_of(plain) + packed


def unpack(packed: bytes, beside: str | None = None) -> str:
    """The text, byte for byte.

    Refuses
        Unreadable
    """
    how = packed[0] if packed else None
    if how == AS_IT_IS:
        return packed[1:].decode()
    if how != DEFLATED:
        raise Unreadable(f"A text of the notebook is packed in a way ({how}) that this program doesn’t know.")
    opened = zlib.decompressobj(_WINDOW, WORDS_1 if beside is None else _shortened(beside.encode()))
    try:
        short = opened.decompress(packed[3:], MOST_BYTES)
    except zlib.error as error:
        raise Unreadable("A text of the notebook is damaged.") from error
    plain = _SHORT_ID.sub(_long_id, short)
    if not opened.eof or _sum_of(plain) != packed[1:3]:
        raise Unreadable("A text of the notebook is damaged.")
    return plain.decode()


def _sum_of(plain: bytes) -> bytes:
    return (zlib.crc32(plain) & 0xFFFF).to_bytes(2, "big")


def pack_row(changes: str, body: str, answer: str, row: Mapping[str, Any]) -> tuple[bytes, bytes]:
    """What was changed; and what was asked and the answer, beside what the rest of the row says already: `row` has the other columns."""
    plain, asked = changes.encode(), f"{body}\n{answer}".encode()
    short = _shortened(plain)
    before, after = said_already(row)
    beside = _packer(before + short + _shortened(after.encode()))
    return _packed(plain, short, _WITH_WORDS_1.copy()), _packed(asked, _shortened(asked), beside)


def unpack_asked(asked: bytes, row: Mapping[str, Any], *, changes: str) -> tuple[str, str]:
    """What was asked and the answer, byte for byte as they were.

    Refuses
        Unreadable
    """
    body, answer, *_ = unpack_all_asked(asked, row, changes=changes)
    return body, answer


def unpack_all_asked(asked: bytes, row: Mapping[str, Any], *, changes: str) -> list[str]:
    """The same, and what the operation said otherwise than its revision, if it did (migration 0026)."""
    before, after = said_already(row)
    return unpack(asked, f"{before.decode()}{changes}{after}").split("\n")


def said_already(row: Mapping[str, Any]) -> tuple[bytes, str]:
    """What stands before the changes and after them. The nearer the end, the fewer bytes it takes to point at."""
    action = "put" if row["action"] in _PUT else row["action"]
    answer = f'{{"op_id": "{row["op_id"]}", "status": "{row["status"]}", "record_id": "{row["record_id"]}", "rev": {row["rev"]}, '
    asked = f'["{action}","{row["noun"]}","{row["record_id"]}",{int(row["base_rev"])},{{'
    return _OF_EVERY_ANSWER, f',null]\n{answer}"seq": {row["seq"]}, {asked}'


class PackedText(TypeDecorator[str]):
    """A text that is kept packed."""

    impl = LargeBinary
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: object) -> bytes | None:
        return None if value is None else pack(value)

    def process_result_value(self, value: bytes | None, dialect: object) -> str | None:
        return None if value is None else unpack(value)


class ShortId(TypeDecorator[str]):
    """An id that is kept as its 16 bytes. What is no id is kept as its text, and is none of 16 letters."""

    impl = LargeBinary
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: object) -> bytes | None:
        return None if value is None else short_id(value)

    def process_result_value(self, value: bytes | None, dialect: object) -> str | None:
        return None if value is None else long_id(value)


def short_id(said: str) -> bytes:
    """An id's 16 bytes. A text of 16 bytes that is no id gets one more, so that it is never taken for one."""
    if is_id(said):
        return unhexlify(said.replace("-", ""))
    plain = said.encode()
    return plain + b"\0" if len(plain) == 16 else plain


def long_id(kept: bytes) -> str:
    """
    >>> long_id(short_id("01a1257c-98c8-74f5-9725-37a2aa535037"))
    '01a1257c-98c8-74f5-9725-37a2aa535037'
    """
    return str(uuid.UUID(bytes=kept)) if len(kept) == 16 else kept.removesuffix(b"\0").decode()
