"""A panel build's hits as a picture of their order: whether it stopped less and less."""

from collections.abc import Sequence

from server.charts.hits_in_order import HitInOrder, HitsInOrder, hits_in_order
from server.findings.loosed import LoosedShot
from server.records.trial import RUNG_WORDS


def hits_drawn(name: str, shown: Sequence[tuple[int, LoosedShot]]) -> HitsInOrder:
    """Hits with their numbers on this panel; a viewer of one trial has gaps in them."""
    return hits_in_order(name, [_hit(n, shot) for n, shot in shown], rung_words=RUNG_WORDS)


def _hit(n: int, shot: LoosedShot) -> HitInOrder:
    fact, fair = shot.fact, shot.fair
    both = fact.outcome_low is not None and fact.outcome_high is not None
    return HitInOrder(
        n, fact.label, fact.outcome_low if both else None, fact.outcome_high if both else None, f"/shots/{fact.shot_id}",
        fair.answer if fair else "", fair.reason if fair else "", clipped=fact.hit == "partial",
    )  # fmt: skip
