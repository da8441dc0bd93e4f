"""Who looses. The phone that records is another thing."""

from proofyard.records.columns import Noun, choice, quantity, words, yes_no

HANDS = {"right": "Right hand draws", "left": "Left hand draws"}
HOLDS = {"fingers": "Fingers", "thumb": "Thumb"}


class Archer(Noun, table=True):
    __tablename__ = "archer"
    __table_args__ = ({"sqlite_strict": True},)
    call_name: str = words("Call name", required=True, limit=40, hint="What you are called at the range, not your full name.")
    hand: str | None = choice("Hand", HANDS)
    hold: str | None = choice("String held with", HOLDS)
    draw_length_m: float | None = quantity("Draw length", "draw_length", hint="To the back of the bow, arrow on the string.")
    retired: int | None = yes_no("Retired")
