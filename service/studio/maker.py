"""The maker as labels and files name her: place, postal and electronic address."""

from service.records.db import Reading, Writing
from service.records.tables import Maker


def maker_of(db: Reading | Writing) -> Maker:
    """Who the maker is; empty where nothing was written down yet."""
    return db.get(Maker, 1) or Maker()


def change_maker(db: Writing, place: str, postal_address: str, electronic_address: str) -> None:
    """Write down where the maker is to be found."""
    maker = maker_of(db)
    maker.place, maker.postal_address, maker.electronic_address = place, postal_address, electronic_address
    db.add(maker)
    db.flush()
