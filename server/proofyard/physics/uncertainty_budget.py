"""Where the uncertainty of a shot's energy comes from, step by step from the readings to the target.

Sources of uncertainty act on results in three ways, so they are kept apart:
    instrument  the same for every shot of the book: a chronograph that reads 1 % high moves all energies together,
                and no comparison inside the book changes
    combination     the same for every shot of one bow, arrow and archer: it moves one group against another
    shot        this shot alone: it blurs every group
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from proofyard.physics.flight import drag_per_m
from proofyard.quantities.reason import OutOfRange, Reason, because, must_be_above_zero, must_lie_between

SCOPES = ("instrument", "combination", "shot")
QUANTITIES = ("mass", "speed", "distance", "drag_coefficient", "shaft_diameter", "air_density")


@dataclass(frozen=True)
class ShotInputs:
    """What a shot's energy at the target is worked out from, in SI. Speed at the chronograph, distance from there on."""

    mass_kg: float
    speed_m_s: float
    distance_m: float
    drag_coefficient: float
    shaft_diameter_m: float
    air_density_kg_m3: float

    def __post_init__(self) -> None:
        must_be_above_zero("speed_m_s", self.speed_m_s)
        must_lie_between("speed_m_s", self.speed_m_s, low=0.0, high=150.0)
        must_lie_between("distance_m", self.distance_m, low=0.0, high=400.0)
        must_be_above_zero("drag_coefficient", self.drag_coefficient)
        _drag_of(self)  # refuses what it doesn't cover

    @property
    def by_quantity(self) -> dict[str, float]:
        return {
            "mass": self.mass_kg,
            "speed": self.speed_m_s,
            "distance": self.distance_m,
            "drag_coefficient": self.drag_coefficient,
            "shaft_diameter": self.shaft_diameter_m,
            "air_density": self.air_density_kg_m3,
        }


@dataclass(frozen=True)
class UncertaintySource:
    """One source of uncertainty of one input: `what` it is, u in the input's SI unit, type A or B."""

    quantity: str
    what: Reason | str
    standard_uncertainty: float
    scope: str
    kind: str = "B"
    dof: float = math.inf

    def __post_init__(self) -> None:
        if not 0 <= self.standard_uncertainty < math.inf:
            raise OutOfRange("standard_uncertainty", self.standard_uncertainty, because("zero_or_more"))
        for name, value, known in (("quantity", self.quantity, QUANTITIES), ("scope", self.scope, SCOPES)):
            if value not in known:
                raise ValueError(name, value, *known)
        if self.kind not in ("A", "B"):
            raise ValueError("kind", self.kind)
        if not self.dof > 0:
            raise OutOfRange("dof", self.dof, because("above", limit=0.0))


@dataclass(frozen=True)
class Line:
    """What one source does to the result: u in the result's unit."""

    uncertainty: UncertaintySource
    contribution: float
    share: float  # of the combined variance


@dataclass(frozen=True)
class Budget:
    """One result with its uncertainty in lines. `most` is the line that costs most; without it `without_most` would remain."""

    step: str
    value: float
    standard_uncertainty: float
    dof: float
    lines: tuple[Line, ...]
    by_scope: Mapping[str, float]
    most: Line | None
    without_most: float


def _drag_of(inputs: ShotInputs) -> float:
    return drag_per_m(inputs.drag_coefficient, inputs.shaft_diameter_m, mass_kg=inputs.mass_kg, air_density_kg_m3=inputs.air_density_kg_m3)


@dataclass(frozen=True)
class _Step:
    """A result as mass^m speed^v k^c times exp(-times k x): all that is needed for value and sensitivities."""

    mass: float
    speed: float
    drag: float
    times: float
    value: Callable[[ShotInputs, float], float]


STEPS: Mapping[str, _Step] = MappingProxyType(
    {
        "speed_at_chronograph_m_s": _Step(0, 1, 0, 0, lambda i, k: i.speed_m_s),
        "energy_at_chronograph_j": _Step(1, 2, 0, 0, lambda i, k: i.mass_kg * i.speed_m_s**2 / 2),
        "drag_per_m": _Step(0, 0, 1, 0, lambda i, k: k),
        "speed_at_target_m_s": _Step(0, 1, 0, 1, lambda i, k: i.speed_m_s * math.exp(-k * i.distance_m)),
        "momentum_at_target_kg_m_s": _Step(1, 1, 0, 1, lambda i, k: i.mass_kg * i.speed_m_s * math.exp(-k * i.distance_m)),
        "energy_at_target_j": _Step(1, 2, 0, 2, lambda i, k: i.mass_kg * i.speed_m_s**2 / 2 * math.exp(-2 * k * i.distance_m)),
    }
)


def sensitivities(inputs: ShotInputs, step: str) -> dict[str, float]:
    """How far a result moves for each unit that an input moves.

    E = m v^2/2 exp(-2 k x), k = rho C_d pi d^2/(8 m):
    dE/dm = E (1 + 2 k x)/m, dE/dv = 2 E/v, dE/dx = -2 k E, dE/dC_d = -2 k x E/C_d, dE/drho = -2 k x E/rho,
    dE/dd = -4 k x E/d; the other steps alike

    Takes
        inputs  ShotInputs  of one shot
        step    text        a name in STEPS
    Gives
        table of a scalar for each name in QUANTITIES, the step's SI unit per SI unit of the input
    Refuses
        OutOfRange  what ShotInputs refuses; KeyError for a step that isn't in STEPS
    Holds while
        the flight is flat and drag goes with the square of speed
    Source
        JCGM 100:2008 (GUM), 5.1.3, with the derivatives of the formulas in energy.py and flight.py. The mass counts
        twice: it makes the energy, and it makes the arrow lose less. Checked in tests/physics/test_physics_budget_by_hand.py
    >>> shot = ShotInputs(0.060, 55.0, 20.0, 2.0, 0.0095, 1.2)
    >>> {name: round(value, 3) for name, value in sensitivities(shot, "energy_at_target_j").items()}["speed"]
    3.118
    """
    form = STEPS[step]
    k = _drag_of(inputs)
    value = form.value(inputs, k)
    # k goes with rho, C_d, d^2 and 1/m; a step that holds k by its power and one that holds it in exp add up.
    by_drag = form.drag - form.times * k * inputs.distance_m
    return {
        "mass": value * (form.mass - by_drag) / inputs.mass_kg,
        "speed": value * form.speed / inputs.speed_m_s,
        "distance": -value * form.times * k,
        "drag_coefficient": value * by_drag / inputs.drag_coefficient,
        "shaft_diameter": value * 2 * by_drag / inputs.shaft_diameter_m,
        "air_density": value * by_drag / inputs.air_density_kg_m3,
    }


def uncertainty_budget(inputs: ShotInputs, uncertainties: Sequence[UncertaintySource], *, step: str = "energy_at_target_j") -> Budget:
    """A result of one shot with its uncertainty in lines, and which line costs most.

    u^2 = sum (c_i u_i)^2, nu_eff = u^4 / sum ((c_i u_i)^4 / nu_i)

    Takes
        inputs  ShotInputs          of one shot
        uncertainties  array of UncertaintySource      each source once; one input may have several
        step    text                a name in STEPS; the energy at the target unless you say
    Gives
        Budget in the step's SI unit; lines in the order given; by_scope the root of the squares of each scope
    Refuses
        OutOfRange  what ShotInputs and UncertaintySource refuse; KeyError for a step that isn't in STEPS
    Holds while
        the causes are independent and small: first order, which stays within 2 % of Monte Carlo while speed is known
        to 5 % and the drag coefficient to a third at 30 m
    Source
        JCGM 100:2008 (GUM), 5.1.2 equation (10), G.4.1 equation (G.2b). Checked in tests/published/test_budget.py and
        against Monte Carlo in tests/physics/test_physics_budget.py
    >>> shot = ShotInputs(0.060, 55.0, 20.0, 2.0, 0.0095, 1.2)
    >>> chronograph = UncertaintySource("speed", "chronograph", 0.275, "instrument")
    >>> found = uncertainty_budget(shot, [chronograph, UncertaintySource("drag_coefficient", "default", 0.4, "combination")])
    >>> round(found.value, 2), round(found.standard_uncertainty, 2), found.most.uncertainty.what
    (85.75, 1.3, 'default')
    """
    by_quantity = sensitivities(inputs, step)
    parts = [(uncertainty, by_quantity[uncertainty.quantity]) for uncertainty in uncertainties]
    contributions = [abs(c) * uncertainty.standard_uncertainty for uncertainty, c in parts]
    total = math.hypot(*contributions)
    lines = tuple(
        Line(uncertainty, u, (u / total) ** 2 if total else 0.0) for (uncertainty, _), u in zip(parts, contributions, strict=True)
    )
    of_scope: dict[str, list[float]] = {scope: [] for scope in SCOPES}
    for (uncertainty, _), u in zip(parts, contributions, strict=True):
        of_scope[uncertainty.scope].append(u)
    # By shares and not by fourth powers, which run out of a float's range.
    weight = math.fsum(line.share**2 / line.uncertainty.dof for line in lines)
    most = max(lines, key=lambda line: line.contribution, default=None)
    if most is not None and most.contribution == 0:
        most = None
    without = [line.contribution for line in lines if line is not most]
    return Budget(
        step=step,
        value=STEPS[step].value(inputs, _drag_of(inputs)),
        standard_uncertainty=total,
        dof=1 / weight if weight > 0 else math.inf,
        lines=lines,
        by_scope=MappingProxyType({scope: math.hypot(*each) for scope, each in of_scope.items()}),
        most=most,
        without_most=math.hypot(*without),
    )
