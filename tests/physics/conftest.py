"""Sums by hand are kept as text, as printed figures are: the same ruler."""

from tests.published.conftest import as_printed

__all__ = ["as_printed"]
