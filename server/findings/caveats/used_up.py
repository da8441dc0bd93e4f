"""A panel with little room left: ever more hits on it are not fair."""

from collections.abc import Sequence

from server.findings.caveats.caveat import Caveat, listed, rests_on, some
from server.findings.caveats.view import View, by
from server.findings.loosed import LoosedShot

LAST = 6  # hits looked at as the latest
MOST_NOT_FAIR = 0.5  # of those
GROWTH = 0.25  # more than before
FEW_FREE = 0.25  # of the aim spots
MOST_LINES = 3


def used_up(view: View) -> list[Caveat]:
    """One caveat for all panel builds with few free spots, or whose latest hits are mostly not fair, and more than before."""
    said: dict[str, str] = {}
    rests: list[LoosedShot] = []
    for build in by(view.shots, "panel_build_id"):
        hits = [shot for shot in view.loosed if shot.fact.panel_build_id == build and shot.fair is not None and shot.fair.sort != "overruled"]
        words = [*_few_spots(view, build, hits), *_turned(hits)]
        if words:
            said[_name(hits[0])] = " ".join(words)
            rests += hits[-LAST:]
    if not said:
        return []
    lines = list(said.values())
    more = [f"So it is with {some(len(lines) - MOST_LINES, 'more panel')}."] if len(lines) > MOST_LINES else []
    words = [*lines[:MOST_LINES], *more, "A fair hit there now takes aim at what is left, often the edge. Turn to a fresh panel."]
    return [Caveat("used_up", " ".join(words), f"shots at {listed(said)}", rests_on(rests))]


def _name(shot: LoosedShot) -> str:
    fact = shot.fact
    return fact.panel_name if (fact.panel_build_number or 1) == 1 else f"{fact.panel_name}, build {fact.panel_build_number}"


def _few_spots(view: View, build: str, hits: Sequence[LoosedShot]) -> list[str]:
    free, spots = view.free_spots.get(build, (0, 0))
    if not hits or spots < 4 or free > FEW_FREE * spots:
        return []
    return [f"{free or 'None'} of {spots} aim spots on {_name(hits[0])} {'is' if free <= 1 else 'are'} still free."]


def _turned(hits: Sequence[LoosedShot]) -> list[str]:
    late, before = hits[-LAST:], hits[:-LAST]
    now, then = _not_fair(late), _not_fair(before)
    if len(before) < LAST or now < MOST_NOT_FAIR * len(late) or now / len(late) - then / len(before) < GROWTH:
        return []
    return [f"Of the last {len(late)} hits on {_name(hits[0])} {now} were not fair; of the {len(before)} before, {then}."]


def _not_fair(shots: Sequence[LoosedShot]) -> int:
    return sum(shot.fair is not None and shot.fair.answer == "not_fair" for shot in shots)
