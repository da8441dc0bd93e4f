"""A page made a file: nothing is left that looks as if it led somewhere and doesn't."""

from proofyard.publishing.page_rewritten import parsed, rewritten

PAGE = """<!doctype html><html><head><title>P</title></head><body>
<p class="button__row"><a class="button" href="/trials/1/report">Report</a> <a class="button button--plain" href="/shots">Download</a></p>
<p class="button__row"><a class="button" href="/kit">Kit</a> <a class="button" href="/trials/1/report">Report</a></p>
<p>Of <a href="/notebook">the notebook</a>.</p>
<p class="shot__cards">Lower third <a href="/shots/1/cards/card.svg">SVG</a></p>
</body></html>"""


def test_a_button_that_leads_nowhere_goes_with_its_row_and_words_of_a_sentence_stay() -> None:
    made = rewritten(parsed(PAGE.encode()), here="trials/1.html", file_of={"/kit": "kit.html"}.get, symbols={}).decode()
    assert '<a class="button" href="../kit.html">Kit</a>' in made
    assert made.count("button__row") == 1 and "Report" not in made and "Download" not in made
    assert "<p>Of <span>the notebook</span>.</p>" in made
    assert "Lower third" not in made
