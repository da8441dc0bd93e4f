"""What is said of blunt impact behind armour: the finding, one shot worked out, what is missing, what to check, the backing."""

import math
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from proofyard.quantities import from_si, in_readers, plainly, unit_for_reader, with_unit, written
from proofyard.records.stand import HELD
from proofyard.wording.formula_names import BACK_FACE_MADE_FOR

NO_BREAK = "\N{NO-BREAK SPACE}"
ILLUSTRATIVE = "illustrative, outside validated range"
ENDINGS: Mapping[str, str] = MappingProxyType(
    {
        "read": "its speed afterwards is the one you entered",
        "stood": "it stayed in, so arrow and panel moved on together",
        "dropped": "it stopped and fell, so the panel took all of its momentum, or a little less",
        "bounced_length": (
            "it bounced back, and the distance was read: from moving on together to the fastest bounce that fits the distance"
        ),
        "bounced": "it bounced back at a speed not recorded: from moving on together to a bounce without loss",
        "held": "it did not get through, and its speed afterwards is not recorded: from moving on together to a bounce without loss",
        "passed": "it passed through at a speed not recorded: the panel took anything from nothing to its share",
        "unknown": "how it left is not recorded: from nothing to a bounce without loss",
    }
)
# How a loose ended, where that left no impact to share out.
_NO_HIT = {
    None: "It is not read yet.",
    "missed": "It missed the panel.",
    "partial": "It clipped the panel’s edge, so how much of it pushed is not known.",
    "spoiled": "The shot was spoiled, so its momentum at the panel is not known.",
}


def span(low_si: float, high_si: float, *, unit: str, figures: int = 2) -> str:
    """ "0.2 to 3.1 J"; one figure where both ends read the same."""
    low, high = (written(one, unit, figures=figures) for one in (low_si, high_si))
    return low if low == high else f"{low.rpartition(NO_BREAK)[0] or low} to {high}"


def energy_range(low_j: float, high_j: float, *, open_above: bool, reader: str) -> str:
    """ "1.4 to 5.2 J", "1.4 J or more"."""
    unit = unit_for_reader("energy", reader)
    return f"{written(low_j, unit, figures=2)} or more" if open_above else span(low_j, high_j, unit=unit)


def _took(low_kg_m_s: float, high_kg_m_s: float, low_j: float, high_j: float, *, open_above: bool, reader: str) -> tuple[str, str]:
    momentum = span(low_kg_m_s, high_kg_m_s, unit=unit_for_reader("momentum", reader))
    return momentum, energy_range(low_j, high_j, open_above=open_above, reader=reader)


def _typical(*, label: str, low_kg_m_s: float, high_kg_m_s: float, low_j: float, high_j: float, open_above: bool, reader: str) -> str:
    took = " and ".join(_took(low_kg_m_s, high_kg_m_s, low_j, high_j, open_above=open_above, reader=reader))
    return f"In a typical shot, {label}, the panel took {took}"


def _all_shots(
    *, shots: int, low_kg_m_s: float, high_kg_m_s: float, low_j: float, high_j: float, open_above: bool, unread: int, reader: str
) -> str:
    momentum = span(low_kg_m_s, high_kg_m_s, unit=unit_for_reader("momentum", reader))
    energy = span(low_j, high_j, unit=unit_for_reader("energy", reader))
    more = " or more" if open_above else ""
    wide = f" For {unread} of them the speed of the arrow afterwards is not recorded, which makes the range wider." if unread else ""
    return (
        f"In all {shots} shots that did not get through, the panel took {momentum} and {energy}{more}. "
        f"The typical shot is the middle one by momentum.{wide}"
    )


def _one_shot(
    *,
    label: str,
    momentum_kg_m_s: float,
    momentum_u_kg_m_s: float | None,
    energy_j: float,
    energy_u_j: float | None,
    low_kg_m_s: float,
    high_kg_m_s: float,
    low_j: float,
    high_j: float,
    open_above: bool,
    reader: str,
) -> str:
    pushed = written(momentum_kg_m_s, unit_for_reader("momentum", reader), uncertainty_si=momentum_u_kg_m_s)
    brought = written(energy_j, unit_for_reader("energy", reader), uncertainty_si=energy_u_j)
    momentum, energy = _took(low_kg_m_s, high_kg_m_s, low_j, high_j, open_above=open_above, reader=reader)
    return f"Of {label}’s momentum of {pushed}, the panel took {momentum}; of its energy of {brought}, the panel took {energy}"


def _bounce(*, length_m: float, fall_m: float, fall_typed: bool, fastest_m_s: float | None, reader: str) -> str:
    """How far it lay, and how fast that lets it have come back."""
    far, high = (written(one, unit_for_reader("distance", reader)) for one in (length_m, fall_m))
    if fastest_m_s is None:
        ask = "" if fall_typed else " Enter the height of the spot above the ground to limit it."
        return f"It lay {far} away: from {high} up, that fits any speed.{ask}"
    spot = f"{high} up, as you entered" if fall_typed else f"at least {high} up, since no height is entered"
    return (
        f"It lay {far} away: from {spot}, it bounced back at {written(fastest_m_s, unit_for_reader('speed', reader), figures=2)} at most."
    )


def _bounds(low: float | None, high: float | None) -> str:
    """ "−4.1 to −0.7", "−4.1 or more"."""
    least, most = (None if end is None else plainly(end, figures=2) for end in (low, high))
    if least is None:
        return f"at most {most}" if most is not None else "not bounded"
    if most is None:
        return f"{least} or more"
    return least if least == most else f"{least} to {most}"


def _criterion(
    *,
    low: float | None,
    high: float | None,
    body: str,
    body_kg: float,
    wall_m: float,
    narrow_m: float,
    wide_m: float,
    width_typed: bool,
    reader: str,
) -> str:
    """The range, whose chest, over what width; and always that it is outside its data."""
    length = unit_for_reader("length", reader)
    whose = f"{body[:1].lower()}{body[1:]} of {written(body_kg, unit_for_reader('heavy_mass', reader))}"
    source = "as you entered it" if width_typed else "from the width of a baton to the whole panel, since no width is entered"
    return (
        f"Blunt criterion: {_bounds(low, high)} ({ILLUSTRATIVE}). For {whose}, whose chest wall is assumed to be "
        f"{written(wall_m, length, figures=2)} thick, and an impact {span(narrow_m, wide_m, unit=length)} wide, "
        f"{source}. Its formula is known second-hand, and no published limit to compare it with was found. "
        f"It only ranks impacts on one body: a greater number is a worse impact ({ILLUSTRATIVE}). "
        f"A lower figure does not mean that nobody would be hurt, and a higher one does not prove an injury."
    )


def _no_back_face(*, backing: bool) -> str:
    rest = "" if backing else ", and no backing that keeps a print is recorded either"
    return f"The back-face depth is not recorded{rest}."


def _back_face(*, depth_m: float, backing: bool, material: str, printed_m: float, reader: str) -> str:
    """How deep the back was pushed in, and the standards' figure with what it was made for."""
    behind = f", into {material}" if material else "" if backing else ", though no backing that keeps a print is recorded"
    return (
        f"The back-face depth is {written(depth_m, unit_for_reader('length', reader))}{behind}. The "
        f"{_printed(printed_m, reader)} that standards print is borrowed: "
        f"it was made for {BACK_FACE_MADE_FOR}; it says nothing about an arrow."
    )


def _printed(metres: float, reader: str) -> str:
    """As it is printed; behind it in inches for who reads those."""
    inches = "" if reader == "metric" else f" ({in_readers(metres, 'length', reader, figures=2)})"
    return with_unit(f"{1000 * metres:g}", "mm") + inches


def _slanted(*, angle_rad: float, reader: str) -> str:
    return (
        f"It hit at {written(angle_rad, unit_for_reader('angle', reader))} from square: the masses are those of a "
        f"square hit, and the push need not have been along the flight."
    )


def _bounce_limits(*, longer: float, down_rad: float) -> str:
    return (
        f"The distance of a bounce limits the speed of the bounce only if nothing but the ground stopped it: no net, bench "
        f"or other arrow. The distance is taken {100 * (longer - 1):.0f}\N{NO-BREAK SPACE}% longer than recorded, and the arrow is taken "
        f"to leave up to {math.degrees(down_rad):.0f}° below level, more where it hit at an angle."
    )


def _mass(*, mass_kg: float | None, nothing: bool, reader: str) -> str:
    if nothing and mass_kg == 0:
        return "nothing"
    return written(mass_kg, unit_for_reader("heavy_mass", reader)) if mass_kg else "mass not recorded"


# Backing.


def _layer(*, material: str | None, thickness_m: float | None, reader: str) -> str:
    thick = f", {written(thickness_m, unit_for_reader('length', reader))}" if thickness_m else ""
    return (material or "material not recorded") + thick


def _backing(*, layers: Sequence[str], gap_m: float | None, reader: str) -> str:
    gap = f" The panel hangs {written(gap_m, unit_for_reader('length', reader))} in front of it." if gap_m else ""
    return f"Behind the panel: {', then '.join(layers)}.{gap}"


def _drop(
    *,
    mass_kg: float | None,
    across_m: float | None,
    height_m: float | None,
    energy_j: float | None,
    drops: int | None,
    found_m: float | None,
    temperature_k: float | None,
    how: str | None,
    reader: str,
) -> str:
    """What fell, how deep, and the energy that the drop brought."""
    said = (
        mass_kg is not None and written(mass_kg, unit_for_reader("heavy_mass", reader)),
        across_m is not None and f"{in_readers(across_m, 'length', reader)} across",
        height_m is not None and f"from {in_readers(height_m, 'distance', reader)}",
        energy_j is not None and f"so {written(energy_j, unit_for_reader('energy', reader), figures=3)}",
    )
    fell = ", ".join(words for words in said if words) or how or "what fell is not recorded"
    mean = f", mean of {drops}" if drops and drops > 1 else ", once" if drops == 1 else ""
    depth = f"{in_readers(found_m, 'length', reader)} deep{mean}" if found_m is not None else "depth not recorded"
    warm = (
        f"; the backing at {in_readers(temperature_k, 'temperature', reader)}"
        if temperature_k is not None
        else "; its temperature not recorded"
    )
    return f"{fell}: {depth}{warm}."


def _not_like(*, mass_kg: float | None, across_m: float | None, height_m: float | None, drops: int | None, reader: str) -> str:
    """None: as in the standard."""
    otherwise = (
        mass_kg is not None and in_readers(mass_kg, "heavy_mass", reader),
        across_m is not None and f"{in_readers(across_m, 'length', reader)} across",
        height_m is not None and f"from {in_readers(height_m, 'distance', reader, figures=2)}",
        drops is not None and f"mean of {drops}",
    )
    words = ", ".join(one for one in otherwise if one)
    return f"Not done like the standard’s check ({words}), so the standard’s limits do not apply."


def _beside(*, within: bool, low_m: float, high_m: float, reader: str) -> str:
    limits = span(low_m, high_m, unit=unit_for_reader("length", reader), figures=3)
    return (
        f"That is {'within' if within else 'outside'} {limits}, the range that a "
        f"standard sets for its clay (borrowed: made for clay behind soft vests and bullets, not for arrows)."
    )


# Tables.


def _cell(*, low_si: float, high_si: float, shown_as: str, open_above: bool, reader: str) -> str:
    low, high = (plainly(from_si(one, unit_for_reader(shown_as, reader)), figures=2) for one in (low_si, high_si))
    if open_above:
        return f"{low} or more"
    return low if low == high else f"{low} to {high}"


def _mark(*, label: str, panel: str, energy_j: float, low_j: float, high_j: float, open_above: bool, reader: str) -> str:
    hit = written(energy_j, unit_for_reader("energy", reader), figures=2)
    return f"{label}: hit with {hit}, {energy_range(low_j, high_j, open_above=open_above, reader=reader)} passed to {panel}"


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "blunt_no_hits": "No shot here hit the panel without getting through",
        "blunt_none_known": "No blunt impact could be worked out for these shots",
        "blunt_typical": _typical,
        "blunt_all_shots": _all_shots,
        "blunt_one_shot": _one_shot,
        "blunt_one_unknown": "The blunt impact of {label} could not be worked out",
        "blunt_ending": lambda *, ending, bounce: " ".join(filter(None, (f"The arrow: {ENDINGS[ending]}.", bounce))),
        "blunt_bounce": _bounce,
        # one shot, line by line
        "blunt_step_m_v": "at the target, m v",
        "blunt_step_bounce": "Speed of the bounce, at most",
        "blunt_step_where_it_lay": "from the distance where it lay",
        "blunt_step_momentum_taken": lambda *, least: f"Momentum that the panel took{', at least' if least else ''}",
        "blunt_step_energy_passed": lambda *, least: f"Energy passed to the panel{', at least' if least else ''}",
        "blunt_step_at_most": lambda *, open_above: f"and at most{', or more' if open_above else ''}",
        "blunt_all_of_it": "all of it",
        "blunt_all_moves": "panel and everything that hangs with it moving",
        "blunt_panel_alone": lambda *, turning: f"the panel alone{', turning because it is hit off its middle' if turning else ''}",
        # why nothing is told
        "blunt_no_hit": lambda *, hit: _NO_HIT[hit],
        "blunt_missing": lambda *, missing: f"{'. '.join(missing)}.",
        "blunt_no_energy": lambda *, why: (why or "Its energy at the target is not known").rstrip("."),
        "blunt_no_speed": "It had no speed left at the target",
        "blunt_no_panel_mass": "Panel {panel} has no recorded mass",
        "blunt_no_stand": "The stand of the panel is not recorded",
        "blunt_no_hold": "How {stand} holds a panel is not recorded",
        "blunt_not_free": lambda *, stand, held: (
            f"{stand} holds it {HELD[held].lower()}, not free: part of the momentum passes into the stand, and how much is not measured"
        ),
        "blunt_on_backing": (
            "In {stand} it hangs against its backing, not free: part of the momentum passes into that at once, and how much is not measured"
        ),
        "blunt_no_hung_mass": "The mass that hangs with the panel in {stand} is not recorded: enter 0 kg if nothing does",
        "blunt_too_fast": "That speed afterwards does not fit these masses: there would be more energy after than before.",
        "blunt_got_through": "Its point got through the armour, so this is not blunt impact and the criterion does not apply.",
        "blunt_no_width": "The width of the impact is not recorded: measure the dent in the panel’s back and enter its width.",
        "blunt_too_much": "The energy is beyond any that the criterion was made from.",
        # one shot
        "blunt_criterion": _criterion,
        "blunt_no_back_face": _no_back_face,
        "blunt_back_face": _back_face,
        "blunt_rests_panel": "{panel}, {mass}",
        "blunt_mass": _mass,
        "blunt_held": lambda *, held, stand: f"{HELD[held].lower()}, {stand}" if held else "not recorded",
        # what to check
        "blunt_was_through": "Its point got through the armour, so what it did there is not blunt impact.",
        "blunt_maybe_through": "It may have got through: check it from behind on the bench.",
        "blunt_not_rigid": (
            "This armour is not rigid: less of it moves at once, so more energy can stay in that part than the panel’s "
            "mass suggests. No upper limit is given."
        ),
        "blunt_slanted": _slanted,
        "blunt_no_gap": "The gap between panel and backing is not recorded: the panel is taken as free until the arrow had stopped.",
        "blunt_glanced": "It glanced off: only the part square to the panel pushed it, and how much that was is not measured.",
        "blunt_broke_up": "It broke up: the speeds of its pieces are not recorded.",
        "blunt_bounce_limits": _bounce_limits,
        "blunt_dent": (
            "A dent takes energy that does not reach the wearer’s side; a panel that bends onto a body pushes harder in "
            "one place than one that hangs free."
        ),
        # backing
        "blunt_layer": _layer,
        "blunt_backing": _backing,
        "blunt_no_backing": "No backing is recorded behind the panel.",
        "blunt_no_check": "No drop check of it is recorded, so what a print in it means is not known.",
        "blunt_drop": _drop,
        "blunt_not_like": _not_like,
        "blunt_no_depth": "No depth is recorded, so the standard’s limits do not apply.",
        "blunt_beside": _beside,
        # tables and the drawing
        "blunt_drawing": "Energy passed to the panel, by energy at the target",
        "blunt_drawn": lambda *, shots: (
            f"{shots} shot{'s' if shots > 1 else ''} that did not get through: the energy of each at the panel, and the least and most of "
            "it that passed to the panel. The rest went into dent, heat and shaft. Illustrative: this does not show what anyone could bear."
        ),
        "blunt_mark": _mark,
        "blunt_cell": _cell,
        "blunt_not_known": "not known",
        "blunt_bounds": lambda *, low, high: _bounds(low, high),
        "blunt_span": lambda *, low_si, high_si, shown_as, figures, reader: span(
            low_si, high_si, unit=unit_for_reader(shown_as, reader), figures=figures
        ),
    }
)
