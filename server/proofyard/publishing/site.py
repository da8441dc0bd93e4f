"""A folder of pages out of a book: asked from the app itself as a viewer sees them, made files, searched for what must not go out.

The order is the point: copy and ask, rewrite, search all bytes, and only then write.
"""

import io
import json
import os
import re
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import AbstractContextManager, closing
from dataclasses import dataclass, replace
from pathlib import Path
from urllib.parse import urlsplit

from proofyard.access.seats import Seat
from proofyard.exchange.kept_photos import photos_at
from proofyard.exchange.package.packing import write_package
from proofyard.publishing import about as about_site
from proofyard.publishing import search_page
from proofyard.publishing.about import About, PublishedTrial
from proofyard.publishing.addresses import ASSET, PHOTO, Address, page_at
from proofyard.publishing.asked import App, Asker
from proofyard.publishing.choices import Choices, Replaced
from proofyard.publishing.file_names import FileNames
from proofyard.publishing.leak_search import Found, search
from proofyard.publishing.names_in_book import replaced
from proofyard.publishing.page_rewritten import links_of, parsed, rewritten, written
from proofyard.publishing.several import first_page, folders_of
from proofyard.publishing.withheld_copy import copy_withheld
from proofyard.records.listing import all_of, while_nobody_writes
from proofyard.records.published_facts import first_and_last_day, newest_change
from proofyard.records.search_documents import documents
from proofyard.records.trial import Trial
from proofyard.settings import data_folder, database
from proofyard.storage import Storage, StorageTrouble
from proofyard.wording.when import as_if_at, day_at

Opened = AbstractContextManager[App]
PACKAGE = "proofyard-package.zip"
LIST = "published.json"  # what a publishing wrote: it takes away no file that it didn't make
SYMBOL = re.compile(r'<symbol id="(?P<name>[A-Za-z0-9_-]+)".*?</symbol>', re.DOTALL)


class NotPublished(StorageTrouble):
    """Why nothing was written."""


class WordsFound(NotPublished):
    """Withheld words stand in what would go out. Nothing was written."""

    def __init__(self, found: list[Found]) -> None:
        self.found = tuple(found)
        some = "; ".join(f"“{one.word}” in {one.file}" for one in found[:8])
        more = f", and {len(found) - 8} more" if len(found) > 8 else ""
        super().__init__(
            f"Nothing was published: words that you withhold would go out: {some}{more}. "
            "Change what was written there, or say that the word may stay."
        )


@dataclass(frozen=True)
class Site:
    """All files of a site, by name, before any is written."""

    files: Mapping[str, bytes]
    pages: int
    replaced: Replaced
    about: About


@dataclass(frozen=True)
class Written:
    """What a publishing did to the folder."""

    files: int
    size: int
    new: int
    changed: int
    removed: int
    pages: int


def publish(book: Path, to: Path, *, choices: Choices, make_app: Callable[[Path], Opened]) -> Written:
    """Write the site of the chosen trials into a folder.

    make_app  the app on a book's file, without its door, for as long as it is asked
    Refuses
        NotPublished  the folder holds other things, there is no such trial, a page could not be made
        WordsFound    a withheld word stands in a file; nothing was written
    """
    refuse_foreign_folder(to)
    site = make_site(book, choices=choices, make_app=make_app)
    return write_site(site, to)


def make_site(
    book: Path, *, choices: Choices, make_app: Callable[[Path], Opened], address: str | None = None, photos: str | None = None
) -> Site:
    """The files of a site, searched for what must not go out. Refuses as `publish` does.

    address  of the database that keeps the book, empty where its file does; None: as it is set.
    photos   the store that keeps its photos; None: the one that is set, or the folder of `book` where an address is given
    """
    kept_in = database() if address is None else address
    photos = ("" if address is not None else None) if photos is None else photos
    with tempfile.TemporaryDirectory(prefix="proofyard-publish-") as work:
        file = _as_a_file(kept_in, Path(work) / "as it is") if kept_in else book
        source = Storage(file, writes=False)
        try:
            with source.read() as session:
                words = replaced(session, choices)
                chosen = _numbers_of(all_of(session, Trial, voided=True), choices.trials)
        finally:
            source.close()
        (to := Path(work) / "withheld").mkdir()
        copy = copy_withheld(file, to, choices=choices, replaced=words, photos=photos_at(book.parent, photos))
        wanted: Sequence[int | None] = chosen or [None]
        with make_app(copy) as app, while_nobody_writes():
            sites = [_Maker(copy, choices, words, one, app).site() for one in wanted]
    site = sites[0] if len(sites) == 1 else _joined(sites)
    found = [one for one in search(site.files.items(), words.withheld) if one.word not in choices.left_standing]
    if found:
        raise WordsFound(found)
    return site


def _as_a_file(address: str, folder: Path) -> Path:
    from proofyard.moving.copied import copied_from_database

    return copied_from_database(address, folder)


def _numbers_of(trials: Iterable[Trial], wanted: Iterable[str]) -> list[int]:
    """Which of the trials, in the order of their ids: in the copy they have others, in the same order."""
    ids = sorted(one.id for one in trials)
    if any(one not in ids for one in wanted):
        raise NotPublished("The book has no such trial. Nothing was published.")
    return sorted({ids.index(one) for one in wanted})


def _joined(sites: Sequence[Site]) -> Site:
    """The sites of single trials as one, a folder each."""
    folders = folders_of([site.about.trials[0].question for site in sites])
    trials = tuple(
        replace(one, file=f"{folder}/{one.file}") for folder, site in zip(folders, sites, strict=True) for one in site.about.trials
    )
    files = {f"{folder}/{name}": content for folder, site in zip(folders, sites, strict=True) for name, content in site.files.items()}
    about = replace(sites[0].about, trials=trials, packages=tuple(f"{folder}/{PACKAGE}" for folder in folders))
    files["index.html"] = _with_about(first_page(sites[0].files["index.html"], folders[0], trials), about)
    files[about_site.FEED] = about_site.feed(about)
    return Site(files, sum(site.pages for site in sites) + 1, sites[0].replaced, about)


class _Maker:
    """Asks for pages until none is new, then makes each a file."""

    def __init__(self, copy: Path, choices: Choices, words: Replaced, chosen: int | None, app: App) -> None:
        self._copy, self._choices, self._words = copy, choices, words
        storage = Storage(copy, writes=False)
        try:
            with storage.read() as session:
                self._trials = sorted(all_of(session, Trial), key=lambda one: one.id)
                every = sorted(one.id for one in all_of(session, Trial, voided=True))
                self._only = None if chosen is None else every[chosen]
                self._documents = [one for one in documents(session) if self._only is None or self._only in one.trials]
                self._state, self._at = newest_change(session)
                self._days = first_and_last_day(session)
        finally:
            storage.close()
        seat = Seat("viewer", None, "Reader", None, self._only)
        self._asker = Asker(app, seat, cookies={})
        self._first = Address(f"/trials/{self._only}") if self._only else Address("/")
        self._names = FileNames(self._documents, self._first)
        self._pages: dict[Address, bytes] = {}
        self._turned: dict[Address, str] = {}
        self._others: dict[str, bytes] = {}

    def site(self) -> Site:
        with as_if_at(self._at), closing(self._asker):
            self._ask_for_all()
            files = self._files()
        files[PACKAGE] = self._package()
        about = self._about()
        files["index.html"] = _with_about(files["index.html"], about)
        files[about_site.FEED] = about_site.feed(about)
        return Site(files, len(self._pages), self._words, about)

    def _ask_for_all(self) -> None:
        to_ask, seen = [self._first, Address(search_page.ASKED_AT)], {self._first, Address(search_page.ASKED_AT)}
        while to_ask:
            address = to_ask.pop(0)
            answer = self._asker.ask(str(address))
            if answer.status >= 500:
                raise NotPublished(f"The page {address} could not be made, so nothing was published. The log says why.")
            if answer.status != 200 or answer.media_type != "text/html":
                continue
            if answer.address != str(address):
                turned = page_at(answer.address, one_trial=self._only is not None)
                if turned is not None:
                    self._turned[address] = answer.address
                    _put(turned, to_ask, seen)
                continue
            self._pages[address] = answer.content
            for href in links_of(parsed(answer.content)):
                found = page_at(href, one_trial=self._only is not None)
                if found is not None:
                    _put(found, to_ask, seen)

    def _files(self) -> dict[str, bytes]:
        files: dict[str, bytes] = {}
        symbols = self._symbols()
        for address, content in sorted(self._pages.items(), key=lambda one: str(one[0])):
            page, here = parsed(content), self._file_of_page(address)
            is_search = address.path == search_page.ASKED_AT
            if is_search:
                page = search_page.with_list(page, self._documents, self._href_of)
            done = rewritten(page, here=here, file_of=self._file_of, symbols=symbols, search=search_page.ASKED_AT)
            files[here] = search_page.with_script(done) if is_search else done
        files[search_page.SCRIPT] = self._script()
        return files | self._others

    def _file_of_page(self, address: Address) -> str:
        return search_page.FILE if address.path == search_page.ASKED_AT else self._names.of(address)

    def _href_of(self, address: Address) -> str | None:
        return str(address) if address in self._pages else None

    def _file_of(self, href: str) -> str | None:
        """The file that a link, sheet, icon or photo of a page leads to."""
        parts = urlsplit(href)
        if ASSET.fullmatch(parts.path):
            return self._bring(href, "assets/" + parts.path.rsplit("/", 1)[-1])
        photo = PHOTO.fullmatch(parts.path)
        if photo and not parts.path.endswith("/about"):
            return self._bring(href, f"photos/{photo[1].split('-')[0]}{'-' + photo[2].strip('/') if photo[2] else ''}.jpg")
        address = page_at(href, one_trial=self._only is not None)
        if address is None:
            return None
        place = f"#{parts.fragment}" if parts.fragment else ""
        if address in self._turned:
            return self._file_of(self._turned[address])
        return self._file_of_page(address) + place if address in self._pages else None

    def _bring(self, href: str, name: str) -> str | None:
        if name not in self._others:
            answer = self._asker.ask(href)
            if answer.status != 200:
                return None
            self._others[name] = answer.content
        return name

    def _symbols(self) -> dict[str, str]:
        page = parsed(self._pages[self._first])
        sheet = next((use.get("href", "").partition("#")[0] for use in page.iter("use")), "")
        content = self._asker.ask(sheet).content.decode() if sheet else ""
        return {found["name"]: found[0].replace('<symbol id="', '<symbol id="g-', 1) for found in SYMBOL.finditer(content)}

    def _script(self) -> bytes:
        return (data_folder("static") / "published" / "search.js").read_bytes()

    def _package(self) -> bytes:
        """The data of what the site shows, out of the same copy."""
        whole = io.BytesIO()
        with closing(Storage(self._copy, writes=False)) as storage:
            write_package(storage, whole, licence=self._choices.licence, only_trial=self._only)
        return whole.getvalue()

    def _about(self) -> About:
        trials = tuple(
            PublishedTrial(one.question, *self._days.get(one.id, ("", "")), self._file_of_page(Address(f"/trials/{one.id}")))
            for one in self._trials
            if self._only in (None, one.id)
        )
        return About(trials, day_at(self._at), f"change {self._state}", self._choices, (PACKAGE,))


def _put(address: Address, to_ask: list[Address], seen: set[Address]) -> None:
    if address not in seen:
        seen.add(address)
        to_ask.append(address)


def _with_about(content: bytes, about: About) -> bytes:
    """The first page with whom to cite, the licence and the machine's form of both."""
    page = parsed(content)
    main = page.get_element_by_id("main")
    part = page.makeelement("section", {"class": "layout__part", "id": "cite"})
    heading = page.makeelement("h2", {})
    heading.text = "Cite this"
    words, data = page.makeelement("p", {}), page.makeelement("p", {})
    words.text = f"{about.citation} {about.rights}"
    data.text = "All of it as tables that programs read: "
    for n, name in enumerate(about.packages):
        link = page.makeelement("a", {"href": name, "download": ""})
        link.text = "the data package" if len(about.packages) == 1 else about.trials[n].question
        link.tail = "." if name == about.packages[-1] else "; "
        data.append(link)
    part.extend([heading, words, data])
    main.append(part)
    machine = f'<script type="application/ld+json">{about_site.data_set(about)}</script>'
    news = f'<link rel="alternate" type="application/atom+xml" href="{about_site.FEED}">'
    return written(page).replace(b"</head>", f"{machine}{news}</head>".encode(), 1)


def refuse_foreign_folder(to: Path) -> None:
    """A folder that holds something else is left alone."""
    if to.exists() and not to.is_dir():
        raise NotPublished(f"{to} is a file. Choose a folder.")
    if to.is_dir() and any(to.iterdir()) and not (to / LIST).is_file():
        raise NotPublished(f"{to} holds other files, and publishing takes away what it didn’t make. Choose an empty folder.")


def write_site(site: Site, to: Path) -> Written:
    """Write what is new or differs, take away what an earlier publishing wrote and this one has no more."""
    try:
        to.mkdir(parents=True, exist_ok=True)
        before = _listed(to)
        new = changed = 0
        for name, content in site.files.items():
            path = to / name
            there = path.read_bytes() if path.is_file() else None
            if there == content:
                continue
            new, changed = (new + 1, changed) if there is None else (new, changed + 1)
            path.parent.mkdir(parents=True, exist_ok=True)
            part = path.with_name(path.name + ".part")
            part.write_bytes(content)
            os.replace(part, path)
        removed = [name for name in before if name not in site.files and (to / name).is_file()]
        for name in removed:
            (to / name).unlink()
        (to / LIST).write_text(json.dumps({"files": sorted(site.files)}, indent=1), encoding="utf-8")
    except OSError as error:
        raise NotPublished(f"{to} can’t be written ({error.strerror}). Choose another place.") from error
    return Written(len(site.files), sum(map(len, site.files.values())), new, changed, len(removed), site.pages)


def _listed(to: Path) -> list[str]:
    try:
        names = json.loads((to / LIST).read_text(encoding="utf-8"))["files"]
    except (OSError, ValueError, KeyError, TypeError):
        return []
    inside = to.resolve()
    return [name for name in names if isinstance(name, str) and (to / name).resolve().is_relative_to(inside)]
