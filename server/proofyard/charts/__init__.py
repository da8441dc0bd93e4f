"""Numbers in, what a template draws out: places, sizes, words and table rows. No mark-up is made here."""
