"""What the reasons of `shots` say."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from proofyard.quantities import hand_length, in_readers, unit_for_reader, written
from proofyard.records.shot import ALL_ENTRIES
from proofyard.records.trial import outcome_name
from proofyard.wording.counts import counted
from proofyard.wording.formula_names import SECTION_WIDTHS


def _way_not_written_down(*, distance: bool, shaft_of: str | None) -> str:
    wanted = ["how far off the panel stood"] if distance else []
    wanted += [f"how thick the shaft of arrow {shaft_of} is"] if shaft_of else []
    return f"Nobody wrote down {' or '.join(wanted)}."


def _flight_not_covered(*, of: str, expected: str) -> str:
    names = {"speed_m_s": "speed", "distance_m": "distance", "diameter_m": "shaft", "mass_kg": "mass"}
    return f"The formulas of flight don’t cover this {names.get(of, 'shot')}: they want {expected}."


def _weather_outside(*, of: str) -> str:
    names = {"temperature_k": "temperature", "pressure_pa": "pressure", "relative_humidity": "humidity"}
    return f"The day’s {names[of]} is outside of what the formula for air covers."


def _found_not_sound(*, loosed_since: bool, shot: str | None) -> str:
    since = ", and loosed since" if loosed_since else ""
    return f"found not sound{since}{f': {shot}' if shot else ''}"


def _past_the_face_without_a_point(*, low: int, high: int, depth_m: float, reader: str) -> str:
    return (
        f"“{outcome_name(low, high)}” says that no point came through, but the tip is {hand_length(depth_m, reader)} past the rear face. "
        "Look again: one of them is wrong."
    )


def _past_the_widest(*, widest_m: float, depth_m: float, reader: str) -> str:
    return (
        f"Tip to widest is {hand_length(widest_m, reader)}, and the tip is {hand_length(depth_m, reader)} past the rear face: "
        "then the head’s widest part passed too. "
        "Look again: head through, or less deep?"
    )


def _short_of_the_widest(*, widest_m: float, depth_m: float, reader: str) -> str:
    return (
        f"Tip to widest is {hand_length(widest_m, reader)}, and the tip is only {hand_length(depth_m, reader)} past the rear face: "
        "then the widest part did not pass. "
        "Look again: point through, or deeper?"
    )


def _at_least_short_of_the_widest(*, widest_m: float, depth_m: float, reader: str) -> str:
    return (
        f"Tip to widest is {hand_length(widest_m, reader)}. The depth is only known to be {hand_length(depth_m, reader)} or more, so it "
        "can’t be told whether the outcome level fits."
    )


def _plates_of_steel(*, sheet: str, density_kg_m3: float, what: str = "", reader: str) -> str:
    return f"{sheet}, assumed to be steel, {in_readers(density_kg_m3, 'density', reader)}" + (f", {what}" if what else "")


def _rings_in_a_square(*, rings: int, ring: str, without_cloth: bool) -> str:
    return f"{rings} rings in 100 by 100\N{NO-BREAK SPACE}mm, {ring}{', without its cloth' if without_cloth else ''}"


def _ring_by_its_wire(*, mass_kg: float, reader: str) -> str:
    return f"one ring weighs about {in_readers(mass_kg, 'mass', reader, figures=2)}, if it is butted and of round wire"


def _cloth_of_layers(*, layers: int, layer_kg_m2: float, reader: str) -> str:
    return f"{layers} layers of {in_readers(layer_kg_m2, 'cloth_mass', reader, figures=3)} each, on average"


def _layers_by_measures(*, at: int, fewest: int, most: int, not_as_read: bool) -> str:
    near = "" if fewest == most else f", or {fewest} to {most} within the position accuracy"
    more = ": not what was read, so look at the place or the measures" if not_as_read else ""
    return f"{at} by plates, overlap and rows{near}{more}"


def _weighed_beside_measures(*, ratio: float, apart: float) -> str:
    more = f"{abs(ratio - 1) * 100:.0f}\N{NO-BREAK SPACE}% {'more' if ratio >= 1 else 'less'} than its measures account for"
    if abs(apart) <= 2:
        return f"{more}: no more than both may be off by"
    return (
        f"{more}, {abs(apart):.0f} times what both may be off by: a measure, a layer or {'a rivet' if ratio >= 1 else 'a hole'} is missing"
    )


def _along_the_shot(*, along_m: float, layers: int, sheet_m: float, angle_rad: float, reader: str) -> str:
    unit = unit_for_reader("thickness", reader)
    square = f"{layers} × " if layers > 1 else ""
    return (
        f"{written(along_m, unit, figures=3)} along the shot: {square}{written(sheet_m, unit)} nominal, at "
        f"{written(angle_rad, 'deg')} from square"
    )


def _arrow_hits(*, made: int, sharpened: int | None, mounted: int | None, unread: int) -> str:
    """ "14 hits since it was made, 6 since it was sharpened, 3 since its head was mounted; 2 not read yet." """
    words = f"{counted(made, 'hit')} since it was made" if made else "No hit since it was made"
    words += f", {sharpened or 'never'} since it was sharpened" if made and sharpened is not None else ""
    words += f", {mounted or 'never'} since its head was mounted" if made and mounted is not None else ""
    return words + (f"; {unread} not read yet." if unread else ".")


def _read_again(*, depth_m: float | None, at_least: bool, entry: str | None, reader: str) -> str:
    said = []
    if depth_m is not None:
        said.append(f"{written(depth_m, unit_for_reader('length', reader))}{' or more' if at_least else ''} past the rear face")
    if entry in ALL_ENTRIES:
        said.append(f"where it went in: {ALL_ENTRIES[entry].lower()}")
    return ", ".join(said)


def _read_again_differs(*, outcome: bool, entry: bool, apart_m: float | None, reader: str) -> str:
    said = ["outcome"] if outcome else []
    said += ["where it went in"] if entry else []
    said += [] if apart_m is None else [f"depth, by {written(apart_m, unit_for_reader('length', reader), figures=2)}"]
    return ", ".join(said)


STILL_TO_CHECK = "check it from behind on the bench"
SOUND_WORDS: Mapping[str, str] = MappingProxyType(
    {"new": "Not shot yet", "sound": "Sound", "to_check": "To check", "not_sound": "Not sound"}
)
SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        # the energy of a shot
        "short_draw_without_a_speed": "It was a short draw, and no speed was read on it.",
        "no_speed_read": "No speed was read.",
        "never_weighed": "Arrow {arrow}, build {arrow_build}, was never weighed.",
        "neither_weighed_nor_speed_read": (
            "Arrow {arrow}, build {arrow_build}, was never weighed, and no speed was read for it with {bow}, build {bow_build}, and this "
            "archer."
        ),
        "no_speed_of_the_combination": (
            "No speed was read for arrow {arrow}, build {arrow_build} with {bow}, build {bow_build}, and this archer."
        ),
        "speed_is_zero": "its speed is 0",
        # at the target
        "way_not_written_down": _way_not_written_down,
        "speed_read_beyond_the_panel": "The speed was read beyond the panel’s distance: one of the two was mistyped.",
        "flight_not_covered": _flight_not_covered,
        "weather_outside_the_formula": _weather_outside,
        "no_way_to_fall_over": "there is no way to fall over",
        # an arrow’s soundness
        "sound_never_shot": "nor checked",
        "sound_looked_at": "flexed, looked at, sound",
        "sound_found_not_sound": _found_not_sound,
        "sound_read_as_broken": lambda *, shot: (
            f"cracked, broken or loose {f'as {shot}' if shot else 'when it'} was read, not looked at since"
        ),
        "sound_loosed_since": lambda *, shot: f"loosed{f' as {shot}' if shot else ''}, not looked at since",
        "arrow_hits": _arrow_hits,
        "common_practice": "common practice, no source",
        # a reading
        "thickness_along_the_shot": _along_the_shot,
        "read_again": _read_again,
        "read_again_differs": _read_again_differs,
        # hardness
        "hardness_not_told": "can’t be told: {why}",
        "hardness_of_the_surface": "{range}, steel only, surface only",
        "hardness_converted": lambda *, ranges: f"{', '.join(ranges)}, by the table, which calls itself approximate",
        "strength_by_hardness": "{range}, to within a tenth, if it is as hard within",
        "hardness_anvil_felt": lambda *, here_m: f"too thin for the method: at {written(here_m, 'mm')} the anvil is felt",
        "hardness_too_thin": lambda *, least_m, here_m: (
            f"too thin for the method: it wants {written(least_m, 'mm', figures=2)}, and here are {written(here_m, 'mm')}"
        ),
        # the bow’s curve
        "no_force_read": "no force was read yet",
        "string_rest_unknown": "it isn’t known where the string rests: add a point with force 0, or this build’s brace height",
        "first_point_within_the_brace": ("the first point lies nearer than the brace height, and has a force: one of the two is wrong"),
        "too_few_points_with_a_force": "{fewest} points with a force are the fewest, 6 to 12 are good",
        "points_end_before_that_draw": "the points end before that draw: read the force on to there",
        "draw_before_the_rest": "that draw lies before the string’s rest",
        "too_few_points_below_that_draw": "too few points lie below that draw",
        "every_force_is_zero": "every force is 0",
        "one_weight_without_a_draw": "one of the two says no draw",
        "weights_at_different_draws": "they were read at different draws",
        "weight_of_zero": "a weight of 0 was written down",
        "drift_too_large_for_a_model": "so large a drift asks for speeds again, not for a model",
        "bow_scale_accuracy_not_recorded": "its uncertainty can’t be told: the bow scale’s accuracy is not recorded",
        # outcome level and depth
        "depth_fits_no_point_through": "Nothing came past the rear face, so the outcome level fits.",
        "depth_past_the_face_without_a_point": _past_the_face_without_a_point,
        "depth_of_a_point_through_is_0": (
            "“Point through” says that the tip passed the rear face, but the depth is 0. Look again: one of them is wrong."
        ),
        "depth_without_tip_to_widest": (
            "The head’s tip to widest is not measured, so outcome level and depth can’t be checked against each other."
        ),
        "depth_past_the_widest": _past_the_widest,
        "depth_short_of_the_widest": _short_of_the_widest,
        "depth_at_least_short_of_the_widest": _at_least_short_of_the_widest,
        "depth_fits_the_widest": lambda *, widest_m, reader: (
            f"Tip to widest is {hand_length(widest_m, reader)}, so the outcome level fits."
        ),
        # a head’s measures
        "tip_flat_not_measured": "the flat on its tip was not measured",
        "tip_flat_measured": "measured across the flat",
        "tip_outline_not_known": "the outline of its tip is not known: its section was not given",
        "tip_of_two_measures": "a {section} section’s tip has two measures, and one was taken",
        "tip_area_of_the_flat": "the flat, {section} as its section",
        "tip_too_sharp_for_an_area": lambda *, depth_m: f"its tip is sharper than {written(depth_m, 'mm')} in: it has no area to speak of",
        "tip_area_of_the_round": lambda *, depth_m: f"of the rounded tip, {written(depth_m, 'mm')} in",
        "tip_without_flat_or_radius": "its tip has no flat, and its radius was not measured",
        "tip_not_measured": "its tip was not measured",
        "section_not_given": "its section was not given",
        "section_not_covered": "its section is none that a formula covers",
        "head_width_not_measured": "its width was not measured",
        "head_thickness_not_measured": "its thickness was not measured",
        "measures_do_not_fit_the_section": lambda *, of, expected: (
            f"its measures don’t fit its section: {of.removesuffix('_m')} is wanted {expected} m"
        ),
        "front_of_the_section": lambda *, section: f"{section}, width taken {SECTION_WIDTHS[section]}",
        "edge_measured": "measured along all edges together",
        "no_cutting_edge": "it has no cutting edge",
        "edge_of_two_straight_lines": "not measured: two straight edges from tip to widest",
        "edge_not_measured": "its cutting edge was not measured",
        "wedge_not_measured": "its width or the way from tip to widest was not measured",
        "tip_broader_than_the_head": "its tip is given as broader than the head",
        "wedge_is_the_mean": "mean, from tip to widest",
        "arrow_never_weighed": "the arrow was never weighed",
        "mass_over_the_front": "mass of the arrow over the frontal area",
        # what would lessen a shot’s uncertainty most
        "help_own_drag": "more readings of this arrow’s speed at both distances",
        "help_drag": "this arrow’s speed, read at two distances far apart",
        "help_one_chronograph": "one chronograph that reads it surely",
        "help_scale": "a surer scale, or one checked against a known weight",
        "help_weighings": "weighing the arrow more often",
        "help_chronograph": "a surer chronograph, or one checked against something known",
        "help_speeds": "more speed readings of this bow, arrow and archer",
        "help_speed_of_the_shot": "a speed read on the shot itself",
        "help_chronograph_for_count": "a chronograph, where frames or sound were used",
        "help_calliper": "a calliper on the shaft",
        "help_weather": "the day’s temperature and pressure, written down",
        "help_tape": "a tape, to the target and to the chronograph",
        # what a panel weighs for its size, and how many plates lie at a spot
        "sheet_measured": "mean of {readings} readings",
        "sheet_nominal": "nominal, not measured",
        "sheet_not_measured": "its thickness was not measured",
        "plate_of_steel": lambda *, sheet, density_kg_m3, reader: _plates_of_steel(sheet=sheet, density_kg_m3=density_kg_m3, reader=reader),
        "plates_of_steel": lambda *, sheet, density_kg_m3, what, reader: _plates_of_steel(
            sheet=sheet, density_kg_m3=density_kg_m3, what=what, reader=reader
        ),
        "with_its_lacing": "with its lacing",
        "without_lacing": "without lacing",
        "without_rivets": "without rivets",
        "without_cloth_and_rivets": "without cloth and rivets",
        "parts_together": lambda *, parts: f"{' and '.join(parts)} together",
        "rings_not_counted": "how many rings hang on a square decimetre was not counted; {ring}",
        "rings_in_a_square": _rings_in_a_square,
        "ring_weighed": lambda *, mass_kg, reader: f"one ring weighs {in_readers(mass_kg, 'mass', reader, figures=2)}, weighed",
        "ring_by_its_wire": _ring_by_its_wire,
        "ring_mass_not_known": "what one ring weighs is not known: weigh a hundred, or measure ring and wire",
        "rings_without_a_hole": "its rings would have no hole",
        "cloth_layer_not_weighed": "what each layer of cloth weighs was not written down",
        "cloth_layers_not_counted": "how many layers of cloth it has was not written down",
        "cloth_of_layers": _cloth_of_layers,
        "plate_sizes_not_recorded": "the size of its plates and their overlap are not all written down",
        "rows_not_recorded": "its rows and its height are not both written down",
        "plates_do_not_fit": "its plates, overlap, rows and height don’t fit each other",
        "layers_by_measures": _layers_by_measures,
        "mean_layers_of_plates": lambda *, layers: (
            f"{layers:.1f} on average, by plates, overlap and rows; at one spot it is a whole number"
        ),
        "panel_not_weighed": "it was not weighed",
        "panel_size_not_recorded": "its width and height are not both written down",
        "outline_area_not_known": "the area of its outline is not known",
        "mass_over_outline": "mass over {outline}",
        "weighed_beside_measures": _weighed_beside_measures,
    }
)
