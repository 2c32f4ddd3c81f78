"""The demo studio: an invented scenario from the readable files in seed_data, its log made by following the gates."""

from datetime import datetime

from sqlmodel import select

from service.errors import Conflict
from service.records.db import Database
from service.records.photo_store import PhotoStore
from service.records.tables import Studio
from service.studio.demo_books import fill_books
from service.studio.demo_diary import fill_diary
from service.studio.demo_handovers import fill_handovers
from service.studio.demo_learning import fill_guesses
from service.studio.demo_papers import fill_papers
from service.studio.demo_photos import fill_photos
from service.studio.demo_quotes import fill_quotes
from service.studio.demo_records import fill_records
from service.studio.demo_table import fill_table
from service.studio.demo_thread import fill_thread
from service.studio.demo_window import fill_window
from service.studio.demo_work import fill_work
from service.studio.sign_in import set_passwords

DEMO_EMAILS = {
    "edda": "owner@demo.example",
    "tilly": "stitcher@demo.example",
    "oriel": "second@demo.example",
}


def fill_or_refresh(
    database: Database,
    password: str,
    garments: int,
    at: datetime,
    photos: PhotoStore | None = None,
    open_every: int | None = None,
) -> None:
    """Fill an empty studio with the demo, or give the demo's accounts this password; refuse a real studio.

    Its photos are kept where they can be kept.
    With `garments` above nothing an empty studio becomes one of that size instead, for measuring; one in `open_every`
    of them is in work.
    """
    with database.writing() as db:
        studio = db.exec(select(Studio)).first()
        if studio is not None and not studio.is_demo:
            raise Conflict("That folder holds a real studio; the demo is not put there. Name an empty one with --data.")
        if studio is not None:
            set_passwords(db, DEMO_EMAILS.values(), password)
            return
        stock = fill_records(db, DEMO_EMAILS, password, at)
        if not garments:
            fill_work(db, stock, at)
            fill_handovers(db, stock, at)
            fill_thread(db, stock, at)
            fill_guesses(db, stock, at)
            fill_books(db, stock, at)
            fill_quotes(db, stock, at)
            fill_papers(db, stock, at)
            fill_window(db, stock, at)
            fill_diary(db, stock, at)
            fill_table(db, stock, at)
            if photos is not None:
                fill_photos(db, photos, stock)
    if garments:
        from service.studio.big_studio import OPEN_EVERY, fill_big

        fill_big(database, stock, garments, at, open_every or OPEN_EVERY)
