"""A file of separated values, or text pasted from a spreadsheet, as a sheet. Its separator and its letters are found out."""

import csv
import io
from collections import Counter

from proofyard.exchange.bring_in.sheet import MOST_COLUMNS, MOST_ROWS, TOO_MANY_COLUMNS, TOO_MANY_ROWS, NotRead, Sheet, trimmed

SEPARATORS = (",", ";", "\t", "|")
_LOOKED_AT = 60  # rows, to find the separator
MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
NO_TEXT = "It is no text that can be read, and no .xlsx or .ods file. Save it as .xlsx, .ods or CSV."


def read_text(content: bytes) -> Sheet:
    """
    Refuses
        NotRead  no text, or more rows or columns than are taken
    """
    text = decoded(content)
    separator = separator_of(text)
    rows: list[list[str]] = []
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
            rows.append(row)
            if len(rows) > MOST_ROWS:
                raise NotRead(TOO_MANY_ROWS)
            if len(row) > MOST_COLUMNS and any(cell.strip() for cell in row[MOST_COLUMNS:]):
                raise NotRead(TOO_MANY_COLUMNS)
    except csv.Error as error:
        raise NotRead("A quotation mark in it is never closed, so nobody knows where its rows end.") from error
    return trimmed("", rows)


def decoded(content: bytes) -> str:
    """By its mark, as UTF-8, or as what spreadsheets on Windows write.

    Refuses
        NotRead  bytes that no text has
    """
    for mark, name in MARKS:
        if content.startswith(mark):
            return _as(content, name)
    try:
        return _as(content, "utf-8")
    except NotRead:
        return _as(content, "cp1252")


def _as(content: bytes, encoding: str) -> str:
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as error:
        raise NotRead(NO_TEXT) from error
    if any(sign < " " and sign not in "\t\r\n\f\v" for sign in set(text)):
        raise NotRead(NO_TEXT)
    return text


def separator_of(text: str) -> str:
    """The one by which the first rows have the most columns alike: a comma within "1,5" leaves some rows longer than others."""
    head = text[:200_000]

    def score(separator: str) -> tuple[float, int]:
        counts: list[int] = []
        try:
            for row in csv.reader(io.StringIO(head, newline=""), delimiter=separator):
                counts.append(len(row))
                if len(counts) > _LOOKED_AT:
                    break
        except csv.Error:
            return (0.0, 0)
        wide = Counter(count for count in counts if count > 1)
        if not wide:
            return (0.0, 0)
        columns, times = wide.most_common(1)[0]
        return (times / len(counts), columns)

    return max(SEPARATORS, key=score)
