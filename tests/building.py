"""Records for tests, built through the studio's own use cases where there are any."""

from datetime import date, datetime
from pathlib import Path

from service.reckoning.design_text import read_design
from service.records import tables
from service.records.db import Writing
from service.records.tables import Client, Cloth, ClothReading, ClothUse, Commission, Design, Garment
from service.studio.making import MakingAsk, make_garment
from tests.serving import START

DESIGNS = Path(__file__).resolve().parents[1] / "seed_data" / "designs"


def a_commission(db: Writing, wanted_on: date = date(2027, 5, 16), state: str = "agreed") -> Commission:
    """A commission of a client of its own."""
    client = Client(name="Hester Vane", email="hester@example.org", phone="01 234", created_at=START)
    db.add(client)
    db.flush()
    assert client.id is not None
    commission = Commission(
        client_id=client.id, title="Christening of Ivy", wanted_on=wanted_on, state=state, created_at=START
    )
    db.add(commission)
    db.flush()
    return commission


def a_cloth(db: Writing, name: str = "Fine linen", warp: int = 200, weft: int = 190, metres: int = 4) -> Cloth:
    """A cloth of so many warp and weft threads in 10 cm, counted at five places each, so many metres on hand."""
    cloth = Cloth(name=name, fibre="linen", width_um=1_400_000, on_hand_um=metres * 1_000_000, created_at=START)
    db.add(cloth)
    db.flush()
    assert cloth.id is not None
    db.add(ClothUse(cloth_id=cloth.id, kind="bought", change_um=metres * 1_000_000, at=START))
    for system, threads in (("warp", warp), ("weft", weft)):
        for place in range(5):
            db.add(
                ClothReading(
                    cloth_id=cloth.id,
                    system=system,
                    threads=threads,
                    over_um=100_000,
                    place=f"place {place + 1}",
                    read_at=START,
                )
            )
    db.flush()
    return cloth


def a_design(db: Writing, key: str = "day_gown") -> Design:
    """One of the designs of seed_data."""
    text = (DESIGNS / f"{key}.toml").read_text(encoding="utf-8")
    design = tables.Design(key=key, name=key.replace("_", " ").capitalize(), document=text, created_at=START)
    db.add(design)
    db.flush()
    return design


def a_garment(db: Writing, key: str = "day_gown", at: datetime = START) -> Garment:
    """A garment made from that design on cloth counted 20 by 19 per cm."""
    commission, design, cloth = a_commission(db), a_design(db, key), a_cloth(db)
    assert commission.id is not None
    assert design.id is not None
    assert cloth.id is not None
    roles = [drawn_for.role for drawn_for in read_design(design.document).cloths]
    return make_garment(db, MakingAsk(commission.id, design.id, dict.fromkeys(roles, cloth.id)), at)
