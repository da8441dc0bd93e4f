"""Which columns hold what people wrote freely."""

from proofyard.records.columns import Meaning

# Columns of several lines that hold what a tool wrote down, and nobody's words.
WRITTEN_BY_TOOLS = frozenset({"inputs"})


def is_note(column: str, meaning: Meaning) -> bool:
    """Whether somebody writes freely in a column."""
    return meaning.value == "lines" and column not in WRITTEN_BY_TOOLS
