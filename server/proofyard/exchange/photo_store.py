"""Photos in a store that speaks S3: each under the same name as in a folder, below one prefix of one bucket.

Several servers on one book share it. What is put there is there whole when the store has said so, and carries its SHA-256 with it: what
is read is held against it. After a trouble nobody asks for some seconds, or each photo of a page would wait on its own.

Errors
    PhotosAway  the store doesn't answer, lets nobody in, or has no such bucket: a save is tried again later, a page says it
    WrongStore  the setting can't be read, or something that it needs is missing
"""

from __future__ import annotations

import hashlib
import os
import re
import time
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from importlib.util import find_spec
from typing import TYPE_CHECKING, TypeVar

from proofyard.exchange.photo_files import name_of, named
from proofyard.records.ids import is_id
from proofyard.storage import StorageTrouble

if TYPE_CHECKING:
    from obstore.store import S3Config, S3Store

SCHEME = "s3://"
EXAMPLE = "Say it like s3://bucket/prefix."
ANSWER_WITHIN_S = 10.0
CONNECT_WITHIN_S = 3.0
REST_S = 5.0
_PLACE = re.compile(r"s3://([a-z0-9][a-z0-9.-]{1,61}[a-z0-9])((?:/[A-Za-z0-9._-]+)*)/?", re.ASCII)
_SUM = "proofyard-sha256"  # what a photo's own SHA-256 is called beside it
_T = TypeVar("_T")
_NO_BUCKET = "There is no bucket “{}” in the store of the photos. Make it, or correct PROOFYARD_PHOTOS."
_NOT_LET_IN = "The store of the photos doesn’t let this program in. Check AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY and their rights."


class PhotosAway(StorageTrouble):
    retry_after_s = 10


class WrongStore(StorageTrouble):
    pass


@dataclass(frozen=True)
class Place:
    """Where, and as whom: what AWS_ACCESS_KEY_ID and its like say. endpoint: empty for Amazon's own."""

    bucket: str
    prefix: str
    endpoint: str
    region: str
    key_id: str
    secret: str
    token: str


def is_store(at: str) -> bool:
    """Whether an address is one of a store, and not of a folder."""
    return at.startswith(SCHEME)


def place_of(at: str) -> Place:
    """The place that `s3://bucket/prefix` names, with what the environment says of it.

    Refuses
        WrongStore  no such address; no key; the library is not installed
    """
    found = _PLACE.fullmatch(at)
    if found is None:
        raise WrongStore(f"PROOFYARD_PHOTOS can’t be read. {EXAMPLE}")
    if find_spec("obstore") is None:
        raise WrongStore("Photos in a store need a further package: pip install proofyard[s3]")
    said = os.environ.get
    key_id, secret = said("AWS_ACCESS_KEY_ID", ""), said("AWS_SECRET_ACCESS_KEY", "")
    if not key_id or not secret:
        raise WrongStore("Photos in a store need AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY to be set.")
    endpoint = said("AWS_ENDPOINT_URL_S3") or said("AWS_ENDPOINT_URL") or ""
    region = said("AWS_REGION") or said("AWS_DEFAULT_REGION") or "us-east-1"
    return Place(found[1], found[2].strip("/"), endpoint.rstrip("/"), region, key_id, secret, said("AWS_SESSION_TOKEN", ""))


def store_at(at: str) -> PhotoStore:
    """The store of an address, the same for all who ask, so that its connections are shared. Refuses as `place_of` does."""
    return _store(place_of(at))


@cache
def _store(place: Place) -> PhotoStore:
    return PhotoStore(place)


def _opened(place: Place) -> S3Store:
    from obstore.store import S3Store

    said: S3Config = {"access_key_id": place.key_id, "secret_access_key": place.secret, "region": place.region}
    if place.token:
        said["session_token"] = place.token
    if place.endpoint:
        said["endpoint"] = place.endpoint
    return S3Store(
        place.bucket,
        prefix=place.prefix or None,
        config=said,
        client_options={
            "timeout": timedelta(seconds=ANSWER_WITHIN_S),
            "connect_timeout": timedelta(seconds=CONNECT_WITHIN_S),
            "allow_http": place.endpoint.startswith("http://"),
        },
        retry_config={"max_retries": 2, "retry_timeout": timedelta(seconds=ANSWER_WITHIN_S)},
    )


class PhotoStore:
    """The photos below one prefix of a bucket: says what PhotoFolder says of a folder."""

    def __init__(self, place: Place) -> None:
        self._there = _opened(place)
        self.called = f"{SCHEME}{place.bucket}" + (f"/{place.prefix}" if place.prefix else "")
        self._bucket = place.bucket
        self._rest_until = 0.0
        self._why: PhotosAway | None = None

    def has(self, photo_id: str) -> bool:
        """Whether something lies there under the photo's name."""
        return self._asked(lambda: self._there.head(name_of(photo_id)), none_is_there=None) is not None

    def lacking(self, ids: Collection[str]) -> list[str]:
        """Those of the ids whose photo isn't there: by one list, not by a question for each."""
        there = {photo_id for photo_id, form in self.files() if not form}
        return [one for one in ids if one not in there]

    def read(self, photo_id: str, form: str = "") -> bytes | None:
        """Its bytes; None where it isn't there, or isn't what was put there."""
        if not is_id(photo_id):
            return None

        def content() -> bytes | None:
            found = self._there.get(name_of(photo_id, form))
            said, sent = found.attributes.get(_SUM), bytes(found.bytes())
            return sent if said is None or hashlib.sha256(sent).hexdigest() == said else None

        return self._asked(content, none_is_there=None)

    def write(self, photo_id: str, content: bytes, form: str = "") -> None:
        """Put it there, so that it is there whole when this returns: the request is signed with its checksum."""
        about = {"Content-Type": "image/jpeg", _SUM: hashlib.sha256(content).hexdigest()}
        self._asked(lambda: self._there.put(name_of(photo_id, form), content, attributes=about, use_multipart=False))

    def set_aside(self, photo_id: str) -> None:
        """Give what lies there another name, so that it isn't written over; nothing where nothing lies."""

        def aside() -> None:
            kept = name_of(photo_id, f"before-restore-{time.strftime('%Y%m%d-%H%M%S')}")
            self._there.copy(name_of(photo_id), kept)

        self._asked(aside, none_is_there=None)

    def files(self) -> Iterator[tuple[str, str]]:
        """(id, form) of all that lies there."""
        names = self._asked(lambda: [one["path"] for some in self._there.list() for one in some])
        yield from sorted(found for name in names if (found := named(name)))

    def _asked(self, ask: Callable[[], _T], *, none_is_there: _T | type[PhotosAway] = PhotosAway) -> _T:
        """What the store says. `none_is_there`: what it means that nothing has this name; PhotosAway: that then there is no bucket."""
        from obstore.exceptions import BaseError

        if self._why is not None and time.monotonic() < self._rest_until:
            raise PhotosAway(str(self._why))
        try:
            said = ask()
        except FileNotFoundError as error:
            if isinstance(none_is_there, type) or "NoSuchBucket" in str(error):
                raise PhotosAway(_NO_BUCKET.format(self._bucket)) from error
            return none_is_there
        except (BaseError, OSError) as error:
            self._why, self._rest_until = _in_words(error, self._bucket), time.monotonic() + REST_S
            raise self._why from error
        self._why = None
        return said


def _in_words(error: Exception, bucket: str) -> PhotosAway:
    said = f"{type(error).__name__} {error}"
    if "NoSuchBucket" in said:
        return PhotosAway(_NO_BUCKET.format(bucket))
    if any(one in said for one in ("PermissionDenied", "Unauthenticated", "403 Forbidden", "401 Unauthorized")):
        return PhotosAway(_NOT_LET_IN)
    return PhotosAway("The store of the photos doesn’t answer. Check that it runs, and AWS_ENDPOINT_URL.")
