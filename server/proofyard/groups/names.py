"""What a group is called in an address, and what is called after it.

A name stands in links, in a folder's name and in PostgreSQL's names, so it has small letters, digits and dashes alone. No name has an
underscore: what is called after two groups is never called alike.
"""

import re

MOST_NAME = 30
NAME = re.compile(rf"[a-z0-9](?:[a-z0-9-]{{0,{MOST_NAME - 2}}}[a-z0-9])?")
BELOW = "/g/"
# Windows opens a device, whatever folder such a name would stand in.
DEVICES = frozenset({"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))})


def wrong_with(name: str) -> str | None:
    """What is wrong with a group's name, in words; None for one that can be used.

    >>> wrong_with("oak-yard") is None
    True
    """
    if len(name) > MOST_NAME:
        return f"{len(name)} letters are too many for a group’s name. Use {MOST_NAME} at most; --call says the whole of it."
    if not NAME.fullmatch(name):
        return f"“{name}” can’t stand in an address. Use small letters, digits and dashes, for example oak-yard."
    if name in DEVICES:
        return f"“{name}” is the name of a device on some systems. Choose another, for example {name}-yard."
    return None


def in_database(name: str) -> str:
    """The name as a part of PostgreSQL's names, where a dash would have to be quoted."""
    return name.replace("-", "_")


def path_of_group(name: str, *, below: str = "") -> str:
    """The path that all of a group stands below. `below`: that of the whole server.

    >>> path_of_group("oak", below="/yard")
    '/yard/g/oak'
    """
    return f"{below}{BELOW}{name}"


def group_asked_for(path: str, *, below: str = "") -> tuple[str, str] | None:
    """The name that an address asks for, and the rest of the path; None where it asks for no group.

    A proxy may take the server's own path off or hand it on.

    >>> group_asked_for("/g/oak/kit"), group_asked_for("/g/oak"), group_asked_for("/kit")
    (('oak', '/kit'), ('oak', ''), None)
    """
    rest = path.removeprefix(below) if below and path.startswith(f"{below}/") else path
    if not rest.startswith(BELOW):
        return None
    name, slash, further = rest.removeprefix(BELOW).partition("/")
    return name, slash + further
