"""The client's window: links that open it, visits through them, what is wanted of the client, words of the owner."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Text
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, at_least, one_of, said

WANTED_KINDS = ("measurement", "fitting", "answer")
MESSAGE_KINDS = ("quote", "progress", "measurement", "fitting", "instalment", "ready")


class ShareLink(SQLModel, table=True):
    """One secret link to a commission's window; only a digest of its secret is kept."""

    __tablename__ = "share_link"
    __table_args__ = (said("label"), at_least("times_opened", 0), CheckConstraint("ends_at > created_at", name="ends"))

    id: int | None = Field(default=None, primary_key=True)
    commission_id: int = Field(foreign_key="commission.id", index=True)
    label: str
    secret_sha256: str = Field(unique=True)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    created_at: datetime = Field(sa_type=Instant)
    ends_at: datetime = Field(sa_type=Instant)
    revoked_at: datetime | None = Field(default=None, sa_type=Instant)
    first_opened_at: datetime | None = Field(default=None, sa_type=Instant)
    last_opened_at: datetime | None = Field(default=None, sa_type=Instant)
    times_opened: int = Field(default=0, sa_type=Whole)


class WindowVisit(SQLModel, table=True):
    """One browser that was let in by a link; only a digest of its cookie is kept."""

    __tablename__ = "window_visit"

    id: int | None = Field(default=None, primary_key=True)
    share_link_id: int = Field(foreign_key="share_link.id", index=True)
    secret_sha256: str = Field(unique=True)
    created_at: datetime = Field(sa_type=Instant)
    ends_at: datetime = Field(sa_type=Instant)


class ClientWish(SQLModel, table=True):
    """Something that is wanted of the client, and her answer."""

    __tablename__ = "client_wish"
    __table_args__ = (
        one_of("kind", WANTED_KINDS),
        said("words", 1000),
        CheckConstraint("(answered_at IS NULL) = (answer = '')", name="answered_in_words"),
    )

    id: int | None = Field(default=None, primary_key=True)
    commission_id: int = Field(foreign_key="commission.id", index=True)
    kind: str
    words: str = Field(sa_type=Text)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    asked_at: datetime = Field(sa_type=Instant)
    answer: str = Field(default="", sa_type=Text)
    answered_at: datetime | None = Field(default=None, sa_type=Instant)
    closed_at: datetime | None = Field(default=None, sa_type=Instant)


class MessageWords(SQLModel, table=True):
    """The owner's own words of one kind of message to a client."""

    __tablename__ = "message_words"
    __table_args__ = (one_of("kind", MESSAGE_KINDS), said("subject"), said("body", 5000))

    id: int | None = Field(default=None, primary_key=True)
    kind: str = Field(unique=True)
    subject: str
    body: str = Field(sa_type=Text)
