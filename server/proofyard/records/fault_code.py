"""A code for one fault of ours, said to the person and written in the log beside what happened."""

import secrets

# No letter that is read as another one when a person reads the code out over a phone.
CODE_LETTERS = "BCDFGHJKMNPQRSTVWXYZ"


def new_code() -> str:
    """A code short enough to be read out: "KTR-WMB"."""
    letters = "".join(secrets.choice(CODE_LETTERS) for _ in range(6))
    return f"{letters[:3]}-{letters[3:]}"
