"""A blow behind armour in words: its heading, and one shot worked out line by line with the method of each figure."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.blow.ask import BODIES, BlowAsked
from server.findings.blow.criterion import CriterionFound, span
from server.findings.blow.shared import ENDING_WORDS, LEFT, SharedBlow, came_through, may_have_come_through
from server.findings.impact import Impact
from server.findings.impact_steps import ImpactStep
from server.findings.shot_energy import StepTold, step_told
from server.physics.ranges import CantTell
from server.physics.trauma import PRINTED_HALF, printed_back_face
from server.quantities import plainly, unit_for_reader, with_unit, written
from server.records.kit_between import StandFact
from server.records.panel import Panel
from server.records.shot_facts import ShotFact
from server.records.stand import HELD

ILLUSTRATIVE = "illustrative, outside validated range"
SQUARE_RAD = 0.1  # some 6 degrees: common practice, no source


@dataclass(frozen=True)
class BlowTold:
    """One shot's blow. `minds`: what to mind in it; `why_not` where it can't be shared out, `no_criterion` where that can't be told.

    rests   of panel and stand, as they stand in the book
    left    its arrow bounced or passed, so how fast it left can be asked
    """

    shot_id: str
    label: str
    heading: str
    ending: str
    steps: tuple[StepTold, ...]
    why_not: str
    criterion: CriterionFound | None
    criterion_words: str
    no_criterion: str
    back_face: str
    minds: tuple[str, ...]
    rests: tuple[tuple[str, str], ...]
    left: bool


def energy_range(shared: SharedBlow, reader: str) -> str:
    """ "1.4 to 5.2 J", "1.4 J or more"."""
    unit = unit_for_reader("energy", reader)
    low, high = shared.range.energy_j
    if shared.open_above:
        return f"{written(low, unit, figures=2)} or more"
    return span(low, high, unit=unit)


def heading_of(blows: Sequence[SharedBlow | None], *, reader: str) -> str:
    """What the wearer's side got, over all rows; or why nothing is said."""
    known = [one for one in blows if one is not None]
    if not blows:
        return "No shot here struck without coming through"
    if not known:
        return "The blow behind can’t be told"
    unit = unit_for_reader("energy", reader)
    low, high = min(one.range.energy_j[0] for one in known), max(one.range.energy_j[1] for one in known)
    least = any(one.open_above for one in known)
    n = f"{len(known)} blow{'s' if len(known) > 1 else ''} that did not come through"
    ends = f"{span(low, high, unit=unit)}{', and may have left more,' if least else ''}"
    return f"{n} left {ends} moving in the panel"


def told_of(
    fact: ShotFact, impact: Impact, *, shared: SharedBlow | CantTell, criterion: CriterionFound | CantTell, asked: BlowAsked,
    stand: StandFact | None, panel: Panel | None, reader: str,
) -> BlowTold:  # fmt: skip
    known = None if isinstance(shared, CantTell) else shared
    energy = impact.at_target.energy_j if impact.at_target else None
    if known is not None and energy is not None:
        struck = written(energy.value, unit_for_reader("energy", reader), uncertainty_si=energy.standard_uncertainty)
        heading = f"{fact.label}: of {struck}, {energy_range(known, reader)} went on in the panel"
    else:
        heading = f"{fact.label}: its blow can’t be told"
    return BlowTold(
        shot_id=fact.shot_id,
        label=fact.label,
        heading=heading,
        ending=f"The arrow: {ENDING_WORDS[known.ending]}." if known else "",
        steps=tuple(step_told(one, reader) for one in _steps(impact, known)) if known else (),
        why_not="" if known else shared.reason if isinstance(shared, CantTell) else "",
        criterion=None if isinstance(criterion, CantTell) else criterion,
        criterion_words="" if isinstance(criterion, CantTell) else criterion_words(criterion, asked, reader=reader),
        no_criterion=criterion.reason if isinstance(criterion, CantTell) else "",
        back_face=back_face_words(fact, stand, reader=reader),
        minds=_minds(fact, known, stand=stand, reader=reader),
        rests=_rests(fact, panel, stand=stand, reader=reader),
        left=fact.arrow_did in LEFT,
    )


def _steps(impact: Impact, shared: SharedBlow) -> tuple[ImpactStep, ...]:
    """From what it brought to what went on; two lines where an end is open."""
    there = impact.at_target
    assert there is not None
    energy, method = shared.energy_j, "blow_after" if shared.ending == "read" else "blow_between"
    both = shared.range.energy_j[0] != shared.range.energy_j[1]
    all_moves = "panel and what hangs with it all moving" if shared.most_kg != shared.least_kg else ""
    steps = [
        ImpactStep("Momentum it brought", there.momentum_kg_m_s, "momentum", "at the target, m v", method="momentum_kg_m_s"),
        ImpactStep("Energy it brought", there.energy_j, "energy", "at the target", method="energy_at_target_j"),
    ]
    if both:
        steps += [
            *_momenta(shared, method),
            ImpactStep("Energy that went on in it, at least", energy[0], "energy", all_moves, method=method),
            ImpactStep("and at most" + (", or more" if shared.open_above else ""), energy[1], "energy", shared.least_words, last=True, method=method),
        ]
    else:
        steps += [
            *_momenta(shared, "stuck_blow"),
            ImpactStep("Energy that went on in it", energy[0], "energy", shared.least_words, last=True, method="stuck_blow"),
        ]
    return tuple(steps)


def _momenta(shared: SharedBlow, method: str) -> tuple[ImpactStep, ...]:
    low, high = shared.momentum_kg_m_s
    if low.value == high.value:
        return (ImpactStep("Momentum that the panel’s side took", low, "momentum", "all of it" if shared.ending == "stood" else "", method=method),)
    return (
        ImpactStep("Momentum that the panel’s side took, at least", low, "momentum", method=method),
        ImpactStep("and at most", high, "momentum", method=method),
    )


def criterion_words(found: CriterionFound, asked: BlowAsked, *, reader: str) -> str:
    """The range, whose chest, over what width, the printed figure; and always that it is outside its data."""
    low, high = (None if end is None else plainly(end, figures=2) for end in (found.low, found.high))
    if low is None and high is None:
        value = "can’t be bounded at either end"
    elif low is None:
        value = f"at most {high}"
    elif high is None:
        value = f"{low} or more"
    else:
        value = low if low == high else f"{low} to {high}"
    length = unit_for_reader("length", reader)
    body = f"{BODIES[asked.body][:1].lower()}{BODIES[asked.body][1:]} of {written(asked.body_kg, unit_for_reader('heavy_mass', reader))}"
    return (
        f"Blunt criterion: {value} ({ILLUSTRATIVE}). For {body}, whose wall is taken as {written(found.wall_m, length, figures=2)}, "
        f"and a blow over {span(*found.width_m, unit=length)}, {found.width_words}. Under blunt batons {PRINTED_HALF:g} was printed as an even "
        f"chance of an injury of the chest of grade 2 to 3 ({ILLUSTRATIVE}; from memory). A lower figure is no promise, and a higher one no finding."
    )


def back_face_words(fact: ShotFact, stand: StandFact | None, *, reader: str) -> str:
    """How deep the back was pushed in, and the standards' figure with what it was made for."""
    backing = [layer for layer in stand.layers if layer.role == "backing"] if stand else []
    if fact.back_face_m is None:
        return "How far its back was pushed in nobody wrote down." if backing else "How far its back was pushed in nobody wrote down, and no backing that keeps a print stands in the book."
    behind = f", into {backing[0].material}" if backing and backing[0].material else "" if backing else ", though no backing that keeps a print stands in the book"
    printed = printed_back_face("bullets_on_clay")
    figure = with_unit(f"{1000 * printed.depth_m:g}", "mm")
    return (
        f"Its back was pushed in {written(fact.back_face_m, unit_for_reader('length', reader))}{behind}. The {figure} that standards print is borrowed: "
        f"it was made for {printed.made_for}; more or less than it says nothing of an arrow’s blow."
    )


def _rests(fact: ShotFact, panel: Panel | None, *, stand: StandFact | None, reader: str) -> tuple[tuple[str, str], ...]:
    """What of panel and stand went into it, as they stand in the book."""
    unit = unit_for_reader("heavy_mass", reader)
    held = stand.stand if stand else None
    along = held.hung_mass_kg if held else None
    return (
        ("Panel", f"{fact.panel_name}, {written(panel.mass_kg, unit) if panel and panel.mass_kg else 'never weighed'}"),
        ("Hangs along", written(along, unit) if along else "nothing" if along == 0 else "never weighed"),
        ("Held", f"{HELD[held.held].lower()}, {held.name}" if held and held.held else "nobody wrote down how"),
    )


def _minds(fact: ShotFact, shared: SharedBlow | None, *, stand: StandFact | None, reader: str) -> tuple[str, ...]:
    found = []
    if came_through(fact):
        found.append("Its point came behind the armour: what it did there is no blunt blow, whatever the panel took.")
    elif may_have_come_through(fact):
        found.append("It may have come through: look behind it on the bench.")
    if shared is None:
        return tuple(found)
    if shared.open_above:
        found.append("This armour is not rigid: less of it moves at once, so more energy can stay in that part than the panel’s mass says. No upper end is given.")
    angle = fact.angle_rad if fact.angle_rad is not None else fact.setup_angle_rad or 0.0
    if abs(angle) > SQUARE_RAD:
        found.append(f"It struck {written(abs(angle), unit_for_reader('angle', reader))} off square: the masses are those of a square blow, and the push need not have been along the flight.")
    if stand is not None and stand.stand.gap_m is None:
        found.append("How far the panel hung from what stood behind nobody wrote down: it is taken as free until the arrow had done its work.")
    if shared.ending == "unknown" and fact.arrow_did == "glanced":
        found.append("It glanced off: only what stood square to the panel pushed it, and nobody measured how much that was.")
    if fact.arrow_did == "broke_up":
        found.append("It broke up: its pieces left at speeds that nobody read.")
    found.append("A dent is work spent on the armour and not on the wearer’s side; a panel that bends right onto a body pushes harder in one place than one that hangs free.")
    return tuple(found)
