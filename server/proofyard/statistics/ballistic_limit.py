"""The averaging limit of the standards, for those who know it from bullets and fragments. Borrowed, and labelled so.

It is one number from the few shots nearest the edge. The model's 50 % point uses them all and says how sure it is: show
this beside it, never instead of it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from proofyard.quantities.reason import CantTell, CantUse, as_count, as_readings, because


@dataclass(frozen=True)
class AveragingRule:
    """So many of the highest stopped and as many of the lowest through, all within this spread."""

    each_side: int
    widest_spread_m_s: float


# 3 and 3 within 40 m/s, else 5 and 5 within 50 m/s: usual figures of tests of armour (common practice, no source); a setting.
USUAL_RULES = (AveragingRule(3, 40.0), AveragingRule(5, 50.0))


@dataclass(frozen=True)
class BallisticLimit:
    """Mean speed of the shots that the rule takes. It has no interval: the rule gives none."""

    limit_m_s: float
    spread_m_s: float
    rule: AveragingRule
    stopped_m_s: tuple[float, ...]
    through_m_s: tuple[float, ...]
    shots: int

    @property
    def overlap_m_s(self) -> float:
        """How far the highest stopped lies above the lowest through; below 0 when no shot is out of order."""
        return max(self.stopped_m_s) - min(self.through_m_s)


def averaging_limit(
    speeds_m_s: Iterable[float], through: Sequence[int], *, projectiles: Sequence[str], rules: Sequence[AveragingRule] = USUAL_RULES
) -> BallisticLimit | CantTell:
    """Mean of equal numbers of the highest stopped and the lowest through, if they lie close enough together.

    V50 = mean of the k highest stopped and the k lowest through, if max - min of those 2k <= spread

    Takes
        speeds_m_s   array, m/s, above 0   at the panel, fair hits only
        through      0 or 1 a shot
        projectiles  a name a shot         what was shot: the limit is of one arrow with one head and one mass
        rules        AveragingRule, one or more  tried in order of their numbers; a setting of the view
    Gives
        BallisticLimit by the first rule that is met. CantTell when none is, when there is more than one projectile,
        or when the rules contradict each other
    Refuses
        CantUse  speeds not above 0, not as many speeds, outcomes and projectiles; a rule of none or of no spread
    Holds while
        the speeds go up and down near the edge, as such a test prescribes
    Weak when
        energies were chosen beforehand and lie wide apart: it then rests on two shots, or is refused
    Source
        Common practice in tests of armour, no source: the figures of the spreads are settings, not law.
        Checked in tests/published/test_averaging_limits.py
    >>> speeds = [44.0, 47.0, 48.0, 47.5, 49.0, 51.0]
    >>> found = averaging_limit(speeds, [0, 0, 0, 1, 1, 1], projectiles=["A1"] * 6)
    >>> found.limit_m_s, found.spread_m_s
    (47.75, 7.0)
    >>> averaging_limit(speeds[:5], [0, 0, 0, 1, 1], projectiles=["A1"] * 5).reason.code
    'no_rule_is_met'
    """
    speeds = as_readings("speeds_m_s", speeds_m_s)
    if not len(speeds) == len(through) == len(projectiles):
        raise CantUse("speeds_m_s", len(speeds), "as many speeds as outcomes and projectiles")
    for speed, outcome in zip(speeds, through, strict=True):
        if speed <= 0:
            raise CantUse("speeds_m_s", speed, "above 0")
        if outcome not in (0, 1):
            raise CantUse("through", outcome, "0 or 1")
    ordered = _in_order(rules)
    if isinstance(ordered, CantTell):
        return ordered
    kinds = tuple(dict.fromkeys(projectiles))
    if len(kinds) > 1:
        return CantTell(because("more_than_one_projectile", projectiles=kinds))
    if not speeds:
        return CantTell(because("no_shots"))
    stopped = sorted((one for one, hit in zip(speeds, through, strict=True) if not hit), reverse=True)
    passed = sorted(one for one, hit in zip(speeds, through, strict=True) if hit)
    reasons = []
    for rule in ordered:
        found = _by_rule(rule, stopped, passed)
        if isinstance(found, BallisticLimit):
            return found
        reasons.append(found.reason)
    return CantTell(because("no_rule_is_met", rules=tuple(reasons)))


def _in_order(rules: Sequence[AveragingRule]) -> tuple[AveragingRule, ...] | CantTell:
    if not rules:
        raise CantUse("rules", rules, "at least one")
    for rule in rules:
        if as_count("each_side", rule.each_side) == 0:
            raise CantUse("each_side", rule.each_side, "1 or more")
        if not (math.isfinite(rule.widest_spread_m_s) and rule.widest_spread_m_s > 0):
            raise CantUse("widest_spread_m_s", rule.widest_spread_m_s, "above 0 and finite")
    ordered = tuple(sorted(rules, key=lambda rule: rule.each_side))
    for fewer, more in zip(ordered, ordered[1:], strict=False):
        # Whatever meets the larger rule would already have met the smaller one: the larger can never decide.
        if more.each_side == fewer.each_side or more.widest_spread_m_s <= fewer.widest_spread_m_s:
            return CantTell(
                because(
                    "rules_contradict",
                    more=more.each_side,
                    more_within_m_s=more.widest_spread_m_s,
                    fewer=fewer.each_side,
                    fewer_within_m_s=fewer.widest_spread_m_s,
                )
            )
    return ordered


def _by_rule(rule: AveragingRule, stopped: list[float], passed: list[float]) -> BallisticLimit | CantTell:
    if len(stopped) < rule.each_side:
        return CantTell(because("rule_lacks_stopped", each_side=rule.each_side, stopped=len(stopped)))
    if len(passed) < rule.each_side:
        return CantTell(because("rule_lacks_through", each_side=rule.each_side, through=len(passed)))
    highest, lowest = tuple(stopped[: rule.each_side]), tuple(passed[: rule.each_side])
    taken = highest + lowest
    spread = max(taken) - min(taken)
    if spread > rule.widest_spread_m_s * (1 + 1e-12):
        return CantTell(because("rule_spread_too_wide", each_side=rule.each_side, spread_m_s=spread, most_m_s=rule.widest_spread_m_s))
    shots = len(stopped) + len(passed)
    return BallisticLimit(math.fsum(taken) / len(taken), spread, rule, highest, lowest, shots)
