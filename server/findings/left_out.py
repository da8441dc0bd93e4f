"""Which loose is counted in a view and which is not, and why not: one reason each, so that all adds up."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from server.findings.axes import AXES, why_off_axis
from server.findings.fair_hits import FAIR, NOT_FAIR, SORTS
from server.findings.loosed import LoosedShot
from server.findings.view_settings import ViewSettings
from server.records.shot import ALL_WAYS_IN, BY_A_GAP

# Not fair by itself, and no gap either: said as what it is, unless unfair hits are wanted.
SPOILT_WAYS = ("panel_edge", "old_hit")


@dataclass(frozen=True)
class Reason:
    """Why a loose is in no share: the word of its row, what is said when nothing more is known, its glyph."""

    words: str
    small: str
    glyph: str = ""


# In the order in which they are asked: the first that fits is the reason.
REASONS: Mapping[str, Reason] = MappingProxyType(
    {
        "let_down": Reason("Let down", "not loosed at the panel"),
        "sighter": Reason("Sighter", "to find the range, never counted"),
        "speed_only": Reason("Speed only", "loosed for the chronograph"),
        "unread": Reason("Unread", "loosed, not read yet", "unread"),
        "partial": Reason("Partial", "clipped the edge of the panel", "partial"),
        "missed": Reason("Missed", "", "missed"),
        "spoiled": Reason("Spoiled", "frame, cord, another arrow, or fell short", "spoiled"),
        "no_outcome": Reason("Struck, outcome not read yet", "no rung was given", "unread"),
        "cant_tell_way": Reason("Way in can’t be told", "may have gone in by a gap"),
        "other_way": Reason("Another way in", "not the one that you picked"),
        "by_gap": Reason("By a gap", "says nothing about the plate, kept apart", "rivet"),
        "not_fair": Reason("Not fair", "", "not-fair"),
        "not_known": Reason("Fair or not: not known", "counted apart, as bounds", "not-known"),
        "not_measured": Reason("Energy not measured", "in no band; shown by head in the table"),
        "no_target": Reason("Energy at the target can’t be told", "in no band; shown by head in the table"),
        "no_measure": Reason("The head’s measure isn’t known", "in no band; shown by head in the table"),
    }
)
# What is left out, and what is set apart: a shot of the latter is shown beside its cell or its head.
OFF_AXIS = ("not_measured", "no_target", "no_measure")
SET_APART = ("not_known", *OFF_AXIS)


def standing(shot: LoosedShot, settings: ViewSettings) -> str | None:
    """The reason why this loose is in no cell of this view; None where it is counted."""
    fact = shot.fact
    if fact.purpose != "counted":
        return fact.purpose
    if fact.hit is None:
        return "unread"
    if fact.hit != "fair_target":
        return fact.hit
    if fact.outcome_low is None:
        return "no_outcome"
    by_way = _by_way(fact.way_in, settings.way)
    by_fairness = _by_fairness(shot, settings.fair)
    if by_fairness == "not_fair" and fact.way_in in SPOILT_WAYS:
        return by_fairness
    return by_way or by_fairness or why_off_axis(shot, AXES[settings.axis], place=settings.place)


def _by_way(way: str | None, wanted: str) -> str | None:
    if wanted == "any" or way == wanted:
        return None
    if wanted not in ("no_gap", "by_gap"):
        return "other_way"
    if way == "cant_tell":
        return "cant_tell_way"
    # A way in that nobody gave is counted with the plain ones, and the page says how many those are.
    gap = way in BY_A_GAP
    if wanted == "no_gap":
        return "by_gap" if gap else None
    return None if gap else "other_way"


def _by_fairness(shot: LoosedShot, wanted: str) -> str | None:
    answer = shot.fair.answer if shot.fair else "not_known"
    if wanted == "any" or answer == FAIR:
        return None
    if answer == NOT_FAIR:
        return "not_fair"
    return None if wanted == "fair_or_not_known" else "not_known"


@dataclass(frozen=True)
class LeftOut:
    """One row: how many, why, and where they are listed."""

    key: str
    count: int
    words: str
    small: str
    glyph: str
    href: str


def left_out_rows(
    apart: Mapping[str, Sequence[LoosedShot]], settings: ViewSettings, *, edges: Sequence[float]
) -> tuple[LeftOut, ...]:
    """A row for every reason that took at least one shot, in the order of REASONS."""
    rows = []
    for key, reason in REASONS.items():
        shots = apart.get(key, ())
        if shots:
            small = _detail(key, shots, settings) or reason.small
            href = settings.address("/results/shots", edges=edges, out=key)
            rows.append(LeftOut(key, len(shots), reason.words, small, reason.glyph, href))
    return tuple(rows)


def _detail(key: str, shots: Iterable[LoosedShot], settings: ViewSettings) -> str:
    """The sub-reasons with their counts: "3 too near an earlier hit, 2 arrows not sound"."""
    if key in ("not_fair", "not_known"):
        said = Counter(SORTS[shot.fair.sort] if shot.fair else "not worked out" for shot in shots)
    elif key == "by_gap":
        said = Counter(f"by {ALL_WAYS_IN[shot.fact.way_in or ''].lower()}" for shot in shots)
        return _listed(said) + "; says nothing about the plate, kept apart"
    elif key == "other_way":
        said = Counter(ALL_WAYS_IN.get(shot.fact.way_in or "", "not said").lower() for shot in shots)
    elif key in OFF_AXIS:
        over = AXES[settings.axis].over
        said = Counter(over(shot).words if key == "no_measure" and over else _unmeasured(shot) for shot in shots)
        return _listed(said) + "; in no band, shown by head in the table"
    elif key in ("missed", "spoiled"):
        said = Counter(shot.fact.why.strip().rstrip(".") for shot in shots if shot.fact.why and shot.fact.why.strip())
        return ", ".join(f"{count} {words}" for words, count in said.most_common(3))
    else:
        return ""
    return _listed(said)


def _listed(said: Counter[str]) -> str:
    return ", ".join(f"{count} {words}" for words, count in said.most_common())


def _unmeasured(shot: LoosedShot) -> str:
    if shot.impact.measured:
        if shot.fact.distance_m is None:
            return "distance of the panel not written down"
        return "shaft not measured" if shot.fact.shaft_diameter_m is None else "the way there can’t be reckoned"
    if shot.fact.short_draw and shot.impact.speed is None:
        return "short draw with no speed of its own"
    if shot.impact.speed is None:
        return "no speed read for that bow, arrow and archer"
    return "arrow never weighed"
