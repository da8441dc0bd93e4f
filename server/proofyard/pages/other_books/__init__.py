"""Other groups' books: brought in, listed, read, removed."""
