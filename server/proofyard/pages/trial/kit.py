"""What a trial is to use: ticks that plans, the next shot and the phones go by."""

from collections.abc import Sequence
from dataclasses import dataclass

from fastapi import APIRouter

from proofyard.answers.trial.page import KitMeant, read_kit_meant
from proofyard.pages.frame.form_page import WORDS, Asked, Form, Sent, form_routes
from proofyard.pages.frame.forms import FieldState, FormOperations, Option, Wrong, query_of
from proofyard.records.kit_to_pick import MOST_OFFERED
from proofyard.records.trial import Trial
from proofyard.records.typed_values import Problem
from proofyard.views.address import last
from proofyard.wording.trial_changes import KIT_WORDS

router = APIRouter()

NOT_TO_BE_USED = "not to be used in this trial"
NOT_OFFERED = "One of these is not in the book any more, or was retired. Tick from those here."


@dataclass(frozen=True)
class KitChoice:
    """One sort of kit as ticks."""

    name: str
    label: str
    options: Sequence[Option]
    ticked: Sequence[str]
    state: FieldState


@dataclass(frozen=True)
class KitChoices:
    """Every sort. words: what names were asked to hold; more: some sort has more than is shown, of which the newest are."""

    sorts: Sequence[KitChoice]
    words: str
    more: bool
    most: int = MOST_OFFERED


@form_routes(router, "/trials/{trial_id}/kit")
def kit_of_trial(asked: Asked, trial_id: str) -> Form:
    """Only what was changed is written down; what is unticked is crossed out, and can come back. `?find=` looks for names."""
    trial = asked.found(Trial, trial_id)
    posted, words = asked.request.method == "POST", last(query_of(asked.request), "find").strip()
    sent_ticks = {noun: [str(key) for key in asked.form.getlist(noun)] for noun in KIT_WORDS} if posted else {}
    with asked.book.read() as session:
        held = read_kit_meant(session, trial_id, words=words, sent=sent_ticks)
    ticked = sent_ticks or {noun: held.ticked(noun) for noun in KIT_WORDS}

    def sorts(sent: Sent) -> KitChoices:
        each = [
            KitChoice(noun, label, [Option(*pair) for pair in held.offered[noun]], ticked[noun], sent.state(noun))
            for noun, label in KIT_WORDS.items()
        ]
        return KitChoices(each, words, bool(held.more))

    def keep(operations: FormOperations, _: object) -> None:
        for noun, keys in ticked.items():
            _changes(operations, trial_id, noun, held=held, wanted=set(keys))

    return Form(
        heading="Planned kit",
        lead=trial.question,
        back=f"/trials/{trial_id}",
        after=f"/trials/{trial_id}#trial-kit",
        nav="trials",
        template="trial/kit.html",
        classes=WORDS,
        own=sorts,
        also=lambda sent: [Wrong(noun, label, sent.state(noun).error) for noun, label in KIT_WORDS.items() if sent.problems.get(noun)],
        check=lambda _: {
            noun: [Problem(noun, NOT_OFFERED)] for noun, keys in ticked.items() if set(keys) - {key for key, _ in held.offered[noun]}
        },
        keep=keep,
    )


def _changes(operations: FormOperations, trial_id: str, noun: str, *, held: KitMeant, wanted: set[str]) -> None:
    for key, _ in held.offered[noun]:
        row = held.rows.get((noun, key))
        if row is None and key in wanted:
            operations.new("trial_uses", {"trial": trial_id, "noun": noun, "record": key}, of=noun)
        elif row is not None and (row.voided_rev is None) != (key in wanted):
            used = row.voided_rev is None
            operations.void("trial_uses", row.id, NOT_TO_BE_USED if used else "to be used after all", back=not used, of=noun)
