"""How far an archer draws a bow, and what weight the bow has there: one answer for every page that speaks of it."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.archer import Archer
from proofyard.records.bow import Bow, BowCheck
from proofyard.shots.bow_curve import Curve
from proofyard.shots.bow_days import SAME_DRAW_M


@dataclass(frozen=True)
class DrawKnown:
    """How far the archer draws this bow, and where that is from; `weight_n` is what the bow has there."""

    draw_m: float | None
    source: Reason
    weight_n: float | None
    weight_source: Reason | None


def draw_of(bow: Bow, archer: Archer | None, checks: Sequence[BowCheck], *, curve: Curve | CantTell, brace_m: float | None) -> DrawKnown:
    """The archer's last check says it; else the archer's own draw, if this bow's draw is measured as that is.

    `checks`: of this build, in order; `brace_m`: its brace height. A weight marked at another draw is brought to this one by a straight
    line from the string at rest.
    """
    who = archer.call_name if archer else ""
    own = [check for check in checks if archer and check.archer_id == archer.id]
    last = next((check for check in reversed(own) if check.draw_m is not None), None)
    if last is not None:
        draw, source = last.draw_m, because("bow_draw_at_check", who=who)
    elif archer and archer.draw_length_m is not None and bow.draw_from in (None, "back", "unknown"):
        draw, source = archer.draw_length_m, because("bow_draw_to_back", who=who)
    else:
        draw, source = None, because("bow_draw_unknown", who=who)
    if isinstance(curve, Curve):
        end = curve.draws_m[-1] if draw is None else draw
        if curve.draws_m[0] < end <= curve.draws_m[-1] + 0.0005:
            return DrawKnown(draw, source, curve.force_at(end), because("bow_weight_by_points"))
    weighed = next((check for check in reversed(own) if check.weight_n), None)
    if weighed is not None:
        return DrawKnown(draw, source, weighed.weight_n, because("bow_weight_at_check", who=who))
    return DrawKnown(draw, source, *_marked(bow, draw, brace_m))


def _marked(bow: Bow, draw_m: float | None, brace_m: float | None) -> tuple[float | None, Reason | None]:
    """The marked weight as it is at this draw, and where that is from."""
    weight, at = bow.marked_weight_n, bow.marked_draw_m
    if weight is None:
        return None, None
    if draw_m is None or at is None or brace_m is None or abs(draw_m - at) <= SAME_DRAW_M or brace_m >= min(draw_m, at):
        return weight, because("bow_weight_marked")
    return weight * (draw_m - brace_m) / (at - brace_m), because("bow_weight_marked_at", weight_n=weight, draw_m=at)
