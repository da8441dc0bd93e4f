"""The command `proofyard`. Each subcommand loads what it needs when it runs, so that help is quick."""

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

STOPPED_BY_HAND = 130
REFUSED = 2


def main(given: Sequence[str] | None = None) -> int:
    """Run one subcommand; 0 done, 1 something found to be wrong, 2 refused, with the reason on the error stream."""
    asked = _parser().parse_args(given)
    run: Callable[[argparse.Namespace], int] = asked.run
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # an old terminal shows a question mark rather than stop the server
    try:
        return run(asked)
    except KeyboardInterrupt:
        return STOPPED_BY_HAND
    except Exception as error:
        if not _in_our_words(error):
            raise
        print(error, file=sys.stderr)
        return REFUSED


def _in_our_words(error: Exception) -> bool:
    from server.serving import CantServe
    from server.storage import StorageTrouble

    return isinstance(error, StorageTrouble | CantServe)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="proofyard",
        description="A book for two archers who shoot reproduction arrows at reproduction armour, served to their phones.",
    )
    parser.add_argument("--version", action="store_const", dest="run", const=_version, help="say which version this is")
    parser.set_defaults(run=_help)
    commands = parser.add_subparsers(title="commands", metavar="")
    data = argparse.ArgumentParser(add_help=False)
    data.add_argument("--data", type=Path, metavar="DIR", help="the book’s folder; otherwise the one that the system keeps for you")

    def command(name: str, run: Callable[[argparse.Namespace], int], about: str) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=about, description=about, parents=[data])
        made.set_defaults(run=run)
        return made

    serve = command("serve", _serve, "open the book and serve it to this laptop and to phones nearby")
    serve.add_argument("--demo", action="store_true", help="an invented example, in a folder of its own")
    serve.add_argument("--host", default="0.0.0.0", help="the address to listen at; otherwise all that this laptop has")
    serve.add_argument("--port", type=_port, default=None, help="the port to listen at; otherwise that of last time, at first 8014")
    serve.add_argument("--also-to", type=Path, metavar="DIR", help="a second folder for the automatic copies, on another disk")
    serve.add_argument("--open", action="store_true", help="open the owner’s page in the browser")
    command("demo", _demo, "fill an empty book with an invented example")
    export = command("export", _export, "write shots, kit and speeds as CSV, with the list of columns")
    export.add_argument("to", type=Path, metavar="DIR_OR_ZIP", help="a folder, or a file that ends in .zip")
    export.add_argument("--for-spreadsheets", action="store_true", help="the form that a spreadsheet opens safely")
    backup = command("backup", _backup, "make a safe copy of the book, also while it is served")
    backup.add_argument("file", type=Path, nargs="?", metavar="FILE", help="the new file, .zip with the pictures or .db without; otherwise a .zip in the book’s folder")
    restore = command("restore", _restore, "look into a backup, and with --yes put it in the place of the book")
    restore.add_argument("file", type=Path, metavar="FILE", help="the backup")
    restore.add_argument("--yes", action="store_true", help="do it; without this nothing is changed")
    doctor = command("doctor", _doctor, "look at the book, the disk and this machine")
    doctor.add_argument("--quick", action="store_true", help="don’t read the whole file")
    return parser


def _port(text: str) -> int:
    if text.isascii() and text.isdigit() and int(text) <= 65535:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is not a port; a port is a whole number up to 65535, for example 8014")


def _folder(asked: argparse.Namespace) -> Path:
    from server.settings import users_folder

    folder: Path = (asked.data or users_folder()).expanduser()
    return folder.absolute()


def _help(_: argparse.Namespace) -> int:
    _parser().print_help()
    return 0


def _version(_: argparse.Namespace) -> int:
    print(f"Proofyard {program_version()}")
    return 0


def program_version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("proofyard")
    except PackageNotFoundError:
        return "not installed (run from its folder)"


def _serve(asked: argparse.Namespace) -> int:
    from server.serving import kept_port, serve
    from server.settings import Settings

    folder = _folder(asked)
    if asked.demo and asked.data is None:
        folder = folder / "demo"
    also_to = asked.also_to.expanduser().absolute() if asked.also_to else None
    serve(Settings(folder, asked.host, kept_port(folder) if asked.port is None else asked.port, asked.demo, also_to), open_browser=asked.open)
    return 0


def _demo(asked: argparse.Namespace) -> int:
    from server.serving import fill_folder

    folder = _folder(asked)
    print(f"The example is in {folder}: {fill_folder(folder)}. People, makers and figures are invented.")
    return 0


def _export(asked: argparse.Namespace) -> int:
    from server.exchange.export import export

    for name, rows in export(_folder(asked), asked.to, for_spreadsheets=asked.for_spreadsheets).items():
        print(f"  {name}  {rows} rows")
    print(f"Written to {asked.to}")
    return 0


def _backup(asked: argparse.Namespace) -> int:
    from server.exchange.backup import backup, backup_name
    from server.exchange.checkup import size_in_words
    from server.exchange.packed_copy import pack, picture_rows
    from server.settings import BOOK_FILE

    folder = _folder(asked)
    to = asked.file or backup_name(folder)
    if to.suffix == ".db":
        alone = backup(folder / BOOK_FILE, to)
        size, counts, pictures, missing = alone.size, alone.counts, 0, len(picture_rows(alone.file))
    else:
        packed = pack(folder / BOOK_FILE, to)
        size, counts, pictures, missing = packed.size, packed.counts, packed.pictures, len(packed.missing)
    print(f"Copied to {to} ({size_in_words(size)}), looked through and whole:")
    print(counts_in_words(counts))
    print(_pictures_in_words(pictures, missing))
    print("Keep a copy on another disk than this.")
    return 1 if missing else 0


def _pictures_in_words(pictures: int, missing: int) -> str:
    lost = f"; {missing} not in it: a copy whose name ends in .zip takes all that the folder has" if missing else ""
    return f"  pictures: {pictures}{lost}"


def _restore(asked: argparse.Namespace) -> int:
    from server.exchange.restore import look_inside, restore
    from server.opening import HeldFolder

    folder = _folder(asked)
    if not asked.yes:
        _say_inside(asked.file, look_inside(asked.file))
        print("Nothing was changed. To put it in the place of the book, stop the server and say the same with --yes.")
        return 0
    with HeldFolder(folder):
        done = restore(asked.file, folder)
    _say_inside(asked.file, done.inside)
    print(f"It is now the book in {folder}.")
    if done.aside:
        print(f"The book that was there is kept as {done.aside.name}. Phones that it had let in stay in; let others in anew.")
    return 0


def _say_inside(file: Path, inside: object) -> None:
    from server.exchange.checkup import size_in_words
    from server.exchange.restore import Inside

    assert isinstance(inside, Inside)
    example = ", invented example data" if inside.demo else ""
    print(f"{file}: a book of form {inside.form}, {size_in_words(inside.size)}, whole{example}")
    print(f"  made {_moment(inside.made_at)}, last changed {_moment(inside.changed_at)}")
    print(counts_in_words(inside.counts))
    if inside.pictures or inside.missing:
        lost = f", {inside.missing} did not come with it; the phones that took them may offer them again" if inside.missing else ""
        print(f"  pictures: {inside.pictures}{lost}")


def _moment(ms: int | None) -> str:
    import time

    if ms is None:
        return "never"
    try:
        return time.strftime("%d %B %Y, %H:%M", time.localtime(ms / 1000))
    except (OverflowError, ValueError, OSError):
        return "at a time that no calendar has"


def counts_in_words(counts: dict[str, int]) -> str:
    """Tables that a person would ask about, one line."""
    from server.exchange.restore import SPOKEN

    return "  " + ", ".join(f"{name.replace('_', ' ')}: {counts[name]}" for name in SPOKEN if name in counts)


def _doctor(asked: argparse.Namespace) -> int:
    from server.exchange.checkup import checkup
    from server.serving import own_addresses

    findings = checkup(_folder(asked), thorough=not asked.quick)
    print(f"Proofyard: {program_version()}")
    for one in findings:
        mark = {"good": " ", "look": "?", "wrong": "!"}[one.verdict]
        print(f"{mark} {one.what}: {one.found}")
        if one.advice:
            print(f"    {one.advice}")
    print(f"  Addresses for phones: {', '.join(own_addresses()) or 'none; join a network'}")
    return 1 if any(one.verdict == "wrong" for one in findings) else 0


if __name__ == "__main__":
    sys.exit(main())
