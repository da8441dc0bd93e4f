"""One question asked of several groups' books, each by itself and then together."""
