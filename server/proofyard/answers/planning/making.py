"""A plan made: which head, archer and spot comes when, in a random order that stays balanced, from one seed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

from proofyard.answers.planning.aim_spots import AimSpots
from proofyard.quantities.reason import because
from proofyard.records.range_facts import CurrentArrow
from proofyard.records.typed_values import Problem
from proofyard.statistics.balanced_order import balanced_order
from proofyard.views.panel_type import NOT_RECORDED
from proofyard.wording.reasons.said import said

MOST_SHOTS = 120


@dataclass(frozen=True)
class Asked:
    """What a plan is asked for. archers: (id, call name), empty: nobody is named beforehand."""

    mixed: str
    rounds: int
    archers: tuple[tuple[str, str], ...]
    arrows: tuple[CurrentArrow, ...]
    bow_build_id: str | None
    on_spots: bool
    seed: int


@dataclass(frozen=True)
class Made:
    """The bodies of the planned shots, in order; or what stands in the way, by the field of the form."""

    shots: tuple[dict[str, Any], ...]
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class _Cell:
    """What is balanced: these arrows in turn, loosed by this archer (None: anyone)."""

    arrows: tuple[CurrentArrow, ...]
    archer_id: str | None


def make_plan(asked: Asked, spots: AimSpots) -> Made:
    """Every cell once a round; within a cell its arrows take turns, so that none is shot twice before all are."""
    if not asked.arrows:
        return Made((), (Problem("arrows", said(because("choose_arrows"))),))
    cells = _cells(asked)
    shots = len(cells) * asked.rounds
    if shots > MOST_SHOTS:
        why = because("more_than_a_day_holds", each=asked.rounds, cells=len(cells), of=asked.mixed, shots=shots, most=MOST_SHOTS)
        return Made((), (Problem("rounds", said(why)),))
    if asked.on_spots and spots.why_none:
        return Made((), (Problem("spots", said(because("no_room_for_spots", why=spots.why_none))),))
    if asked.on_spots and shots > len(spots.spots):
        room, most = len(spots.spots), len(spots.spots) // len(cells)
        why = because("too_few_spots", each=asked.rounds, cells=len(cells), of=asked.mixed, shots=shots, spots=room, most=most)
        return Made((), (Problem("rounds", said(why)),))
    places = [(spot.x_m, spot.y_m) for spot in spots.spots] if asked.on_spots else []
    order = balanced_order(len(cells), asked.rounds, seed=asked.seed, spots=places)
    used = [0] * len(cells)
    bodies = []
    for place, turn in enumerate(order.turns, 1):
        cell = cells[turn.cell]
        arrow = cell.arrows[used[turn.cell] % len(cell.arrows)]
        used[turn.cell] += 1
        body: dict[str, Any] = {"place": str(place), "block": str(turn.block), "arrow_build": arrow.build}
        if cell.archer_id:
            body["archer"] = cell.archer_id
        if asked.bow_build_id:
            body["bow_build"] = asked.bow_build_id
        if turn.spot is not None:
            spot = spots.spots[turn.spot]
            body |= {"aim_x": _mm(spot.x_m), "aim_y": _mm(spot.y_m), "aim_name": spot.name}
        bodies.append(body)
    return Made(tuple(bodies))


def form_counts(arrows: Sequence[CurrentArrow]) -> Mapping[str, int]:
    """How many arrows there are of each form of head."""
    found: dict[str, int] = {}
    for arrow in arrows:
        found[arrow.form or NOT_RECORDED] = found.get(arrow.form or NOT_RECORDED, 0) + 1
    return found


def _cells(asked: Asked) -> list[_Cell]:
    groups: dict[str, list[CurrentArrow]] = {}
    for arrow in asked.arrows:
        groups.setdefault(arrow.build if asked.mixed == "arrows" else arrow.form or NOT_RECORDED, []).append(arrow)
    by_archer = asked.mixed == "heads_archers" and asked.archers
    archers: list[str | None] = [key for key, _ in asked.archers] if by_archer else [None]
    cells = []
    for arrows, (nth, archer) in product(groups.values(), enumerate(archers)):
        # Two archers begin with different arrows of a form, so that no pair of them goes together all day.
        first = (nth * (len(arrows) // len(archers) or 1)) % len(arrows)
        cells.append(_Cell((*arrows[first:], *arrows[:first]), archer))
    return cells


def _mm(metres: float) -> str:
    return f"{metres * 1000:.1f} mm"
