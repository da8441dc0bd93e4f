"""One file out of a page's markup: nothing in it is fetched, no id stands twice, and what leads nowhere is no link."""

from __future__ import annotations

import pytest
from proofyard.exchange.one_file import Margins, css_text, document, inlined, paged

PHOTO = b"\xff\xd8 a photo"


def test_a_link_leads_within_the_file_or_becomes_words() -> None:
    markup = '<p><a class="row" href="/shots/1" aria-label="A1">A1</a> <a href="/kit" hx-get="/kit">kit</a> <a href="#here">here</a></p>'
    made = inlined(markup, links={"/shots/1": "#shot-A1"}.get).markup
    assert made == '<p><a class="row" href="#shot-A1" aria-label="A1">A1</a> <span>kit</span> <a href="#here">here</a></p>'
    assert inlined('<svg><a href="/x"><g/></a></svg>').markup == "<svg><g><g></g></g></svg>"


def test_a_part_that_stands_twice_has_its_ids_apart() -> None:
    part = '<div data-ids="{}"><b id="t" aria-labelledby="t u">x</b><a href="#t">y</a></div>'
    made = inlined(part.format("one-") + part.format("two-")).markup
    assert '<b id="one-t" aria-labelledby="one-t one-u">' in made and '<a href="#two-t">' in made
    assert "data-ids" not in made


def test_what_only_the_app_can_do_is_left_out_and_folds_are_open() -> None:
    made = inlined('<details><summary>a</summary>b</details><p data-app>Press <a href="/x">it<br></a> &amp; go</p>c &lt; d').markup
    assert made == "<details open><summary>a</summary>b</details>c &lt; d"


def test_photos_and_glyphs_come_along() -> None:
    made = inlined('<img src="/photos/1" alt="a"><svg><use href="/static/glyphs-1.svg#head-leaf"/></svg>', photos={"/photos/1": PHOTO}.get)
    assert 'src="data:image/jpeg;base64,/9ggYSBwaG90bw=="' in made.markup and '<use href="#glyph-head-leaf">' in made.markup
    assert '<symbol id="glyph-head-leaf"' in document(made, title="x", sheets=())


@pytest.mark.parametrize("markup", ['<form action="/x"></form>', "<script>1</script>", '<img src="/photos/2" alt="">', "<p><b></p>", "<p>"])
def test_what_can_not_stand_by_itself_is_refused(markup: str) -> None:
    with pytest.raises(ValueError):
        inlined(markup)


def test_words_in_a_margin_can_not_leave_it() -> None:
    assert css_text('a"; } </') == r'"a\000022; \00007d \00003c\00002f"'
    sheet = paged(Margins('Is "this" </style> one?', "b", "c"))
    assert "</style>" not in sheet and 'counter(page) " of " counter(pages)' in sheet
