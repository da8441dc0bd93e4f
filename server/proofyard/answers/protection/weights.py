"""What a square metre weighs of what the shots of one panel type had to get through."""

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from proofyard.quantities import Uncertain
from proofyard.quantities.reason import Reason, because
from proofyard.records.kit_between import StandFact
from proofyard.records.shot_facts import ShotFact
from proofyard.records.stand import StandLayer
from proofyard.shots.panel_measures import CLOTH_SHARE, Areal

BODY_LINE = "body_line"  # the meaning of through that a garment helps against


@dataclass(frozen=True)
class PanelWeight:
    """One panel build. `name` with its build where it is not the first."""

    build_id: str
    name: str
    shots: int
    areal: Areal

    @property
    def told(self) -> Reason:
        """What it weighs, or why that isn't known."""
        if self.areal.value is None:
            return because("weight_not_known", why=self.areal.how)
        return because("weight_told", weight=self.areal.value, how=self.areal.how)


@dataclass(frozen=True)
class TypeWeight:
    """kg/m² of a panel type, the mean over the shots at its panels; None with the reason. `unknown`: panels without a weight.

    garment  what lay behind is in it: it counts only where through means past the body line
    """

    value: Uncertain | None
    why_not: Reason | None
    panels: tuple[PanelWeight, ...]
    unknown: int
    garment: bool = False

    @property
    def told(self) -> Reason:
        if self.value is None:
            return because("weight_not_known", why=self.why_not)
        return because("weight_of_type", weight=self.value)


@dataclass(frozen=True)
class LayerWeight:
    """One garment or backing, and the panels that it lay behind."""

    stand_id: str
    stand: str
    layer: StandLayer

    @property
    def told(self) -> Reason:
        weight = self.layer.areal_kg_m2
        return because("layer_not_weighed") if weight is None else because("layer_weighed", weight_kg_m2=weight)


def type_weight(facts: Sequence[ShotFact], areals: Mapping[str, Areal], *, stands: Mapping[str, StandFact], how: str) -> TypeWeight:
    """Of the shots at one panel type. `how`: what through means, as a view has it."""
    shots = Counter(fact.panel_build_id for fact in facts)
    names = {fact.panel_build_id: _name(fact) for fact in facts}
    not_known = Areal(None, because("panel_not_weighed"))
    panels = tuple(PanelWeight(build, names[build], count, areals.get(build, not_known)) for build, count in shots.most_common())
    known = [(one.areal.value, one.shots) for one in panels if one.areal.value is not None]
    unknown = len(panels) - len(known)
    if not known:
        return TypeWeight(None, panels[0].areal.how if panels else because("panel_not_weighed"), panels, unknown)
    armour = mean_weight(known)
    if how != BODY_LINE:
        return TypeWeight(armour, None, panels, unknown)
    garment = garment_weight(facts, stands)
    if garment is None:
        return TypeWeight(None, because("garment_not_weighed"), panels, unknown)
    u = math.hypot(armour.standard_uncertainty or 0.0, CLOTH_SHARE * garment)
    return TypeWeight(Uncertain(armour.value + garment, u), None, panels, unknown, garment=garment > 0)


def mean_weight(known: Sequence[tuple[Uncertain, int]]) -> Uncertain:
    """The mean over shots. Panels weighed on one scale are off together, so their number lessens only what parts them."""
    shots = sum(count for _, count in known)
    mean = math.fsum(one.value * count for one, count in known) / shots
    shared = math.fsum((one.standard_uncertainty or 0.0) * count for one, count in known) / shots
    spread = math.sqrt(math.fsum((one.value - mean) ** 2 for one, _ in known) / (len(known) - 1) / len(known)) if len(known) > 1 else 0.0
    return Uncertain(mean, math.hypot(shared, spread))


def garment_weight(facts: Iterable[ShotFact], stands: Mapping[str, StandFact]) -> float | None:
    """Mean over the shots of what the garments behind weigh; 0 where none stood there, None where one was not weighed."""
    found = [_garment_of(stands.get(fact.stand_id or "")) for fact in facts]
    known = [one for one in found if one is not None]
    return math.fsum(known) / len(known) if known and len(known) == len(found) else None


def _garment_of(stand: StandFact | None) -> float | None:
    """None too where no stand was recorded: what lay behind is then not known."""
    if stand is None:
        return None
    weights = [one.areal_kg_m2 for one in stand.layers if one.role == "garment"]
    known = [one for one in weights if one is not None]
    return math.fsum(known) if len(known) == len(weights) else None


def layers_behind(stands: Mapping[str, StandFact]) -> tuple[LayerWeight, ...]:
    """Every garment and backing of these stands, by stand and from the front."""
    return tuple(
        LayerWeight(key, one.stand.name, layer)
        for key, one in sorted(stands.items(), key=lambda pair: pair[1].stand.name)
        for layer in one.layers
        if layer.role in ("garment", "backing")
    )


def _name(fact: ShotFact) -> str:
    return fact.panel_name + (f", build {fact.panel_build_number}" if fact.panel_build_number > 1 else "")
