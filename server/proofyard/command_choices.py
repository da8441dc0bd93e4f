"""What may be said after each command. Loads nothing heavy: help is quick."""

import argparse
from pathlib import Path


def serve_choices(serve: argparse.ArgumentParser) -> None:
    serve.add_argument("--demo", action="store_true", help="an invented example, in a folder of its own")
    serve.add_argument("--host", default="0.0.0.0", help="the address to listen at; otherwise all that this laptop has")
    serve.add_argument("--port", type=port, default=None, help="the port to listen at; otherwise that of last time, at first 8014")
    serve.add_argument("--also-to", type=Path, metavar="DIR", help="a second folder for the automatic copies, on another disk")
    serve.add_argument("--cert", type=Path, metavar="FILE", help="https with this certificate (PEM); needs --key")
    serve.add_argument("--key", type=Path, metavar="FILE", help="the certificate’s key (PEM), readable by you alone")
    about_proxy = "the address of a reverse proxy whose word about the phone is taken (X-Forwarded-For, -Proto, -Host); may be said again"
    serve.add_argument("--proxy", type=proxy, action="append", default=[], metavar="ADDRESS", help=about_proxy)
    serve.add_argument(
        "--name", action="append", default=[], help="a further name that it answers to, such as the proxy’s; may be said again"
    )
    serve.add_argument("--path", type=path, default="", metavar="/PATH", help="all of it stands below this path, behind a proxy")
    several = "the groups of this folder, or of PROOFYARD_DATABASE, each with a book of its own below /g/NAME/; see proofyard group"
    serve.add_argument("--groups", action="store_true", help=several)
    serve.epilog = (
        "Two settings of the environment: PROOFYARD_DATABASE=postgresql+psycopg://name@host/database keeps the book in PostgreSQL; "
        "PROOFYARD_PHOTOS=s3://bucket/prefix keeps photos in a store that speaks S3, with AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY, "
        "and AWS_ENDPOINT_URL if it is not Amazon’s own."
    )
    serve.add_argument("--open", action="store_true", help="open the owner’s page in the browser")


def move_choices(move: argparse.ArgumentParser) -> None:
    address = "an address: postgresql+psycopg://name@host/database, or s3://bucket/prefix of photos"
    move.add_argument("source", metavar="FROM", help=f"the book’s folder, or {address}")
    other = "the other kind of place: an empty database, a store, or a folder; a folder without a book, if the book itself moves"
    move.add_argument("target", metavar="TO", help=other)
    store = "the store in which the server on the database keeps photos, in place of the folder of --data"
    move.add_argument("--photos", default="", metavar="s3://…", help=store)


def certify_choices(certify: argparse.ArgumentParser) -> None:
    further = "a further name ending in .local, a private address, or a network of them like 192.168.8.0/24; may be said again"
    certify.add_argument("--for", action="append", default=[], dest="also", metavar="ADDRESS", help=further)
    kept = "keep the authority’s key in this file, best on a stick, to sign again without touching the phones; otherwise it is thrown away"
    certify.add_argument("--authority-key", type=Path, metavar="FILE", help=kept)
    certify.add_argument("--yes", action="store_true", help="a new authority, although phones may trust the one that is there")


def package_choices(package: argparse.ArgumentParser) -> None:
    package.add_argument("file", type=Path, metavar="FILE.zip", help="the new file")
    package.add_argument("--licence", metavar="NAME", default="", help="under which others may use it, for example CC-BY-4.0")


def export_choices(export: argparse.ArgumentParser) -> None:
    forms = ("analysis", "spreadsheet", "semicolon", "workbook")
    export.add_argument("to", type=Path, metavar="DIR_OR_ZIP", help="a folder, or a file that ends in .zip")
    export.add_argument("--form", choices=forms, default=forms[0], help="CSV for programs or a spreadsheet, with decimal commas, or .xlsx")


def bring_in_choices(bring_in: argparse.ArgumentParser) -> None:
    bring_in.add_argument("file", type=Path, metavar="FILE", help="a CSV, a text with tabs or semicolons, .xlsx or .ods")
    bring_in.add_argument("--holds", required=True, choices=("shots", "arrows", "bows", "panels"), help="what a row of it is")
    bring_in.add_argument("--yes", action="store_true", help="bring it in; without this nothing is changed")


def other_book_choices(other: argparse.ArgumentParser) -> None:
    other.add_argument("file", type=Path, metavar="PACKAGE.zip", help="the package")
    other.add_argument("--whose", required=True, metavar="NAME", help="whose book it is, for example “Quarry group”")
    other.add_argument("--citation", default="", metavar="TEXT", help="how they want to be cited")
    other.add_argument("--all-the-same", action="store_true", help="take it although it stood earlier, or holds less, than what is here")


def publish_choices(publish: argparse.ArgumentParser) -> None:
    from proofyard.publishing.choices import NAMES, PLACES
    from proofyard.records.licences import LICENCES

    publish.add_argument("to", type=Path, metavar="FOLDER", help="an empty folder, or one that was published into before")
    one = "a trial: its number in the list from the oldest, words of its question, or its id; may be said again; otherwise all"
    publish.add_argument("--trial", action="append", default=[], metavar="TRIAL", help=one)
    publish.add_argument("--names", choices=sorted(NAMES), default="invented", help="of archers, range officers and who was there")
    publish.add_argument("--places", choices=sorted(PLACES), default="none", help="where you shot")
    publish.add_argument("--region", default="", help="what stands for each place with --places region")
    publish.add_argument("--notes", action="store_true", help="free notes go out too; read them first")
    publish.add_argument("--photos", action="store_true", help="all photos go out too; look at them first")
    publish.add_argument("--withhold", action="append", default=[], metavar="WORD", help="a further word that must be nowhere")
    publish.add_argument("--leave", action="append", default=[], metavar="WORD", help="a withheld word that may be found all the same")
    publish.add_argument("--licence", choices=sorted(LICENCES), default="", help="what others may do with it")
    publish.add_argument("--authors", default="", help="whom to cite")


def port(text: str) -> int:
    if text.isascii() and text.isdigit() and int(text) <= 65535:
        return int(text)
    raise argparse.ArgumentTypeError(f"{text!r} is not a port; a port is a whole number up to 65535, for example 8014")


def proxy(text: str) -> str:
    from proofyard.access.proxy import is_address, same_address

    if is_address(text):
        return same_address(text)
    raise argparse.ArgumentTypeError(f"{text!r} is not an address; name the proxy’s own, for example 127.0.0.1")


def path(text: str) -> str:
    from proofyard.access.proxy import path_of

    found = path_of(text)
    if found is None:
        raise argparse.ArgumentTypeError(f"{text!r} is not a path; write it like /proofyard, in letters, digits, dots and dashes")
    return found
