"""A withheld word is found in whatever way a file can hold it, and a word inside another word isn't taken for it."""

from __future__ import annotations

import io
import json
import zipfile
from urllib.parse import quote

import pytest
from hypothesis import given
from hypothesis import strategies as st
from proofyard.publishing.leak_search import search

NAME = "Øyvind Thornquist"
HIDDEN = {
    "plain": NAME.encode(),
    "in capitals": NAME.upper().encode(),
    "JSON": json.dumps({"by": NAME}).encode(),
    "address": f"/find?q={quote(NAME)}".encode(),
    "HTML": b"&#248;yvind Thornquist",
    "UTF-16": NAME.encode("utf-16-le"),
    "amid bytes that are no text": b"\xff\xfe\x00\x80" + NAME.lower().encode() + b"\xff",
}


@pytest.mark.parametrize("how", HIDDEN)
def test_a_name_is_found_however_it_is_written(how: str) -> None:
    assert [one.word for one in search([("a.html", b"<p>" + HIDDEN[how] + b"</p>")], [NAME])] == [NAME]


def test_a_name_is_found_in_a_files_own_name_and_inside_what_is_packed() -> None:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("notes.txt", f"seen by {NAME} " * 50)
    found = search([("shots/thornquist.html", b""), ("package.zip", packed.getvalue())], [NAME, "Thornquist"])
    assert {one.file for one in found} == {"shots/thornquist.html", "package.zip, in it notes.txt"}


def test_a_short_name_counts_only_where_no_letter_touches_it() -> None:
    assert not search([("a", b"a wrench, ashen")], ["Wren", "Ash"])
    assert {one.word for one in search([("a", b"Wren's arrow; by ash.")], ["Wren", "Ash"])} == {"Wren", "Ash"}


def test_nothing_is_found_where_nothing_is() -> None:
    assert search([("index.html", b"<p>Archer 1 loosed 12 shots</p>")], [NAME, "Wren", ""]) == []


@given(st.text(alphabet=st.characters(categories=["Lu", "Ll", "Lo"]), min_size=5, max_size=20), st.text(max_size=30), st.text(max_size=30))
def test_any_name_amid_any_text_is_found(name: str, before: str, after: str) -> None:
    assert search([("a.html", f"{before}{name}{after}".encode("utf-8", "replace"))], [name])
