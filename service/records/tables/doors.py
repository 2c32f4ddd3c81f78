"""How people come in beside their password: second steps, links that set a password, known browsers, tries."""

from datetime import datetime

from sqlalchemy import CheckConstraint
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, at_least, one_of

WAY_IN_KINDS = ("invite", "reset")


class SecondStep(SQLModel, table=True):
    """The secret that an account's phone makes its codes from; not in use before a first code was confirmed."""

    __tablename__ = "second_step"

    id: int | None = Field(default=None, primary_key=True)
    account_id: int = Field(foreign_key="account.id", unique=True)
    secret: str
    created_at: datetime = Field(sa_type=Instant)
    confirmed_at: datetime | None = Field(default=None, sa_type=Instant)
    last_counter: int | None = Field(default=None, sa_type=Whole)


class RecoveryCode(SQLModel, table=True):
    """A code for the day the phone is lost, good for one sign-in; only a digest of it is kept."""

    __tablename__ = "recovery_code"

    id: int | None = Field(default=None, primary_key=True)
    account_id: int = Field(foreign_key="account.id", index=True)
    code_sha256: str = Field(unique=True)
    created_at: datetime = Field(sa_type=Instant)
    used_at: datetime | None = Field(default=None, sa_type=Instant)


class WayIn(SQLModel, table=True):
    """A link with which somebody sets her own password, once; only a digest of its secret is kept."""

    __tablename__ = "way_in"
    __table_args__ = (one_of("kind", WAY_IN_KINDS), CheckConstraint("ends_at > created_at", name="ends"))

    id: int | None = Field(default=None, primary_key=True)
    account_id: int = Field(foreign_key="account.id", index=True)
    kind: str
    secret_sha256: str = Field(unique=True)
    made_by_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    created_at: datetime = Field(sa_type=Instant)
    ends_at: datetime = Field(sa_type=Instant)
    used_at: datetime | None = Field(default=None, sa_type=Instant)
    withdrawn_at: datetime | None = Field(default=None, sa_type=Instant)


class KnownBrowser(SQLModel, table=True):
    """A browser in which this account signed in before, so that tries of strangers never make it wait."""

    __tablename__ = "known_browser"

    id: int | None = Field(default=None, primary_key=True)
    account_id: int = Field(foreign_key="account.id", index=True)
    secret_sha256: str = Field(unique=True)
    created_at: datetime = Field(sa_type=Instant)
    ends_at: datetime = Field(sa_type=Instant)


class SignInTry(SQLModel, table=True):
    """How often in a row a name, an address or a code was tried, and when last; the key is a digest of which."""

    __tablename__ = "sign_in_try"
    __table_args__ = (at_least("tries", 0),)

    id: int | None = Field(default=None, primary_key=True)
    key_sha256: str = Field(unique=True)
    tries: int = Field(sa_type=Whole)
    last_at: datetime = Field(sa_type=Instant)
