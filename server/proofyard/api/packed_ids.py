"""What phones are told, with each id once: half of a snapshot's packed bytes were the random digits of ids, written out in hex.

Two lines of JSON. The first is a table of ids in the order in which they first appear: how many milliseconds each was made after the one
before it, and the digits of chance of all of them in one row, as base64 (RFC 4648 section 4) of their hex digits. In the second, the text
itself, `"~"` stands for the next id of the table and `"~12"` for its thirteenth, counted from 0 (static/js/range/snapshot.js reads it).
"""

import base64
import json
import re

# UUID version 7 (RFC 9562 section 5.7) as records/ids.py writes one; any other text stays as it is.
ID = re.compile(r'"([0-9a-f]{8})-([0-9a-f]{4})-7([0-9a-f]{3})-([0-9a-f]{4})-([0-9a-f]{12})"')
MARK = re.compile(r'"~\d*"')


def with_ids_once(text: str) -> str:
    """The same in two lines; as it is, in one, where somebody wrote what would be taken for a mark."""
    if MARK.search(text):
        return text
    times: list[int] = []
    digits: list[str] = []
    places: dict[str, int] = {}

    def mark(found: re.Match[str]) -> str:
        known = places.setdefault(found[0], len(places))
        if known < len(times):
            return f'"~{known}"'
        times.append(int(found[1] + found[2], 16))
        digits.append(found[3] + found[4] + found[5])
        return '"~"'

    said = ID.sub(mark, text)
    later = [one - before for before, one in zip([0, *times], times, strict=False)]
    row = "".join(digits)
    packed = base64.b64encode(bytes.fromhex(row + "0" * (len(row) % 2))).decode()
    return json.dumps([later, packed], separators=(",", ":")) + "\n" + said
