"""Two things that went together all the time: what one does can't be told from what the other does."""

from server.findings.caveats.caveat import Caveat, listed, rests_on, some
from server.findings.caveats.view import View, by
from server.findings.when import day_words

FEWEST = 3  # of a row: with fewer, that it stood at one panel only is chance

# Fact that tells one from another -> (kind of the caveat, what the view may vary by intent, its name, words of one)
_WITH = {
    "panel_id": ("one_panel_only", "panel", "panel_name", "at {} only", "that panel’s own make"),
    "day": ("one_day_only", "day", "day", "on {} only", "that day’s air, bows and hands"),
}


def head_goes_with(view: View) -> list[Caveat]:
    """Rows that were shot at one panel only, or on one day only, while the others were not."""
    return [caveat for fact in _WITH for caveat in _with(view, fact)]


def _with(view: View, fact: str) -> list[Caveat]:
    kind, varied, name, only, what = _WITH[fact]
    rows = {key: row for key, row in view.rows.items() if len(row[1]) >= FEWEST}
    if varied in view.varied or len(rows) < 2 or len(by(view.shots, fact)) < 2:
        return []
    bound = [(words, shots) for words, shots in rows.values() if len(by(shots, fact)) == 1]
    # All at one and the same: that parts none from the others.
    if not bound or (len(bound) == len(rows) and len({getattr(shots[0].fact, fact) for _, shots in bound}) == 1):
        return []
    said = []
    for words, shots in bound:
        one = getattr(shots[0].fact, name)
        said.append(f"{words} ({some(len(shots), 'shot')}) {only.format(day_words(one) if name == 'day' else one)}")
    text = f"{listed(said)}: what sets {'it' if len(bound) == 1 else 'them'} apart can’t be told from {what}."
    return [Caveat(kind, text[:1].upper() + text[1:], listed(words for words, _ in bound), rests_on(shot for _, shots in bound for shot in shots))]
