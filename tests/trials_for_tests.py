"""Builders of trials to lay side by side: the same kit in both unless a test says what is another.

    kit = yard_of_two(book)
    first = shoot(book, kit, day="2026-10-10")
    second = shoot(book, kit, day="2026-10-17", panel=kit.thicker)      # nothing else is changed

All is invented.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from proofyard.storage import Storage

from tests import kit_for_tests as kit

# Places on a panel of 300 by 400 mm, 65 mm apart or more and clear of its edges: none spoils another.
SPOTS = [(x, y) for y in (-130, -65, 0, 65, 130) for x in (-98, -33, 33, 98)]


@dataclass(frozen=True)
class Two:
    """One archer, bow, arrow, panel, stand and chronograph; and another of what tests change."""

    wren: str
    tallow: str
    bow: kit.Bow
    arrow: kit.Arrow
    panel: kit.Panel
    thicker: kit.Panel
    stand: str
    chronograph: str
    scale: str


class Shot(NamedTuple):
    """By whom, how fast at the chronograph, and the outcome level, "3" or "34"."""

    archer: str
    speed: str
    outcome_level: str


def yard_of_two(book: Storage, *, masses: tuple[str, ...] = ("60.0 g", "60.0 g", "60.0 g")) -> Two:
    scale = kit.scale(book, accuracy="0.1 g", accuracy_means="limit")
    arrow = kit.arrow(book, "7", masses=(), head_more={"name": "N7"}, diameter="10 mm")
    for mass in masses:
        kit.mass_reading(book, arrow.build, mass, instrument=scale)
    return Two(
        wren=kit.archer(book, "Wren"),
        tallow=kit.archer(book, "Tallow"),
        bow=kit.bow(book, "Yew 95"),
        arrow=arrow,
        panel=kit.panel(book, "P1", thickness="1.2 mm"),
        thicker=kit.panel(book, "P2", thickness="1.6 mm"),
        stand=kit.stand(book, "Frame"),
        chronograph=kit.chronograph(book, "C1"),
        scale=scale,
    )


PLAIN = ("52.0 m/s", "52.4 m/s", "51.8 m/s", "52.2 m/s", "52.6 m/s", "52.0 m/s")


def plain_shots(archer: str, outcome_levels: str = "454344") -> list[Shot]:
    return [Shot(archer, speed, outcome_level) for speed, outcome_level in zip(PLAIN, outcome_levels, strict=False)]


def shoot(
    book: Storage,
    two: Two,
    shots: Sequence[Shot] = (),
    *,
    question: str = "Does the needle get behind it?",
    day: str = "2026-10-10",
    panel: kit.Panel | None = None,
    bow_build: str = "",
    arrow_build: str = "",
    stand: str = "",
    setup: dict[str, Any] | None = None,
    weather: dict[str, Any] | None = None,
    spot: int = 0,
    **trial_more: Any,
) -> str:
    """A trial of one day at one panel; every shot in an end of its own, so that their order is known. Gives its id."""
    made = kit.trial(book, question, varied="nothing", through="4", **trial_more)
    session = kit.session(book, made, day=day, **{"temperature": "11 °C", "humidity": "70 %", "weather": "dry, still", **(weather or {})})
    where = {"distance": "14 m", "angle": "0", "chronograph": two.chronograph, "chronograph_at": "2 m", **(setup or {})}
    at = kit.setup(book, session, (panel or two.panel).build, stand_id=stand or two.stand, **where)
    hour = kit.BEGAN + 86_400_000 * int(day[-2:])
    for nth, one in enumerate(shots or plain_shots(two.wren)):
        shooting_end = kit.shooting_end(book, at, begun_at=hour + nth * 300_000)
        yard = kit.Yard(one.archer, two.bow, two.arrow, panel or two.panel, two.stand, made, session, at, shooting_end)
        loosed = kit.shot(
            book, yard, arrow_build=arrow_build or two.arrow.build, bow_build=bow_build or two.bow.build, loosed_at=hour + nth * 300_000
        )
        kit.shot_speed(book, loosed, one.speed)
        x, y = SPOTS[spot + nth]
        kit.reading(
            book,
            loosed,
            outcome_low=one.outcome_level[0],
            outcome_high=one.outcome_level[-1],
            x=f"{x} mm",
            y=f"{y} mm",
            place_known="yes",
            entry="plate",
        )
    return made
