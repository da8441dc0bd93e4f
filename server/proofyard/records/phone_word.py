"""What each phone said last of what it holds, where several servers must agree on it. It is of the moment: in no notebook, no file."""

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Integer, Text, select, text
from sqlmodel import Field as Column
from sqlmodel import Session, SQLModel

from proofyard.records.book import STRICT


class PhoneWord(SQLModel, table=True):
    """The last word of one phone. `agrees`: 1, 0, or nothing while only counts can be told."""

    __tablename__ = "phone_word"
    __table_args__ = (STRICT,)
    device_id: str = Column(primary_key=True, sa_type=Text)
    at: int = Column(sa_type=Integer)
    session_id: str | None = Column(default=None, sa_type=Text)
    shots: int = Column(sa_type=Integer)
    unsent: int = Column(sa_type=Integer)
    photos_unsent: int = Column(sa_type=Integer)
    needs: int = Column(sa_type=Integer)
    agrees: int | None = Column(default=None, sa_type=Integer)
    lacks: int = Column(sa_type=Integer)


_COLUMNS = [column.name for column in PhoneWord.__table__.columns]
# Both databases say it so. Two servers may hear one phone at the same moment: the later word stands.
_SAY = text(
    f"INSERT INTO phone_word ({', '.join(_COLUMNS)}) VALUES ({', '.join(f':{one}' for one in _COLUMNS)}) "
    f"ON CONFLICT (device_id) DO UPDATE SET {', '.join(f'{one} = excluded.{one}' for one in _COLUMNS[1:])} "
    "WHERE excluded.at >= phone_word.at"
)
_ALL = select(PhoneWord.__table__)


def say_word(session: Session, word: Mapping[str, Any]) -> None:
    session.execute(_SAY, dict(word))


def all_words(session: Session) -> list[Mapping[str, Any]]:
    return [dict(row) for row in session.execute(_ALL).mappings()]


def word_of(session: Session, device_id: str) -> Mapping[str, Any] | None:
    row = session.execute(_ALL.where(PhoneWord.__table__.c.device_id == device_id)).mappings().first()
    return dict(row) if row else None
