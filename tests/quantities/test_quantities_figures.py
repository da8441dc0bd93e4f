"""A stored value as its reader sees it."""

import pytest
from proofyard.quantities import figure


@pytest.mark.parametrize(
    ("value_si", "kind", "reader", "words"),
    [
        (0.0034, "small_length", "metric", "3.4\u00a0mm"),
        (293.15, "temperature", "metric", "20\u00a0°C"),
        (0.5, "temperature_accuracy", "metric", "0.5\u00a0°C"),
        (489.3043777, "draw_weight", "archery", "110\u00a0lbf"),
    ],
)
def test_a_value_stands_in_its_readers_unit_and_a_step_stays_a_step(value_si: float, kind: str, reader: str, words: str) -> None:
    assert figure(value_si, kind, reader) == words
