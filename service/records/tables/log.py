"""The log: one row a tally, never edited. What is wrong is taken back by another row."""

from datetime import datetime

from sqlalchemy import Index, Text, text
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, at_least, between, one_of, said

TALLY_KINDS = ("work", "counter", "unpick")
# what the books add up of an entry, so that they read the index alone
OF_HOURS = ("seconds", "kind", "counters_id", "id")
NO_STITCHER = text("stitcher_id IS NULL")


class Tally(SQLModel, table=True):
    """One logged count on a step: `work` adds, `counter` and `unpick` take away.

    `key` is made by whoever counted and counts once; `body_sha256` tells a repeat from a different
    count under the same key. `at` is when the stitcher says it was done, `recorded_at` when it came in.
    """

    __table_args__ = (
        said("key", 100),
        one_of("kind", TALLY_KINDS),
        at_least("counted_tenths", 1),
        between("seconds", 0, 864_000),
        Index(None, "step_id", "id"),
        Index(None, "garment_id", "id"),
        Index("ix_tally_days_of_stitcher", "stitcher_id", "at", *OF_HOURS),
        Index(
            "ix_tally_days_of_no_stitcher",
            *("account_id", "at", *OF_HOURS, "stitcher_id"),
            sqlite_where=NO_STITCHER,
            postgresql_where=NO_STITCHER,
        ),
    )

    id: int | None = Field(default=None, primary_key=True)
    key: str = Field(unique=True)
    step_id: int = Field(foreign_key="step.id")
    garment_id: int = Field(foreign_key="garment.id")
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    stitcher_id: int | None = Field(default=None, foreign_key="stitcher.id", index=True)
    kind: str
    counted_tenths: int = Field(sa_type=Whole)
    seconds: int | None = Field(default=None, sa_type=Whole)
    counters_id: int | None = Field(default=None, foreign_key="tally.id", unique=True)
    overruled: bool = False
    reason: str = Field(default="", sa_type=Text)
    body_sha256: str
    at: datetime = Field(sa_type=Instant)
    recorded_at: datetime = Field(sa_type=Instant)
