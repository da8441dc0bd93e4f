"""What a what-if says: its finding, what it rests on, what its rules make of a change, what to check, the bow that it would take."""

import math
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

from proofyard.quantities import Uncertain, figure, from_si, plainly, unit_for_reader, with_unit, written_with_uncertainty
from proofyard.wording.counts import counted
from proofyard.wording.levels import ONE_SIDED, TWO_SIDED

HALF = "50\N{NO-BREAK SPACE}% energy"
# By verdict: of one bow in a table, and of several in a sentence.
_VERDICTS = {
    "through": ("more would get through than be stopped", "more shots would get through than be stopped"),
    "leans_through": ("not clear; leans to getting through", "it is not clear, and leans to getting through"),
    "open": (
        "not clear: within the 50\N{NO-BREAK SPACE}% energies of the rules",
        "it is not clear whether more shots would get through or be stopped",
    ),
    "leans_held": ("not clear; leans to being stopped", "it is not clear, and leans to being stopped"),
    "held": ("more would be stopped than get through", "more shots would be stopped than get through"),
}


def joules(energy_j: float, reader: str) -> str:
    """In whole joules: such an answer carries no more."""
    unit = unit_for_reader("energy", reader)
    return with_unit(_whole(energy_j, unit), unit)


def joules_range(low_j: float | None, high_j: float | None, *, reader: str) -> str:
    """ "74 to 82 J", one figure where both ends are the same; "not less than 63 J (one-sided, 97.5 %)" where the other side is open."""
    unit = unit_for_reader("energy", reader)
    if low_j is None or high_j is None:
        if low_j is None and high_j is None:
            return "any energy"
        return f"not {'less' if high_j is None else 'more'} than {joules(low_j or high_j or 0.0, reader)} ({ONE_SIDED})"
    low, high = _whole(low_j, unit), _whole(high_j, unit)
    return with_unit(low if low == high else f"{low} to {high}", unit)


def with_level(low_j: float | None, high_j: float | None, *, reader: str) -> str:
    """The same with the level of a range that is bounded on both sides."""
    both = "" if low_j is None or high_j is None else f" ({TWO_SIDED})"
    return f"{joules_range(low_j, high_j, reader=reader)}{both}"


def _whole(energy_j: float, unit: str) -> str:
    value = from_si(energy_j, unit)
    return f"{value:.0f}" if value >= 10 else plainly(value, figures=2)


def _span(low: str, high: str) -> str:
    return low if low == high else f"{low} to {high}"


def _level(low_j: float | None, high_j: float | None) -> str:
    """An open range says its level in itself, and here what is open."""
    if low_j is None or high_j is None:
        return f", open {'above' if high_j is None else 'below'}"
    return f" ({TWO_SIDED})"


# The finding, and what stands under it.


def _asked(
    *,
    thickness_m: float | None,
    hardness: str,
    steel: str,
    layers: int | None,
    cloths: int | None,
    wire_m: float | None,
    angle_rad: float | None,
    distance_m: float | None,
    reader: str,
) -> str:
    """What is changed, in a few words: "at 1 mm, 2 layers, from 30 m"."""
    parts = (
        thickness_m is not None and f"at {figure(thickness_m, 'thickness', reader)}",
        (hardness and f"of steel of {hardness}") or (steel and f"of {steel}"),
        layers is not None and f"in {counted(layers, 'layer')}",
        cloths is not None and f"of {counted(cloths, 'cloth')}",
        wire_m is not None and f"of {figure(wire_m, 'small_length', reader)} wire",
        angle_rad is not None and f"at {figure(angle_rad, 'angle', reader)}",
        distance_m is not None and f"from {figure(distance_m, 'distance', reader)}",
    )
    return ", ".join(part for part in parts if part) or "unchanged"


def _finding(
    *,
    panel: str,
    asked: str,
    of_armour: bool,
    rules_low_j: float,
    rules_high_j: float,
    low_j: float | None,
    high_j: float | None,
    reader: str,
) -> str:
    """With the whole of its range: "the 50 % energy of P2 at 1 mm would be 42 to 78 J"."""
    half, alone = joules_range(low_j, high_j, reader=reader), joules(rules_low_j, reader)
    # Nothing of the armour changed: the rules have nothing to say, and the curve's own figure stands before its range.
    point = "" if of_armour or rules_low_j != rules_high_j or half == alone else f"{alone}, "
    return f"The {HALF} of {panel} {asked} {'would be' if of_armour else 'is'} {point}{half}"


def _weighs(
    *,
    thickness_m: float | None,
    cloths: float | None,
    wire_m: float | None,
    layers: int,
    extra_kg_m2: float,
    extra_u_kg_m2: float | None,
    now_kg_m2: float | None,
    now_u_kg_m2: float | None,
    reader: str,
) -> str:
    """ "0.4 mm more is 3.1 kg/m² ± 0.2 more; a square metre now weighs 9.4 kg/m² ± 0.2": what a change weighs."""

    def way(change: float, words: str) -> str:
        return f"{words} {'more' if change > 0 else 'less'}"

    parts = (
        thickness_m and way(thickness_m, figure(abs(thickness_m), "thickness", reader)),
        cloths and way(cloths, counted(round(abs(cloths)), "layer") + " of cloth"),
        wire_m and f"wire {figure(abs(wire_m), 'small_length', reader)} {'thicker' if wire_m > 0 else 'thinner'}",
        layers > 1 and ("one such layer more" if layers == 2 else f"{layers - 1} such layers more"),
    )
    change = " and ".join(part for part in parts if part)
    if not change:
        return f"What a square metre weighs stays as it is{f', {_areal(now_kg_m2, now_u_kg_m2, reader)}' if now_kg_m2 is not None else ''}."
    now = "" if now_kg_m2 is None else f"; a square metre now weighs {_areal(now_kg_m2, now_u_kg_m2, reader)}"
    change = change[:1].upper() + change[1:]
    return f"{change} is {_areal(abs(extra_kg_m2), extra_u_kg_m2, reader)} {'more' if extra_kg_m2 > 0 else 'less'}{now}."


def _areal(value_kg_m2: float, u_kg_m2: float | None, reader: str) -> str:
    """With its uncertainty as energy for weight has it; where that isn't known, two figures."""
    unit = unit_for_reader("areal_density", reader)
    if u_kg_m2:
        return written_with_uncertainty(Uncertain(value_kg_m2, u_kg_m2), unit, figures=3)
    return with_unit(plainly(from_si(value_kg_m2, unit), figures=2), unit)


def _with_rules(*, low_j: float | None, high_j: float | None, rules_low_j: float, rules_high_j: float, reader: str) -> str:
    return (
        f"This includes the uncertainty of your own shots{_level(low_j, high_j)} and the disagreement between the rules. By the "
        f"rules alone it would be {joules_range(rules_low_j, rules_high_j, reader=reader)}."
    )


def _more_through(*, more: int, of: int, above_j: float, reader: str) -> str:
    return (
        f"{more} of the {counted(of, 'shot')} that were stopped had more than {joules(above_j, reader)}: more than "
        f"half of such shots would have got through."
    )


def _more_stopped(*, less: int, of: int, below_j: float, reader: str) -> str:
    return (
        f"{less} of the {counted(of, 'shot')} that got through had less than {joules(below_j, reader)}: more than "
        f"half of such shots would have been stopped."
    )


def _own_panels(*, panels: Sequence[str], energy_j: float, low_j: float | None, high_j: float | None, apart: bool, reader: str) -> str:
    half = f"{joules(energy_j, reader)}, {with_level(low_j, high_j, reader=reader)}"
    ends = "The rules disagree with that: trust the shots" if apart else "The rules agree with that"
    return f"You have shot at {counted(len(panels), 'panel')} of that thickness ({', '.join(panels)}): their {HALF} is {half}. {ends}."


def _bows_would(*, bows: Sequence[str], verdict: str) -> str:
    who = [", ".join(bows[:-1]), bows[-1]] if len(bows) > 1 else list(bows)
    return f"With {' and '.join(who)} {_VERDICTS[verdict][1]}."


# What it rests on.


def _starts_from(
    *,
    shots: int,
    head: str,
    of: str,
    panels: Sequence[str],
    panel_type: str,
    hits: int,
    past: str,
    energy_j: float,
    low_j: float | None,
    high_j: float | None,
    place: str,
    reader: str,
) -> str:
    names = ", ".join(panels)
    where = f"on {names} alone" if of == "panel" else f"on {counted(len(panels), 'panel')} of {panel_type} ({names})"
    return (
        f"It starts from {counted(shots, 'fair hit')}{_with_head(head)} {where}, {hits} of them {past}: "
        f"the {HALF} is {joules(energy_j, reader)}, {with_level(low_j, high_j, reader=reader)}, at the {place}."
    )


def _with_head(head: str) -> str:
    return f" with the {head}" if head else ""


# Its rules.


def _known(value: float | None, kind: str, reader: str) -> str:
    return figure(value, kind, reader) if value else "not known"


def _angle(*, before_rad: float, after_rad: float) -> str:
    before, after = (plainly(math.degrees(one), figures=3) for one in (before_rad, after_rad))
    return f"Angle {before} to {with_unit(after, '°')}"


def _printed(*, panel: str, thickness_m: float | None, cloths: int | None, reader: str) -> str:
    of = f", {figure(thickness_m, 'thickness', reader)}" if thickness_m else f", {cloths} layers" if cloths else ""
    return f"{panel}{of}, in joules"


def _times(*, low: float, high: float) -> str:
    return _span(*(plainly(end, figures=2 if end < 1 else 3) for end in (low, high)))


def _bare_joules(*, low_j: float, high_j: float, reader: str) -> str:
    return _span(*(f"{from_si(end, unit_for_reader('energy', reader)):.0f}" for end in (low_j, high_j)))


def _by_published(*, change: str, low_j: float, high_j: float, reader: str) -> str:
    return f"{change.removesuffix(', in joules')}: {joules_range(low_j, high_j, reader=reader)} by published rules."


def _usual(*, steel: str, low: float, high: float, scale: str) -> str:
    return f"{steel} assumed {low:.0f} to {high:.0f}\N{NO-BREAK SPACE}{scale}"


def _kinds(*, before: Sequence[str], after: Sequence[str], by_hardness: bool) -> str:
    rest = ", by its hardness; enter its kind if it is another" if by_hardness else ""
    return f"from {' or '.join(before)} to {' or '.join(after)}{rest}"


def _outside(*, low: float, high: float, unit: str) -> str:
    return f"outside its range: it covers {with_unit(f'{plainly(low, figures=3)} to {plainly(high, figures=3)}', unit)}"


# What to check.


def _outside_shots(*, least_j: float, most_j: float, reader: str) -> str:
    return (
        f"Your shots had {joules_range(least_j, most_j, reader=reader)}; part of the answer is outside that range, "
        f"where no shot has checked the curve."
    )


# Bows.


def _brings(*, low_j: float, mean_j: float, high_j: float, reader: str) -> str:
    low, mean, high = (f"{from_si(end, unit_for_reader('energy', reader)):.0f}" for end in (low_j, mean_j, high_j))
    return mean if low == high else f"{mean} ({low} to {high})"


def _does(*, verdict: str, left_low_j: float | None, left_high_j: float | None, reader: str) -> str:
    words = _VERDICTS[verdict][0]
    if left_low_j is None or left_high_j is None:
        return words
    left = f"up to {joules(left_high_j, reader)}" if left_low_j == 0 else joules_range(left_low_j, left_high_j, reader=reader)
    return f"{words}; one that gets through still has {left}"


def _stronger(
    *, low_times: float, high_times: float, limbs_known: bool, weight_n: float | None, source: str | None, extrapolated: bool, reader: str
) -> str:
    low, high = (plainly(one, figures=2) for one in (low_times, high_times))
    if low_times <= 1:
        times = f"up to {high} times as strong"
    else:
        times = f"{low}{'' if f'{low_times:.2g}' == f'{high_times:.2g}' else f' to {high}'} times as strong"
    limbs = "" if limbs_known else ", its limbs’ virtual mass not known"
    if weight_n is None:
        return f"{times}{limbs}"
    far = "; stronger than any bow in this book, so an extrapolation" if extrapolated else ""
    own = with_unit(f"{from_si(weight_n, 'lbf'):.0f}", "lbf")
    made = _pounds(max(low_times, 1.0) * weight_n, high_times * weight_n, reader)
    return f"{made} of this make, {times} as its {own} ({source}){limbs}{far}"


def _pounds(low_n: float, high_n: float, reader: str) -> str:
    """Bows are spoken of in pounds; beside them newtons for who reads in them."""
    pounds, newtons = (with_unit(_span(*(f"{from_si(n, unit):.0f}" for n in (low_n, high_n))), unit) for unit in ("lbf", "N"))
    return pounds if unit_for_reader("force", reader) == "lbf" else f"{pounds} ({newtons})"


def _drawn_one(*, letter: str, finding: str, low_j: float | None, high_j: float | None, reader: str) -> str:
    return f"{letter}: {finding}; by the rules alone {joules_range(low_j, high_j, reader=reader)}"


def _drawn(*, shots: int, through: int, told: tuple[str, ...]) -> str:
    start = f"{counted(shots, 'shot')}, {through} through. " if shots else "No shots. "
    return f"{start}{'. '.join(told)}."


SENTENCES: Mapping[str, str | Callable[..., str]] = MappingProxyType(
    {
        "what_if_asked": _asked,
        "what_if_weighs": _weighs,
        "what_if_finding": _finding,
        "what_if_no_answer": "No answer yet",
        "what_if_two_findings": "{letter}: {finding}",
        "what_if_drawn_one": _drawn_one,
        "what_if_drawn": _drawn,
        "what_if_published_alone": "This comes from published rules alone; none of your shots is in it.",
        "what_if_as_shot": lambda *, low_j, high_j: (
            f"This comes from the curve of your shots, with their uncertainty{_level(low_j, high_j)}."
        ),
        "what_if_with_rules": _with_rules,
        "what_if_more_through": _more_through,
        "what_if_more_stopped": _more_stopped,
        "what_if_own_panels": _own_panels,
        "what_if_bows_would": _bows_would,
        "what_if_no_start": lambda *, why, printed: f"No starting point: {why.rstrip('.')}, and {printed}.",
        "what_if_plate_unmeasured": "no rule applies to a plate of unmeasured thickness",
        "what_if_cloth_needs_layers": "the published figure for cloth needs 8 to 32 layers, recorded with the panel",
        "what_if_nothing_published": "no published rule is known for this kind of armour",
        "what_if_silent": lambda *, change, reasons: f"{change}: {'; '.join(reasons)}.",
        # what it rests on
        "what_if_nominal": "nominal, not measured",
        "what_if_mean_of": lambda *, readings: f"mean of {readings} readings" if readings > 1 else "one reading",
        "what_if_unmeasured": "not measured",
        "what_if_rules_asked_for": "you asked for published rules only",
        "what_if_no_energy": "no fair hit on it has a measured energy and an outcome",
        "what_if_not_shot_at": "it has not been shot at yet",
        "what_if_no_half": lambda *, head, why: f"No {HALF} from your shots{_with_head(head)}: {why.rstrip('.')}.",
        "what_if_published_instead": "Published rules are used instead, where there are any.",
        "what_if_starts_from": _starts_from,
        "what_if_all_of_its_type": "The shots at {panel} alone do not bound it, so all panels of its type are included.",
        "what_if_behind": lambda *, panel, taken, others: (
            f"What lay behind {panel} was not always the same: shots at {taken} are taken, not those at {' or '.join(others)}."
        ),
        # changes, and what the rules make of them
        "what_if_thickness": lambda *, before_m, after_m, reader: (
            f"Thickness {_known(before_m, 'thickness', reader)} to {figure(after_m, 'thickness', reader)}"
        ),
        "what_if_steel": lambda *, before, after: f"Steel, {before or 'hardness not known'} to {' and '.join(after)}",
        "what_if_layers": lambda *, layers: f"{layers} layers, one behind the other" if layers > 1 else "1 layer, unchanged",
        "what_if_cloths": lambda *, before, after: f"Layers of cloth {before or 'not known'} to {after}",
        "what_if_wire": lambda *, before_m, after_m, reader: (
            f"Wire {_known(before_m, 'small_length', reader)} to {figure(after_m, 'small_length', reader)}"
        ),
        "what_if_angle": _angle,
        "what_if_printed": _printed,
        "what_if_no_rule": "{change}: no rule applies.",
        "what_if_by_published": _by_published,
        "what_if_by_rules": lambda *, change, low, high: f"{change}: {_times(low=low, high=high)} times the energy.",
        "what_if_times": _times,
        "what_if_bare_joules": _bare_joules,
        "what_if_no_value": "no answer",
        "what_if_notes": lambda *, notes: "; ".join(notes),
        "what_if_note": "{why}",
        "what_if_any_rings": "whatever rings those were",
        "what_if_lance": "a lance point, not an arrow’s",
        "what_if_any_steel": "any iron or steel; enter the kind of steel to narrow this",
        "what_if_usual": _usual,
        "what_if_usual_here": lambda *, steel, low, high, scale: (
            f"{_usual(steel=steel, low=low, high=high, scale=scale)}, because this plate is not measured"
        ),
        "what_if_cracks": "a hard plate cracks and then resists less",
        "what_if_one_reading": "one reading is taken as ±10 %",
        "what_if_missiles": lambda *, across_m: (
            f"made for heavy blunt missiles, a head assumed {across_m * 1000:.0f} mm across: shown, not counted"
        ),
        "what_if_other_things": "made for other things: shown, not counted",
        "what_if_present_thickness": "its present thickness is not measured",
        "what_if_slag": "the hardness of old iron says too little, because of its slag",
        "what_if_present_hardness": "the hardness of this plate is not measured",
        "what_if_enter_steel": "enter its present kind of steel",
        "what_if_no_such_steel": "no kind of steel has that hardness",
        "what_if_kinds": _kinds,
        "what_if_present_cloths": "its number of layers is not recorded",
        "what_if_present_wire": "its wire thickness is not recorded",
        "what_if_textbook": "a textbook’s strength of wire, no test",
        "what_if_outside": _outside,
        "what_if_refused": "outside its range: {expected}",
        "what_if_beyond": "beyond what it was tested on",
        # what to check
        "what_if_extrapolated": "{change}: beyond what its rules were tested on, so this is an extrapolation.",
        "what_if_one_rule": "{change}: only one rule applies, so the disagreement between rules is not known.",
        "what_if_outside_shots": _outside_shots,
        "what_if_start_outside": f"The {HALF} that this starts from is outside the energies shot: an extrapolation of the curve.",
        "what_if_mixed_heads": "It mixes heads of {forms} forms, which differ more than plates do. Pick one head if it has enough shots.",
        "what_if_unbounded": lambda *, why: f"{why[:1].upper()}{why[1:]}.",
        "what_if_undecided": lambda *, shots: f"{counted(shots, 'shot')} undecided and left out: still to be checked from behind.",
        "what_if_single_plate": (
            "The rules are for a single plate hit away from its edges. Overlapping plates, laces and gaps behave differently."
        ),
        "what_if_left_out": lambda *, bows: f"Left out, because the distance or the shaft diameter is not recorded: {', '.join(bows)}.",
        # bows
        "what_if_bow": lambda *, bow, shots: f"{bow}, {counted(shots, 'shot')}" if shots else bow,
        "what_if_brings": _brings,
        "what_if_does": _does,
        "what_if_bow_unknown": "not worked out: {why}",
        "what_if_bow_enough": lambda *, energy_j, reader: f"already gives {joules(energy_j, reader)}",
        "what_if_bow_at_least": lambda *, times, why: (
            f"{plainly(times, figures=2)} times as strong at least; the upper limit is not worked out: {why}"
        ),
        "what_if_bow_stronger": _stronger,
    }
)
