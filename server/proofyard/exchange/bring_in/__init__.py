"""Spreadsheets with anybody’s columns: read with limits, understood by guesses that a person can change, brought in as one batch."""
