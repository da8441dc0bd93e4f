"""Shots with energies and outcomes that were chosen, for the tests of the energy to get through. All is invented.

range_ = Shooting(book)
range_.loose("needle", energies_j, through)      # all at one plate, each with its own speed
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from proofyard.records.apply import apply_all
from proofyard.records.ids import new_id
from proofyard.records.operations import Operation
from proofyard.storage import Storage

from tests import kit_for_tests as kit

MASS_KG = 0.0801  # of every arrow here, unless told otherwise


class Shooting:
    """One plate, one bow, one archer; an arrow for every form of head. Every shot has a speed of its own."""

    def __init__(self, book: Storage, *, thickness: str = "1.6 mm", chronograph: str = "") -> None:
        self.book = book
        self.chronograph = chronograph or kit.chronograph(book, "Chronograph C1", accuracy_ratio="1 %")
        self.scale = kit.scale(book, "Scale S1", accuracy="0.1 g")
        self.bow, self.archer = kit.bow(book, "Elm bow"), kit.archer(book, "Wren")
        self.trial = kit.open_trial(book)
        self.setups: dict[str, str] = {}
        self.arrows: dict[str, kit.Arrow] = {}
        self.panel("P1", thickness=thickness)

    def panel(self, name: str, **more: Any) -> None:
        made = kit.panel(self.book, name, **more)
        self.setups[name] = kit.setup(
            self.book, self.trial.session, made.build, distance="20 m", chronograph=self.chronograph, chronograph_at="2 m"
        )

    def arrow(self, tag: str, form: str, *, mass: str = "80.1 g") -> kit.Arrow:
        made = kit.arrow(self.book, tag, form=form, masses=(), diameter="9.5 mm")
        kit.mass_reading(self.book, made.build, mass, instrument=self.scale)
        self.arrows[tag] = made
        return made

    def loose(
        self,
        form: str,
        energies_j: Sequence[float | None],
        through: Sequence[int | str],
        *,
        panel: str = "P1",
        tag: str = "",
        mass_kg: float = MASS_KG,
        each: Sequence[dict[str, Any]] = (),
        **reading: Any,
    ) -> list[str]:
        """Outcome level 4 where it got through, 2 where not, or outcome levels as typed ("34"). An energy of None: no speed was read."""
        made = self.arrows.get(tag or form) or self.arrow(tag or form, form, mass=f"{1000 * mass_kg:.6g} g")
        shooting_ends = kit.put_all(
            self.book, [("shooting_end", {"setup": self.setups[panel], "begun_at": kit.BEGAN + self._next() * 60_000}) for _ in energies_j]
        )
        bodies = [
            (
                "shot",
                {
                    "label": f"A{self._next()}",
                    "shooting_end": shooting_end,
                    "position": "1",
                    "bow_build": self.bow.build,
                    "arrow_build": made.build,
                    "archer": self.archer,
                    "purpose": "counted",
                    "loosed_at": kit.BEGAN + self._next() * 60_000,
                },
            )
            for shooting_end in shooting_ends
        ]
        shots = kit.put_all(self.book, bodies)
        device = kit.recorder(self.book)
        operations = []
        for place, (shot, energy, did) in enumerate(zip(shots, energies_j, through, strict=True)):
            outcome_levels = str({0: 2, 1: 4}.get(did, did) if isinstance(did, int) else did)
            body = {"hit": "on_panel", "outcome_low": outcome_levels[0], "outcome_high": outcome_levels[-1], "entry": "plate", **reading}
            operations.append(Operation(new_id(), device, "put", "shot_reading", shot, body={**body, **(each[place] if each else {})}))
            if energy is not None:
                speed = {"shot": shot, "value": f"{math.sqrt(2 * energy / mass_kg):.9f} m/s", "method": "chronograph"}
                operations.append(Operation(new_id(), device, "put", "speed_reading", new_id(), body=speed))
        apply_all(self.book, operations)
        return shots

    def _next(self) -> int:
        self._count = getattr(self, "_count", 0) + 1
        return self._count


def mirrored(middle_j: float, ratio: float, *, steps: int = 7) -> tuple[list[float], list[int]]:
    """Energies that lie alike below and above a middle, outcomes that mirror: whatever curve is fitted, its half is the
    middle, and the ends of its range are middle / x and middle * x. One shot below got through, one above did not."""
    places = [place for place in range(-steps, steps + 1) if place]
    return [middle_j * ratio**place for place in places], [int(place == -1 or place > 1) for place in places]
