"""An outcome level's words have one home; the phones' script carries no words of its own for them."""

import re
from pathlib import Path

from proofyard.pages.frame.rendering import environment
from proofyard.records.trial import OUTCOME_WORDS, OUTCOMES, outcome_name

REPOSITORY = Path(__file__).resolve().parents[2]
# In a sentence of theirs these two words are met without being the outcome level's name.
MET_ELSEWHERE = {"Marked", "Opened"}


def test_a_outcome_level_stands_at_its_own_number() -> None:
    assert [OUTCOMES[str(n)] for n in range(len(OUTCOMES))] == list(OUTCOME_WORDS)


def test_one_that_lies_between_two_carries_both_words_and_a_known_one_carries_one() -> None:
    assert outcome_name(3) == outcome_name(3, 3) == "Opened (3)"
    assert outcome_name(3, 4) == "Opened or point through (3 or 4)"


def test_pages_and_drawings_say_the_books_own_words() -> None:
    made = environment().from_string("{{ outcome(3, 4) }}{{ tile(0) }}{{ outcome_level_tiles([5, 5]) }}").render()
    assert "Opened or point through" in made and "No mark" in made and "2 head through" in made


def test_no_second_list_of_the_words_is_kept() -> None:
    """A list would need at least two of the words, quoted, in one file."""
    found = []
    for folder, ends in (("server", "*.py"), ("templates", "*.html"), ("static/js", "*.js")):
        for file in (REPOSITORY / folder).rglob(ends):
            text = file.read_text(encoding="utf-8")
            quoted = {words for words in OUTCOME_WORDS if words not in MET_ELSEWHERE and re.search(f"[\"'>]{words}[\"'<]", text)}
            if len(quoted) > 1:
                found.append(file.relative_to(REPOSITORY).as_posix())
    assert found == ["server/proofyard/records/trial.py"]
