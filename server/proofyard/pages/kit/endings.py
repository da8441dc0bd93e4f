"""Kit is retired and comes back, is crossed out and taken back in, each with its reason. Nothing is ever deleted."""

from fastapi import APIRouter

from proofyard.pages.frame.form_page import Asked, Bodies, Form, form_routes, why_field
from proofyard.pages.frame.forms import FormOperations, Problems, base_rev
from proofyard.pages.kit.found import address, called, the_noun, the_record
from proofyard.records.typed_values import Problem

router = APIRouter()

# act -> for (in use, ended): heading before the name, lead, button, an example of a reason
WORDS = {
    "retire": (
        ("Retire", "It stays in the book with all its shots, and is no longer offered at the range.", "Retire it", "worn out"),
        ("Back into use:", "It is offered at the range again.", "Put it back into use", "repaired and checked"),
    ),
    "cross-out": (
        (
            "Cross out",
            "For something entered by mistake, such as the same thing twice. It stays visible, crossed out.",
            "Cross it out",
            "written down twice",
        ),
        ("Restore:", "It counts again as it did before.", "Restore it", "it was the other one that was doubled"),
    ),
}
OF_A_PERSON = (
    ("Retire", "All their shots stay in the book, and they are no longer offered at the range.", "Retire them", ""),
    ("Back to shooting:", "They are offered at the range again.", "Offer them again", ""),
)
# noun -> what its retirement, and its way back, may be given as reason for: of that kind of thing, and safe to follow
REASONS = {
    "archer": ("no longer shoots with us", "shoots with us again"),
    "bow": ("a splinter lifts on the back of the upper limb", "it was another bow; this one was looked over"),
    "head": ("socket split", "reforged and looked over"),
    "arrow": ("shaft cracked", "it was another arrow; this one was flexed and found sound"),
    "panel": ("no room left for a fair hit", "beaten flat and riveted again"),
    "stand": ("a leg is broken", "the leg was replaced"),
    "instrument": ("reads wrong since it fell", "checked against a known weight"),
}


def words_of(noun: str, act: str, ended: bool) -> tuple[str, str, str, str]:
    """Heading before the name, lead, button and an example of a reason, for this kind of thing."""
    heading, lead, button, example = OF_A_PERSON[ended] if noun == "archer" and act == "retire" else WORDS[act][ended]
    return heading, lead, button, REASONS[noun][ended] if act == "retire" and noun in REASONS else example


def _form(asked: Asked, noun: str, record_id: str, act: str) -> Form:
    kind = the_noun(noun)
    with asked.book.read() as session:
        row = the_record(session, kind, record_id)
    ended = bool(row.retired) if act == "retire" else row.voided_rev is not None  # type: ignore[attr-defined]
    before, lead, button, example = words_of(noun, act, ended)
    back = asked.form.get("back") == "yes"

    def check(_: Bodies) -> Problems:
        if act != "retire" or asked.reason:
            return {}
        return {"": [Problem("reason", f"Enter the reason in a few words, for example: {words_of(noun, act, back)[3]}.")]}

    def keep(operations: FormOperations, _: Bodies) -> None:
        if act == "retire":
            body = {"retired": "no" if back else "yes"}
            operations.put(noun, record_id, body, base_rev=base_rev(asked.form), reason=asked.reason)
        else:
            operations.void(noun, record_id, asked.reason, back=back)

    return Form(
        heading=f"{before} {called(kind, row)}",
        lead=lead,
        back=address(kind, record_id),
        save=button,
        unseen={"base_rev": str(row.rev), "back": "yes" if ended else "no"},
        why=why_field(hint=f"A few words, for example: {example}."),
        check=check,
        keep=keep,
    )


@form_routes(router, "/kit/{noun}/{record_id}/retire")
def retire(asked: Asked, noun: str, record_id: str) -> Form:
    return _form(asked, noun, record_id, "retire")


@form_routes(router, "/kit/{noun}/{record_id}/cross-out")
def void(asked: Asked, noun: str, record_id: str) -> Form:
    return _form(asked, noun, record_id, "cross-out")
