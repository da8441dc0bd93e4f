"""The likelihood of a logistic model and the way up to its top, for `penalised_logistic.py`."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MOST_STEPS = 200
# No single step moves a shot's log-odds by more than this: further out the information that guides it is worthless.
LONGEST_STEP = 5.0
STILL_MOVING = 0.1
# From some 200 shots on, the last digits of a top are rounding alone, and a climb that looks for them finds no end: after so many steps
# that would each gain less than this of 1 + the likelihood, it is there.
NEAR_ENOUGH, MOST_NEAR = 1e-11, 20
# So much of 1 + the likelihood may a step seem to lose that loses nothing: a sum is rounded the more, the more shots it is of.
ROUNDED, ROUNDED_A_SHOT = 1e-14, 1e-16
# From so many shots on, those that are alike in every column are one row with a count, where that halves the rows at least.
MANY = 200


@dataclass(frozen=True)
class Peak:
    """The top of the likelihood over what was left free."""

    coefficients: Array
    place: Array
    value: float
    found: bool
    score: Array


class AlikeAsOne(NamedTuple):
    """Shots that are alike in every column as one row: the rows that differ, how many shots of each got through, and how many there are."""

    rows: Array
    hits: Array
    counts: Array

    @classmethod
    def of(cls, rows: Array, outcomes: Array) -> AlikeAsOne:
        """Few shots, or few that are alike, stay as they come."""
        if len(rows) >= MANY:
            differ, which, counts = np.unique(rows, axis=0, return_inverse=True, return_counts=True)
            if 2 * len(differ) <= len(rows):
                return cls(differ, np.bincount(which.ravel(), weights=outcomes).astype(np.float64), counts.astype(np.float64))
        return cls(rows, outcomes, np.ones(len(rows)))


class Likelihood:
    """Log-likelihood of a logistic model, penalised or plain, over its coefficients.

    design, through  a row for each shot; or for shots that are alike in every column, and how many of `counts` got through
    """

    def __init__(self, design: Array, through: Array, *, penalised: bool, counts: Array | None = None) -> None:
        self.design = design
        self.through = through
        self.penalised = penalised
        self.counts = np.ones(len(through)) if counts is None else counts
        self._slack = max(ROUNDED, ROUNDED_A_SHOT * float(self.counts.sum()))

    @classmethod
    def of_shots(cls, design: Array, through: Array, *, penalised: bool) -> Likelihood:
        """Of a row for each shot; many that are alike are put together."""
        rows, hits, counts = AlikeAsOne.of(design, through)
        return cls(rows, hits, penalised=penalised, counts=counts)

    def at(self, coefficients: Array) -> tuple[float, Array, Array]:
        """Value, score and expected information."""
        log_odds = self.design @ coefficients
        tail = np.exp(-np.abs(log_odds))
        chance = np.where(log_odds >= 0, 1.0, tail) / (1 + tail)
        weight = tail / (1 + tail) ** 2
        weighted = self.design * (weight * self.counts)[:, None]
        information = weighted.T @ self.design
        # log(1 + e^t) = max(t, 0) + log(1 + e^-|t|) holds where e^t would overflow.
        # Shot by shot what cancels does so to the last digit; of sums far larger than their difference it would not.
        value = float((self.through * log_odds - self.counts * (np.maximum(log_odds, 0) + np.log1p(tail))).sum())
        left = self.through - self.counts * chance
        if self.penalised:
            try:
                root = np.linalg.cholesky(information)
            except np.linalg.LinAlgError:
                return -math.inf, np.zeros_like(coefficients), information
            value += float(np.log(np.diagonal(root)).sum())
            spread = np.linalg.solve(root, self.design.T)
            leverage = weight * np.einsum("ij,ij->j", spread, spread)
            left = left + self.counts * leverage * (0.5 - chance)
        return value, self.design.T @ left, information

    def highest(self, free: Array, *, offset: Array, start: Array, tolerance: float = 1e-11) -> Peak:
        """The top over offset + free @ g, by scoring steps that are cut until they climb.

        The penalty is always that of the whole model, whatever is held fixed (Heinze and Schemper).
        """
        place = start
        coefficients = offset + free @ place
        value, score, information = self.at(coefficients)
        if free.shape[1] == 0:
            return Peak(coefficients, place, value, True, score)
        reach = self.design @ free
        near = 0
        for _ in range(MOST_STEPS):
            slope = free.T @ score
            try:
                step = np.linalg.solve(free.T @ information @ free, slope)
            except np.linalg.LinAlgError:
                return Peak(coefficients, place, value, False, score)
            longest = float(np.abs(reach @ step).max())
            # A step that still moves a shot's log-odds and gains nothing is a climb without end: separated shots.
            gain = float(slope @ step) / (1 + abs(value)) if longest < STILL_MOVING else math.inf
            near += gain < NEAR_ENOUGH
            if gain < tolerance or near > MOST_NEAR:
                return Peak(coefficients, place, value, True, score)
            step *= min(1.0, LONGEST_STEP / longest) if longest > 0 else 1.0
            for _ in range(40):
                tried = offset + free @ (place + step)
                tried_value, tried_score, tried_information = self.at(tried)
                # With three shots the penalty bends as much as they do, so a full step lands as far beyond the top
                # as it came from, for ever: the slopes at both its ends say how much of it was too much.
                before, after = float(step @ slope), float(step @ (free.T @ tried_score))
                if tried_value >= value - self._slack * (1 + abs(value)) and after >= -0.3 * before:
                    break
                step *= min(0.8, max(0.1, before / (before - after))) if after < 0 < before else 0.5
            else:
                return Peak(coefficients, place, value, longest < STILL_MOVING, score)
            place, coefficients = place + step, tried
            value, score, information = tried_value, tried_score, tried_information
        return Peak(coefficients, place, value, gain < NEAR_ENOUGH, score)
