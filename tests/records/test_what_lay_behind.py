"""Whether panels made alike hang before other garments or backings is asked in two ways: of all of a book, and of some of its shots."""

import random

import pytest
from proofyard.records.shot_facts import Behind, shot_facts
from proofyard.storage import Storage

from tests import kit_for_tests as kit

LAYERS = {"garment": ("", "linen", "Linen "), "backing": ("", "clay", "gel")}


@pytest.mark.parametrize("seed", range(4))
def test_of_some_shots_it_is_said_as_of_all_of_the_book(book: Storage, seed: int) -> None:
    draw = random.Random(seed)
    yard = kit.yard(book)
    stands: list[str | None] = [None]
    for _ in range(3):
        stands.append(kit.stand(book))
        for role, materials in LAYERS.items():
            if material := draw.choice(materials):
                kit.put(book, "stand_layer", {"stand": stands[-1], "role": role, "material": material, "thickness": "9 mm", "place": "1"})
    panels = [kit.panel(book, construction=one, thickness=thick) for one in ("plate", "mail") for thick in ("1.2 mm", "1.6 mm", None)]
    sessions = [yard.session, kit.open_trial(book, "Another?").session, kit.open_trial(book, "A third?").session]
    for _ in range(9):
        hung = kit.setup(book, draw.choice(sessions), draw.choice(panels).build, stand_id=draw.choice(stands))
        kit.shot(book, yard, shooting_end_id=kit.shooting_end(book, hung))
        if draw.random() < 0.2:
            kit.void(book, "setup", hung)
    with book.read() as session:
        whole = {fact.shot_id: fact.behind for fact in shot_facts(session)}
        trials = {fact.trial_id for fact in shot_facts(session)}
        some = {fact.shot_id: fact.behind for trial in trials for fact in shot_facts(session, trial_id=trial)}
        each = {shot: shot_facts(session, shot_id=shot)[0].behind for shot in whole}
    assert some == whole and each == whole
    assert len(set(whole.values())) > 1 or set(whole.values()) == {Behind()}
