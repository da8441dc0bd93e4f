"""The data package: one zip that holds the state of the book for others, as tidy tables with their schema."""
