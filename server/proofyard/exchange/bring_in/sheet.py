"""A sheet as cells of text, and why a file is none. Nothing in it is believed: every limit is said in the refusal."""

from dataclasses import dataclass

from proofyard.storage import StorageTrouble

MOST_FILE_BYTES = 20_000_000
MOST_ROWS, MOST_COLUMNS, MOST_CELLS = 20_000, 500, 2_000_000
MOST_TEXT = 40_000_000  # characters of all cells together
TOO_MANY_ROWS = f"It has more than {MOST_ROWS:,} rows. Bring it in in parts."
TOO_MANY_COLUMNS = f"It has more than {MOST_COLUMNS} columns. Delete those that hold nothing of shots or kit."
TOO_MANY_CELLS = f"It has more than {MOST_CELLS:,} cells. Bring it in in parts."
TOO_BIG = f"It is larger than {MOST_FILE_BYTES // 1_000_000} MB. Bring it in in parts."
EMPTY = "It holds no cell with anything in it."


class NotRead(StorageTrouble):
    """Why a file is no sheet that can be brought in. Nothing was changed."""


@dataclass(frozen=True)
class Sheet:
    """One sheet: its rows from the first, each with its cells as text; `name` is empty where a file has only one."""

    name: str
    rows: tuple[tuple[str, ...], ...]


def trimmed(name: str, rows: list[list[str]]) -> Sheet:
    """Without empty cells at the ends of rows and without empty rows at the end.

    Refuses
        NotRead  more rows, columns, cells or text than a sheet of shots has
    """
    cut = [_without_end(row) for row in rows]
    while cut and not cut[-1]:
        cut.pop()
    if len(cut) > MOST_ROWS:
        raise NotRead(TOO_MANY_ROWS)
    if any(len(row) > MOST_COLUMNS for row in cut):
        raise NotRead(TOO_MANY_COLUMNS)
    if sum(map(len, cut)) > MOST_CELLS or sum(len(cell) for row in cut for cell in row) > MOST_TEXT:
        raise NotRead(TOO_MANY_CELLS)
    return Sheet(name, tuple(cut))


def _without_end(row: list[str]) -> tuple[str, ...]:
    end = len(row)
    while end and not row[end - 1].strip():
        end -= 1
    return tuple(cell.strip() for cell in row[:end])
