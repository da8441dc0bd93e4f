"""Which trial somebody means on the command line."""

from collections.abc import Sequence

from proofyard.exchange.export import NotExported
from proofyard.records.listing import all_of
from proofyard.records.trial import Trial
from proofyard.storage import Storage


def the_trial(storage: Storage, wanted: str) -> Trial:
    """The trial, by its number in the list from the oldest, words of its question, or its id.

    Refuses
        NotExported  no trial is called so, or several are; the sentence lists them with their numbers
    """
    with storage.read() as session:
        trials = sorted(all_of(session, Trial), key=lambda one: one.id)
    found = _named(trials, wanted.strip())
    if len(found) == 1:
        return found[0]
    listed = "\n".join(f"  {n}  {one.question}" for n, one in enumerate(trials, 1))
    why = "Several trials are called so" if found else "The book has no such trial"
    raise NotExported(f"{why}: “{wanted}”. Say its number:\n{listed}" if trials else "The book has no trial yet.")


def _named(trials: Sequence[Trial], wanted: str) -> list[Trial]:
    if wanted.isascii() and wanted.isdigit():
        return list(trials[int(wanted) - 1 : int(wanted)]) if int(wanted) else []
    words = wanted.casefold().split()
    return [one for one in trials if one.id == wanted] or [
        one for one in trials if words and all(w in one.question.casefold() for w in words)
    ]
