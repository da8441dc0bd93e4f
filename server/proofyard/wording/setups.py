"""A set-up in a line: panel, stand, distance."""

from proofyard.quantities import unit_for_reader, written
from proofyard.records.trial_days import SetupFact
from proofyard.wording.panels import build_words


def setup_words(one: SetupFact, *, reader: str) -> str:
    """ "P3 at 14 m, on stand S1"."""
    words = build_words(one.panel, one.build)
    if one.setup.distance_m is not None:
        words += f" at {written(one.setup.distance_m, unit_for_reader('distance', reader))}"
    return words + (f", on {one.stand}" if one.stand else "")
