"""An address of every page and file: each GET route of the table of routes and roles, of one trial’s shot and all that it belongs to.

The records are those of the demo that every multiplied book was made of, so a page of one of them shows the same at any size.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import fields

from proofyard.pages.kit.nouns import KIT
from proofyard.pages.results.page import WAYS
from proofyard.records import nouns
from proofyard.records.shot_facts import shot_facts
from proofyard.storage import Session, Storage

from tests.contract.test_routes_and_roles import TABLE

# Asked of no book here, and why.
NOT_ASKED = {
    "/live": "a stream that doesn’t end",
    "/owner/{token}": "a link that works once",
    "/leave": "whoever asks it is out",
    "/static/{path:path}": "files of the program",
    "/https/proofyard-authority.crt": "nobody certified this laptop",
    "/bring-in/sheet/{held_id}": "of a sheet that somebody brings",
    "/bring-in/batches/{batch_id}": "of a sheet that somebody brought",
    "/other-books/{their_book}": "of another group’s book",
    "/other-books/{their_book}/trials/{their_trial}": "of another group’s book",
    "/other-books/{their_book}/trials/{their_trial}/report.html": "of another group’s book",
    "/kit/{noun}/{record_id}/{key}/{row_id}": "like the page of the entry’s record",
    "/combinations/{combination_id}/{what}/{record_id}": "like the page of the combination",
}
# Pages that narrow themselves by what is asked, and what they take long for.
ALSO = (
    "/trials/{trial_id}/report.html?photos=no",
    "/shots?trial={trial_id}",
    "/shots?arrow={arrow_id}",
    "/shots?sort=energy",
    "/shots.csv?trial={trial_id}",
    "/results?trial={trial_id}",
    "/results/shots?trial={trial_id}",
    "/fifty-percent?trial={trial_id}",
    "/blunt?trial={trial_id}",
    "/compare?trial={trial_id}",
    "/notebook?noun=shot&record={shot_id}",
    "/range-day-sheet?session={session_id}",
    "/photos?noun=shot&record={shot_id}",
    "/what-if?panel={build_id}&thickness=1.2+mm",
    "/find?q=bodkin+plate",
    "/api/range?form=2",
    "/api/changes?since=0",
    "/api/v1/shots?trial={trial_id}",
    "/api/v1/kit/speeds?limit=200",
)
MADE_OF = {"drawing": "shares.svg", "columns": "shots-target", "topic": "flight", "method": "kinetic_energy_j", "tool": "frames"}
OF_ONE = re.compile(r"\{(trial|session|setup|film|shot|build|arrow|combination|photo)_id\}")


def pages() -> list[str]:
    """Every GET route but those that are not asked, and the narrowed pages; {…} stands for what `address` fills in."""
    asked = [row.removeprefix("GET ") for row in TABLE if row.startswith("GET ")]
    return sorted({one for route in asked if route not in NOT_ASKED for one in _spread(route)} | set(ALSO))


def _spread(route: str) -> Iterator[str]:
    """A route that holds a kind, a part or a file is asked for each of them that may differ."""
    if "{noun}" in route:
        for noun, kind in KIT.items():
            if "{key}" in route:
                yield from (route.replace("{noun}", noun).replace("{key}", part.key) for part in kind.parts)
            elif kind.build is not None or not route.endswith("/rebuild"):
                yield route.replace("{noun}", noun)
    elif route == "/download/{name}":
        from proofyard.exchange.data_dictionary import FILES

        yield from (f"/download/{name}" for name in FILES)
        yield "/download/shots.csv?form=workbook"
    elif "{way}" in route:
        yield from (route.replace("{way}", way) for way in WAYS)
    elif route.startswith("/guide/"):
        yield "/guide/glossary"
    elif "{card}" in route:
        yield route.replace("{card}", "card.svg")
    elif "{film_file}" in route:
        yield route.replace("{film_file}", "captions.vtt")
    else:
        yield route


def of_one(page: str) -> bool:
    """Whether it is of one trial, session, panel, arrow, shot or the like: it may cost no more in a big book."""
    return OF_ONE.search(page) is not None


def ids_of(book: Storage) -> dict[str, str]:
    """What stands for each parameter of an address: a shot of the demo's first trial, and all that it belongs to; else the first made."""
    with book.read() as session:
        shot = next(one for one in shot_facts(session, trial_id=_first(session, "trial")) if one.read)
        own = {one.name: getattr(shot, one.name) for one in fields(shot) if one.name.endswith("_id")}
        photo = "SELECT id FROM photo WHERE noun = 'panel_build' ORDER BY rowid LIMIT 1"
        photo_id = session.connection().exec_driver_sql(photo).scalar()
        phone = session.connection().exec_driver_sql("SELECT id FROM device ORDER BY rowid LIMIT 1").scalar()
        filmed = session.connection().exec_driver_sql("SELECT session_id FROM film ORDER BY rowid LIMIT 1").scalar()
        firsts = {f"{noun}_id": _first(session, noun) for noun in nouns.TABLES}
    found = (
        firsts
        | own
        | MADE_OF
        | {"build_id": shot.panel_build_id, "photo_id": str(photo_id), "device_id": str(phone), "filmed": str(filmed)}
    )
    return {name: str(one) for name, one in found.items()}


def _first(session: Session, noun: str) -> str:
    return str(session.connection().exec_driver_sql(f'SELECT id FROM "{noun}" ORDER BY rowid LIMIT 1').scalar())


def address(page: str, ids: Mapping[str, str]) -> str:
    """With the ids of one book. Of kit the record is that of its own kind, and a film is of its own day."""
    noun = re.match(r"/kit/(\w+)/\{record_id\}", page)
    page = page.replace("{session_id}/films/{film_id}", "{filmed}/films/{film_id}")
    filled = dict(ids) | ({"record_id": ids[f"{noun[1]}_id"]} if noun else {})
    return re.sub(r"\{(\w+)\}", lambda found: filled[found[1]], page)
