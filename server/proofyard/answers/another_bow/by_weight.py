"""The forward chain over draw weights: what a bow of each would do, with the arrow and the distance that the book has."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from proofyard.answers.another_bow.ask import another_bow_asked
from proofyard.answers.another_bow.flown import Flown, flown
from proofyard.answers.another_bow.heads import HeadThere, heads_shot, heads_there
from proofyard.answers.another_bow.own_bows import OwnBows
from proofyard.answers.another_bow.question import question_of
from proofyard.quantities import from_si, to_si
from proofyard.quantities.reason import CantTell, Reason
from proofyard.shots.loosed import Loosed

# Draw weights are asked about in steps of so many pounds, up to so many times the strongest own bow: common practice, no source.
STEP_LBF, MOST_TIMES = 10, 1.5


@dataclass(frozen=True)
class AtWeight:
    """One draw weight. `way`: None where it can't be told, and then `why_not` says why."""

    weight_n: float
    way: Flown | None
    why_not: Reason | None
    heads: tuple[HeadThere, ...]


def weights_n(own: OwnBows) -> list[float]:
    """From the weakest own bow to half as strong again as the strongest, at full tens of pounds; none without a bow."""
    if not own.shot:
        return []
    low, high = (from_si(newtons, "lbf") / STEP_LBF for newtons in (own.shot[0].own.weight_n, MOST_TIMES * own.strongest.own.weight_n))
    return [to_si(step * STEP_LBF, "lbf") for step in range(max(1, math.floor(low)), math.ceil(high) + 1)]


def by_weight(loosed: Loosed, own: OwnBows) -> Iterator[AtWeight]:
    """Of these shots, as the page shows each weight if nothing else is asked."""
    asked = another_bow_asked({})
    heads = heads_shot(loosed, through=asked.through, fair=asked.fair)
    weights = weights_n(own)
    # What is taken where nothing was typed hangs on the shots, not on the weight: it is looked for once.
    first = question_of(replace(asked, weight_n=weights[0]), own, loosed.shots) if weights else None
    for weight in weights:
        if first is None or isinstance(first, Reason):
            yield AtWeight(weight, None, first, ())
            continue
        way = flown(replace(first, weight_n=weight), own)
        if isinstance(way, CantTell):
            yield AtWeight(weight, None, way.reason, ())
        else:
            yield AtWeight(weight, way, None, heads_there(heads, way.at_target_j))
