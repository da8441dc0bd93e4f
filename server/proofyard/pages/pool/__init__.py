"""One question asked of several groups' books."""
