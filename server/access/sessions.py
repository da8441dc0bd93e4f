"""The cookie that a phone shows, and what the book keeps of it: only its SHA-256.

A phone that was let in stays in, day after day, until it is put out; a viewer's seat may end by itself.
"""

import secrets
from hashlib import sha256

COOKIE = "proofyard_seat"
COOKIE_LASTS_S = 400 * 24 * 3600  # browsers keep none longer


def new_token() -> str:
    """A secret of 192 random bits, as text for a cookie or a link."""
    return secrets.token_urlsafe(24)


def hash_of(token: str) -> bytes:
    """What the book keeps: whoever reads the book's file can't make the cookie from it."""
    return sha256(token.encode("utf-8", "replace")).digest()
