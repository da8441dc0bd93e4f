"""Speeds written in last: two by phone beside the chronograph, and two more arrows of one bow, far lighter and heavier.

They are put after everything else, with no roll of the dice, so that no shot of the demo hangs on them.
"""

from collections.abc import Mapping, Sequence

from proofyard.records.typed_values import Problem
from proofyard.shots.speed_without_chronograph import Worked, by_frames, by_sound, inputs_text

from .people_and_kit import DemoArrow, DemoBow
from .writer import Writer

WHY = "read beside the chronograph, to see how far the two differ"


def by_phone(w: Writer, series: str) -> None:
    """Left out of the mean, as a comparison is: the chronograph's own readings stand."""
    frames = {"distance": "14 m", "distance_off": "5 cm", "rate": "240 fps", "rate_off": "0.5 %", "frames": "63", "each_end": "0.5"}
    worked = by_frames(distance_m=14.0, distance_off_m=0.05, frames=63, rate_hz=240.0, rate_off_share=0.005, each_end=0.5)
    si = {"distance_m": 14.0, "distance_off_m": 0.05, "rate_hz": 240.0, "rate_off": 0.005, "frames": 63}
    _keep(w, series, worked, method="frames", place="5", typed=frames, si=si)
    sound = {
        "loose": "0.812 s",
        "hit": "1.116 s",
        "distance": "14 m",
        "distance_off": "5 cm",
        "temperature": "12 °C",
        "temperature_off": "2 °C",
        "to_bow": "0",
    }
    worked = by_sound(
        distance_m=14.0,
        distance_off_m=0.05,
        loose_s=0.812,
        hit_s=1.116,
        times_off_s=None,
        temperature_k=285.15,
        temperature_off_k=2.0,
        to_bow_m=0.0,
        to_target_m=None,
    )
    si = {
        "loose_s": 0.812,
        "hit_s": 1.116,
        "distance_m": 14.0,
        "distance_off_m": 0.05,
        "temperature_k": 285.15,
        "temperature_off_k": 2.0,
        "to_bow_m": 0.0,
    }
    _keep(w, series, worked, method="sound", place="6", typed=sound, si=si)


def other_arrows(w: Writer, bow: DemoBow, arrows: Sequence[DemoArrow], *, archer: str, chronograph: str, day: str) -> None:
    """A series each of arrows that this bow is not shot with otherwise: what its virtual mass needs."""
    for arrow in arrows:
        combination = w.put("combination", {"bow_build": bow.build, "arrow_build": arrow.build, "archer": archer})
        series = w.put(
            "speed_series",
            {"combination": combination, "instrument": chronograph, "stood_at": "2 m", "air_temperature": "12 °C", "day": day},
        )
        for place, off in enumerate((-0.4, 0.3, 0.2, -0.1), 1):
            value = f"{bow.model.speed_m_s(arrow.mass_kg) + off:.1f} m/s"
            w.put("speed_reading", {"series": series, "value": value, "place": str(place), "method": "chronograph", "at": w.wait(30)})


def _keep(
    w: Writer, series: str, worked: Worked | Problem, *, method: str, place: str, typed: Mapping[str, str], si: Mapping[str, float | int]
) -> None:
    assert isinstance(worked, Worked)
    body = {
        "value": f"{worked.speed.value:.3f} m/s",
        "uncertainty": f"{worked.speed.standard_uncertainty:.6f} m/s",
        "inputs": inputs_text(typed, si),
    }
    w.put("speed_reading", {"series": series, "place": place, "method": method, "left_out_reason": WHY, "at": w.wait(60), **body})
