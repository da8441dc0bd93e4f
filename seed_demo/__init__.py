"""The invented demo: two archers, a made-up yard, twelve panels, about 150 shots. See README.md beside this file."""

import random
from dataclasses import dataclass

from proofyard.records import devices
from proofyard.records.listing import count_of
from proofyard.storage import Storage


@dataclass(frozen=True)
class Counts:
    """What was written."""

    shots: int
    trials: int
    panels: int


class NotEmpty(Exception):
    """The book has shots of its own: the demo is not mixed into them."""


def fill(storage: Storage) -> Counts:
    """Write the demo into an empty book: all that was shot in one transaction, then its photos.

    Refuses
        NotEmpty  the book has shots or kit already
    """
    from .days import shoot
    from .model import SEED
    from .photos import add_photos
    from .writer import Writer

    with storage.write() as session:
        if count_of(session, "shot") or count_of(session, "trial") or count_of(session, "arrow"):
            raise NotEmpty("This book has entries of its own. Give the demo a folder of its own with --data.")
        devices.make_book(session, demo=True).demo = 1
        writer = Writer(session, random.Random(SEED))
        shoot(writer)
    add_photos(storage, writer)
    with storage.write() as session:
        writer.session = session
        writer.put_away_phones()
        return Counts(count_of(session, "shot"), count_of(session, "trial"), count_of(session, "panel"))
