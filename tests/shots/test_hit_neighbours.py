"""Marks found by asking the near ones are those that asking of every two shots gives, and few are asked about."""

import random
from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any

import pytest
from proofyard.records.shot_facts import ShotFact
from proofyard.shots import fair_hits
from proofyard.shots.fair_hits import FairMark, HitNeighbours, ShotOrder, mark_hits

EMPTY = {field.name: None for field in fields(ShotFact)}
BLANK = ShotFact(
    **{**EMPTY, "rev": 1, "voided": False, "short_draw": False, "rear_check": False, "head_fate": (), "shaft_fate": (), "day": "2026-10-03"}
)


def shots(rng: random.Random, n: int, *, construction: str, spread_m: float) -> list[ShotFact]:
    """Shots of every sort: placed and not, read and not, in an order that is known, half known, or not known at all."""
    made = []
    for at in range(n):
        placed = rng.random() < 0.8
        low = rng.choice([None, 0, 1, 2, 3, 4, 5])
        made.append(
            replace(
                BLANK,
                shot_id=f"s{at}",
                label=rng.choice("AB") + str(at),
                shooting_end_id=f"w{at // 3}",
                session_id=f"d{at // 40}",
                day=f"2026-10-{1 + at // 40:02d}",
                shooting_end_begun_at=rng.choice([None, at // 3 * 1000]),
                position=rng.choice([None, at % 3]),
                loosed_at=rng.choice([None, at * 400]),
                recorded_by=rng.choice(["one", "two", None]),
                purpose=rng.choice(["counted"] * 8 + ["sighter", "let_down", "speed_only"]),
                hit=rng.choice(["on_panel"] * 9 + ["partial", "missed", "spoiled", None]),
                trial_id="t",
                panel_build_id=f"p{at % 2}",
                arrow_build_id=f"a{rng.randrange(9)}",
                construction=construction,
                panel_width_m=rng.choice([None, 0.3]),
                panel_height_m=0.4,
                x_m=rng.randrange(-140, 140) / 1000 * spread_m if placed else None,
                y_m=rng.choice([None, *range(-9, 9)]) if not placed else rng.randrange(-190, 190) / 1000 * spread_m,
                entry=rng.choice(["plate"] * 12 + ["old_hit", "panel_edge"]),
                plate=rng.choice([None, "Row 1, plate 2", "row 1,  plate 2", "row 2"]),
                outcome_low=low,
                outcome_high=low if low is None else rng.choice([low, min(5, low + 1)]),
                head_fate=rng.choice([()] * 20 + [("curled",)]),
                shaft_fate=rng.choice([()] * 20 + [("sound",)]),
                may_be_shot_id=rng.choice([None] * 12 + [f"s{max(0, at - 2)}"]),
            )
        )
    return made


class Everybody(HitNeighbours):
    """Asks of every two: what the near ones must agree with."""

    def __init__(self, shots: Sequence[ShotFact]) -> None:
        super().__init__(shots)
        self._all = list(shots)

    def near(self, fact: Any, rules: Any) -> Any:
        return [
            (place, other)
            for place, other in enumerate(self._all)
            if other is not fact and other.hit and None not in (other.x_m, other.y_m)
        ]

    def outwards(self, fact: Any) -> Any:
        return [(0.0, other) for _, other in self.near(fact, None)]


def marked(facts: list[ShotFact]) -> dict[str, FairMark]:
    return mark_hits(facts)


@pytest.mark.parametrize("construction", ["plate", "mail", "lamellar"])
@pytest.mark.parametrize("spread_m", [0.2, 1.0])
@pytest.mark.parametrize("seed", range(6))
def test_asking_the_near_ones_gives_what_asking_everybody_gives(
    seed: int, spread_m: float, construction: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    facts = shots(random.Random(seed), 90, construction=construction, spread_m=spread_m)
    near = marked(facts)
    monkeypatch.setattr(fair_hits, "HitNeighbours", Everybody)
    assert near == marked(facts)
    assert len({mark.sort for mark in near.values()}) >= 4  # the shots are of many sorts, or this would say little


def test_of_a_thousand_hits_at_one_panel_few_are_asked_about(monkeypatch: pytest.MonkeyPatch) -> None:
    rng, asked = random.Random(1), []
    facts = [
        replace(
            one,
            x_m=rng.uniform(-0.14, 0.14),
            y_m=rng.uniform(-0.19, 0.19),
            purpose="counted",
            panel_build_id="p",
            head_fate=(),
            hit="on_panel",
        )
        for one in shots(rng, 1000, construction="plate", spread_m=1)
    ]
    earlier = ShotOrder.earlier
    monkeypatch.setattr(ShotOrder, "earlier", lambda self, a, b: asked.append(1) or earlier(self, a, b))
    assert len(marked(facts)) == 1000
    assert len(asked) < 30 * 1000  # asking of every two would be a million
