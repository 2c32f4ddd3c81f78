"""The demo studio: an invented scenario, filled from the readable files in seed_data."""

from datetime import datetime

from sqlmodel import select

from service.errors import Conflict
from service.records.db import Database, Writing
from service.records.tables import Studio
from service.studio.people import add_account_for
from service.studio.sign_in import NewOwner, make_first_owner, set_password

OWNER, *STITCHERS = DEMO_EMAILS = ("owner@demo.example", "stitcher@demo.example", "second@demo.example")


def fill_or_refresh(database: Database, password: str, garments: int, at: datetime) -> None:
    """Fill an empty studio with the demo, or give the demo's accounts this password; refuse a real studio."""
    del garments
    with database.writing() as db:
        studio = db.exec(select(Studio)).first()
        if studio is None:
            _fill(db, password, at)
        elif not studio.is_demo:
            raise Conflict("That folder holds a real studio; the demo is not put there. Name an empty one with --data.")
        else:
            for email in DEMO_EMAILS:
                set_password(db, email, password)


def _fill(db: Writing, password: str, at: datetime) -> None:
    studio = Studio(name="Quillmere Whitework", time_zone="Europe/London", currency="GBP", is_demo=True, created_at=at)
    make_first_owner(db, studio, NewOwner("Edda Marrow", OWNER, password), at)
    for email, name in zip(STITCHERS, ("Tilly Fenn", "Oriel Sands"), strict=True):
        add_account_for(db, email, name, "stitcher", password, at)
