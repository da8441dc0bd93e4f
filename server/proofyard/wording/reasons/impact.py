"""What is said of a shot's energy: what it was read with, how it came about, and where its uncertainty is from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import Uncertain, from_si, in_readers, plainly, unit_for_reader, with_unit, written, written_with_uncertainty
from proofyard.wording.counts import counted

QUANTITIES: Mapping[str, str] = MappingProxyType(
    {
        "mass": "mass of the arrow",
        "speed": "speed",
        "distance": "distance",
        "drag_coefficient": "drag",
        "shaft_diameter": "shaft diameter",
        "air_density": "density of the air",
    }
)
SCOPES: Mapping[str, str] = MappingProxyType({"instrument": "all shots", "combination": "its combination", "shot": "this shot"})
BASES: Mapping[str, str] = MappingProxyType(
    {
        "own": "read on this shot",
        "combination": "mean of its combination’s readings",
        "pooled": "mean of like combinations’ readings",
        "not_measured": "not measured",
    }
)
PLACES: Mapping[str, str] = MappingProxyType({"target": "at the target", "chronograph": "at the chronograph", "half_way": "half way"})


def _instrument(*, tool: str, accuracy_ratio: float | None, stated: bool, step: bool, means_told: bool) -> str:
    said = [f"accuracy {accuracy_ratio * 100:g} %"] if accuracy_ratio is not None else []
    said += ["its stated accuracy"] if stated else []
    said += ["its smallest step"] if step else []
    said += [] if means_told else ["taken as a limit, since nothing says otherwise"]
    return f"{tool}: {', '.join(said)}"


def _speed_of_shot(*, basis: str, inputs: tuple[str, ...], readings: int | None, pooled_with: int | None, why_not_known: str | None) -> str:
    said = [BASES[basis], *inputs]
    said += [] if readings is None else [f"{counted(readings, 'reading')}; includes shot-to-shot scatter"]
    said += [] if pooled_with is None else [f"pooled with {counted(pooled_with, 'like combination')}, and so wider"]
    return ", ".join([*said, f"its uncertainty can’t be told: {why_not_known}"] if why_not_known else said)


def _typed_over(gave_m_s: float | None, reader: str) -> str:
    return "" if gave_m_s is None else f"; typed over since: those give {written(gave_m_s, unit_for_reader('speed', reader))}"


def _by_frames(*, frames: str, rate: str, distance: str, gave_m_s: float | None, reader: str) -> str:
    return f"frames counted: {frames} at {rate} over {distance}{_typed_over(gave_m_s, reader)}"


def _by_sound(*, distance: str, loose: str, hit: str, gave_m_s: float | None, reader: str) -> str:
    return f"by sound over {distance}, release {loose}, hit {hit}{_typed_over(gave_m_s, reader)}"


def _air(
    *,
    temperature_k: float | None,
    pressure_pa: float | None,
    humidity_ratio: float | None,
    assumed_k: tuple[float, ...] | None,
    assumed_pa: tuple[float, ...] | None,
    assumed_ratio: tuple[float, ...] | None,
    reader: str,
) -> str:
    """What was written down; what was assumed, each as value, least and most."""
    warm, pressed = (unit_for_reader(shown_as, reader) for shown_as in ("temperature", "pressure"))
    rows = ((temperature_k, assumed_k, warm, ""), (pressure_pa, assumed_pa, pressed, ""), (humidity_ratio, assumed_ratio, "%", "humidity "))
    known = ", ".join(f"{before}{written(value, unit)}" for value, _, unit, before in rows if value is not None)
    taken = ", ".join(f"{before}{_assumed(three, unit)}" for _, three, unit, before in rows if three is not None)
    words = f"{known} as written" if known else "nothing of the weather was written down"
    return f"{words}; assumed, since not written: {taken}" if taken else words


def _assumed(three: tuple[float, ...], unit: str) -> str:
    """ "15 °C (0 to 30)": what is reckoned with, and between which limits it may lie."""
    low, high = (plainly(from_si(end, unit)) for end in three[1:])
    return f"{written(three[0], unit)} ({low} to {high})"


def _drag_of_two_places(*, near: int, near_m: float, far: int, far_m: float, reader: str) -> str:
    ends = [in_readers(place, "distance", reader) for place in (near_m, far_m)]
    return f"this arrow’s own: mean of {near} readings at {ends[0]} and of {far} at {ends[1]} from the bow"


def _weighed(*, readings: int | None, uncertain: bool) -> str:
    words = counted(readings, "reading") if readings else "never weighed"
    return words if uncertain else f"{words}, its uncertainty can’t be told: the scale’s accuracy is not written down"


def _speed_line(*, half_way: bool) -> str:
    return f"Speed {'half way, its mean over the flight' if half_way else PLACES['chronograph']}"


def _speed_note(*, speed: str, from_m: float | None, reader: str) -> str:
    return speed if from_m is None else f"{speed}, {in_readers(from_m, 'distance', reader)} from the bow"


def _way(*, distance_m: float, from_m: float, place: str | None, reader: str) -> str:
    whole, less = (in_readers(metres, "distance", reader) for metres in (distance_m, from_m))
    words = f"{whole} from archer to panel, less {less} to where the speed was read"
    return f"{words} ({place})" if place else words


def _missing(*, parts: tuple[str, ...]) -> str:
    return f"The whole can’t be told: {'; '.join(parts)}."


def _in_air(*, flown_m: float, lost: Uncertain, reader: str) -> str:
    way = written(flown_m, unit_for_reader("distance", reader), figures=3)
    return f"{way} of air between them took {written_with_uncertainty(lost, unit_for_reader('speed', reader))} of its speed."


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        # what readings rest on
        "instrument_says": _instrument,
        "one_readings_own": "one reading’s own: {method}",
        "one_reading_no_scatter": "One reading tells nothing about scatter.",
        "spread_unsure": "Only {readings} readings: the spread itself is unsure by about {percent} %.",
        "instrument_accuracy_not_recorded": "how far the instrument may be off is not written down",
        "accuracy_not_written_down": "the {tool}’s accuracy is not written down",
        "one_reading_no_spread": "one reading has no spread",
        "speed_combined_not_known": (
            "The speed’s combined uncertainty can’t be told: how far the chronograph may be off is not written down."
        ),
        "speed_scatter_not_known": "The speed’s uncertainty can’t be told: one reading tells nothing about scatter.",
        "energy_not_known_of_the_scale": (
            "Energy and momentum have no uncertainty here: how far the scale may be off is not written down."
        ),
        # a speed
        "speed_of_shot": _speed_of_shot,
        "speed_by_frames": _by_frames,
        "speed_by_sound": _by_sound,
        "speed_place_assumed": lambda *, place_m, most_m, reader: (
            f"assumed {in_readers(place_m, 'distance', reader)}, 0 to {in_readers(most_m, 'distance', reader)}, since nobody wrote it down"
        ),
        # the air, and what it takes
        "air_of_the_day": _air,
        "drag_by_default": (
            "not measured for this arrow; assumed {coefficient:g} ({low:g} to {high:g}); an arrow with tall feathers or a broad head "
            "may lose more than this range allows for"
        ),
        "drag_of_two_places": _drag_of_two_places,
        # sources of uncertainty
        "single_shots_scatter": "single shots scatter",
        "weighings_scatter": "weighings scatter",
        "readings_of_the_shot_scatter": "readings of this shot scatter",
        "drag_is_its_own": "this arrow’s own",
        "drag_not_measured": "taken, not measured",
        "weather_as_written": "weather as written",
        "weather_not_all_written": "weather not all written down",
        "tape_or_paces": "tape or paces",
        "where_the_speed_was_read": "where the speed was read",
        "calliper": "calliper",
        "uncertainty_of": lambda *, quantity, what: f"{QUANTITIES[quantity].capitalize()}: {what}",
        "uncertainty_missing": "{quantity}: {why}",
        # line by line
        "step_weighed": "Arrow {arrow}, build {build}, weighed",
        "step_weighings": _weighed,
        "step_speed": _speed_line,
        "step_speed_note": _speed_note,
        "step_momentum": lambda *, place: f"Momentum {PLACES[place]}, m v",
        "step_energy": lambda *, place: f"Energy {PLACES[place]}, ½ m v²",
        "step_air": "Air that it flew through",
        "step_drag": "Drag coefficient, on the shaft’s cross-section",
        "step_drag_note": lambda *, drag, shaft_m: f"{drag}; shaft {with_unit(f'{1000 * shaft_m:.1f}', 'mm')}",
        "step_speed_lost": lambda *, flown_m, reader: f"Speed lost in {in_readers(flown_m, 'distance', reader)} of air",
        "step_way": _way,
        "step_speed_at_target": "Speed at the target",
        "step_momentum_at_target": "Momentum at the target",
        "step_energy_at_target": "Energy at the target",
        # the whole
        "energy_place": lambda *, place: PLACES[place],
        "energy_basis": lambda *, basis: BASES[basis],
        "energy_whole_not_known": _missing,
        "energy_in_air": _in_air,
        "energy_shared_by_all": " of it is the same for all shots: it moves them together and changes no comparison between them. ",
        "energy_shared_by_combination": " is the same for all shots of its combination, this bow, arrow and archer. ",
        "energy_of_the_shot_alone": " is this shot’s alone.",
        "energy_help": "What would help most: {advice}. With no uncertainty there, ",
        "energy_help_would_be": " would be ",
        "energy_fall_not_known": " from where its speed was read. How it fell can’t be told: {why}.",
        "energy_under_way": "Under way for ",
        "energy_dropped": " from where its speed was read. From bow to panel it dropped ",
        "energy_came_down": " below the line at which it left, and came down at ",
        "energy_one_height": ", if panel and bow stood at one height.",
    }
)
