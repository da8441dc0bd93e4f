"""What stood behind the panel, whether it keeps a print, and what its drop checks say beside the one that a standard prints."""

from collections.abc import Sequence
from dataclasses import dataclass

from proofyard.physics.backing_drop import PrintedDrop, drop_energy_j, printed_drop
from proofyard.quantities.reason import Reason, because
from proofyard.records.kit_between import StandFact
from proofyard.records.stand import BackingCheck

LIKE = 0.01  # a ball and a height within a hundredth of the printed ones are alike


@dataclass(frozen=True)
class CheckTold:
    """One check: when, UTC ms; what was done and how deep; what the printed rule makes of it."""

    at: int | None
    done: Reason
    beside: Reason


@dataclass(frozen=True)
class BackingTold:
    """A stand's backing. `behind`: what is behind the panel, `checks` the newest first, `missing` what would be wanted."""

    stand_id: str
    name: str
    behind: Reason
    checks: tuple[CheckTold, ...]
    missing: Reason | None


def backing_told(built: StandFact, checks: Sequence[BackingCheck]) -> BackingTold:
    stand = built.stand
    layers = tuple(
        because("blunt_layer", material=one.material, thickness_m=one.thickness_m) for one in built.layers if one.role == "backing"
    )
    behind = because("blunt_backing", layers=layers, gap_m=stand.gap_m) if layers else because("blunt_no_backing")
    mine = sorted((one for one in checks if one.stand_id == stand.id), key=lambda one: -(one.at or 0))
    missing = because("blunt_no_check") if layers and not mine else None
    return BackingTold(stand.id, stand.name, behind, tuple(check_told(one) for one in mine), missing)


def check_told(check: BackingCheck) -> CheckTold:
    """With the energy that the drop brought."""
    mass, height = check.drop_mass_kg, check.drop_height_m
    done = because(
        "blunt_drop",
        mass_kg=mass,
        across_m=check.drop_across_m,
        height_m=height,
        energy_j=drop_energy_j(mass, height) if mass and height else None,
        drops=check.drops,
        found_m=check.found_m,
        temperature_k=check.temperature_k,
        how=check.how,
    )
    return CheckTold(check.at, done, beside_printed(check, printed_drop("bullets_on_clay")))


def beside_printed(check: BackingCheck, rule: PrintedDrop) -> Reason:
    """What the printed rule makes of it, or why it says nothing here."""

    def unlike(value: float | None, wanted: float) -> float | None:
        return wanted if value is None or abs(value - wanted) > LIKE * wanted else None

    wanted = (
        unlike(check.drop_mass_kg, rule.mass_kg),
        unlike(check.drop_across_m, rule.across_m),
        unlike(check.drop_height_m, rule.height_m),
        rule.drops if (check.drops or 0) < rule.drops else None,
    )
    if any(one is not None for one in wanted):
        return because("blunt_not_like", mass_kg=wanted[0], across_m=wanted[1], height_m=wanted[2], drops=wanted[3])
    if check.found_m is None:
        return because("blunt_no_depth")
    low, high = rule.depth_m - rule.either_way_m, rule.depth_m + rule.either_way_m
    return because("blunt_beside", within=low <= check.found_m <= high, low_m=low, high_m=high)
