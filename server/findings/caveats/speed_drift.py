"""Speeds that crept up or down through a day with one bow in one archer's hands."""

import math
from collections.abc import Sequence

from server.findings.caveats.caveat import Caveat, rests_on, some
from server.findings.caveats.view import View, by
from server.findings.loosed import LoosedShot
from server.findings.when import day_words
from server.statistics.drift import CommonSlope, common_slope

LEVEL = 0.99  # many bows and days are looked at: at 95 in 100 one would be called out every other day for nothing
LEAST_CHANGE = 0.01  # of the speed: about a fiftieth of the energy, what a chronograph may be off
FEWEST = 6


def speed_drift(view: View) -> list[Caveat]:
    """One caveat for each day, bow and archer whose own speeds surely crept, by more than a hundredth."""
    found = []
    counted = {shot.fact.shot_id for shot in view.shots}
    for day, shots in by(view.loosed, "session_id").items():
        order = {shot.fact.shot_id: n for n, shot in enumerate(shots, 1)}
        for pair in dict.fromkeys((shot.fact.bow_build_id, shot.fact.archer_id) for shot in shots):
            mine = [shot for shot in shots if (shot.fact.bow_build_id, shot.fact.archer_id) == pair]
            if any(shot.fact.shot_id in counted for shot in mine):
                found += _of(mine, order, day=day)
    return found


def _of(shots: Sequence[LoosedShot], order: dict[str, int], *, day: str) -> list[Caveat]:
    own = [shot for shot in shots if shot.impact.basis == "own" and shot.impact.speed is not None and not shot.fact.short_draw]
    if len(own) < FEWEST:
        return []
    # Each arrow flies at a speed of its own: only what changes about that is the bow's or the archer's.
    groups = [[(order[shot.fact.shot_id], _log_speed(shot)) for shot in alike] for alike in by(own, "pairing_id").values()]
    line = common_slope(groups, level=LEVEL)
    if not isinstance(line, CommonSlope) or not line.sure or abs(line.change) < LEAST_CHANGE:
        return []
    fact = own[0].fact
    reach = line.to_x - line.from_x
    low, high = sorted(abs(100 * math.expm1(end * reach)) for end in (line.low, line.high))
    went = "fell" if line.change < 0 else "rose"
    words = (
        f"On {day_words(fact.day)} speeds of {fact.bow_name} in {fact.archer}’s hands {went} by {abs(100 * math.expm1(line.change)):.1f}\N{NO-BREAK SPACE}% "
        f"from the first to the last of {some(len(own), 'reading')} ({low:.1f} to {high:.1f}\N{NO-BREAK SPACE}%, 99\N{NO-BREAK SPACE}%)."
    )
    by_mean = [shot for shot in shots if shot.impact.basis in ("pairing", "pooled")]
    if by_mean:
        words += f" {some(len(by_mean), 'shot')} there took a mean speed: the early ones may stand too {'low' if line.change < 0 else 'high'}, the late ones too {'high' if line.change < 0 else 'low'}."
    return [Caveat("speed_drift", words, f"energies of {fact.bow_name} that day", rests_on(own))]


def _log_speed(shot: LoosedShot) -> float:
    assert shot.impact.speed is not None
    return math.log(shot.impact.speed.value)
