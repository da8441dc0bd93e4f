"""The kit, and what was read of it: the files of bows, arrows, heads, panels, instruments, readings and speeds, row by row."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from fastapi import Request, Response

from proofyard.access.seats import ScopedViewerSeat, TheBook
from proofyard.api.v1.asked import part_by_id, part_of, query_of
from proofyard.api.v1.documented import routes, told
from proofyard.api.v1.shapes import list_of, shape_of
from proofyard.api.v1.told import answered, rows_of
from proofyard.exchange.data_dictionary import FILES
from proofyard.exchange.fetched import fetch
from proofyard.exchange.kit_fetched import kit_part
from proofyard.storage import Storage

router = routes("kit")

# address -> the file, the column that tells its rows apart, what a row is called
TABLES: Mapping[str, tuple[str, str, str]] = MappingProxyType(
    {
        "kit/arrows": ("arrows.csv", "arrow_build_id", "ArrowBuild"),
        "kit/heads": ("heads.csv", "head_id", "Head"),
        "kit/bows": ("bows.csv", "bow_build_id", "BowBuild"),
        "kit/panels": ("panels.csv", "panel_build_id", "PanelBuild"),
        "kit/instruments": ("instruments.csv", "instrument_id", "Instrument"),
        "kit/readings": ("readings.csv", "reading_id", "Reading"),
        "kit/speeds": ("speeds.csv", "speed_reading_id", "SpeedReading"),
    }
)


def _offer(address: str, name: str, key: str, called: str) -> None:
    file = FILES[name]
    listed = address.rpartition("/")[2]
    one = shape_of(called, f"{file.words} The columns of {name}.", file.columns)
    shape = list_of(f"{called}s", listed, one, f"{file.words} Oldest record first")

    def rows(request: Request, seat: ScopedViewerSeat, book: TheBook) -> Response:
        def make() -> dict[str, Any]:
            query_of(request, known=())
            if seat.trial_id is None:
                part = part_by_id(request, lambda after, most: _read(book, name, after, most), key)
            else:
                found = rows_of(file.make(fetch(book, tables=file.tables, only_trial=seat.trial_id)))
                part = part_of(request, found, lambda row: (row[key],))
            return {listed: part.items, "count": part.count, "next": part.next}

        return answered(request, seat, book, make)

    rows.__doc__ = f"{listed.capitalize()}\n\n{file.words} Rows that were crossed out are among them and say so."
    rows.__name__ = listed
    router.get(f"/{address}", **told(shape))(rows)


def _read(book: Storage, name: str, after: str | None, most: int) -> tuple[list[dict[str, Any]], int, bool]:
    part = kit_part(book, name, after=after, most=most)
    return rows_of(FILES[name].make(part.fetched)), part.count, part.more


for _address, (_name, _key, _called) in TABLES.items():
    _offer(_address, _name, _key, _called)
