"""A file from anybody as sheets of text: what kind it is, looked through first, and read where nothing can be lost."""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

from proofyard.exchange.bring_in import child
from proofyard.exchange.bring_in.sheet import EMPTY, MOST_FILE_BYTES, TOO_BIG, NotRead, Sheet, trimmed
from proofyard.exchange.bring_in.text_file import read_text
from proofyard.exchange.bring_in.zip_scan import DAMAGED, scan

MOST_SECONDS = 30
_OLD = b"\xd0\xcf\x11\xe0"
OLD = "It is of the old .xls form. Open it in your spreadsheet program and save it as .xlsx, .ods or CSV."
TOO_MUCH = "Reading it takes more memory or time than a sheet of shots needs, so nothing of it was taken. Save it as CSV and try that."


def read_sheets(content: bytes) -> tuple[Sheet, ...]:
    """The sheets of a file that hold anything, in its order.

    Refuses
        NotRead  in words: what it is, and what to do
    """
    if len(content) > MOST_FILE_BYTES:
        raise NotRead(TOO_BIG)
    if content.startswith(_OLD):
        raise NotRead(OLD)
    sheets = _workbook(content) if content.startswith(b"PK") else (read_text(content),)
    found = tuple(sheet for sheet in sheets if sheet.rows)
    if not found:
        raise NotRead(EMPTY)
    return found


def _workbook(content: bytes) -> tuple[Sheet, ...]:
    with tempfile.TemporaryDirectory(prefix="proofyard-") as folder:
        file, out = Path(folder, "sheet"), Path(folder, "out")
        file.write_bytes(content)
        scan(file)
        with out.open("wb") as stream:
            # -I: neither the folder it is started in nor the user's own packages have a say
            command = [sys.executable, "-I", str(Path(child.__file__)), str(file)]
            try:
                done = subprocess.run(
                    command, stdin=subprocess.DEVNULL, stdout=stream, stderr=subprocess.DEVNULL, timeout=MOST_SECONDS, check=False
                )
            except subprocess.TimeoutExpired as error:
                raise NotRead(TOO_MUCH) from error
        if done.returncode != 0:
            # 1 is an exception of the reader: not what it says it is. Anything else was ended by a limit.
            raise NotRead(DAMAGED if done.returncode == 1 else TOO_MUCH)
        return tuple(trimmed(name, rows) for name, rows in json.loads(out.read_bytes()))
