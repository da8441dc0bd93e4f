"""Each table of physics has a name for each of its keys, and no other."""

import pytest
from proofyard.physics import contact, resistance, resistance_scaling, trauma
from proofyard.wording import formula_names

TABLES = (
    (formula_names.STEELS, resistance.QUALITIES),
    (formula_names.PRINTED_ENERGIES, resistance.PRINTED_ENERGIES),
    (formula_names.THICKNESS_RULES, resistance_scaling.THICKNESS_RULES),
    (formula_names.WIRE_RULES, resistance_scaling.WIRE_RULES),
    (formula_names.ANGLE_RULES, resistance_scaling.ANGLE_RULES),
    (formula_names.LAYER_RULES, resistance_scaling.LAYER_RULES),
    (formula_names.SECTION_WIDTHS, contact.SECTIONS),
    (formula_names.TRIED_ON, trauma.TRIED_ON),
)


@pytest.mark.parametrize(("names", "table"), TABLES)
def test_names_and_keys_are_the_same(names: dict[str, str], table: object) -> None:
    assert list(names) == list(table)
