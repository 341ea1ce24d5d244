"""What every table shares: the naming of constraints, the kinds of column, the id a person types."""

from __future__ import annotations

import json
import uuid
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import DateTime, MetaData, String, Text
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeDecorator

from patina.errors import Damaged
from patina.records.tables import own_columns

NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


def now() -> datetime:
    """This moment in UTC, to the microsecond."""
    return datetime.now(UTC)


def new_uid() -> str:
    """An id that is the same record in every studio it is moved to: 32 hexadecimal figures."""
    return uuid.uuid4().hex


def canonical(document: Any) -> str:
    """A document as JSON text that is always the same for the same content.

    >>> canonical({"b": 1.10, "a": [None, "é"]})
    '{"a":[null,"é"],"b":1.1}'
    """
    return json.dumps(document, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


class UtcMoment(TypeDecorator[datetime]):
    """A moment, always UTC and always aware, in databases with and without time zones."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """To UTC. A moment without a time zone is refused: it would be a guess."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment without a time zone cannot be kept")
        utc = value.astimezone(UTC)
        return utc.replace(tzinfo=None) if dialect.name == "sqlite" else utc

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """From the database, with its zone."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


def parsed(text: str) -> Any:
    """What a stored JSON text says. Raises Damaged."""
    if text == "[]":  # most records have no parts and no steps: parsing it is most of the work of a list
        return []
    try:
        return json.loads(text)
    except (ValueError, RecursionError) as trouble:
        raise Damaged(
            "A stored record holds text that is not its own.", "Run patina check and restore the last good backup."
        ) from trouble


class JsonText(TypeDecorator[Any]):
    """Lists and documents as canonical JSON text, the same in every database."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        """To text."""
        return None if value is None else canonical(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        """From text."""
        return None if value is None else parsed(value)


class Money(TypeDecorator[Decimal]):
    """An amount of money, kept figure for figure."""

    impl = String(40)
    cache_ok = True

    def process_bind_param(self, value: Decimal | None, dialect: Dialect) -> str | None:
        """To text."""
        return None if value is None else str(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Decimal | None:
        """From text."""
        return None if value is None else Decimal(value)


assert own_columns.OWN  # what people write in their own words is known before the first table is made


class Base(DeclarativeBase):
    """Root of all tables. LETTER: what a person types before the number; DERIVED: columns that are
    worked out from others and so stay out of the log of changes."""

    metadata = MetaData(naming_convention=NAMES)
    LETTER = ""
    DERIVED: frozenset[str] = frozenset()


class Record(Base):
    """A row that the log of changes follows."""

    __abstract__ = True

    id: Mapped[int] = mapped_column(primary_key=True)
    uid: Mapped[str] = mapped_column(String(32), unique=True, default=new_uid)

    @property
    def public_id(self) -> str:
        """What a person types: the letter and the number."""
        return f"{self.LETTER}{self.id}"


class Edited(Record):
    """A record that may be edited: its version says whether somebody else has been there."""

    __abstract__ = True

    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    search_text: Mapped[str] = mapped_column(Text, default="")


def level(text: str) -> str:
    """A text as a search compares it: without capitals, and with one spelling of sulphur."""
    return text.casefold().replace("sulph", "sulf")


def searchable(*parts: str | None) -> str:
    """The text that a search looks through."""
    return level(" ".join(part for part in parts if part))
