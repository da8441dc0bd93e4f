"""What a what-if says in words: its one finding, what it rests on, what to mind, and the bow that it would take."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.view_settings import form_words
from server.findings.what_if.ask import STEELS, Changes, WhatIfAsked
from server.findings.what_if.basis import Armour, Basis
from server.findings.what_if.bows import BowNeeded
from server.findings.what_if.rules import ChangeFound
from server.quantities import figure, from_si, plainly, unit_for_reader, with_unit


@dataclass(frozen=True)
class Verdict:
    """through, leans_through, open, leans_held or held; and in words."""

    key: str
    words: str


VERDICTS = {
    "through": Verdict("through", "more would get through than be held"),
    "leans_through": Verdict("leans_through", "can’t be told; it leans to getting through"),
    "open": Verdict("open", "can’t be told: it lies where the rules put the half"),
    "leans_held": Verdict("leans_held", "can’t be told; it leans to being held"),
    "held": Verdict("held", "more would be held than get through"),
}


def verdict_of(energy_j: float, rules: tuple[float, float], *, whole: tuple[float | None, float | None]) -> Verdict:
    """An energy against the range of the half: outside the whole of it something can be said, inside it only leans."""
    low, high = whole
    if high is not None and energy_j >= high:
        return VERDICTS["through"]
    if low is not None and energy_j <= low:
        return VERDICTS["held"]
    if energy_j > rules[1]:
        return VERDICTS["leans_through"]
    return VERDICTS["leans_held" if energy_j < rules[0] else "open"]


def joules(energy_j: float, reader: str) -> str:
    """In whole joules: an answer of this sort carries no more."""
    unit = unit_for_reader("energy", reader)
    return with_unit(_whole(energy_j, unit), unit)


def joules_range(low_j: float | None, high_j: float | None, *, reader: str) -> str:
    """ "74 to 82 J", "63 J or more", "131 J or less"; one figure where both ends are the same."""
    unit = unit_for_reader("energy", reader)
    if low_j is None or high_j is None:
        if low_j is None and high_j is None:
            return "any energy"
        return f"{joules(low_j or high_j or 0.0, reader)} or {'more' if high_j is None else 'less'}"
    low, high = _whole(low_j, unit), _whole(high_j, unit)
    return with_unit(low if low == high else f"{low} to {high}", unit)


def _whole(energy_j: float, unit: str) -> str:
    value = from_si(energy_j, unit)
    return f"{value:.0f}" if value >= 10 else plainly(value, figures=2)


def asked_words(what: Changes, armour: Armour, *, reader: str) -> str:
    """What is otherwise, in a few words: "at 1 mm, 2 layers, from 30 m"."""
    parts = []
    if what.thickness_m is not None:
        parts.append(f"at {figure(what.thickness_m, 'thickness', reader)}")
    if what.steel is not None:
        parts.append(f"of steel of {what.steel.words}")
    elif what.steel_sort:
        parts.append(f"of {STEELS[what.steel_sort].lower()}")
    if what.layers is not None:
        parts.append(f"in {counted(what.layers, 'layer')}")
    if what.cloths is not None:
        parts.append(f"of {counted(what.cloths, 'cloth')}")
    if what.wire_m is not None:
        parts.append(f"of {figure(what.wire_m, 'small_length', reader)} wire")
    if what.angle_rad is not None:
        parts.append(f"at {figure(what.angle_rad, 'angle', reader)}")
    if what.distance_m is not None:
        parts.append(f"from {figure(what.distance_m, 'distance', reader)}")
    return ", ".join(parts) or "as it is"


def title_words(what: Changes, rules: tuple[float, float], *, armour: Armour, reader: str) -> str:
    """The finding: "P2 at 1 mm: half would get through at 74 to 82 J"."""
    would = "would get through" if what.any_of_armour else "get through"
    return f"{armour.panel.name} {asked_words(what, armour, reader=reader)}: half {would} at {joules_range(*rules, reader=reader)}"


def lead_words(
    basis: Basis, rules: tuple[float, float], *, whole: tuple[float | None, float | None], changed: bool, factors: tuple[float, float], reader: str
) -> tuple[str, ...]:
    """The doubt of that, and what it would have meant for the shots that were shot."""
    if basis.point is None:
        return ("That is by printed rules alone: no shot of yours is in it.",)
    by = "The range above is by the rules" if changed else "That is by your shots’ curve"
    words = [f"{by}; with the doubt of your own shots it is {joules_range(*whole, reader=reader)}."]
    if not changed:
        return tuple(words)
    held = [one.energy.value for one in basis.shots if one.energy is not None and not one.through_low]
    through = [one.energy.value for one in basis.shots if one.energy is not None and one.through_low]
    if factors[1] <= 1 and held:
        more = sum(energy > rules[1] for energy in held)
        words.append(f"Of the {_shots(len(held))} that were held, {more} came with more than {joules(rules[1], reader)}: of such, more than half would have got through.")
    elif factors[0] >= 1 and through:
        less = sum(energy < rules[0] for energy in through)
        words.append(f"Of the {_shots(len(through))} that got through, {less} came with less than {joules(rules[0], reader)}: of such, more than half would have been held.")
    return tuple(words)


def own_words(own: Basis, rules: tuple[float, float], *, reader: str) -> str:
    """What shots at panels of that very thickness say, beside the rules."""
    assert own.point is not None
    low, high = own.point.low_j, own.point.high_j
    apart = (low is not None and rules[1] < low) or (high is not None and rules[0] > high)
    half = f"{joules(own.point.energy_j, reader)}, {joules_range(low, high, reader=reader)}"
    ends = "The rules disagree with that: go by the shots" if apart else "The rules don’t disagree with that"
    return f"You have shot at {counted(len(own.names), 'panel')} of that thickness ({', '.join(own.names)}): there half get through at {half}. {ends}."


def verdict_words(verdicts: Sequence[tuple[str, Verdict]]) -> tuple[str, ...]:
    """Who would more often get through or be held, and of whom it can't be told, in a sentence each. `verdicts`: bow, verdict."""
    words = []
    for key, ends in (
        ("through", "more shots would get through than be held"), ("leans_through", "it can’t be told, and leans to getting through"),
        ("open", "it can’t be told"), ("leans_held", "it can’t be told, and leans to being held"), ("held", "more shots would be held than get through"),
    ):  # fmt: skip
        who = list(dict.fromkeys(name for name, verdict in verdicts if verdict.key == key))
        if who:
            words.append(f"With {' and '.join([', '.join(who[:-1]), who[-1]] if len(who) > 1 else who)} {ends}.")
    return tuple(words)


def mind_words(
    basis: Basis, changes: Sequence[ChangeFound], *, printed: ChangeFound | None, armour: Armour, rules: tuple[float, float], left_out: Sequence[str], reader: str
) -> tuple[str, ...]:
    """What an honest reader keeps in mind, the gravest first."""
    founded = (printed, *changes) if printed is not None else tuple(changes)
    minds = [f"{one.words}: beyond what its rules were tried on, so this is an extrapolation." for one in founded if one.outside]
    minds += [f"{one.words}: one rule alone speaks, so nothing shows how far rules disagree." for one in founded if one.alone]
    if basis.point is not None and basis.shots:
        least, most = min(basis.energies_j), max(basis.energies_j)
        if not least <= rules[0] <= rules[1] <= most:
            minds.append(f"Your shots had {joules_range(least, most, reader=reader)}; part of the answer lies outside that, where no shot has checked the curve.")
        if basis.point.outside:
            minds.append("The 50 % energy that this starts from lies outside the energies shot itself: it is the curve’s guess.")
        if len(basis.heads) > 1:
            minds.append(f"Heads of {len(basis.heads)} forms are mixed in it, and they differ more than plates do. Pick one head if it has shots enough.")
        if basis.point.unbounded:
            minds.append(f"{basis.point.unbounded[:1].upper()}{basis.point.unbounded[1:]}.")
        if basis.either:
            minds.append(f"{_shots(basis.either)} may have got through or not: the rear is not seen yet, and they are left out.")
    if armour.plated and armour.construction != "plate" and founded:
        minds.append("The rules are of one plate struck in the clear. Plates that overlap, laces and gaps do otherwise.")
    if left_out:
        minds.append(f"Left out, since nobody wrote down from how far or with how thick a shaft: {', '.join(left_out)}.")
    return tuple(minds)


def basis_words(basis: Basis, armour: Armour, *, asked: WhatIfAsked, reader: str) -> tuple[str, ...]:
    """What the answer rests on."""
    words = []
    head = form_words(asked.head).lower() if asked.head else ""
    with_head = f" with the {head}" if head else ""
    if basis.point is None:
        why = basis.why_not.rstrip(".")
        words.append(f"No 50 % energy of your own{with_head}: {why}.")
        return (*words, "Printed rules stand in, as far as there are any: see what each says.")
    point, panels = basis.point, ", ".join(basis.names)
    where = f"on {panels} alone" if basis.of == "panel" else f"on {counted(len(basis.names), 'panel')} of {basis.sort_words} ({panels})"
    words.append(
        f"It starts from {counted(len(basis.shots), 'fair hit')}{with_head} {where}, {basis.hits} of them {asked.through.past}: "
        f"half get through at {joules(point.energy_j, reader)}, {joules_range(point.low_j, point.high_j, reader=reader)} (95\N{NO-BREAK SPACE}%), at the {basis.place}."
    )
    if basis.of == "sort" and not asked.basis:
        words.append(f"{armour.panel.name} alone doesn’t place it well enough, so all panels of its sort are in it.")
    return tuple(words)


def needed_words(needed: Sequence[BowNeeded], *, heaviest_n: float | None, reader: str) -> tuple[tuple[str, str], ...]:
    """Each bow, and how strong a bow of its make would put half through."""
    return tuple((one.bow.words, _needed(one, heaviest_n, reader)) for one in needed)


def _needed(one: BowNeeded, heaviest_n: float | None, reader: str) -> str:
    if one.low_times is None:
        return f"can’t be told: {one.why_not}"
    if one.enough:
        return f"gives that already: {joules(one.bow.mean_j, reader)}"
    if one.high_times is None:
        return f"{plainly(one.low_times, figures=2)} times as strong at the least; at the most it can’t be told: {one.why_not}"
    low, high = one.low_times, one.high_times
    if low <= 1:
        times = f"up to {plainly(high, figures=2)} times as strong"
    else:
        times = f"{plainly(low, figures=2)}{'' if f'{low:.2g}' == f'{high:.2g}' else f' to {plainly(high, figures=2)}'} times as strong"
    limbs = "" if one.limbs_known else ", its limbs’ virtual mass not known"
    weight = one.bow.marked_weight_n
    if weight is None:
        return f"{times}{limbs}"
    beyond = heaviest_n is not None and high * weight > heaviest_n * 1.001
    far = "; stronger than any bow in this book, so an extrapolation" if beyond else ""
    return f"{_pounds(max(low, 1.0) * weight, high * weight, reader)} of this make, {times}{limbs}{far}"


def _pounds(low_n: float, high_n: float, reader: str) -> str:
    """Bows are spoken of in pounds; beside them newtons for who reads in them."""

    def span(unit: str) -> str:
        low, high = f"{from_si(low_n, unit):.0f}", f"{from_si(high_n, unit):.0f}"
        return with_unit(low if low == high else f"{low} to {high}", unit)

    return span("lbf") if unit_for_reader("force", reader) == "lbf" else f"{span('lbf')} ({span('N')})"


def unanswered_words(changes: Sequence[ChangeFound], basis: Basis, *, printed: ChangeFound | None, armour: Armour) -> tuple[str, ...]:
    """Why there is no answer."""
    words = []
    if basis.point is None and (printed is None or printed.low is None):
        words.append(f"There is nothing to start from: {basis.why_not.rstrip('.')}, and {_no_printed(armour)}.")
    for one in changes:
        if one.low is None:
            reasons = "; ".join(dict.fromkeys(line.note for line in one.lines if line.low is None and line.note))
            words.append(f"{one.words}: {reasons}.")
    return tuple(words)


def _no_printed(armour: Armour) -> str:
    if armour.plated and armour.thickness_m is None:
        return "no rule can speak of a plate whose thickness nobody measured"
    if armour.construction == "textile":
        return "the printed figure of cloth wants 8 to 32 layers, written down with the panel"
    return "no printed rule is known for this sort of armour"


def _shots(count: int) -> str:
    return counted(count, "shot")


def counted(count: int, word: str) -> str:
    """ "3 shots"."""
    return f"{count} {word}{'' if count == 1 else 's'}"
