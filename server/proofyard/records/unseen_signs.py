"""Signs that nobody sees, in text that people read: they turn words round, or make two notes that look alike differ.

Right-to-left and joining scripts need none of them: Hebrew and Arabic run the right way by themselves, and the joiners
are taken where their scripts (and combined photos) use them.

Source: Unicode Standard Annex 9 (bidirectional controls), and the Unicode Character Database, Default_Ignorable_Code_Point.
"""

import re

_TURNING = "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\u206a-\u206f"
_NO_WIDTH = "\u034f\u115f\u1160\u17b4\u17b5\u180e\u200b\u2028\u2029\u2060-\u2065\u3164\ufeff\uffa0\ufff9-\ufffb"
_CONTROLS = "\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f"
# A joiner belongs behind a sign of a script that joins (from Hebrew on), or behind a photo that is put together.
_JOINER_ALONE = "(?<![\u0590-\u1fff\u2190-\u2bff\ufb1d-\ufe0f\U0001f000-\U0001faff\U00010a00-\U00011fff])[\u200c\u200d]"
# Tags are part of a flag, behind the black flag and other tags.
_TAG_ALONE = "(?<![\U0001f3f4\U000e0020-\U000e007f])[\U000e0000-\U000e007f]"
_UNSEEN = re.compile(f"[{_TURNING}{_NO_WIDTH}{_CONTROLS}]|{_JOINER_ALONE}|{_TAG_ALONE}")


def unseen_in(text: str) -> str | None:
    """What is wrong with a text, in words: where its first unseen sign stands; None if it has none."""
    found = _UNSEEN.search(text)
    if found is None:
        return None
    before = text[: found.start()].rstrip().rpartition("\n")[2]
    before = _UNSEEN.sub("", before)[-20:]
    where = f"after “{before}”" if before else "at the beginning"
    return f"There is an invisible character in it, {where} (U+{ord(found[0]):04X}). Type those words again instead of pasting them."
