"""The command: another group's package taken in as its page does, to be read beside one's own book."""

from contextlib import closing
from pathlib import Path

from proofyard.exchange.export import readable
from proofyard.exchange.other_books.bring_in import TAKE_IT, Asked, bring_in_elsewhere, words_typed
from proofyard.exchange.package.descriptor import book_for_others
from proofyard.exchange.package.opened import NoPackage
from proofyard.opening import HeldFolder, the_book
from proofyard.records import devices
from proofyard.settings import BOOK_FILE
from proofyard.wording.other_books import brought_in_words

NO_NAME = "Enter whose book it is, for example --whose “Quarry group”."

NEW, REPLACED, UNCHANGED = "It is here now.", "It took the place of the one before.", "It was here already, so nothing was changed."
ALL_THE_SAME = "Run the same command with --all-the-same if that is meant."
READ_IT = "Read it on the page Other books. It counts in no result of your own book."


def other_book_by_command(folder: Path, file: Path, *, whose: str, citation: str, go_back: bool) -> tuple[tuple[str, ...], bool]:
    """What is said of it, a line each, and whether it is here now.

    go_back  it may stand earlier, or hold less, than what is here
    Refuses
        StorageTrouble  no book of one's own, or one that a server has open
    """
    readable(folder / BOOK_FILE)
    asked = Asked(whose=words_typed(whose), citation=words_typed(citation), go_back=go_back)
    if not asked.whose:
        return (f"! {NO_NAME}",), False
    with HeldFolder(folder):
        with closing(the_book(folder, writes=False)) as book, book.read() as session:
            own = devices.the_book(session)
        try:
            found = bring_in_elsewhere(file, folder, asked, own_id=book_for_others(own.book_id) if own else "")
        except NoPackage as why:
            return tuple(f"! {line}" for line in str(why).replace(TAKE_IT, ALL_THE_SAME).splitlines()), False
    done = UNCHANGED if found.unchanged else REPLACED if found.before else NEW
    return (f"{found.book.whose}: {brought_in_words(found.book)}.", f"{done} {READ_IT}"), True
