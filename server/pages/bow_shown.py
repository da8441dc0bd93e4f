"""What the page of a bow build says: each figure in the reader's units with its doubt, or the reason for its want."""

from dataclasses import dataclass

from server import quantities
from server.findings.bow.curve import A_LITTLE_SHORT_M, CantTell, Curve, Stored
from server.findings.bow.days import Drift, day_of
from server.findings.bow.page import BowFound
from server.findings.bow.speeds import ArrowWithBow, Expected
from server.findings.when import clock_words, day_words
from server.pages.figures import counted, doubtful, fact, spread_words
from server.quantities import Uncertain
from server.records.bow import BowCheck

NOT_YET = "No arrow has both a mass and a speed with this bow build yet."
LEAST_GRAINS_PER_POUND = 8.0


@dataclass(frozen=True)
class ArrowLine:
    """One arrow of the table."""

    href: str
    name: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class ShortLine:
    """One short draw."""

    href: str
    label: str
    words: str


def sentence(words: str) -> str:
    """A reason as a sentence of its own."""
    said = reason(words)
    return said[:1].upper() + said[1:] + ("" if said.endswith(".") else ".")


def reason(words: str) -> str:
    """A formula's reason as a page prints it: its apostrophes are those of a typewriter."""
    return words.replace("'", "’")


def share_words(share: float, *, signed: bool = False) -> str:
    """ "−1.4 %"."""
    return ("+" if signed and share > 0 else "") + quantities.written(share, "%", figures=2)


def finding_words(found: BowFound, reader: str) -> str:
    """The one thing on top."""
    stored = found.stored_at
    if not isinstance(stored, Stored):
        said = f"Stored energy not known: {reason(stored.reason)}."
    else:
        said = f"{doubtful(stored.energy, 'energy', reader)} stored {_up_to(found, stored, reader)}."
    shares = [one.efficiency.value for one in found.speeds.arrows if one.efficiency]
    if shares:
        low, high = share_words(min(shares)), share_words(max(shares))
        said += f" Its arrows left with {low if low == high else f'{low} to {high}'} of it."
    return said


def _up_to(found: BowFound, stored: Stored, reader: str) -> str:
    draw = quantities.figure(stored.draw_m, "point_draw", reader)
    return f"up to a draw of {draw} ({found.draw.words})" if found.draw.draw_m is not None else f"up to a draw of {draw}, the last point"


def tools_to_pick(found: BowFound) -> list[tuple[str, str]]:
    """What a force may have been read with, retired ones last."""
    standing = sorted((one for one in found.tools.values() if one.struck_rev is None), key=lambda one: (bool(one.retired), one.name.lower()))
    return [(one.id, one.name + (", retired" if one.retired else "")) for one in standing]


def stored_facts(found: BowFound, reader: str) -> list[tuple[str, str]]:
    """The curve's own figures at the archer's draw."""
    stored = found.stored_at
    if not isinstance(stored, Stored):
        return []
    energy, last = stored.energy, found.stored
    rows = [
        ("Stored energy", doubtful(energy, "energy", reader)),
        ("Up to", f"{quantities.figure(stored.draw_m, 'point_draw', reader)}, {found.draw.words}"),
        ("Greatest force", quantities.figure(stored.found.peak_force_n, "point_force", reader)),
        ("Power stroke", quantities.figure(stored.found.power_stroke_m, "point_draw", reader)),
        ("Energy for each unit of greatest force and stroke", f"{quantities.plainly(stored.fullness, figures=3)} (0.5 is a straight line, 1 would be full force all the way)"),
        ("Points", counted(stored.found.points, "point") + (f"; {counted(found.curve.read_again, 'draw')} read more than once, their mean stands" if isinstance(found.curve, Curve) and found.curve.read_again else "")),
    ]  # fmt: skip
    if isinstance(last, Stored) and last.draw_m > stored.draw_m + 0.0005:
        rows.insert(2, ("To the last point", f"{doubtful(last.energy, 'energy', reader)} at {quantities.figure(last.draw_m, 'point_draw', reader)}"))
    lost = doubtful(Uncertain(stored.lost_a_little_j, None), "energy", reader)
    words = f"{lost} less, {share_words(stored.lost_share)}; by the model {share_words(stored.lost_speed_share)} of the speed"
    rows.append((f"{quantities.figure(A_LITTLE_SHORT_M, 'point_draw', reader)} short of that draw", words))
    return rows


def stored_doubts(found: BowFound, reader: str) -> list[list[str]]:
    """Each cause of doubt in the stored energy, and the whole last."""
    stored = found.stored_at
    if not isinstance(stored, Stored) or stored.why_no_doubt:
        return []
    unit = quantities.unit_for_reader("energy", reader)
    parts = stored.found
    causes = [
        ("Each force and draw read on its own (a draw to 3 mm: common practice, no source)", parts.u_readings_j),
        ("The bow scale’s zero, the same for all points", parts.u_zero_j),
        ("The bow scale’s factor, the same for all points", parts.u_scale_j),
        ("Straight lines between the points", parts.u_curve_j),
        ("All together", stored.energy.standard_uncertainty or 0.0),
    ]
    bare = quantities.with_unit("", unit)
    return [[words, spread_words(u, unit).removesuffix(bare) if u else "0"] for words, u in causes]


def arrow_columns(reader: str) -> list[tuple[str, bool]]:
    units = {name: quantities.unit_for_reader(name, reader) for name in ("mass", "speed", "energy")}
    return [
        ("Arrow", False), (f"Mass, {units['mass']}", True), (f"Speed, {units['speed']}", True), ("Readings", True),
        (f"Energy, {units['energy']}", True), ("Efficiency, %", True), ("gr/lbf", True),
    ]  # fmt: skip


def arrow_line(one: ArrowWithBow, reader: str) -> ArrowLine:
    def bare(value: Uncertain, shown_as: str) -> str:
        unit = quantities.unit_for_reader(shown_as, reader)
        return doubtful(value, shown_as, reader).replace(quantities.with_unit("", unit), "", 1)

    share = "can’t be told" if one.efficiency is None else bare(one.efficiency, "share")
    grains = "" if one.grains_per_pound is None else quantities.plainly(one.grains_per_pound, figures=3)
    cells = (bare(one.mass, "mass"), bare(one.speed, "speed"), str(one.speed.n), bare(one.energy, "energy"), share, grains)
    return ArrowLine(f"/pairings/{one.fact.pairing_id}", f"{one.fact.arrow_tag}, build {one.fact.arrow_build_number}", cells)


def arrow_notes(found: BowFound) -> list[str]:
    """What the table's figures rest on, and what is weak about them."""
    arrows = found.speeds.arrows
    said = []
    few = sum(1 for one in arrows if (one.speed.n or 0) < 4)
    if few:
        said.append(f"{few} of {counted(len(arrows), 'arrow')} {'rests' if few == 1 else 'rest'} on three readings or fewer: such a mean is itself rough.")
    whys = dict.fromkeys(one.why_no_efficiency for one in arrows if one.why_no_efficiency)
    said += [f"Efficiency can’t be told: {reason(why)}." for why in whys]
    if any(one.grains_per_pound is not None for one in arrows):
        said.append(f"gr/lbf is the arrow’s mass in grains for each pound of draw weight, here {found.draw.weight_words}.")
    return said


def light_arrows(found: BowFound) -> str:
    """A caution where an arrow is light for the bow; empty where none is."""
    light = [one.fact.arrow_tag for one in found.speeds.arrows if one.grains_per_pound is not None and one.grains_per_pound < LEAST_GRAINS_PER_POUND]
    if not light:
        return ""
    return f"Under 8 gr/lbf: arrow {', '.join(dict.fromkeys(light))}. Wooden and horn bows are kept above about 8 to 10 (common practice, no source): with less the limbs keep what the arrow can’t take. What your bow’s maker says comes first."


def fit_words(found: BowFound, reader: str) -> str:
    """The fit in a sentence, or why there is none."""
    fit = found.speeds.fit
    if not found.speeds.arrows:
        return NOT_YET
    if isinstance(fit, CantTell):
        return f"No virtual mass: {reason(fit.reason)}."
    return f"Virtual mass {doubtful(fit.virtual_mass_kg, 'mass', reader)}, from {counted(fit.arrows, 'arrow')}."


def fit_facts(found: BowFound, reader: str) -> list[tuple[str, str]]:
    """K, E and how well the arrows agree."""
    fit = found.speeds.fit
    if isinstance(fit, CantTell):
        return []
    masses = [quantities.figure(mass, "arrow_mass", reader) for mass in (fit.lightest_kg, fit.heaviest_kg)]
    if fit.arrows == 2:
        agree = "two arrows: nothing shows whether they agree"
    elif fit.misfit is None:
        agree = "no arrow was read twice: only the scatter about the line tells the uncertainty"
    else:
        agree = f"{quantities.plainly(fit.misfit, figures=2)} times as far from the line as their own readings say"
        agree += "; all uncertainties are widened by it" if fit.misfit > 1 else ""
    return [
        ("Virtual mass, K", doubtful(fit.virtual_mass_kg, "mass", reader)),
        ("Energy set in motion, E", doubtful(fit.bow_energy_j, "energy", reader)),
        ("From", f"{counted(fit.arrows, 'arrow')}, {masses[0]} to {masses[1]}"),
        ("The arrows lie", agree),
    ]


def expected_facts(expected: Expected, reader: str) -> list[tuple[str, str]]:
    where = "inside the masses that were shot" if expected.inside else "outside the masses that were shot: an extrapolation"
    return [
        ("Speed to expect", doubtful(expected.speed, "speed", reader)),
        ("Energy to expect", doubtful(expected.energy, "energy", reader)),
        ("Its mass lies", where),
    ]


def check_row(found: BowFound, check: BowCheck, reader: str) -> list[str]:
    when = f"{day_words(day_of(check))}, {clock_words(check.at)}" if check.at is not None else "no time"
    said = [fact(check, name, reader) for name in ("part", "weight", "draw", "draw_how", "temperature", "humidity", "arrows_since")]
    return [when, found.archers.get(check.archer_id or "", ""), *said]


def drift_words(found: BowFound, drift: Drift, reader: str) -> str:
    who = found.archers.get(drift.archer_id or "", "archer not said")
    first, last = drift.first, drift.last
    said = f"{day_words(drift.day)}, {who}: {quantities.figure(first.weight_n or 0, 'draw_weight', reader)}, then {quantities.figure(last.weight_n or 0, 'draw_weight', reader)}"
    if drift.share is not None:
        said += f", {share_words(drift.share, signed=True)}"
    beside = []
    if first.temperature_k is not None and last.temperature_k is not None:
        beside.append(f"{quantities.figure(first.temperature_k, 'temperature', reader)}, then {quantities.figure(last.temperature_k, 'temperature', reader)}")
    if last.arrows_since is not None:
        beside.append(f"{counted(last.arrows_since, 'arrow')} since it was braced")
    said += f" ({'; '.join(beside)})" if beside else ""
    if drift.why_not:
        return f"{said}. No drift can be told: {drift.why_not}." if drift.share is None else f"{said}. {sentence(drift.why_not)}"
    return f"{said}. By the model the same arrow’s speed: {share_words(drift.speed_share or 0.0, signed=True)}."


def drift_notes(found: BowFound, reader: str) -> list[str]:
    """What a drift may be instead, and what the model leaves out."""
    if not found.drifts:
        return []
    said = []
    stored = found.stored_at
    if isinstance(stored, Stored) and stored.little_worth_n > 0:
        little, worth = quantities.figure(A_LITTLE_SHORT_M, "point_draw", reader), quantities.written(stored.little_worth_n, quantities.unit_for_reader("force", reader), figures=2)
        said.append(f"{little} of draw is worth {worth} at full draw: a drift smaller than that may be a draw read otherwise.")
    said.append("The model: v goes with the root of the weight, the whole curve shrinking alike and the virtual mass the same. It tells whether speeds should be read anew, and stands in for none.")
    return said
