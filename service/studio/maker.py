"""The maker as labels and files name her: place, postal and electronic address."""

from service.records.db import Reading, Writing
from service.records.tables import Maker, Studio


def maker_of(db: Reading | Writing) -> Maker:
    """Who the maker is; empty where nothing was written down yet."""
    return db.get(Maker, 1) or Maker()


def made_by(studio: Studio, maker: Maker) -> str:
    """Who the paper comes from and where she is found, as far as it is written down.

    >>> made_by(Studio(name="Larkfield", created_at=None), Maker(postal_address="1 Mill Lane, Quill"))
    'Larkfield, 1 Mill Lane, Quill.'
    """
    address = [line.strip(" ,") for line in maker.postal_address.splitlines() if line.strip(" ,")]
    return ", ".join(part for part in (studio.name, *address, maker.electronic_address) if part) + "."


def change_maker(db: Writing, place: str, postal_address: str, electronic_address: str) -> None:
    """Write down where the maker is to be found."""
    maker = maker_of(db)
    maker.place, maker.postal_address, maker.electronic_address = place, postal_address, electronic_address
    db.add(maker)
    db.flush()
