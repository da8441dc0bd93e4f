"""A package of another book brought in: judged whole before anything is made, then made beside the others and put in its place."""

import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from proofyard.exchange.csv_writing import utc_text
from proofyard.exchange.in_a_process import said_by
from proofyard.exchange.other_books.shelf import OtherBook, clear_half_made, other_books, place_for_new, put, the_other_book
from proofyard.exchange.package.check import Checked
from proofyard.exchange.package.opened import NoPackage, open_package
from proofyard.exchange.package.take_in import new_book_of, whole
from proofyard.records.licences import LICENCES
from proofyard.storage import StorageTrouble

MOST_BOOKS = 40
MOST_MEMORY = 4_000_000_000  # bytes of address space, libraries among them
MOST_SECONDS = 900.0
_LEFT = "Nothing was changed."
TAKE_IT = "Tick “Take it all the same” if that is meant, and choose it again."
DIED = f"The package could not be read: it takes more memory or time than a package of a book does. {_LEFT}"


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What the person says of a package: whose book it is, how to cite it, and whether it may take the place of more or of newer."""

    whose: str
    citation: str = ""
    go_back: bool = False


def words_typed(text: str) -> str:
    """What a person typed of a book, without what can't be seen; 300 characters at most."""
    return "".join(sign for sign in text if sign.isprintable()).strip()[:300]


@dataclass(frozen=True)
class BroughtIn:
    """before: what stood in its place; unchanged: the same state was here already, and nothing was done."""

    book: OtherBook
    before: OtherBook | None = None
    unchanged: bool = False


def bring_in(file: Path, folder: Path, asked: Asked, *, own_id: str) -> BroughtIn:
    """Bring a package in as another book of a data folder.

    own_id  under which packages name one's own book
    Refuses
        NoPackage       not a whole package, faults in it (a line each), of no other book, or less than what is here
        StorageTrouble  no room, or the folder can't be written; what was here stands as it was
    """
    with open_package(file) as opened:
        checked = whole(opened, file)
        new = _about(checked, asked)
        _refuse(new, checked, own_id)
        before = the_other_book(folder, new.id)
        if before is not None and _same(before, new):
            return BroughtIn(before, unchanged=True)
        if before is None and len(other_books(folder)) >= MOST_BOOKS:
            raise NoPackage(f"{MOST_BOOKS} other books are here already. Remove one first. {_LEFT}")
        if before is not None and not asked.go_back:
            _refuse_less(before, new)
        with place_for_new(folder) as work:
            new_book_of(opened, checked, work / "book", address="")
            put(folder, work / "book", new)
    return BroughtIn(new, before)


def bring_in_elsewhere(file: Path, folder: Path, asked: Asked, *, own_id: str) -> BroughtIn:
    """The same by a process of its own, with limits to what it may take of this machine.

    Refuses
        NoPackage  in the words of whoever refused, or since that process died of it
    """
    said = said_by(_bring_in, file, folder, asked, own_id, name="bringing in", most_s=MOST_SECONDS)
    if isinstance(said, BroughtIn):
        return said
    clear_half_made(folder)
    raise NoPackage(said or DIED)


def _bring_in(line: Connection, file: Path, folder: Path, asked: Asked, own_id: str) -> None:
    _limit_this_process()
    try:
        line.send(bring_in(file, folder, asked, own_id=own_id))
    except StorageTrouble as why:
        line.send(str(why))
    except OSError as error:
        line.send(f"It can’t be written into the book’s folder ({error.strerror}). {_LEFT}")
    except (MemoryError, RecursionError):
        line.send(DIED)


def _limit_this_process() -> None:
    """Where the system has such limits; elsewhere the package's own limits and the time stand alone."""
    try:
        import resource
    except ImportError:
        return
    for what, most in ((resource.RLIMIT_AS, MOST_MEMORY), (resource.RLIMIT_CPU, int(MOST_SECONDS))):
        _, hard = resource.getrlimit(what)
        resource.setrlimit(what, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))


def _about(checked: Checked, asked: Asked) -> OtherBook:
    said: Mapping[str, Any] = checked.said
    own = said["proofyard"]
    licences = said.get("licenses")
    named = str(licences[0].get("name")) if isinstance(licences, list) and licences and isinstance(licences[0], dict) else ""
    return OtherBook(
        id=own.get("book", ""),
        whose=asked.whose,
        citation=asked.citation,
        licence=named if named in LICENCES else "",
        state=own["stateSha256"],
        stood_at=_last_moment(checked),
        brought_in_at=time.time_ns() // 1_000_000,
        one_trial=own.get("oneTrial") is True,
        demo=own.get("demo") is True,
        trials=sum(not row["crossed_out"] for row in checked.rows["trial"]),
        shots=sum(not row["crossed_out"] for row in checked.rows["shot"]),
    )


def _last_moment(checked: Checked) -> str:
    """Of the records themselves: the description may say another, and nothing checks that."""
    moments = [
        row[name] for rows in checked.rows.values() for row in rows for name in ("made_at", "changed_at", "crossed_out_at") if row.get(name)
    ]
    return utc_text(max(moments)) if moments else ""


def _refuse(new: OtherBook, checked: Checked, own_id: str) -> None:
    if not new.id:
        raise NoPackage(f"It doesn’t say of which book it is: an older program made it. Ask for it again from a newer one. {_LEFT}")
    if new.id == own_id:
        raise NoPackage(f"This is a package of your own book, so its shots are here already. {_LEFT}")
    if not checked.rows["trial"]:
        raise NoPackage(f"There is no trial in it. {_LEFT}")


def _same(before: OtherBook, new: OtherBook) -> bool:
    return replace(before, whose="", citation="", brought_in_at=0) == replace(new, whose="", citation="", brought_in_at=0)


def _refuse_less(before: OtherBook, new: OtherBook) -> None:
    if new.stood_at < before.stood_at:
        why = "stood earlier than what is here"
    elif new.one_trial and not before.one_trial:
        why = "is of one trial, and what is here is the whole book"
    else:
        return
    raise NoPackage(f"This package of the same book {why}. {TAKE_IT} {_LEFT}")
