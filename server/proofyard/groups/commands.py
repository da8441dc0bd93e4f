"""The command `proofyard group`. It works beside a running server, which looks every few seconds.

Each part loads what it needs when it runs, so that help is quick.
"""

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from proofyard.groups.register import Group, Register

Part = Callable[["Register", Path, argparse.Namespace], int | None]


def add_group(commands: Any, data: argparse.ArgumentParser, folder_of: Callable[[argparse.Namespace], Path]) -> None:
    """The command and its parts. `data`: the choice of a folder that all commands share; `folder_of`: what was chosen."""
    about = "groups of one server, each with a book of its own: add, list, check, shut, show, hide, owner-link"
    group = commands.add_parser("group", help=about, description=about)
    parts = group.add_subparsers(title="parts", metavar="PART", required=True)

    def part(name: str, run: Part, about: str, *, named: bool = True) -> Any:
        made = parts.add_parser(name, help=about, description=about, parents=[data])
        made.set_defaults(run=lambda asked: _run(run, folder_of(asked), asked))
        if named:
            made.add_argument("name", metavar="NAME", help="the group’s name in its address, for example oak-yard")
        return made

    add = part("add", _add, "begin a group with an empty book, or open one again that was shut; prints its owner’s link")
    add.add_argument("--call", default="", metavar="TEXT", help="what people call the group; otherwise its name")
    _at(add)
    part("list", _list, "every group, and where its book lies", named=False)
    check = part("check", _check, "look at the book, the photos and the copies of every group that is open", named=False)
    check.add_argument("--quick", action="store_true", help="skip reading whole files")
    part("shut", _shut, "nobody reaches the group from now on; its book stays where it is")
    part("show", _show, "name the group, with a link, on the server’s first page")
    part("hide", _hide, "name it there no longer")
    _at(part("owner-link", _owner_link, "a new link that makes whoever opens it the group’s owner, once, within a week"))


def _at(part: Any) -> None:
    at = "the server’s address before the link, for example https://yard.example; otherwise that of its last start"
    part.add_argument("--at", default="", metavar="ADDRESS", help=at)


def _run(part: Part, folder: Path, asked: argparse.Namespace) -> int:
    from contextlib import closing

    from proofyard import owners_alone
    from proofyard.groups.register import open_register

    owners_alone.from_now_on()
    with closing(open_register(folder)) as register:
        return part(register, folder, asked) or 0


def _add(register: "Register", folder: Path, asked: argparse.Namespace) -> None:
    from proofyard.groups.places import begin_group

    group = begin_group(register, folder, asked.name, call_name=" ".join(asked.call.split()))
    print(f"The group “{group.call_name}” is open. Its book lies in {_where(group, folder)}.")
    _print_link(register, group, asked.at)


def _owner_link(register: "Register", _: Path, asked: argparse.Namespace) -> None:
    _print_link(register, register.one(asked.name), asked.at)


def _print_link(register: "Register", group: "Group", at: str) -> None:
    from proofyard.access.seats import new_token
    from proofyard.groups.names import path_of_group

    token = new_token()
    register.keep_link(group.name, token)
    before = (at or register.address()).rstrip("/")
    print("Give this link to the group’s owner. It works once, within a week, and makes that browser the owner’s:")
    print(f"  {before}{path_of_group(group.name)}/owner/{token}")
    if not before:
        print("Put the server’s address before it, or say it with --at; once the server has run, it is known.")


def _list(register: "Register", folder: Path, _: argparse.Namespace) -> None:
    from time import localtime, strftime

    groups = register.all()
    for group in groups.values():
        begun = strftime("%d %B %Y", localtime(group.begun_at / 1000)).lstrip("0")
        state = "shut" if not group.is_open else "open, on the first page" if group.shown else "open"
        print(f"{group.name}  “{group.call_name}”, begun {begun}, {state}: {_where(group, folder)}")
    if not groups:
        print("No group yet. Begin one: proofyard group add NAME")


def _check(register: "Register", folder: Path, asked: argparse.Namespace) -> int:
    """What a hand is wanted for, group by group; 1 where it is wanted now."""
    from proofyard.exchange.checkup import checkup
    from proofyard.groups.places import place_of
    from proofyard.settings import database

    wrong = False
    for group in register.all().values():
        if not group.is_open:
            continue
        place = place_of(group, folder, kept_in=database())
        found = [
            one
            for one in checkup(place.folder, thorough=not asked.quick, address=place.database, photos=place.photos)
            if one.verdict != "good"
        ]
        print(f"{group.name}: {'to look at' if found else 'all is well'}")
        for one in found:
            print(f"{'!' if one.verdict == 'wrong' else '?'} {one.what}: {one.found}", f"    {one.advice}", sep="\n")
        wrong = wrong or any(one.verdict == "wrong" for one in found)
    return int(wrong)


def _where(group: "Group", folder: Path) -> str:
    from dataclasses import replace

    from proofyard.groups.places import address_in, folder_of, photos_of_group
    from proofyard.settings import database

    kept = str(folder_of(folder, group.name))
    if group.schema_name is None or not database():
        return f"{kept}, its photos in {at}" if (at := photos_of_group(group.name)) else kept
    from proofyard.postgres.book import shown, url_of

    # As the server's own name: this is the address that `proofyard move` takes, and the role's password is nobody's to see.
    return (
        f"{shown(url_of(address_in(database(), replace(group, role_password=None))))}, its photos in {photos_of_group(group.name) or kept}"
    )


def _shut(register: "Register", folder: Path, asked: argparse.Namespace) -> None:
    group = register.shut(asked.name)
    print(f"“{group.call_name}” is shut: within seconds nobody reaches it. Its book stays in {_where(group, folder)}.")
    print(f"To open it again: proofyard group add {group.name}")


def _show(register: "Register", folder: Path, asked: argparse.Namespace) -> None:
    group = register.show(asked.name, shown=True)
    print(f"The server’s first page names “{group.call_name}” with a link. Its book is still for those alone whom its owner lets in.")


def _hide(register: "Register", folder: Path, asked: argparse.Namespace) -> None:
    group = register.show(asked.name, shown=False)
    print(f"The server’s first page names “{group.call_name}” no longer.")
