"""Where things lie: what ships with the program, and where a person's book is kept.

Both a checkout (templates/ beside server/) and an installed wheel (proofyard/_data/templates) are served.
"""

import os
from dataclasses import dataclass
from pathlib import Path

PROGRAM = "proofyard"
BOOK_FILE = "proofyard.db"


def data_folder(name: str) -> Path:
    """The folder of templates, static files, migrations or demo data that ships with the program.

    Refuses
        FileNotFoundError  the installation is not whole
    """
    here = Path(__file__).resolve().parent
    for folder in (here / "_data" / name, here.parents[1] / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"The folder “{name}” is missing from this installation of {PROGRAM}.")


def database() -> str:
    """Where the book is kept, if not in a file of its folder: PROOFYARD_DATABASE, an address of PostgreSQL's; otherwise empty."""
    return os.environ.get("PROOFYARD_DATABASE", "").strip()


def photos_setting() -> str:
    """Where photos are kept, if not in the book's folder: PROOFYARD_PHOTOS, like s3://bucket/prefix; otherwise empty."""
    return os.environ.get("PROOFYARD_PHOTOS", "").strip().rstrip("/")


def users_folder() -> Path:
    """The folder that the operating system keeps for this user's data of this program."""
    from platformdirs import user_data_path

    return user_data_path(PROGRAM, appauthor=False)


def next_port(port: int) -> int:
    """Where https is spoken beside plain http."""
    return port + 1


@dataclass(frozen=True)
class Certificate:
    """Two files in PEM form: what a phone is shown (with what signed it, if that isn't known to phones), and its key."""

    shown: Path
    key: Path


@dataclass(frozen=True)
class OwnHttps:
    """What `proofyard certify` makes: this laptop's pair, and the authority that phones are told to trust (DER: every phone reads it)."""

    pair: Certificate
    authority: Path


@dataclass(frozen=True)
class Settings:
    """What `serve` was told.

    certificate  https with it instead of plain http
    also_https   https with it as well, at the next port number: viewers stay on plain http
    proxies      addresses of reverse proxies whose word about the phone is taken
    names        further names that it answers to, such as the proxy's
    path         all of it stands below this, for example /proofyard; empty: below the root
    database     where the book is kept, if not in a file; None: as PROOFYARD_DATABASE says
    photos       where photos are kept, if not in the folder; None: as PROOFYARD_PHOTOS says
    group        the name of the group whose book it is; empty: the only book of its server
    served_from  the folder of the server itself, where one has several groups
    """

    folder: Path
    host: str = "0.0.0.0"
    port: int = 8014
    demo: bool = False
    also_to: Path | None = None  # a second folder for automatic copies
    certificate: Certificate | None = None
    also_https: Certificate | None = None
    proxies: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    path: str = ""
    database: str | None = None
    photos: str | None = None
    group: str = ""
    served_from: Path | None = None

    @property
    def book(self) -> Path:
        return self.folder / BOOK_FILE

    @property
    def https_port(self) -> int | None:
        """Where https is spoken, if it is."""
        return self.port if self.certificate else next_port(self.port) if self.also_https else None

    @property
    def own_https(self) -> OwnHttps:
        """Where the files of `proofyard certify` lie, whether there are any or not."""
        at = (self.served_from or self.folder) / "https"
        return OwnHttps(Certificate(at / "laptop.pem", at / "laptop.key"), at / "proofyard-authority.crt")


def program_version() -> str:
    """Of the installed program, in words where it isn't installed."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("proofyard")
    except PackageNotFoundError:
        return "not installed (run from its folder)"
