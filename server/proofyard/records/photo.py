"""Photos. The photo itself is a file beside the book; its row says what it is of and which bytes it must have."""

from sqlalchemy import Integer, Text
from sqlmodel import Field as Column

from proofyard.records.columns import Noun, choice, lines, moment, record_ref

OF = {"shot": "Shot", "panel_build": "Panel", "arrow_build": "Arrow"}
SEEN_FROM = {"front": "From the front", "back": "From behind", "close": "Close up"}
# What the laptop finds out from the file itself; nobody types these, and no operation may name them.
OF_THE_FILE = ("sent_sha256", "sha256", "media", "width", "height", "bytes")


class Photo(Noun, table=True):
    """Of a shot, a panel's build or an arrow's; of nothing yet while it lies in the tray.

    sent_sha256  of the bytes that came, so that the same photo sent twice is known
    sha256       of the file that is kept, so that a damaged copy is known
    """

    __tablename__ = "photo"
    __table_args__ = ({"sqlite_strict": True},)
    noun: str | None = choice("Of what", OF)
    record_id: str | None = record_ref("Which one")
    taken_at: int | None = moment("Taken")
    seen_from: str | None = choice("Seen", SEEN_FROM)
    note: str | None = lines("Note")
    sent_sha256: str = Column(sa_type=Text, sa_column_kwargs={"info": {}})
    sha256: str = Column(sa_type=Text, sa_column_kwargs={"info": {}})
    media: str = Column(sa_type=Text, sa_column_kwargs={"info": {}})
    width: int = Column(sa_type=Integer, sa_column_kwargs={"info": {}})
    height: int = Column(sa_type=Integer, sa_column_kwargs={"info": {}})
    bytes: int = Column(sa_type=Integer, sa_column_kwargs={"info": {}})
