"""A panel with little room left: ever more hits on it are not fair."""

from collections.abc import Sequence

from server.findings.caveats.caveat import Caveat, rests_on
from server.findings.caveats.view import View, by
from server.findings.loosed import LoosedShot

LAST = 6  # hits looked at as the latest
MOST_NOT_FAIR = 0.5  # of those
GROWTH = 0.25  # more than before
FEW_FREE = 0.25  # of the aim spots


def used_up(view: View) -> list[Caveat]:
    """One caveat for each panel build with few free spots, or whose latest hits are mostly not fair, and more than before."""
    return [caveat for build in by(view.shots, "panel_build_id") for caveat in _of(view, build)]


def _of(view: View, build: str) -> list[Caveat]:
    hits = [shot for shot in view.loosed if shot.fact.panel_build_id == build and shot.fair is not None and shot.fair.sort != "overruled"]
    if not hits:
        return []
    name = hits[0].fact.panel_name
    said = []
    free, spots = view.free_spots.get(build, (0, 0))
    if spots >= 4 and free <= FEW_FREE * spots:
        said.append(f"{free if free else 'None'} of {spots} aim spots on {name} {'is' if free <= 1 else 'are'} still free.")
    late, before = hits[-LAST:], hits[:-LAST]
    now, then = _not_fair(late), _not_fair(before)
    if len(before) >= LAST and now >= MOST_NOT_FAIR * len(late) and now / len(late) - then / len(before) >= GROWTH:
        said.append(f"Of the last {len(late)} hits on {name} {now} were not fair; of the {len(before)} before, {then}.")
    if not said:
        return []
    said.append("A fair hit there now takes aim at what is left, often the edge. Turn to a fresh panel.")
    return [Caveat("used_up", " ".join(said), f"shots at {name}", rests_on(late))]


def _not_fair(shots: Sequence[LoosedShot]) -> int:
    return sum(shot.fair is not None and shot.fair.answer == "not_fair" for shot in shots)
