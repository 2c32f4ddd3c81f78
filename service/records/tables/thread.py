"""Working thread that garments really took, beside what the reckoner says of the same work."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Index
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, at_least


class ThreadUsed(SQLModel, table=True):
    """So much of one thread went into what was done of a garment by then; the newest line of each thread counts.

    `thread` is named as the design names it, "" being thread that no design names. `reckoned_um` is for the same
    work, without any correction. A line without `used_um` takes back what was said before.
    """

    __tablename__ = "thread_used"
    __table_args__ = (
        at_least("reckoned_um", 1),
        CheckConstraint("used_um * 10 >= reckoned_um AND used_um <= reckoned_um * 10", name="used_um_within_ten_times"),
        Index(None, "garment_id", "thread"),
    )

    id: int | None = Field(default=None, primary_key=True)
    garment_id: int = Field(foreign_key="garment.id")
    thread: str = ""
    reckoned_um: int = Field(sa_type=Whole)
    used_um: int | None = Field(default=None, sa_type=Whole)
    account_id: int | None = Field(default=None, foreign_key="account.id", index=True)
    at: datetime = Field(sa_type=Instant)
