"""One shot's blunt impact worked out line by line, with the method of each figure, what it rests on, and what to check in it."""

from collections.abc import Iterator
from dataclasses import dataclass

from proofyard.answers.blunt.ask import BODIES, BluntAsked
from proofyard.answers.blunt.criterion import CriterionFound
from proofyard.answers.blunt.shared import DOWN_RAD, LEFT, LONGER, Shared, SharedImpact, came_through, may_have_come_through
from proofyard.physics.trauma import printed_back_face_m
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import CantTell, Reason, because
from proofyard.records.kit_between import StandFact
from proofyard.records.panel import Panel
from proofyard.records.shot_facts import ShotFact
from proofyard.shots.impact import Impact
from proofyard.shots.impact_steps import ImpactStep
from proofyard.shots.shot_energy import StepTold, step_told

SQUARE_RAD = 0.1  # some 6 degrees: common practice, no source


@dataclass(frozen=True)
class BluntTold:
    """One shot's blunt impact. `cautions`: what to check in it; `why_not` where it can't be shared out,
    `no_criterion` where that can't be told.

    rests   of panel and stand, as they stand in the book
    left    its arrow bounced or passed, so how fast it left can be asked
    bounced how far it bounced was read, so how high the spot was can be asked
    """

    shot_id: str
    label: str
    finding: Reason
    ending: Reason | None
    steps: tuple[StepTold, ...]
    why_not: Reason | None
    outside: CriterionFound | None
    criterion: Reason | None
    no_criterion: Reason | None
    back_face: Reason
    cautions: tuple[Reason, ...]
    rests: tuple[tuple[str, Reason], ...]
    left: bool
    bounced: bool


def told_of(
    fact: ShotFact,
    impact: Impact,
    *,
    shared: Shared,
    criterion: CriterionFound | CantTell,
    asked: BluntAsked,
    stand: StandFact | None,
    panel: Panel | None,
    reader: str,
) -> BluntTold:
    known = None if isinstance(shared, CantTell) else shared
    found = None if isinstance(criterion, CantTell) else criterion
    return BluntTold(
        shot_id=fact.shot_id,
        label=fact.label,
        finding=_finding(fact, impact, known),
        ending=because("blunt_ending", ending=known.ending, bounce=_bounce(known)) if known else None,
        steps=tuple(step_told(one, reader) for one in _steps(impact, known)) if known else (),
        why_not=shared.reason if isinstance(shared, CantTell) else None,
        outside=found,
        criterion=_criterion(found, asked) if found else None,
        no_criterion=criterion.reason if isinstance(criterion, CantTell) else None,
        back_face=_back_face(fact, stand),
        cautions=tuple(_cautions(fact, known, stand)),
        rests=_rests(fact, panel, stand),
        left=fact.arrow_did in LEFT,
        bounced=known is not None and known.bounce is not None,
    )


def _finding(fact: ShotFact, impact: Impact, shared: SharedImpact | None) -> Reason:
    there = impact.at_target
    if shared is None or there is None:
        return because("blunt_one_unknown", label=fact.label)
    return because(
        "blunt_one_shot",
        label=fact.label,
        momentum_kg_m_s=there.momentum_kg_m_s.value,
        momentum_u_kg_m_s=there.momentum_kg_m_s.standard_uncertainty,
        energy_j=there.energy_j.value,
        energy_u_j=there.energy_j.standard_uncertainty,
        low_kg_m_s=shared.range.momentum_kg_m_s[0],
        high_kg_m_s=shared.range.momentum_kg_m_s[1],
        low_j=shared.range.energy_j[0],
        high_j=shared.range.energy_j[1],
        open_above=shared.open_above,
    )


def _bounce(shared: SharedImpact) -> Reason | None:
    """How far it lay, and how fast that lets it have come back."""
    read = shared.bounce
    if read is None or shared.ending == "read":
        return None
    return because("blunt_bounce", length_m=read.length_m, fall_m=read.fall_m, fall_typed=read.fall_typed, fastest_m_s=read.fastest_m_s)


def _steps(impact: Impact, shared: SharedImpact) -> Iterator[ImpactStep]:
    """From what it brought to what went on; two lines where an end is open."""
    there = impact.at_target
    assert there is not None
    energy, both = shared.energy_j, shared.range.energy_j[0] != shared.range.energy_j[1]
    method = "stuck_impact" if not both else "impact_after" if shared.ending == "read" else "impact_between"
    alone = because("blunt_panel_alone", turning=shared.turning)
    momentum, energy_there = because("step_momentum_at_target"), because("step_energy_at_target")
    yield ImpactStep(momentum, there.momentum_kg_m_s, "momentum", because("blunt_step_m_v"), method="momentum_kg_m_s")
    read = shared.bounce
    if shared.ending == "bounced_length" and read is not None and read.fastest_m_s is not None:
        fastest = Uncertain(read.fastest_m_s, None)
        lay = because("blunt_step_where_it_lay")
        yield ImpactStep(because("blunt_step_bounce"), fastest, "speed", lay, method="fastest_bounce_m_s")
    yield from _momenta(shared, method)
    yield ImpactStep(energy_there, there.energy_j, "energy", because("energy_place", place="target"), method="energy_at_target_j")
    passed = because("blunt_step_energy_passed", least=both)
    if both:
        all_moves = because("blunt_all_moves") if shared.most_kg != shared.least_kg else None
        yield ImpactStep(passed, energy[0], "energy", all_moves, method=method)
        most = because("blunt_step_at_most", open_above=shared.open_above)
        yield ImpactStep(most, energy[1], "energy", alone, last=True, method=method)
    else:
        yield ImpactStep(passed, energy[0], "energy", alone, last=True, method=method)


def _momenta(shared: SharedImpact, method: str) -> Iterator[ImpactStep]:
    low, high = shared.momentum_kg_m_s
    if low.value == high.value:
        note = because("blunt_all_of_it") if shared.ending == "stood" else None
        yield ImpactStep(because("blunt_step_momentum_taken", least=False), low, "momentum", note, method=method)
        return
    yield ImpactStep(because("blunt_step_momentum_taken", least=True), low, "momentum", method=method)
    yield ImpactStep(because("blunt_step_at_most", open_above=False), high, "momentum", method=method)


def _criterion(found: CriterionFound, asked: BluntAsked) -> Reason:
    return because(
        "blunt_criterion",
        low=found.low,
        high=found.high,
        body=BODIES[asked.body],
        body_kg=asked.body_kg,
        wall_m=found.wall_m,
        narrow_m=found.width_m[0],
        wide_m=found.width_m[1],
        width_typed=found.width_typed,
    )


def _back_face(fact: ShotFact, stand: StandFact | None) -> Reason:
    backing = [layer for layer in stand.layers if layer.role == "backing"] if stand else []
    if fact.back_face_m is None:
        return because("blunt_no_back_face", backing=bool(backing))
    return because(
        "blunt_back_face",
        depth_m=fact.back_face_m,
        backing=bool(backing),
        material=(backing[0].material or "") if backing else "",
        printed_m=printed_back_face_m("bullets_on_clay"),
    )


def _rests(fact: ShotFact, panel: Panel | None, stand: StandFact | None) -> tuple[tuple[str, Reason], ...]:
    """What of panel and stand went into it, as they stand in the book."""
    held = stand.stand if stand else None
    mass = because("blunt_mass", mass_kg=panel.mass_kg if panel else None, nothing=False)
    return (
        ("Panel", because("blunt_rests_panel", panel=fact.panel_name, mass=mass)),
        ("Hangs with it", because("blunt_mass", mass_kg=held.hung_mass_kg if held else None, nothing=True)),
        ("Held", because("blunt_held", held=held.held if held else None, stand=held.name if held else "")),
    )


def _cautions(fact: ShotFact, shared: SharedImpact | None, stand: StandFact | None) -> Iterator[Reason]:
    if came_through(fact):
        yield because("blunt_was_through")
    elif may_have_come_through(fact):
        yield because("blunt_maybe_through")
    if shared is None:
        return
    if shared.open_above:
        yield because("blunt_not_rigid")
    angle = abs(fact.angle_rad if fact.angle_rad is not None else fact.setup_angle_rad or 0.0)
    if angle > SQUARE_RAD:
        yield because("blunt_slanted", angle_rad=angle)
    if stand is not None and stand.stand.gap_m is None:
        yield because("blunt_no_gap")
    if shared.ending == "unknown" and fact.arrow_did == "glanced":
        yield because("blunt_glanced")
    if fact.arrow_did == "broke_up":
        yield because("blunt_broke_up")
    if shared.ending == "bounced_length":
        yield because("blunt_bounce_limits", longer=LONGER, down_rad=DOWN_RAD)
    yield because("blunt_dent")
