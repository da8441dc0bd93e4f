"""What speed is to be expected before one is worked out: the combination's own, and what arrows do at all.

The sound search leans on it, and a speed far from it is asked about before it is saved: a mark on a knock or an echo gives
a speed that looks exact.
"""

from collections.abc import Mapping
from typing import Any

from proofyard import quantities
from proofyard.physics.air import speed_of_sound_m_s
from proofyard.physics.sound_pairs import KnownFlight
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import OutOfRange, Reason, because
from proofyard.records.listing import one
from proofyard.records.shot import Shot
from proofyard.records.speed import SpeedSeries
from proofyard.records.speed_facts import combinations, instruments, masses, speeds_of_series, speeds_of_shots
from proofyard.shots.impact import Impacts
from proofyard.storage import Session

# Common practice, no source: arrows of hand-drawn bows; beyond, a question is worth its tick.
ASKED_BELOW_M_S, ASKED_ABOVE_M_S = 30.0, 90.0
# A combination's shots differ by 2 to 3 %, and the air takes about as much over a range (common practice, no source).
NEAR_ENOUGH, UNKNOWN_SPREAD = 0.06, 0.03


def own_speed(session: Session, key: str, *, but_reading: str = "") -> Uncertain | None:
    """Mean speed of the combination that a series or a shot belongs to, with the uncertainty of one shot; None without readings.

    `key` as a Destination's ("series:ID", "shot:ID"); `but_reading`: the one that is worked out again. Up to eight statements.
    """
    noun, _, record_id = key.partition(":")
    known = combinations(session)
    combination_id = None
    if noun == "series":
        series = one(session, SpeedSeries, record_id)
        combination_id = series.combination_id if series else None
    elif noun == "shot" and (shot := one(session, Shot, record_id)) is not None:
        three = (shot.bow_build_id, shot.arrow_build_id, shot.archer_id)
        combination_id = next((k for k, f in known.items() if (f.bow_build_id, f.arrow_build_id, f.archer_id) == three), None)
    if combination_id not in known:
        return None
    impacts = Impacts(
        series=[f for f in speeds_of_series(session) if f.reading_id != but_reading],
        own=[f for f in speeds_of_shots(session) if f.reading_id != but_reading],
        mass_facts=masses(session),
        tools=instruments(session),
        known=known,
    )
    found = impacts.of_combination(combination_id)
    mean = found.one_shot or found.speed
    if mean is None:
        return None
    u = mean.standard_uncertainty
    return Uncertain(mean.value, UNKNOWN_SPREAD * mean.value if u is None else u, mean.dof, found.readings.n if found.readings else None)


def known_flight(typed: Mapping[str, Any], own: Uncertain | None) -> KnownFlight | None:
    """What the boxes of the sound page say of the flight, as far as they are filled; None without a distance."""

    def si(name: str, kind: str) -> float | None:
        read = quantities.read(str(typed.get(name) or ""), kind)
        return read.value_si if isinstance(read, quantities.Read) else None

    distance = si("distance", "distance")
    if not distance:
        return None
    to_bow, to_target = si("to_bow", "distance_from_bow") or 0.0, si("to_target", "distance_from_bow")
    try:
        c = speed_of_sound_m_s(si("temperature", "temperature") or 288.15)  # 15 °C: ten degrees are a hundredth of its share
        return KnownFlight(distance, ((distance if to_target is None else to_target) - to_bow) / c, own)
    except OutOfRange:
        return None


def question_about(speed_m_s: float, own: Uncertain | None) -> Reason | None:
    """What to ask before a speed is saved; None where it is an ordinary one."""
    if own is not None:
        far = max(3 * (own.standard_uncertainty or 0.0), NEAR_ENOUGH * own.value)
        if abs(speed_m_s - own.value) <= far:
            return None
        return because("speed_far_from_its_own", speed_m_s=speed_m_s, own_m_s=own.value, readings=own.n)
    if ASKED_BELOW_M_S <= speed_m_s <= ASKED_ABOVE_M_S:
        return None
    return because("speed_far_from_arrows", speed_m_s=speed_m_s, low_m_s=ASKED_BELOW_M_S, high_m_s=ASKED_ABOVE_M_S)
