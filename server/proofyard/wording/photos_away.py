"""What stands in a photo's place while the store that keeps it can't be asked."""

from html import escape

NOT_NOW = "This photo can’t be had now."


def drawn_words(*lines: str) -> str:
    """Lines of words as a drawing (SVG), a sentence a line: a page shows it where the photo would be."""
    sentences = [one for line in lines for one in line.replace(". ", ".\n").split("\n")]
    rows = "".join(f'<tspan x="16" dy="24">{escape(one)}</tspan>' for one in sentences)
    high, wide = 24 * len(sentences) + 24, 16 + max(9 * len(one) for one in sentences)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{wide}" height="{high}">'
        f'<rect width="{wide}" height="{high}" fill="#eee"/>'
        f'<text y="8" font-family="sans-serif" font-size="16" fill="#222">{rows}</text></svg>'
    )
