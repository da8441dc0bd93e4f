"""The cookies that a phone shows, and what the book keeps of them: only their SHA-256.

A phone that asks carries one cookie, a phone that is in carries another with a new secret: what somebody may have seen
or planted before the letting in is worth nothing after it.
"""

import secrets
from hashlib import sha256

from fastapi import Request, Response

COOKIE = "proofyard_seat"
ASKING_COOKIE = "proofyard_ask"
COOKIE_LASTS_S = 400 * 24 * 3600  # browsers keep none longer


def new_token() -> str:
    """A secret of 192 random bits, as text for a cookie or a link."""
    return secrets.token_urlsafe(24)


def hash_of(token: str) -> bytes:
    """What the book keeps: whoever reads the book's file can't make the cookie from it."""
    return sha256(token.encode("utf-8", "replace")).digest()


def asking_hash_of(token: str) -> bytes:
    """The same for a phone that only asks, so that its cookie can never be shown as a seat's."""
    return hash_of("ask:" + token)


def named(name: str, host: str) -> str:
    """A cookie's name at a host with its port. Browsers don't part cookies by port, and a demo on another port must
    not put a phone out of the real book."""
    port = host.rpartition(":")[2]
    return f"{name}_{port}" if port.isdigit() else name


def cookie_of(request: Request, name: str) -> str:
    """The secret that a browser shows at this address; empty if it shows none."""
    return request.cookies.get(named(name, request.headers.get("host", "")), "")


def give_cookie(request: Request, response: Response, name: str, token: str, *, lasts_s: int = COOKIE_LASTS_S) -> None:
    """Hand a secret to a browser: for our pages only, out of reach of scripts; over https never without it."""
    secure = request.url.scheme == "https"
    response.set_cookie(
        named(name, request.headers.get("host", "")), token, max_age=lasts_s, path="/", httponly=True, samesite="strict", secure=secure,
    )


def take_cookie(request: Request, response: Response, name: str) -> None:
    """Have a browser forget a secret."""
    kept = named(name, request.headers.get("host", ""))
    response.delete_cookie(kept, path="/", httponly=True, samesite="strict", secure=request.url.scheme == "https")
