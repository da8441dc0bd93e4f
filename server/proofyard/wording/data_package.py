"""What a data package says of itself: on the page, in the command, in its README. It has one home, so that all three say the same."""

from collections.abc import Sequence

from proofyard.wording.blunt_cautions import CAUTIONS

PACKAGE_IS = "A data package is the state of the book for others: every record as it stands now, crossed-out ones with their reason."
PACKAGE_LACKS = (
    "It has no history of corrections, no names or keys of phones, and what it holds can’t be sent back to a phone. It is no backup."
)
BACKUP_IS = "A backup is the book’s own history, for going back: with names of phones and words that were crossed out. Never hand one on."
BEFORE_PASSING_ON = (
    "Read it before you pass it on: call names, places, notes and photos are in it as they were typed and taken. Ask those who are named."
)
NO_LICENCE = "No licence was chosen, so nobody but its makers may pass it on or use it. Ask them."
ONE_TRIAL = "It holds one trial and the kit that it used. Speeds, energies and fair hits were worked out from the whole book."
_READING = """How to read it
  datapackage.json says of every column its type, unit, meaning, and which table its ids lead to (Data Package 2, Table Schema).
  records/      what was seen or typed: a table a noun, joined by ids
  worked_out/   the same shots and kit in wide tables, with energies, fair hits and uncertainties worked out
  settings.csv  what those rest on; data_dictionary.csv and glossary.csv say what each column and word means
  photos/       the photos, each named in records/photo.csv with its SHA-256
  Text is UTF-8 with commas; numbers have a point and are in SI units; TRUE and FALSE; moments are UTC; an empty cell is "not recorded".
  A cell of text may begin with = or +: read the files with a program for data, not by opening them in a spreadsheet.
  Unread and crossed-out shots are in it. worked_out/shots.csv says which the results page counts ("counted_by_default").
"""


def readme(*, moment: str, state: str, trials: Sequence[str], licence: str, one_trial: bool) -> str:
    """The text that lies on top of a package.

    moment  when the book last changed; licence: its words, or none
    """
    parts = [
        "A Proofyard data package",
        f"State of {moment}\nSHA-256 of the state: {state}" if moment else f"An empty book\nSHA-256 of the state: {state}",
        "Trials\n" + ("\n".join(f"  {question}" for question in trials) or "  none"),
        "\n".join((PACKAGE_IS, *((ONE_TRIAL,) if one_trial else ()), PACKAGE_LACKS, BACKUP_IS)),
        _READING.rstrip(),
        "Cautions\n"
        + "\n".join(f"  {line}" for line in (*CAUTIONS, "A few shots at a few panels by one maker say little about others."))
        + "\n  The columns that begin with “blunt”, and “back_face_m”, are what this is said of: keep “blunt_caution” beside them.",
        f"Licence\n  {licence or NO_LICENCE}",
    ]
    return "\n\n".join(parts) + "\n"
