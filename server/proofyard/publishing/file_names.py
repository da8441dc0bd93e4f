"""What each page is called as a file: words that a person reads, never an id that tells when a record was typed."""

import re
import unicodedata
from collections.abc import Iterable

from proofyard.publishing.addresses import ID, Address
from proofyard.records.search_documents import Document

FIRST = "index.html"
MOST = 60


def slug(text: str) -> str:
    """Words as a part of a file name.

    >>> slug("Is 1.6 mm plate enough?")
    'is-1-6-mm-plate-enough'
    """
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:MOST].strip("-")


class FileNames:
    """A name for every address, the same whenever it is asked for. `first`: the address that a visitor begins at."""

    def __init__(self, documents: Iterable[Document], first: Address) -> None:
        self._first = first
        self._titles = {one.page or one.record_id: one.title for one in documents}
        self._by_name: dict[str, Address] = {}
        self._by_address: dict[Address, str] = {}

    def of(self, address: Address) -> str:
        """Where the page of an address lies in the site's folder."""
        if address == self._first:
            return FIRST
        if address not in self._by_address:
            name, n = self._wanted(address), 1
            while f"{name}{f'-{n}' if n > 1 else ''}.html" in self._by_name:
                n += 1
            found = f"{name}{f'-{n}' if n > 1 else ''}.html"
            self._by_name[found], self._by_address[address] = address, found
        return self._by_address[address]

    def _wanted(self, address: Address) -> str:
        said = [self._said(part) for part in address.path.strip("/").split("/")] or ["home"]
        settings = "".join(f"--{self._said(value)}" for _, value in address.settings)
        return "/".join(part for part in said if part) + settings or "home"

    def _said(self, part: str) -> str:
        if re.fullmatch(ID, part):
            return slug(self._titles.get(part, "")) or part.split("-")[0]
        return slug(part)
