"""Looks for withheld words in everything that would go out: file names, every byte, and inside what is packed.

It stops the publishing and doesn't only warn: a name that is out stays out.
"""

import html
import io
import re
import unicodedata
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from urllib.parse import unquote

MOST_UNPACKED = 500_000_000
SHORT = 5  # letters; a word below it counts only where no letter touches it: "Wren" stands in "wrench"
ESCAPED = re.compile(r"\\u([0-9a-fA-F]{4})")


@dataclass(frozen=True)
class Found:
    """A withheld word and the file that holds it; `form`: how it stands there."""

    word: str
    file: str
    form: str


def readings_of(content: bytes) -> Iterator[tuple[str, str]]:
    """The content as text, in every way in which a reader could read letters out of it; each only where its signs are there.

    >>> [form for form, _ in readings_of(b"by &#216;rla")]
    ['as it is', 'as characters of HTML']
    """
    text = content.decode("utf-8", "replace")
    yield "as it is", text
    if b"&" in content:
        yield "as characters of HTML", html.unescape(text)
    if b"%" in content:
        yield "as an address writes it", unquote(text)
    if b"\\u" in content:
        yield "as JSON writes it", ESCAPED.sub(lambda found: chr(int(found[1], 16)), text)
    if b"\0" in content:
        for form in ("utf-16-le", "utf-16-be"):
            yield "UTF-16", content.decode(form, "replace")
            yield "UTF-16", content[1:].decode(form, "replace")


def search(files: Iterable[tuple[str, bytes]], words: Iterable[str]) -> list[Found]:
    """Where the words stand, in whatever case and form; once a word and file.

    A short word counts only where no letter touches it, or every second page would hold it by chance; a longer one counts anywhere.
    """
    wanted = {word: _plain(word) for word in words if word.strip()}
    found: dict[tuple[str, str], Found] = {}
    for name, content in _all_of(files):
        for form, text in (("in the file’s name", name), *readings_of(content)):
            low = _plain(text)
            for word, plain in wanted.items():
                if _stands(plain, low):
                    found.setdefault((word, name), Found(word, name, form))
    return list(found.values())


def _plain(text: str) -> str:
    """Without the differences that a reader doesn't see: case, and letters put together from parts."""
    return text.casefold() if text.isascii() else unicodedata.normalize("NFC", unicodedata.normalize("NFC", text).casefold())


def _stands(word: str, text: str) -> bool:
    at = text.find(word)
    if len(word) >= SHORT:
        return at >= 0
    while at >= 0:
        if not text[max(0, at - 1) : at].isalpha() and not text[at + len(word) : at + len(word) + 1].isalpha():
            return True
        at = text.find(word, at + 1)
    return False


def _all_of(files: Iterable[tuple[str, bytes]]) -> Iterator[tuple[str, bytes]]:
    """The files, and what is packed in them."""
    for name, content in files:
        yield name, content
        if zipfile.is_zipfile(io.BytesIO(content)):
            with zipfile.ZipFile(io.BytesIO(content)) as packed:
                if sum(one.file_size for one in packed.infolist()) > MOST_UNPACKED:
                    raise ValueError(f"{name} unpacks to more than can be looked through")
                yield from ((f"{name}, in it {one.filename}", packed.read(one)) for one in packed.infolist())
