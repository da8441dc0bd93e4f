"""Where things lie: what ships with the program, and where a person's book is kept.

Both a checkout (templates/ beside server/) and an installed wheel (proofyard/_data/templates) are served.
"""

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


def users_folder() -> Path:
    """The folder that the operating system keeps for this user's data of this program."""
    from platformdirs import user_data_path

    return user_data_path(PROGRAM, appauthor=False)


@dataclass(frozen=True)
class Certificate:
    """Two files in PEM form: what a phone is shown (with what signed it, if that isn't known to phones), and its key."""

    shown: Path
    key: Path


@dataclass(frozen=True)
class Settings:
    """What `serve` was told."""

    folder: Path
    host: str = "0.0.0.0"
    port: int = 8014
    demo: bool = False
    also_to: Path | None = None  # a second folder for automatic copies
    certificate: Certificate | None = None  # https with it, plain http without

    @property
    def book(self) -> Path:
        return self.folder / BOOK_FILE


def program_version() -> str:
    """Of the installed program, in words where it isn't installed."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("proofyard")
    except PackageNotFoundError:
        return "not installed (run from its folder)"
