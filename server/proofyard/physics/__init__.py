"""Formulas of the trade: SI in, SI out, no record and no page known here."""
