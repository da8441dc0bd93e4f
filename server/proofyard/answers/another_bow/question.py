"""The whole question of another bow: what was typed, and what the book has where nothing was."""

from collections.abc import Iterable, Sequence

from proofyard.answers.another_bow.ask import AnotherBowAsked
from proofyard.answers.another_bow.flown import Question, like_arrow
from proofyard.answers.another_bow.own_bows import OwnBows
from proofyard.quantities.reason import Reason, because
from proofyard.shots.at_target import default_drag
from proofyard.shots.loosed import LoosedShot


def question_of(asked: AnotherBowAsked, own: OwnBows, shots: Sequence[LoosedShot]) -> Question | Reason:
    """With what is taken where nothing was typed; or what has to be typed because the book has nothing to take."""
    assert asked.weight_n is not None
    mass = asked.mass_kg or own.strongest.mean_arrow_kg
    distance = asked.distance_m or _most_often(shot.fact.distance_m for shot in shots)
    like = like_arrow(shots, mass)
    if distance is None:
        return because("another_bow_needs_distance")
    if asked.shaft_m is None and like is None:
        return because("another_bow_needs_shaft")
    shaft, drag, tag = like or (asked.shaft_m or 0.0, default_drag(), "")
    typed = {"mass": asked.mass_kg, "distance": asked.distance_m, "draw": asked.draw_m, "shaft": asked.shaft_m}
    return Question(
        weight_n=asked.weight_n,
        mass_kg=mass,
        distance_m=distance,
        draw_m=asked.draw_m or own.strongest.draw_m,
        shaft_m=asked.shaft_m or shaft,
        drag=drag,
        like_arrow=tag,
        taken=tuple(name for name, value in typed.items() if value is None),
    )


def _most_often(values: Iterable[float | None]) -> float | None:
    kept = [value for value in values if value is not None]
    return max(set(kept), key=lambda value: (kept.count(value), value), default=None)
