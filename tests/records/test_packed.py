"""What is packed is read again byte for byte, and damage is noticed."""

from __future__ import annotations

import hashlib
import json
import uuid
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.records import packed
from proofyard.records.ids import new_id
from proofyard.records.operations import Operation
from proofyard.records.packed import Unreadable, long_id, pack, pack_row, short_id, unpack, unpack_asked
from proofyard.records.packed_words import WORDS_1
from proofyard.storage import Storage
from sqlalchemy import text

from tests import kit_for_tests as kit
from tests.notebook_for_tests import told_in

ID = "01a1257c-98c8-74f5-9725-37a2aa535037"
ANY_TEXT = st.one_of(
    st.text(),
    st.lists(
        st.sampled_from([ID, ID.upper(), ID[:-1], "\x01", "\x01" + ID, "\0", "\n", '"hit": [null, "on_panel"', "é", "\U0001f3f9"])
    ).map("".join),
)


@given(ANY_TEXT)
def test_any_text_comes_back(said: str) -> None:
    assert unpack(pack(said)) == said


@given(ANY_TEXT, ANY_TEXT)
def test_any_text_comes_back_beside_any_other(said: str, beside: str) -> None:
    assert unpack(pack(said, beside), beside) == said


@given(st.text())
def test_any_op_id_comes_back(said: str) -> None:
    assert long_id(short_id(said)) == said.removesuffix("\0") if said.endswith("\0") else long_id(short_id(said)) == said


def test_an_id_takes_16_bytes_and_sorts_as_its_text_does() -> None:
    some = [str(uuid.UUID(int=hash((n, "x")) % 2**128)) for n in range(200)] + [new_id() for _ in range(200)]
    assert all(len(short_id(one)) == 16 for one in some)
    assert sorted(some) == [long_id(one) for one in sorted(map(short_id, some))]
    assert len(short_id("sixteen letters!")) == 17


def test_the_words_stay_as_they_are() -> None:
    """Else no book that was packed with them could be read. Better ones get a number of their own."""
    assert hashlib.sha256(WORDS_1).hexdigest() == "03157aa8569dd693d899ece9d35867dee5ccd898cf472cb5057d45e4b71d5c33"


def test_what_was_packed_by_hand_is_read() -> None:
    """Raw deflate (RFC 1951) with a preset dictionary, as zlib's own manual has it, without a hand of ours."""
    said = '{"hit": [null, "on_panel", null, "on_panel"], "shot": "' + ID + '"}'
    short = said.encode().replace(ID.encode(), b"\x01" + uuid.UUID(ID).bytes)
    packer = zlib.compressobj(9, zlib.DEFLATED, -13, zdict=WORDS_1)
    by_hand = packer.compress(short) + packer.flush()
    assert unpack(b"\x01" + (zlib.crc32(said.encode()) & 0xFFFF).to_bytes(2, "big") + by_hand) == said


def test_a_damaged_text_is_noticed() -> None:
    """Two bytes of a sum let one damage of 65,536 pass. Every single bit of this text is turned once; none passes."""
    said = json.dumps({"x": [None, -0.098, None, "-98 mm"], "shot": [None, ID, None, ID]})
    whole, told = pack(said), 0
    for place in range(len(whole)):
        for bit in range(8):
            spoilt = bytearray(whole)
            spoilt[place] ^= 1 << bit
            try:
                assert unpack(bytes(spoilt)) == said, (place, bit)  # the last byte is not used up
            except (Unreadable, UnicodeDecodeError):
                told += 1
    assert told >= 8 * (len(whole) - 1)
    for cut in range(len(whole)):
        with pytest.raises(Unreadable):
            unpack(whole[:cut])


def test_a_text_that_would_fill_the_memory_is_not_unpacked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packed, "MOST_BYTES", 1000)
    assert unpack(pack("x" * 1000)) == "x" * 1000
    with pytest.raises(Unreadable):
        unpack(pack("x" * 1001))


def test_what_was_asked_needs_the_whole_row_to_be_read() -> None:
    row = {"op_id": ID, "status": "applied", "record_id": ID, "rev": 1, "seq": 7, "action": "make", "noun": "shot", "base_rev": 0}
    _, kept = pack_row("{}", '["put"]', '{"rev": 1}', row)
    assert unpack_asked(kept, row, changes="{}") == ('["put"]', '{"rev": 1}')
    said = '["put","shot","' + ID + '",0,{"label":"A40"},null]'
    _, kept = pack_row('{"label": [null, "A40", null, "A40"]}', said, "{}", row)
    assert len(kept) < len(said) / 3
    with pytest.raises(Unreadable):
        unpack_asked(kept, {**row, "noun": "trial"}, changes='{"label": [null, "A40", null, "A40"]}')


def test_a_save_keeps_what_was_asked_and_answered_as_it_was(book: Storage) -> None:
    from proofyard.records.apply import apply_each

    device, archer = kit.recorder(book), new_id()
    asked = [
        Operation(new_id(), device, "put", "archer", archer, body={"call_name": "Élan \U0001f3f9", "hand": "left"}, device_seq=1),
        Operation(new_id(), device, "put", "archer", archer, base_rev=1, body={"call_name": "Elan"}, reason="mis-heard “É”", device_seq=2),
        Operation(new_id(), device, "void", "archer", archer, base_rev=2, reason="twice", device_seq=3),
    ]
    answers = apply_each(book, asked)
    kept = {one.op_id: one for one in told_in(book.path)}
    for op, answer in zip(asked, answers, strict=True):
        assert answer.taken, answer
        assert kept[op.op_id].body == op.canonical().decode()
        assert kept[op.op_id].answer == json.dumps(answer.as_json(), ensure_ascii=False)
    assert all(one.again for one in apply_each(book, asked))


def test_only_one_revision_may_have_an_operation_or_a_phones_number(book: Storage) -> None:
    with book.read() as session:
        unique = {row.name for row in session.execute(text("PRAGMA index_list(revision)")) if row.unique}
    assert unique == {"uq_revision_record_rev", "uq_revision_op_id", "uq_revision_device_seq"}
