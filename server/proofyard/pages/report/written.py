"""The command `report`: one trial's report written to a file, also while a server has the book open."""

import os
from contextlib import closing
from pathlib import Path

from proofyard.exchange.export import NotExported, readable
from proofyard.exchange.finding import size_in_words
from proofyard.exchange.trial_named import the_trial
from proofyard.opening import the_book
from proofyard.pages.report.contents import report_of
from proofyard.pages.report.made import report_file
from proofyard.settings import BOOK_FILE


def write_report(folder: Path, wanted: str, to: Path, *, reader: str = "metric", photos: bool = True) -> str:
    """Write it, and say what was written.

    Refuses
        NotExported  no book, or one of another form; no such trial, or several; something of that name there already
    """
    if to.exists():
        raise NotExported(f"{to} exists already, and a report never writes over anything. Choose another name.")
    book = folder / BOOK_FILE
    readable(book)
    with closing(the_book(folder)) as storage:
        trial = the_trial(storage, wanted)
        report = report_of(storage, trial.id, reader=reader)
        assert report is not None
        content = report_file(storage, report, reader=reader, photos=photos)
    part = to.with_name(to.name + ".part")
    try:
        part.write_bytes(content)
        os.replace(part, to)
    except OSError as error:
        raise NotExported(f"{to} can’t be written ({error.strerror}). Choose another place.") from error
    return f"Written to {to} ({size_in_words(len(content))}): {trial.question}"
