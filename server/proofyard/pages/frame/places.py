"""Where a reader can go: the masthead's places, the pages that stand beside one, and what is under More."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple


class Place(NamedTuple):
    """One way on. `words` as it is called everywhere; `small` what a reader finds there."""

    key: str
    words: str
    href: str
    roles: tuple[str, ...]
    small: str = ""


class Family(NamedTuple):
    """Pages that stand beside each other: the second row of the masthead.

    beneath  also on the pages under them: a topic of the methods, but not one bow of the kit
    """

    words: str
    places: tuple[Place, ...]
    beneath: bool = False


WHO_WRITES = ("owner", "archer")
EVERYONE_IN = ("owner", "archer", "viewer")
ANYONE = ("owner", "archer", "viewer", "stranger")

BOOK_PLACES = (
    Place("range", "Range", "/range", WHO_WRITES),
    Place("trials", "Trials", "/trials", EVERYONE_IN),
    Place("results", "Results", "/results", EVERYONE_IN),
    Place("kit", "Kit", "/kit", EVERYONE_IN),
    Place("data", "Data", "/download", EVERYONE_IN),
    Place("more", "More", "/more", EVERYONE_IN),
)
RANGE_PLACES = (
    Place("line", "Line", "/range", WHO_WRITES),
    Place("butt", "Butt", "/range/butt", WHO_WRITES),
    Place("bench", "Bench", "/range/bench", WHO_WRITES),
    Place("results", "Results", "/results", EVERYONE_IN),
    Place("more", "More", "/more", EVERYONE_IN),
)

TRIALS_COMPARED = Place("trials_compared", "Trials compared", "/trials/compare", EVERYONE_IN, "what changed between two trials")
LEARN = Family(
    "Learn",
    (
        Place("guide", "Guide", "/guide", ANYONE, "examples worked by hand"),
        Place("methods", "Methods", "/methods", ANYONE, "every formula, by topic, with a filter"),
        Place("glossary", "Glossary", "/guide/glossary", ANYONE, "what each word here means"),
    ),
    beneath=True,
)
BOOK = Family(
    "The book",
    (
        Place("shots", "Shots", "/shots", EVERYONE_IN, "every shot: filter, sort, download"),
        Place("notebook", "Notebook", "/notebook", EVERYONE_IN, "who changed what, and when"),
        Place("photos_all", "All photos", "/photos/all", EVERYONE_IN, "of panels, arrows and shots, each with what it shows"),
        Place("photos", "Photos to place", "/photos", WHO_WRITES, "the tray of new ones"),
        Place("incidents", "Incidents", "/incidents", EVERYONE_IN, "bounce-backs, near misses, stops"),
    ),
)
PHONES_AND_LAPTOP = Family(
    "Phones and laptop",
    (
        Place("phones", "Phones", "/phones", ("owner",), "connect, let in, remove"),
        Place("programs", "Programs", "/programs", ("owner",), "let a program read the book, or log"),
        Place("day_sheet", "Range-day sheet", "/range-day-sheet", EVERYONE_IN, "to print and put up"),
        Place("sync_card", "Sync card", "/sync-card", WHO_WRITES, "the book’s time, to film at a film’s start and end"),
        Place("health", "Health", "/health", ("owner",), "disk, network, last backup"),
    ),
)
FAMILIES: Mapping[str, Family] = MappingProxyType(
    {
        "trials": Family("Trials", (Place("trials", "Trials", "/trials", EVERYONE_IN), TRIALS_COMPARED)),
        "results": Family(
            "Results",
            (
                Place("results", "Results", "/results", EVERYONE_IN),
                Place("fifty_percent", "50 % energy", "/fifty-percent", EVERYONE_IN),
                Place("protection", "Protection for weight", "/protection", EVERYONE_IN),
                Place("pool", "Groups", "/pool", EVERYONE_IN),
                Place("arrow_damage", "Arrow damage", "/arrow-damage", EVERYONE_IN),
                Place("measures", "Measures", "/measures", EVERYONE_IN),
                Place("compare", "Compare", "/compare", EVERYONE_IN),
                Place("what_if", "What if", "/what-if", EVERYONE_IN),
                Place("another_bow", "Another bow", "/another-bow", EVERYONE_IN),
                Place("blunt", "Blunt impact", "/blunt", EVERYONE_IN),
            ),
            beneath=True,
        ),
        "kit": Family(
            "Kit",
            (
                Place("kit", "Kit", "/kit", EVERYONE_IN),
                Place("combinations", "Speeds", "/combinations", EVERYONE_IN),
                Place("frames", "Speed from film", "/speeds/frames", WHO_WRITES),
                Place("sound", "Speed from sound", "/speeds/sound", WHO_WRITES),
            ),
        ),
        "data": Family(
            "Data",
            (
                Place("download", "Download", "/download", EVERYONE_IN),
                Place("columns", "Columns", "/download/dictionary", EVERYONE_IN),
                Place("publish", "Publish", "/publish", ("owner",)),
                Place("other_books", "Other books", "/other-books", EVERYONE_IN),
                Place("bring_in", "Bring in", "/bring-in", ("owner",)),
            ),
            beneath=True,
        ),
        "learn": LEARN,
        "book": BOOK,
        "phones_and_laptop": PHONES_AND_LAPTOP,
    }
)
# What the page More lists, in this order.
UNDER_MORE = (LEARN, BOOK._replace(places=(*BOOK.places, TRIALS_COMPARED)), PHONES_AND_LAPTOP)


def place_at(path: str, places: tuple[Place, ...]) -> Place | None:
    """The place that a page stands at or beneath: the nearest one."""
    found = [one for one in places if path == one.href or path.startswith(one.href + "/")]
    return max(found, key=lambda one: len(one.href), default=None)


def family_of(path: str) -> Family | None:
    """Those that the page at this path stands among."""
    for family in FAMILIES.values():
        place = place_at(path, family.places)
        if place and (family.beneath or place.href == path):
            return family
    return None


def open_to(places: tuple[Place, ...], role: str, *, only_trial: str | None) -> tuple[Place, ...]:
    """Those that this reader may go to; one who was let in to a single trial goes to what tells nothing of the book."""
    if only_trial is not None:
        return tuple(one for one in places if one.roles == ANYONE)
    return tuple(one for one in places if role in one.roles)
