"""An .xlsx or .ods file judged before anything reads it: a file of 1 KB with one far cell ends the reading process without an exception.

The zip is streamed part by part: sizes by its list, then rows, cells and the farthest cell by what is in it.
"""

import re
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path
from xml.parsers import expat

from proofyard.exchange.bring_in.sheet import (
    EMPTY,
    MOST_CELLS,
    MOST_COLUMNS,
    MOST_ROWS,
    TOO_MANY_CELLS,
    TOO_MANY_COLUMNS,
    TOO_MANY_ROWS,
    NotRead,
)

MOST_PARTS = 200
MOST_BYTES_A_PART, MOST_BYTES = 128_000_000, 256_000_000
MOST_RATIO, SMALL = 250, 5_000_000  # below SMALL a ratio means nothing
_PIECE = 1 << 16
_XLSX_SHEET = re.compile(r"xl/worksheets/[^/]+\.xml", re.IGNORECASE)
_REFERENCE = re.compile(r"([A-Za-z]{1,7})([0-9]{1,9})")
DAMAGED = "It was cut off or damaged: it is no whole .xlsx or .ods file."
NOT_A_SHEET = "It is a zip, and neither an .xlsx nor an .ods file."
HOSTILE = "It holds something that no spreadsheet needs ({}), so nothing of it was read."


def scan(file: Path) -> None:
    """
    Refuses
        NotRead  anything that a spreadsheet of shots or kit does not need
    """
    try:
        with zipfile.ZipFile(file) as packed:
            _judge(packed)
    except (
        zipfile.BadZipFile,
        zipfile.LargeZipFile,
        zlib.error,
        EOFError,
        NotImplementedError,
        RuntimeError,
        ValueError,
        OSError,
    ) as error:
        raise NotRead(DAMAGED) from error
    except (expat.ExpatError, LookupError) as error:  # LookupError: an encoding that there is none of
        raise NotRead(DAMAGED) from error


def _judge(packed: zipfile.ZipFile) -> None:
    parts = packed.infolist()
    if len(parts) > MOST_PARTS:
        raise NotRead(HOSTILE.format(f"{len(parts):,} parts"))
    if sum(part.file_size for part in parts) > MOST_BYTES:
        raise NotRead(HOSTILE.format("more than 256 MB when unpacked"))
    names = set[str]()
    for part in parts:
        if why := _fault(part, names):
            raise NotRead(HOSTILE.format(why))
        names.add(part.filename)
    if "xl/workbook.xml" in names:
        wanted: dict[str, Callable[[], _Counter]] = {name: _Xlsx for name in names if _XLSX_SHEET.fullmatch(name)}
    elif "content.xml" in names:
        wanted = {"content.xml": _Ods}
    else:
        raise NotRead(NOT_A_SHEET)
    if not wanted:
        raise NotRead(EMPTY)
    cells = 0
    for part in parts:
        if part.filename.endswith((".xml", ".rels")):
            cells += _streamed(packed, part, wanted.get(part.filename, _Counter)())
            if cells > MOST_CELLS:
                raise NotRead(TOO_MANY_CELLS)


def _fault(part: zipfile.ZipInfo, names: set[str]) -> str:
    name = part.filename
    if name.startswith(("/", "\\")) or ".." in name.replace("\\", "/").split("/") or ":" in name or "\0" in part.orig_filename:
        return "a path that leads out of it"
    if name in names:
        return "one part twice"
    if part.flag_bits & 0x1:
        return "a password"
    if part.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return "a way of packing that spreadsheets don’t use"
    if part.file_size > MOST_BYTES_A_PART:
        return "a part of more than 128 MB"
    if part.file_size > SMALL and part.file_size > MOST_RATIO * max(1, part.compress_size):
        return "a part that unpacks to far more than a table would"
    return ""


class _Counter:
    """Counts nothing: a part that is no sheet is only looked through for declarations."""

    def __init__(self) -> None:
        self.cells = 0

    def start(self, name: str, given: dict[str, str]) -> None:
        pass

    def end(self, name: str) -> None:
        pass


class _Xlsx(_Counter):
    """Rows by their own numbers where they have them, else by counting; cells alike."""

    def __init__(self) -> None:
        super().__init__()
        self.row, self.column = 0, 0

    def start(self, name: str, given: dict[str, str]) -> None:
        name = name.rpartition(":")[2]
        if name == "row":
            self.row = _whole(given.get("r"), self.row + 1)
            self.column = 0
            _within(self.row, 0)
        elif name == "c":
            found = _REFERENCE.fullmatch(given.get("r", ""))
            self.column = _column(found[1]) if found else self.column + 1
            self.cells += 1
            _within(int(found[2]) if found else self.row, self.column)
            if self.cells > MOST_CELLS:
                raise NotRead(TOO_MANY_CELLS)


class _Ods(_Counter):
    """Cells and rows say how often they are repeated; only those that hold something count, as the padding at the end is empty."""

    def __init__(self) -> None:
        super().__init__()
        self.row, self.column, self.width, self.row_times, self.cell_times = 0, 0, 0, 1, 1
        self.holds = False

    def start(self, name: str, given: dict[str, str]) -> None:
        if name == "table:table":
            self.row = 0
        elif name == "table:table-row":
            self.row_times = _whole(given.get("table:number-rows-repeated"), 1)
            self.column, self.width = 0, 0
        elif name in ("table:table-cell", "table:covered-table-cell"):
            self.cell_times = _whole(given.get("table:number-columns-repeated"), 1)
            self.holds = any(key.startswith("office:value") or key.endswith("-value") or key == "table:formula" for key in given)
        elif name == "text:p":
            self.holds = True

    def end(self, name: str) -> None:
        if name in ("table:table-cell", "table:covered-table-cell"):
            self.column += self.cell_times
            if self.holds:
                self.width = self.column
                _within(self.row + 1, self.column)
            self.holds = False
        elif name == "table:table-row":
            self.row += self.row_times
            if self.width:
                _within(self.row, self.width)
                self.cells += self.width * self.row_times
                if self.cells > MOST_CELLS:
                    raise NotRead(TOO_MANY_CELLS)


def _within(row: int, column: int) -> None:
    if row > MOST_ROWS:
        raise NotRead(TOO_MANY_ROWS)
    if column > MOST_COLUMNS:
        raise NotRead(TOO_MANY_COLUMNS)


def _whole(text: str | None, otherwise: int) -> int:
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 10 else otherwise


def _column(letters: str) -> int:
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number


def _no_declaration(*_: object) -> None:
    raise NotRead(HOSTILE.format("a document type of its own"))


def _streamed(packed: zipfile.ZipFile, part: zipfile.ZipInfo, counter: _Counter) -> int:
    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = _no_declaration
    parser.EntityDeclHandler = _no_declaration
    parser.StartElementHandler = counter.start
    parser.EndElementHandler = counter.end
    read = 0
    with packed.open(part) as stream:
        while piece := stream.read(_PIECE):
            read += len(piece)
            if read > MOST_BYTES_A_PART:
                raise NotRead(HOSTILE.format("a part of more than 128 MB"))
            parser.Parse(piece, False)
        parser.Parse(b"", True)
    return counter.cells
