"""Blunt impact behind armour that held: what moved on, the print in the backing, the borrowed criterion."""
