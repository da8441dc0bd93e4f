"""A site made in a process of its own: it takes a minute of a processor, and whoever saves a shot meanwhile must not wait for it."""

import io
import zipfile
from collections.abc import Callable
from contextlib import AbstractContextManager
from multiprocessing.connection import Connection
from pathlib import Path

from proofyard.exchange.in_a_process import said_by
from proofyard.exchange.photo_store import PhotosAway
from proofyard.publishing.asked import App
from proofyard.publishing.choices import Choices
from proofyard.publishing.site import NotPublished, Site, WordsFound, make_site

MOST_SECONDS = 1200.0
ZIP_MOMENT = (1980, 1, 1, 0, 0, 0)  # the same for every file: the same site packs to the same bytes
DIED = "The pages could not be made: the process that made them ended by itself. Nothing was published. The log may say why."


def packed_elsewhere(
    book: Path,
    choices: Choices,
    make_app: Callable[[Path], AbstractContextManager[App]],
    *,
    address: str | None = None,
    photos: str | None = None,
) -> bytes:
    """The site of a book as a zip. `book`, `address`, `photos`: as for `make_site`.

    make_app  as for `publish`; it is sent to another process, so it must be importable by name
    Refuses
        NotPublished  in the words of whoever made the site; the words that were found are in `found` of a WordsFound
    """
    said = said_by(_make, book, choices, make_app, address, photos, name="publishing", most_s=MOST_SECONDS)
    if isinstance(said, bytes):
        return said
    if isinstance(said, tuple):
        raise WordsFound(list(said))
    raise NotPublished(said or DIED)


def _make(
    line: Connection,
    book: Path,
    choices: Choices,
    make_app: Callable[[Path], AbstractContextManager[App]],
    address: str | None,
    photos: str | None,
) -> None:
    try:
        line.send(packed(make_site(book, choices=choices, make_app=make_app, address=address, photos=photos)))
    except WordsFound as found:
        line.send(found.found)
    except (NotPublished, PhotosAway) as why:
        line.send(str(why))


def packed(site: Site) -> bytes:
    """All files of a site in one zip, in their order, every time the same bytes."""
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w") as file:
        for name in sorted(site.files):
            entry = zipfile.ZipInfo(f"trials/{name}", ZIP_MOMENT)
            entry.external_attr = 0o644 << 16
            stored = name.endswith((".jpg", ".png"))
            file.writestr(entry, site.files[name], zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED)
    return whole.getvalue()
