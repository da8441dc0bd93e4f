"""What stood behind the panel, whether it keeps a print, and what its drop checks say beside the one that a standard prints."""

from collections.abc import Sequence
from dataclasses import dataclass

from server.findings.when import moment_words
from server.physics.backing_drop import PrintedDrop, drop_energy_j, printed_drop
from server.quantities import unit_for_reader, with_unit, written
from server.records.kit_between import StandFact
from server.records.stand import BackingCheck

LIKE = 0.01  # a ball and a height within a hundredth of the printed ones are alike
BORROWED = "borrowed: made for clay behind soft vests and bullets, and no rule for arrows"


@dataclass(frozen=True)
class CheckTold:
    """One check: what was done, how deep, and what the printed rule makes of it."""

    when: str
    words: str
    beside: str


@dataclass(frozen=True)
class BackingTold:
    """A stand's backing. `words` says what is behind the panel, `checks` the newest first, `missing` what would be wanted."""

    stand_id: str
    name: str
    words: str
    checks: tuple[CheckTold, ...]
    missing: str


def backing_told(built: StandFact, checks: Sequence[BackingCheck], *, reader: str) -> BackingTold:
    stand = built.stand
    layers = [layer for layer in built.layers if layer.role == "backing"]
    if layers:
        said = ", then ".join(_layer(layer.material, layer.thickness_m, reader) for layer in layers)
        gap = f" The panel hangs {written(stand.gap_m, unit_for_reader('length', reader))} in front of it." if stand.gap_m else ""
        words = f"Behind the panel: {said}.{gap}"
    else:
        words = "No backing stands behind the panel in the book: nothing there keeps a print."
    mine = sorted((one for one in checks if one.stand_id == stand.id), key=lambda one: -(one.at or 0))
    missing = "" if mine or not layers else "Nobody let anything fall on it: what a print in it means can’t be told."
    return BackingTold(stand.id, stand.name, words, tuple(check_told(one, reader=reader) for one in mine), missing)


def _layer(material: str | None, thickness_m: float | None, reader: str) -> str:
    thick = f", {written(thickness_m, unit_for_reader('length', reader))}" if thickness_m else ""
    return (material or "something nobody named") + thick


def check_told(check: BackingCheck, *, reader: str) -> CheckTold:
    """In words, with the energy that the drop brought."""
    said = []
    if check.drop_mass_kg is not None:
        said.append(written(check.drop_mass_kg, unit_for_reader("heavy_mass", reader)))
    if check.drop_across_m is not None:
        said.append(f"{written(check.drop_across_m, 'mm')} across")
    if check.drop_height_m is not None:
        said.append(f"from {written(check.drop_height_m, 'm')}")
    if check.drop_mass_kg and check.drop_height_m:
        said.append(f"so {written(drop_energy_j(check.drop_mass_kg, check.drop_height_m), unit_for_reader('energy', reader), figures=3)}")
    drops = f", mean of {check.drops}" if check.drops and check.drops > 1 else ", once" if check.drops == 1 else ""
    depth = f"{written(check.found_m, 'mm')} deep{drops}" if check.found_m is not None else "how deep nobody wrote down"
    warm = f"; the backing at {written(check.temperature_k, '°C')}" if check.temperature_k is not None else "; how warm it was nobody wrote down"
    fell = ", ".join(said) or check.how or "what fell nobody wrote down"
    return CheckTold(moment_words(check.at) if check.at else "", f"{fell}: {depth}{warm}.", beside_printed(check, printed_drop("bullets_on_clay")))


def beside_printed(check: BackingCheck, rule: PrintedDrop) -> str:
    """What the printed rule makes of it, or why it says nothing here."""
    otherwise = []
    for value, wanted, words in (
        (check.drop_mass_kg, rule.mass_kg, with_unit(f"{rule.mass_kg:g}", "kg")),
        (check.drop_across_m, rule.across_m, f"{with_unit(f'{1000 * rule.across_m:g}', 'mm')} across"),
        (check.drop_height_m, rule.height_m, f"from {with_unit(f'{rule.height_m:.1f}', 'm')}"),
    ):  # fmt: skip
        if value is None or abs(value - wanted) > LIKE * wanted:
            otherwise.append(words)
    if (check.drops or 0) < rule.drops:
        otherwise.append(f"mean of {rule.drops}")
    if otherwise:
        return f"Not done as the printed check is ({', '.join(otherwise)}), so its limits say nothing here."
    if check.found_m is None:
        return "Without a depth the printed limits say nothing."
    low, high = rule.depth_m - rule.either_way_m, rule.depth_m + rule.either_way_m
    lies = "within" if low <= check.found_m <= high else "outside"
    return f"It lies {lies} {1000 * low:g} to {with_unit(f'{1000 * high:g}', 'mm')}, which a standard asks of its clay ({BORROWED})."
