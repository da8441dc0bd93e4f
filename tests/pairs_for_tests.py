"""Shots made up for the tests of pairs: copies of one real shot with a head, an energy at the chronograph and an outcome of their own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import count
from typing import Any

from proofyard.quantities import Uncertain
from proofyard.records.claim import Claim
from proofyard.records.claim_facts import ClaimFact, FirstShot
from proofyard.records.trial import Trial
from proofyard.shots.loosed import Loosed, LoosedShot
from proofyard.views.settings import ViewSettings

_NTH = count()
AT_THE_CHRONOGRAPH = ViewSettings(at="chronograph")
FIXED_LEVELS = (60.0, 60.0, 60.0, 80.0, 80.0, 80.0, 105.0, 105.0, 105.0)


def made(one: LoosedShot, form: str, shots: Sequence[tuple[float, str]], **fact: Any) -> list[LoosedShot]:
    """A shot for each energy and outcome level, "o" for 3 or 4: each in an end of its own, a minute after the last."""
    found = []
    for energy, letter in shots:
        nth = next(_NTH)
        low, high = (3, 4) if letter == "o" else (int(letter), int(letter))
        said = {
            "shot_id": f"made-{nth}",
            "label": f"Z{nth}",
            "shooting_end_id": f"end-{nth}",
            "combination_id": f"combination-{form}",
            "form": form,
            "outcome_low": low,
            "outcome_high": high,
            "depth_m": None,
            "depth_bound": None,
            "loosed_at": nth * 60_000,
            **fact,
        }
        impact = replace(one.impact, energy_at_chronograph_j=Uncertain(energy, 1.0, None, 3))
        found.append(LoosedShot(replace(one.fact, **said), impact, one.fair))
    return found


def fixed_levels(one: LoosedShot, form: str, outcomes: str, **fact: Any) -> list[LoosedShot]:
    """Three shots at each of 60, 80 and 105 J."""
    return made(one, form, list(zip(FIXED_LEVELS, outcomes, strict=True)), **fact)


def book_of(loosed: Loosed, *shots: Sequence[LoosedShot]) -> Loosed:
    """These shots alone, with the trials of a book."""
    return Loosed(tuple(one for some in shots for one in some), (), loosed.trials)


def claimed(trial: Trial, *, late: bool = False, **parts: Any) -> ClaimFact:
    """A claim of this trial, stated before its first shot or after it."""
    claim = Claim(id="claim", rev=1, trial_id=trial.id, **parts)
    first = FirstShot(seq=1 if late else 9, loosed_at=None, day=None)
    return ClaimFact(
        claim,
        None,
        "Frame 1" if claim.stand_id else None,
        "P5",
        "P6",
        "Frame 2",
        "Tallow",
        5,
        1_790_000_000_000,
        5,
        1_790_000_000_000,
        trial,
        first,
    )
