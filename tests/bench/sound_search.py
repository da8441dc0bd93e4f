"""How near the sound search comes on made recordings, and whether its stated uncertainty holds what it says.

    python tests/bench/sound_search.py [recordings of each scene]

Each scene of tests/physics/made_recordings.py is searched in the sound itself and in its levels: told nothing, told the
way flown, and told the combination's own speed too (known to 3 %, itself off by as much). Printed for each: how many were
not found, how many of the others are more than 5 ms off, how often the interval of twice the stated uncertainty holds the
truth, in how many that uncertainty says itself that it is more than 5 ms, and the median error.
"""

from __future__ import annotations

import statistics
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.signal import butter, sosfilt

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from proofyard.physics.air import speed_of_sound_m_s
from proofyard.physics.sound_onsets import find_loose_and_hit, find_loose_and_hit_in_levels
from proofyard.physics.sound_pairs import KnownFlight, LooseAndHit
from proofyard.quantities import Uncertain

from tests.physics.made_recordings import KELVIN, RATE, SCENES, Recording, made_recording

STEP_S, FAR_OFF_S, OWN_SPREAD = 0.0005, 0.005, 0.03
WAYS = ("sound", "levels")
TOLD = ("nothing", "way", "own speed")


@dataclass(frozen=True)
class Tally:
    """Of one scene, one way of searching, one amount told."""

    recordings: int
    errors_s: Sequence[float]
    stated_s: Sequence[float]

    @property
    def not_found(self) -> int:
        return self.recordings - len(self.errors_s)

    @property
    def far_off(self) -> float:
        return _share(error > FAR_OFF_S for error in self.errors_s)

    @property
    def held(self) -> float:
        return _share(error <= 2 * u for error, u in zip(self.errors_s, self.stated_s, strict=True))

    @property
    def with_uncertainty(self) -> float:
        return _share(u > FAR_OFF_S for u in self.stated_s)


def _share(them: Iterator[bool]) -> float:
    counted = list(them)
    return sum(counted) / len(counted) if counted else 0.0


def levels_of(sound: np.ndarray) -> np.ndarray:
    """As a phone makes them: a high pass, a low pass, the mean square of every half millisecond."""
    heard = sosfilt(butter(2, 600.0, "highpass", fs=RATE, output="sos"), sound)
    heard = sosfilt(butter(2, 8000.0, "lowpass", fs=RATE, output="sos"), heard)
    per = round(STEP_S * RATE)
    levels: np.ndarray = (heard[: heard.size // per * per].reshape(-1, per) ** 2).mean(axis=1)
    return levels


def flight_of(made: Recording, told: str, seed: int) -> KnownFlight | None:
    if told == "nothing":
        return None
    off = 1 + OWN_SPREAD * np.random.default_rng(seed + 7).standard_normal()
    own = Uncertain(made.speed_m_s * off, OWN_SPREAD * made.speed_m_s) if told == "own speed" else None
    return KnownFlight(made.distance_m, made.distance_m / speed_of_sound_m_s(KELVIN), own)


def measure(
    recordings: int, *, first_seed: int = 0, scenes: Sequence[str] = SCENES, ways: Sequence[str] = WAYS
) -> dict[tuple[str, str, str], Tally]:
    found: dict[tuple[str, str, str], tuple[list[float], list[float]]] = {(s, w, t): ([], []) for s in scenes for w in ways for t in TOLD}
    for scene in scenes:
        for seed in range(first_seed, first_seed + recordings):
            made = made_recording(scene, seed)
            levels = levels_of(made.sound)
            search: dict[str, Callable[..., object]] = {
                "sound": lambda flight, sound=made.sound: find_loose_and_hit(sound, RATE, flight=flight),
                "levels": lambda flight, levels=levels: find_loose_and_hit_in_levels(levels, STEP_S, flight=flight),
            }
            for way in ways:
                for told in TOLD:
                    answer = search[way](flight_of(made, told, seed))
                    if isinstance(answer, LooseAndHit):
                        errors, stated = found[scene, way, told]
                        errors.append(abs(answer.between_s.value - made.between_s))
                        stated.append(answer.between_s.standard_uncertainty or 0.0)
    return {key: Tally(recordings, *lists) for key, lists in found.items()}


def main() -> None:
    recordings = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    print(f"{'scene':14} {'searched':8} {'told':10} not found  > 5 ms off  2u holds  says > 5 ms  median error")
    for (scene, way, told), tally in measure(recordings).items():
        median = 1000 * statistics.median(tally.errors_s) if tally.errors_s else 0.0
        print(
            f"{scene:14} {way:8} {told:10} {tally.not_found:9} {tally.far_off:11.0%} {tally.held:9.0%} {tally.with_uncertainty:12.0%} "
            f"{median:10.2f} ms"
        )


if __name__ == "__main__":
    main()
