"""What a reading says of head and shaft afterwards, in the few columns that counts and lives are made of."""

from collections.abc import Mapping
from types import MappingProxyType

from proofyard.records.shot_facts import ShotFact

# Column -> its heading, and what a reading says of head and shaft that belongs in it.
FATES: Mapping[str, tuple[str, frozenset[str], frozenset[str]]] = MappingProxyType(
    {
        "curled": ("Head curled or blunted", frozenset({"blunted", "curled", "edge_rolled", "tang_bent"}), frozenset()),
        "broken": (
            "Head or shaft broken",
            frozenset({"snapped", "socket_split"}),
            frozenset({"cracked", "crushed", "broken_behind_head", "broken_elsewhere", "nock_split"}),
        ),
        "off": ("Head loose or off", frozenset({"loose", "off_found"}), frozenset()),
        "lost": ("Head lost", frozenset({"lost"}), frozenset()),
        "worn": ("Shaft bent, feathers torn", frozenset(), frozenset({"bent", "fletching_torn"})),
    }
)
COLUMNS = ("noted", "sound", *FATES)
HEADINGS = ("Noted, of shots", "Sound", *(heading for heading, _, _ in FATES.values()))


def fates_of(fact: ShotFact) -> tuple[str, ...]:
    """The columns that an arrow stands in after this shot; none where nobody looked."""
    head, shaft = set(fact.head_fate), set(fact.shaft_fate)
    if not head and not shaft and fact.arrow_did != "broke_up":
        return ()
    found = [what for what, (_, heads, shafts) in FATES.items() if head & heads or shaft & shafts]
    if fact.arrow_did == "broke_up" and "broken" not in found:
        found.append("broken")
    return ("noted", *(found or ["sound"]))


# What of a head's fates ends its use until a hand has mended it. A shaft that broke leaves the head as it is.
HEAD_ENDS: Mapping[str, tuple[str, frozenset[str]]] = MappingProxyType(
    {
        "curled": ("Curled or blunted", frozenset({"blunted", "curled", "edge_rolled", "tang_bent"})),
        "broken": ("Broken", frozenset({"snapped", "socket_split"})),
        "off": ("Loose or off", frozenset({"loose", "off_found"})),
    }
)
LOST = "lost"
SHAFT_ENDS = frozenset({"cracked", "crushed", "broken_behind_head", "broken_elsewhere", "nock_split"})


def head_ended(fact: ShotFact, ends: frozenset[str]) -> bool | None:
    """Whether this shot ended its head, by fates of HEAD_ENDS; None where nobody looked at the head, or nobody found it."""
    found = set(fact.head_fate)
    if found & ends:
        return True
    return None if not found or LOST in found else False


def head_lost(fact: ShotFact) -> bool | None:
    """Whether the head was lost with this shot; None where nobody noted what became of it."""
    return LOST in fact.head_fate if fact.head_fate else None


def head_sound(fact: ShotFact) -> bool | None:
    """Whether the head was found sound after this shot; None where nobody looked at it, or nobody found it."""
    return None if not fact.head_fate or LOST in fact.head_fate else fact.head_fate == ("sound",)


def shaft_ended(fact: ShotFact) -> bool | None:
    """Whether this shot broke its shaft; None where nobody looked at it."""
    if fact.arrow_did == "broke_up" or set(fact.shaft_fate) & SHAFT_ENDS:
        return True
    return False if fact.shaft_fate else None
