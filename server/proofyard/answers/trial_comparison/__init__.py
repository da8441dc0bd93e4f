"""Trials laid side by side, and one that follows another."""
