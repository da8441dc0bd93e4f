"""The command `proofyard`. Each subcommand loads what it needs when it runs, so that help is quick."""

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from proofyard.command_choices import (
    bring_in_choices,
    certify_choices,
    export_choices,
    move_choices,
    other_book_choices,
    package_choices,
    publish_choices,
    serve_choices,
)
from proofyard.groups.commands import add_group

STOPPED_BY_HAND = 130
FOUND_WRONG = 1
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
        if _found_wrong(error):
            print(error, file=sys.stderr)
            return FOUND_WRONG
        if not _in_our_words(error):
            raise
        print(error, file=sys.stderr)
        return REFUSED


def _found_wrong(error: Exception) -> bool:
    """A file that was looked through and can't be used as it is."""
    from proofyard.certificate import UnfitCertificate

    return isinstance(error, UnfitCertificate)


def _in_our_words(error: Exception) -> bool:
    from proofyard.authority import NotCertified
    from proofyard.serving import CantServe
    from proofyard.storage import StorageTrouble

    return isinstance(error, StorageTrouble | CantServe | NotCertified)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="proofyard", description="A book for two archers who shoot reproduction arrows at reproduction armour, served to their phones."
    )
    parser.add_argument("--version", action="store_const", dest="run", const=_version, help="show the version")
    parser.set_defaults(run=_help)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    data = argparse.ArgumentParser(add_help=False)
    data.add_argument("--data", type=Path, metavar="DIR", help="the book’s folder; otherwise the one that the system keeps for you")

    def command(name: str, run: Callable[[argparse.Namespace], int], about: str) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=about, description=about, parents=[data])
        made.set_defaults(run=run)
        return made

    serve_choices(command("serve", _serve, "open the book and serve it to this laptop and to phones nearby"))
    certify_choices(command("certify", _certify, "make a certificate for https, and the authority that your phones are told to trust"))
    command("demo", _demo, "fill an empty book with an invented example")
    export_choices(command("export", _export, "write shots, kit and speeds as CSV or workbooks, with the list of columns"))
    report = command("report", _report, "write one trial as a file that reads and prints without a server")
    report.add_argument(
        "trial", metavar="TRIAL", help="the trial: its number in the list from the oldest, words of its question, or its id"
    )
    report.add_argument("file", type=Path, metavar="FILE.html", help="the new file")
    report.add_argument("--without-photos", action="store_true", help="leave the photos out")
    report.add_argument("--units", choices=("metric", "imperial"), default="metric", help="of the figures; otherwise metric")
    publish = command("publish", _publish, "write trials as pages that any browser opens, from a disk, a stick or any web space")
    publish_choices(publish)
    package_choices(command("package", _package, "write the data package: the state of the book for others, in one zip"))
    bring_in_choices(command("bring-in", _bring_in, "look at a spreadsheet of shots or kit; with --yes, bring it in as one batch"))
    other_book_choices(command("other-book", _other_book, "take another group’s package in, to be read beside your own book"))
    backup = command("backup", _backup, "make a safe copy of the book, also while it is served")
    backup.add_argument(
        "file",
        type=Path,
        nargs="?",
        metavar="FILE",
        help="the new file, .zip with the photos or .db without; a folder gets a .zip with date and time; nothing: the book’s folder",
    )
    restore = command("restore", _restore, "show what a backup holds; with --yes, replace the book with it")
    restore.add_argument("file", type=Path, metavar="FILE", help="the backup")
    restore.add_argument("--yes", action="store_true", help="replace the book; without this nothing is changed")
    unpack = command("unpack", _unpack, "make a new book of a data package, in a folder that has none")
    unpack.add_argument("file", type=Path, metavar="FILE.zip", help="the package")
    move_choices(command("move", _move, "move a book from its folder to PostgreSQL, or back; or its photos into a store, or back"))
    add_group(commands, data, _folder)
    check = command("check", _check, "check the book, the disk and this machine; or a data package")
    check.add_argument("file", type=Path, nargs="?", metavar="FILE.zip", help="a data package, from anybody; nothing of it is taken in")
    check.add_argument("--quick", action="store_true", help="skip reading the whole file")
    return parser


def _folder(asked: argparse.Namespace) -> Path:
    from proofyard.settings import users_folder

    folder: Path = (asked.data or users_folder()).expanduser()
    return folder.absolute()


def _help(_: argparse.Namespace) -> int:
    _parser().print_help()
    return 0


def _version(_: argparse.Namespace) -> int:
    from proofyard.settings import program_version

    print(f"Proofyard {program_version()}")
    return 0


def _serve(asked: argparse.Namespace) -> int:
    from dataclasses import replace

    from proofyard.certificate import named_by
    from proofyard.serving import USUAL_PORT, CantServe, kept_port, serve, serve_groups
    from proofyard.settings import Settings

    certificate = named_by(asked.cert, asked.key)
    folder = _folder(asked)
    if asked.demo and asked.data is None:
        folder = folder / "demo"
    also_to = asked.also_to.expanduser().absolute() if asked.also_to else None
    if asked.groups and (asked.demo or asked.open):
        raise CantServe("--demo and --open are for a server of one book. Leave them out with --groups.")
    usual = USUAL_PORT if asked.groups else kept_port(folder, certificate=certificate is not None)
    port = usual if asked.port is None else asked.port
    settings = Settings(folder, asked.host, port, asked.demo, also_to, certificate)
    behind = replace(settings, proxies=tuple(asked.proxy), names=tuple(asked.name), path=asked.path)
    if asked.groups:
        serve_groups(behind)
    else:
        serve(behind, open_browser=asked.open)
    return 0


def _certify(asked: argparse.Namespace) -> int:
    from proofyard import owners_alone
    from proofyard.access.hosts import machine_names
    from proofyard.access.local_name import NAME
    from proofyard.authority import certify, in_words
    from proofyard.serving import own_addresses

    owners_alone.from_now_on()
    has = [NAME, *sorted(machine_names()), *own_addresses()]
    made = certify(_folder(asked), has=has, also=asked.also, key_file=asked.authority_key, again=asked.yes)
    print(in_words(made, asked.authority_key))
    return 0


def _demo(asked: argparse.Namespace) -> int:
    from proofyard.serving import fill_folder

    folder = _folder(asked)
    print(f"The example is in {folder}: {fill_folder(folder)}. People, makers and figures are invented.")
    return 0


def _publish(asked: argparse.Namespace) -> int:
    from proofyard.assembled import app_without_door
    from proofyard.publishing.choices import Choices
    from proofyard.publishing.site import publish
    from proofyard.settings import Settings

    settings = Settings(_folder(asked))
    choices = Choices(
        trials=_trial_ids(settings.book, asked.trial),
        names=asked.names,
        places=asked.places,
        region=asked.region,
        notes=asked.notes,
        photos=None if asked.photos else frozenset(),
        also_withheld=tuple(asked.withhold),
        left_standing=frozenset(asked.leave),
        licence=asked.licence,
        authors=asked.authors,
    )

    done = publish(settings.book, asked.to, choices=choices, make_app=app_without_door)
    files = f"{done.pages} pages in {done.files} files, {done.size / 1e6:.1f} MB"
    print(f"{files}: {done.new} new, {done.changed} changed, {done.removed} taken away.")
    print(f"Open {asked.to / 'index.html'} in a browser and look through it before you hand it on.")
    return 0


def _trial_ids(book: Path, wanted: Sequence[str]) -> tuple[str, ...]:
    """The ids of the trials that are named."""
    from contextlib import closing

    from proofyard.exchange.export import readable
    from proofyard.exchange.trial_named import the_trial
    from proofyard.opening import the_book

    readable(book)
    with closing(the_book(book.parent, writes=False)) as storage:
        return tuple(the_trial(storage, one).id for one in wanted)


def _export(asked: argparse.Namespace) -> int:
    from proofyard.exchange.export import export

    for name, rows in export(_folder(asked), asked.to, form=asked.form).items():
        print(f"  {name}  {rows} rows")
    print(f"Written to {asked.to}")
    return 0


def _report(asked: argparse.Namespace) -> int:
    from proofyard.pages.report.written import write_report

    reader = "archery" if asked.units == "imperial" else "metric"
    said = write_report(_folder(asked), asked.trial, asked.file, reader=reader, photos=not asked.without_photos)
    print(said)
    return 0


def _package(asked: argparse.Namespace) -> int:
    from proofyard import owners_alone
    from proofyard.exchange.export import NotExported
    from proofyard.exchange.package.to_file import package_to_file
    from proofyard.records.licences import LICENCES
    from proofyard.wording.data_package import BACKUP_IS, BEFORE_PASSING_ON, PACKAGE_IS, PACKAGE_LACKS

    if asked.licence and asked.licence not in LICENCES:
        raise NotExported(f"“{asked.licence}” is no licence that a package names. Choose one of: {', '.join(LICENCES)}.")
    owners_alone.from_now_on()
    made = package_to_file(_folder(asked), asked.file, licence=asked.licence)
    print(f"Written to {asked.file}:")
    print(counts_in_words(made.counts))
    print(_photos_in_words(made.photos, len(made.missing)))
    print("\n".join((PACKAGE_IS, PACKAGE_LACKS, BACKUP_IS, BEFORE_PASSING_ON)))
    return 0


def _bring_in(asked: argparse.Namespace) -> int:
    from proofyard import owners_alone
    from proofyard.pages.bring_in.by_command import bring_in_by_command

    owners_alone.from_now_on()
    found = bring_in_by_command(_folder(asked), asked.file, asked.holds.removesuffix("s"), yes=asked.yes)
    print("\n".join(found.lines))
    return 0 if found.good else 1


def _other_book(asked: argparse.Namespace) -> int:
    from proofyard import owners_alone
    from proofyard.pages.other_books.by_command import other_book_by_command

    owners_alone.from_now_on()
    lines, taken = other_book_by_command(_folder(asked), asked.file, whose=asked.whose, citation=asked.citation, go_back=asked.all_the_same)
    print("\n".join(lines))
    return 0 if taken else 1


def _backup(asked: argparse.Namespace) -> int:
    from proofyard import owners_alone
    from proofyard.exchange.backup import backup, backup_name
    from proofyard.exchange.finding import size_in_words
    from proofyard.exchange.other_books.shelf import other_books
    from proofyard.exchange.packed_copy import pack, photo_rows
    from proofyard.settings import BOOK_FILE, database
    from proofyard.wording.postgres import BY_POSTGRES

    folder = _folder(asked)
    if database():
        print(BY_POSTGRES, file=sys.stderr)
        return REFUSED
    owners_alone.from_now_on()
    to = backup_name(folder, asked.file)
    if to.suffix == ".db":
        alone = backup(folder / BOOK_FILE, to)
        size, counts, photos, missing = alone.size, alone.counts, 0, len(photo_rows(alone.file))
    else:
        packed = pack(folder / BOOK_FILE, to)
        size, counts, photos, missing = packed.size, packed.counts, packed.photos, len(packed.missing)
    print(f"Copied to {to} ({size_in_words(size)}), looked through and whole:")
    print(counts_in_words(counts))
    print(_photos_in_words(photos, missing))
    if others := len(other_books(folder)):
        print(f"  other books: none of the {others} here is in it; keep their packages")
    print("Keep a copy on another disk than this.")
    return 1 if missing else 0


def _photos_in_words(photos: int, missing: int) -> str:
    lost = f"; {missing} not in it: a copy whose name ends in .zip takes all that the folder has" if missing else ""
    return f"  photos: {photos}{lost}"


def _restore(asked: argparse.Namespace) -> int:
    from proofyard import owners_alone
    from proofyard.exchange.restore import look_inside, restore
    from proofyard.opening import HeldFolder
    from proofyard.settings import database
    from proofyard.wording.postgres import RESTORED_BY_POSTGRES

    folder = _folder(asked)
    if database():
        print(RESTORED_BY_POSTGRES, file=sys.stderr)
        return REFUSED
    owners_alone.from_now_on()
    if not asked.yes:
        _say_inside(asked.file, look_inside(asked.file))
        print("Nothing was changed. To replace the book with it, stop the server and run the same command with --yes.")
        return 0
    with HeldFolder(folder):
        done = restore(asked.file, folder)
        owners_alone.mend(folder)
    _say_inside(asked.file, done.inside)
    print(f"It is now the book in {folder}.")
    if done.aside:
        print(f"The book that was there is kept as {done.aside.name}. Phones that it knew stay connected; let others in again.")
    return 0


def _say_inside(file: Path, inside: object) -> None:
    from proofyard.exchange.finding import size_in_words
    from proofyard.exchange.restore import Inside

    assert isinstance(inside, Inside)
    example = ", invented example data" if inside.demo else ""
    print(f"{file}: a book of form {inside.form}, {size_in_words(inside.size)}, whole{example}")
    print(f"  made {_moment(inside.made_at)}, last changed {_moment(inside.changed_at)}")
    print(counts_in_words(inside.counts))
    if inside.photos or inside.missing:
        lost = f", {inside.missing} did not come with it; the phones that took them may offer them again" if inside.missing else ""
        print(f"  photos: {inside.photos}{lost}")


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
    from proofyard.exchange.restore import SPOKEN

    return "  " + ", ".join(f"{name.replace('_', ' ')}: {counts[name]}" for name in SPOKEN if name in counts)


def _unpack(asked: argparse.Namespace) -> int:
    from proofyard import owners_alone
    from proofyard.exchange.package.take_in import take_into_folder
    from proofyard.wording.data_package import PACKAGE_LACKS

    folder = _folder(asked)
    owners_alone.from_now_on()
    taken = take_into_folder(asked.file, folder)
    owners_alone.mend(folder)
    print(f"A new book in {folder}, as {asked.file} says it stood:")
    print(counts_in_words(dict(taken.counts)))
    print(_photos_in_words(taken.photos, 0))
    print(PACKAGE_LACKS)
    return 0


def _move(asked: argparse.Namespace) -> int:
    from proofyard import owners_alone
    from proofyard.exchange.photo_store import is_store
    from proofyard.moving.move import move, move_photos

    owners_alone.from_now_on()

    def tell(line: str) -> None:
        print(f"  {line}", flush=True)

    if is_store(asked.source) or is_store(asked.target):
        brought = move_photos(asked.source, asked.target, tell=tell)
        print("\n".join(brought.in_words(asked.target)))
        return 1 if brought.missing else 0
    data = asked.data.expanduser().absolute() if asked.data else None
    done = move(asked.source, asked.target, data=data, photos=asked.photos, tell=tell)
    print("\n".join(done.in_words()))
    return 1 if done.photos.missing else 0


def _check_package(file: Path) -> int:
    from proofyard.exchange.package.check import check_package

    found = check_package(file)
    for sentence in found.faults:
        print(f"! {sentence}")
    if found.faults:
        return 1
    print(f"{file}: a whole data package, and nothing in it contradicts its description.")
    print(counts_in_words(found.counts))
    print(f"  state: {found.said['proofyard']['stateSha256']}, last changed {found.said.get('created', 'never')}")
    return 0


def _https_in_words(folder: Path, addresses: Sequence[str]) -> list[str]:
    """What is to be said of the certificate that `serve` would find; nothing without one."""
    from proofyard.certificate import UnfitCertificate, refuse_unfit, shown_by, to_say_of
    from proofyard.settings import Settings

    pair = Settings(folder).own_https.pair
    if not pair.shown.exists():
        return []
    try:
        refuse_unfit(pair)
        said = to_say_of(shown_by(pair.shown), addresses)
    except UnfitCertificate as unfit:
        said = [str(unfit)]
    return [f"? https: {one}" for one in said] or ["  https: the certificate names these addresses"]


def _check(asked: argparse.Namespace) -> int:
    if asked.file is not None:
        return _check_package(asked.file)
    from proofyard.exchange.checkup import checkup
    from proofyard.serving import own_addresses
    from proofyard.settings import program_version

    findings = checkup(_folder(asked), thorough=not asked.quick)
    print(f"Proofyard: {program_version()}")
    for one in findings:
        mark = {"good": " ", "look": "?", "wrong": "!"}[one.verdict]
        print(f"{mark} {one.what}: {one.found}")
        if one.advice:
            print(f"    {one.advice}")
    print(f"  Addresses for phones: {', '.join(own_addresses()) or 'none; join a network'}")
    for line in _https_in_words(_folder(asked), own_addresses()):
        print(line)
    return 1 if any(one.verdict == "wrong" for one in findings) else 0


if __name__ == "__main__":
    sys.exit(main())
