"""How far a page is that takes long to work out."""


def how_far(so_far_s: float, likely_s: float | None) -> str:
    """
    >>> how_far(12.4, 41.0)
    'It has been at work for 12\xa0s. The last ones like it took about 41\xa0s.'
    >>> how_far(200.0, 41.0)
    'It has been at work for 3\xa0min, longer than the last ones like it, which took about 41\xa0s.'
    >>> how_far(12.4, None)
    'It has been at work for 12\xa0s. No such page was made since the start, so how long it takes is not known.'
    """
    so_far = f"It has been at work for {_long(so_far_s)}"
    if likely_s is None:
        return f"{so_far}. No such page was made since the start, so how long it takes is not known."
    if so_far_s > likely_s:
        return f"{so_far}, longer than the last ones like it, which took about {_long(likely_s)}."
    return f"{so_far}. The last ones like it took about {_long(likely_s)}."


# What has been done of the parts, by the name that the work gives them (how_far.py).
PARTS = {
    "panel types": "{done} of {whole} panel types are worked out.",
    "pairs": "Heads are compared at {done} of {whole} panel types.",
    "books": "{done} of {whole} books are read.",
    "heads": "{done} of {whole} heads are worked out.",
}


def parts_done(what: str, done: int, whole: int) -> str:
    """
    >>> parts_done("heads", 2, 12)
    '2 of 12 heads are worked out.'
    """
    return PARTS[what].format(done=f"{done:,}", whole=f"{whole:,}")


def _long(seconds: float) -> str:
    """In whole seconds to two minutes, in whole minutes above."""
    return f"{round(seconds)}\N{NO-BREAK SPACE}s" if seconds < 120 else f"{round(seconds / 60)}\N{NO-BREAK SPACE}min"
