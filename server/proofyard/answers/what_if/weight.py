"""What a change of the armour weighs: "0.4 mm more is 3.1 kg/m² more"."""

import math

from proofyard.answers.what_if.ask import Changes
from proofyard.answers.what_if.basis import Armour
from proofyard.physics.panel import PlateLattice, mean_layers, plate_areal_density_kg_m2
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import Reason, because
from proofyard.records.panel import SMALL_PLATED
from proofyard.shots.panel_measures import lattice_of


def weight_of_change(what: Changes, armour: Armour) -> tuple[Reason, ...]:
    """What a square metre would weigh more, or less; nothing where no change bears on it, or the measures don't tell."""
    if not any((what.thickness_m, what.layers, what.cloths, what.wire_m)):
        return ()
    now = armour.areal
    single = _thicker(what, armour), _more_cloth(what, armour), _thicker_wire(what, armour)
    if None in single:
        return ()
    changes = [one for one in single if one is not None]
    layers = what.layers or 1
    if layers > 1 and now is None:
        return ()
    more = Uncertain(0.0, 0.0) if now is None else now
    parts = [(layers - 1, more), *((layers, one) for one in changes)]
    unknown = any(times and one.standard_uncertainty is None for times, one in parts)
    return (
        because(
            "what_if_weighs",
            thickness_m=_change(what.thickness_m, armour.thickness_m),
            cloths=_change(what.cloths, armour.panel.cloth_layers),
            wire_m=_change(what.wire_m, armour.panel.ring_wire_m),
            layers=layers,
            extra_kg_m2=math.fsum(times * one.value for times, one in parts),
            extra_u_kg_m2=None if unknown else math.hypot(*(times * (one.standard_uncertainty or 0.0) for times, one in parts)),
            now_kg_m2=now.value if now else None,
            now_u_kg_m2=now.standard_uncertainty if now else None,
        ),
    )


def _change(wanted: float | None, now: float | None) -> float | None:
    return None if wanted is None or now is None else wanted - now


NO_MORE = Uncertain(0.0, 0.0)


def _thicker(what: Changes, armour: Armour) -> Uncertain | None:
    """kg/m² more by thicker plates; none where their thickness stays, None where it can't be told.

    The thickness asked about is what it is; that of the panel is known as well as it was measured.
    """
    more = _change(what.thickness_m, armour.thickness_m)
    if what.thickness_m is None or more == 0:
        return NO_MORE
    if more is None:
        return None
    plates = lattice_of(armour.panel) if armour.construction in SMALL_PLATED else None
    if isinstance(plates, Reason):
        return None
    over = mean_layers(plates) if isinstance(plates, PlateLattice) else 1.0
    one = plate_areal_density_kg_m2(abs(more)) * over
    u = armour.thickness_u_m
    return Uncertain(one if more > 0 else -one, one / abs(more) * u if u is not None else None)


def _more_cloth(what: Changes, armour: Armour) -> Uncertain | None:
    """How well a layer's weight is known nobody wrote down."""
    if what.cloths is None:
        return NO_MORE
    more, layer = _change(what.cloths, armour.panel.cloth_layers), armour.panel.cloth_layer_kg_m2
    return None if more is None or layer is None else Uncertain(more * layer, None)


def _thicker_wire(what: Changes, armour: Armour) -> Uncertain | None:
    """Rings that grow in proportion: each weighs by the cube, and by the square fewer hang on a square metre."""
    if what.wire_m is None:
        return NO_MORE
    wire, now = armour.panel.ring_wire_m, armour.areal
    if not wire or now is None:
        return None
    times, u = what.wire_m / wire - 1, now.standard_uncertainty
    return Uncertain(now.value * times, abs(times) * u if u is not None else None)
