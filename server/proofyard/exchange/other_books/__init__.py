"""Books of other groups, brought in from their packages and kept apart."""
