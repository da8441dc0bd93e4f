"""A whole book carried from a file to PostgreSQL, or back: every row as it is, checked by its sums, gone on with after a stop."""
