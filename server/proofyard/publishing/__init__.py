"""Chosen trials as a folder of pages that any browser opens, without this program and without a network."""
