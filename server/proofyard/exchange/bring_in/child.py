"""The reading process: this file alone, run by itself with limits of memory, time and output. It says the sheets as JSON, or ends.

It imports nothing of the program, so that it starts quickly and holds nothing that could be lost.
"""

import contextlib
import datetime
import json
import sys
from typing import Any

MEMORY_BYTES, PROCESSOR_S, OUTPUT_BYTES = 1_000_000_000, 20, 200_000_000
MOST_ROWS, MOST_SHEETS = 20_001, 50


def shut_in() -> None:
    """As far as the system can: Windows has no such limits, and there the look through the zip beforehand is what protects."""
    try:
        import resource
    except ImportError:
        return
    limits = ((resource.RLIMIT_AS, MEMORY_BYTES), (resource.RLIMIT_CPU, PROCESSOR_S), (resource.RLIMIT_FSIZE, OUTPUT_BYTES))
    for which, most in (*limits, (resource.RLIMIT_CORE, 0)):
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(which, (most, most))


def said(value: Any) -> str:
    """A cell as a person would have typed it: what a formula came to, never the formula."""
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return _number(value)
    if isinstance(value, datetime.datetime):
        return value.date().isoformat() if value.time() == datetime.time() else value.isoformat(" ", "seconds")
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    return str(value)


def _number(value: float) -> str:
    # A cell that shows 52.6 may hold 52.599999999999994: fifteen digits are what a spreadsheet itself keeps to.
    text = f"{value:.15g}"
    if "e" not in text:
        return text
    plain = f"{value:.12f}".rstrip("0").rstrip(".")
    return plain if abs(value) < 1e15 and float(plain) != 0 else text


def main(path: str) -> None:
    from python_calamine import CalamineWorkbook

    book = CalamineWorkbook.from_path(path)
    sheets = []
    for name in book.sheet_names[:MOST_SHEETS]:
        rows = book.get_sheet_by_name(name).to_python(skip_empty_area=False, nrows=MOST_ROWS)
        sheets.append([str(name), [[said(cell) for cell in row] for row in rows]])
    json.dump(sheets, sys.stdout)


if __name__ == "__main__":
    shut_in()
    try:
        main(sys.argv[1])
    except MemoryError:
        sys.exit(3)
