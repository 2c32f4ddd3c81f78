"""Photos of the work: what each shows, who took it, whether the client may see it. The pictures lie in the store."""

from datetime import datetime

from sqlalchemy import CheckConstraint, Index, Text
from sqlmodel import Field, SQLModel

from service.records.tables.columns import Instant, Whole, at_least, one_of

PHOTO_KINDS = ("image/jpeg",)


class Photo(SQLModel, table=True):
    """One photo of a garment, or more nearly of one section, step or handover of it.

    `sha256` is the digest of its largest picture, under which all its sizes are stored; two rows may share it.
    `width` and `height` are of that picture. It is the studio's own until the owner says `for_client`.
    """

    __table_args__ = (
        one_of("mime", PHOTO_KINDS),
        CheckConstraint("length(sha256) = 64", name="sha256_whole"),
        at_least("size_bytes", 1),
        at_least("width", 1),
        at_least("height", 1),
        CheckConstraint("NOT for_client OR taken_out_at IS NULL", name="shown_while_in_the_book"),
        Index(None, "garment_id", "id"),
    )

    id: int | None = Field(default=None, primary_key=True)
    garment_id: int = Field(foreign_key="garment.id")
    section_id: int | None = Field(default=None, foreign_key="section.id", index=True)
    step_id: int | None = Field(default=None, foreign_key="step.id", index=True)
    handover_id: int | None = Field(default=None, foreign_key="handover.id", index=True)
    sha256: str = Field(index=True)
    mime: str = "image/jpeg"
    size_bytes: int = Field(sa_type=Whole)
    width: int = Field(sa_type=Whole)
    height: int = Field(sa_type=Whole)
    caption: str = Field(default="", sa_type=Text)
    for_client: bool = False
    account_id: int = Field(foreign_key="account.id", index=True)
    at: datetime = Field(sa_type=Instant)
    taken_out_at: datetime | None = Field(default=None, sa_type=Instant)
    taken_out_by: int | None = Field(default=None, foreign_key="account.id", index=True)
