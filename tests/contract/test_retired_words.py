"""Retired words stay out of screens, columns of files and identifiers. What is still left is counted by file, and may only shrink."""

from __future__ import annotations

import pytest

from tests.contract.retired_words import (
    RETIRED,
    columns_of_files,
    faults_of,
    found_by_file,
    left,
    of_prose,
    of_python,
    of_script,
    of_template,
    places,
)


def test_no_file_has_more_retired_words_than_are_left() -> None:
    allowed = left()
    over = {path: faults for path, faults in found_by_file().items() if len(faults) > allowed.get(path, 0)}
    assert over == {}


def test_columns_of_files_are_looked_at() -> None:
    columns = columns_of_files()
    assert len(columns.names) > 200 and len(columns.texts) == 2 * len(columns.names)


SENTENCES = (
    ("pairing", "Speeds of this pairing"),
    ("walk", "Read the shots of this walk"),
    ("walk", "Walk 2: is this the order?"),
    ("sort of panel", "Every sort of panel"),
    ("rung", "Rung 3 or more"),
    ("ladder", "The ladder of outcomes"),
    ("way in", "The way in was not read"),
    ("half get through", "The energy at which half get through"),
    ("blow behind", "The blow behind the plate"),
    ("doubt", "Its doubt holds the scatter"),
    ("give or take", "97 J, give or take 0.8"),
    ("may be 63 to 90", "75 J, may be 63 to 90"),
    ("struck", "Show struck shots"),
    ("strike", "From loose to strike"),
    ("picture", "The picture of the panel"),
    ("as sold", "Its mass as sold"),
    ("off square", "30° off square"),
    ("put out", "Put this phone out"),
    ("look behind", "Of 39 hits 1 waits for a look behind"),
    ("behind (through)", "The point got behind"),
    ("a finger’s error", "nearer than a finger’s error"),
    ("take it along", "Take it along"),
    ("doctor", "run proofyard doctor"),
    ("range card", "Range card"),
    ("to mind", "To mind"),
    ("anew, whence, of itself", "Measure it anew"),
    ("not said", "Not said"),
    ("Leave it", "Leave it"),
    ("As the phone", "As the phone"),
    ("ask further", "Ask further"),
    ("told apart", "They can’t be told apart"),
    ("carry a share", "4 shots can’t carry a share"),
    ("strangers", "0: strangers"),
    ("not placed", "not placed yet"),
    ("owed", "What the bench still owes"),
    ("said beforehand", "Said beforehand"),
    ("a loose", "Undo the loose"),
    ("evening sheet", "The evening sheet"),
    ("otherwise", "What if it had been otherwise?"),
    ("at this address", "Nothing stands at this address"),
)


@pytest.mark.parametrize(("old", "planted"), SENTENCES, ids=[old for old, _ in SENTENCES])
def test_each_retired_word_is_found_in_every_kind_of_text(old: str, planted: str) -> None:
    """Planted in a template, an attribute, a script, a page of the guide, a sentence and a docstring of the code."""
    texts = [
        of_template(f"<p>{planted} of {{{{ count }}}}</p>")[0],
        of_template(f'<a aria-label="{planted} now">x</a>')[0],
        of_template('{{ button("' + planted + ' now") }}')[0],
        of_script(f'say("{planted} now"); // nothing')[0],
        of_prose(f"# Title\n\n{planted} now.\n")[0],
        of_python(f'def f() -> str:\n    return "{planted} now"\n', printed_docstrings=False)[0],
        of_python(f'def f(n: int) -> str:\n    return f"{planted} now {{n}}"\n', printed_docstrings=False)[0],
        of_python(f'def f() -> None:\n    """{planted} now."""\n', printed_docstrings=True)[0],
    ]
    for text in texts:
        assert any(fault.startswith(f"{old} → ") for fault in faults_of(text, ())), text


def test_every_retired_word_has_a_planted_sentence() -> None:
    assert {one.old for one in RETIRED if one.text} == {old for old, _ in SENTENCES}


@pytest.mark.parametrize(
    "name",
    [
        "pairing_id",
        "speedOfPairing",
        "rungs",
        "way_in",
        "energy_doubt",
        "struck_by",
        "panelPicture",
        "look_behind",
        "blow_behind",
        "half_through",
    ],
)
def test_a_retired_name_is_found_wherever_names_are_made(name: str) -> None:
    kinds = [
        of_python(f"def {name}() -> None: ...\n", printed_docstrings=False)[1],
        of_python(f"def f({name}: int) -> None: ...\n", printed_docstrings=False)[1],
        of_python(f"{name} = 1\n", printed_docstrings=False)[1],
        of_python(f'columns = ["{name.lower()}"]\n', printed_docstrings=False)[1],
        of_python(f'@router.get("/page/{name.lower()}")\ndef f() -> None: ...\n', printed_docstrings=False)[1],
        of_template(f'<input name="{name}">')[1],
        of_template(f'<p class="part__{name}">x</p>')[1],
        of_script(f"const {name} = 1;")[1],
    ]
    for names in kinds[:3] + kinds[5:]:
        assert faults_of((), names), (name, names)
    if name.islower():
        assert faults_of((), kinds[3]) and faults_of((), kinds[4]), name


@pytest.mark.parametrize(
    "fair",
    [
        "Walk forward only when all bows are down and the officer says so.",
        "Loosed 40 of 43",
        "The head is loose",
        "in no case known, whichever way in which it is read",
        "Nobody stands behind the panel",
        "0 of 4 may be through",
    ],
)
def test_plain_sentences_are_left_alone(fair: str) -> None:
    assert faults_of((fair,), ()) == []


def test_docstrings_and_comments_that_no_page_prints_are_left_alone() -> None:
    source = 'def f() -> None:\n    """Struck ones too."""\n    # a doubt\n'
    assert faults_of(*of_python(source, printed_docstrings=False)) == []
    assert faults_of(*of_script("// the pairing\nconst one = 1; /* a rung */")) == []
    assert faults_of(*of_template("{# a picture #}<p>One</p>")) == []


def test_names_of_tests_are_looked_at() -> None:
    places_of_tests = [place for place in places() if place.path.startswith("tests/")]
    assert len(places_of_tests) > 200 and all(place.names and not place.texts for place in places_of_tests if "/test_" in place.path)
    assert not any(place.path.endswith("retired_words.py") for place in places_of_tests)
