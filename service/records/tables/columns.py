"""Column kinds and checks that every table shares: UTC instants, closed lists of words, named constraints."""

from collections.abc import Iterable
from datetime import UTC, datetime

from sqlalchemy import BigInteger, CheckConstraint, DateTime
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator
from sqlmodel import SQLModel

SQLModel.metadata.naming_convention = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}

Whole = BigInteger


class Instant(TypeDecorator[datetime]):
    """A moment in UTC: only aware datetimes go in, only UTC datetimes come out."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"an instant needs its time zone: {value!r}")
        instant = value.astimezone(UTC)
        return instant.replace(tzinfo=None) if dialect.name == "sqlite" else instant

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        del dialect
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


def one_of(column: str, words: Iterable[str]) -> CheckConstraint:
    """The column holds one of these words (or nothing, where it may be null)."""
    listed = ", ".join(f"'{word}'" for word in words)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_word")


def at_least(column: str, least: int) -> CheckConstraint:
    """The column is never below `least`."""
    return CheckConstraint(f"{column} >= {least}", name=f"{column}_at_least")


def between(column: str, least: int, most: int) -> CheckConstraint:
    """The column lies from `least` to `most`."""
    return CheckConstraint(f"{column} BETWEEN {least} AND {most}", name=f"{column}_between")


def said(column: str, most: int = 200) -> CheckConstraint:
    """The column says something, in at most `most` characters."""
    return CheckConstraint(f"length({column}) BETWEEN 1 AND {most}", name=f"{column}_said")
