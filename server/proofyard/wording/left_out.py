"""Why a shot is in no share, in words."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class WhyLeftOut:
    """Why a loose is in no share: the word of its row, what is said when nothing more is known, its glyph."""

    words: str
    small: str
    glyph: str = ""


# In the order in which they are asked: the first that fits is the reason.
REASONS: Mapping[str, WhyLeftOut] = MappingProxyType(
    {
        "let_down": WhyLeftOut("Let down", "not shot at the panel"),
        "sighter": WhyLeftOut("Sighter", "shot to find the range, never counted"),
        "speed_only": WhyLeftOut("Speed only", "shot for the chronograph"),
        "unread": WhyLeftOut("Unread", "shot, outcome not read yet", "unread"),
        "partial": WhyLeftOut("Partial", "clipped the edge of the panel", "partial"),
        "missed": WhyLeftOut("Missed", "", "missed"),
        "spoiled": WhyLeftOut("Spoiled", "frame, cord, another arrow, or fell short", "spoiled"),
        "no_outcome": WhyLeftOut("Hit, outcome not read yet", "no outcome was entered", "unread"),
        "cant_tell_way": WhyLeftOut("Where it went in can’t be told", "may have gone in by a gap"),
        "other_entry": WhyLeftOut("Went in elsewhere", "not where you picked"),
        "by_gap": WhyLeftOut("Through a gap", "says nothing about the plate, counted separately", "rivet"),
        "not_fair": WhyLeftOut("Not fair", "", "not-fair"),
        "not_known": WhyLeftOut("Fairness undecided", "counted separately, as bounds", "not-known"),
        "not_measured": WhyLeftOut("Energy not measured", "in no band; listed by head in the table"),
        "no_target": WhyLeftOut("Energy at the target can’t be told", "in no band; listed by head in the table"),
        "no_measure": WhyLeftOut("The head’s measure isn’t known", "in no band; listed by head in the table"),
    }
)
