"""The demo studio's people, clients, cloths, supplies and designs, read from seed_data."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from service.reckoning.design_text import read_design
from service.records.db import Writing
from service.records.tables import (
    Client,
    Cloth,
    ClothReading,
    ClothSwatch,
    ClothUse,
    Design,
    Stitcher,
    StitcherAway,
    Studio,
    Supply,
    SupplyUse,
)
from service.records.tables.people import WEEKDAYS
from service.studio.sign_in import NewOwner, Person, add_account

SEED = Path(__file__).resolve().parents[2] / "seed_data"
YEARS_AGO = timedelta(days=740)
READ_OVER_UM = 50_000
SWATCH_UM = 500_000


@dataclass(frozen=True, slots=True)
class Worker:
    """Somebody of the demo who stitches: her account, minutes a weekday, pace beside the guesses."""

    person: Person
    minutes: tuple[int, ...]
    pace: float


@dataclass(frozen=True, slots=True)
class Stock:
    """The demo's records by their short names."""

    workers: Mapping[str, Worker]
    clients: Mapping[str, int]
    cloths: Mapping[str, int]
    designs: Mapping[str, int]


def fill_records(db: Writing, emails: Mapping[str, str], password: str, at: datetime) -> Stock:
    """Write down everything that the work of the demo needs."""
    said = read("studio.toml")
    began = at - YEARS_AGO
    db.add(
        Studio(
            name=said["name"],
            time_zone=said["time_zone"],
            currency=said["currency"],
            usual_minutes_a_day=said["usual_minutes_a_day"],
            is_demo=True,
            created_at=began,
        )
    )
    db.flush()
    return Stock(
        {key: _worker(db, who, emails[key], password, at) for key, who in said["people"].items()},
        {key: _client(db, who, began) for key, who in said["clients"].items()},
        {key: _cloth(db, cloth, began) for key, cloth in said["cloths"].items()} | _supplies(db, said, began),
        {path.stem: _design(db, path, began) for path in sorted((SEED / "designs").glob("*.toml"))},
    )


def read(name: str) -> dict[str, Any]:
    """One of the demo's files."""
    return tomllib.loads((SEED / "demo" / name).read_text(encoding="utf-8"))


def _worker(db: Writing, who: Mapping[str, Any], email: str, password: str, at: datetime) -> Worker:
    minutes = tuple(round(hours * 60) for hours in who["hours"])
    stitcher = Stitcher(name=who["name"], pay_minor_per_hour=_minor(who.get("pay")), created_at=at - YEARS_AGO)
    for day, amount in zip(WEEKDAYS, minutes, strict=True):
        setattr(stitcher, f"minutes_{day}", amount)
    db.add(stitcher)
    db.flush()
    assert stitcher.id is not None
    today = at.date()
    for days in who.get("away", ()):
        first, last = (today + timedelta(days=days[end]) for end in ("from", "to"))
        db.add(StitcherAway(stitcher_id=stitcher.id, first_day=first, last_day=last, note=days["note"]))
    account = add_account(db, NewOwner(who["name"], email, password), who["role"], stitcher.id, at - YEARS_AGO)
    assert account.id is not None
    return Worker(Person(account.id, account.name, email, account.role, stitcher.id), minutes, who["pace"])


def _client(db: Writing, who: Mapping[str, Any], at: datetime) -> int:
    client = Client(**who, created_at=at)
    db.add(client)
    db.flush()
    assert client.id is not None
    return client.id


def _cloth(db: Writing, said: Mapping[str, Any], at: datetime) -> int:
    shrink_warp, shrink_weft = said.get("shrink", (0, 0))
    bought_um = said["bought_m"] * 1_000_000
    cloth = Cloth(
        name=said["name"],
        fibre=said["fibre"],
        width_um=said["width_cm"] * 10_000,
        on_hand_um=bought_um,
        weight_mg_per_m2=said["weight"] * 1000,
        shrink_warp_bp=round(shrink_warp * 100),
        shrink_weft_bp=round(shrink_weft * 100),
        price_minor_per_m=_minor(said["price"]),
        notes=said.get("notes", ""),
        created_at=at,
    )
    db.add(cloth)
    db.flush()
    assert cloth.id is not None
    db.add(ClothUse(cloth_id=cloth.id, kind="bought", change_um=bought_um, reason="the whole bolt", at=at))
    for system in ("warp", "weft"):
        for place, threads in enumerate(said[system], 1):
            reading = ClothReading(cloth_id=cloth.id, system=system, threads=threads, over_um=READ_OVER_UM, read_at=at)
            reading.place = f"place {place}"
            db.add(reading)
    for system, percent in zip(("warp", "weft"), said.get("shrink", ()), strict=False):
        after_um = round(SWATCH_UM * (1 - percent / 100))
        swatch = ClothSwatch(cloth_id=cloth.id, system=system, before_um=SWATCH_UM, after_um=after_um, measured_at=at)
        swatch.washed = "by hand at 40 degrees, dried flat"
        db.add(swatch)
    return cloth.id


def _supplies(db: Writing, said: Mapping[str, Any], at: datetime) -> dict[str, int]:
    """Write the supplies down; nothing of the demo's work names them."""
    for it in said["supplies"].values():
        amount = int(Decimal(it["amount"]) * 1000)
        supply = Supply(
            name=it["name"],
            kind=it["kind"],
            unit=it["unit"],
            on_hand_thousandths=amount,
            price_minor=_minor(it["price"]),
            notes=it.get("notes", ""),
            created_at=at,
        )
        db.add(supply)
        db.flush()
        assert supply.id is not None
        db.add(
            SupplyUse(supply_id=supply.id, kind="bought", change_thousandths=amount, reason="on hand at first", at=at)
        )
    return {}


def _design(db: Writing, path: Path, at: datetime) -> int:
    text = path.read_text(encoding="utf-8")
    design = Design(key=path.stem, name=read_design(text).name, document=text, created_at=at)
    db.add(design)
    db.flush()
    assert design.id is not None
    return design.id


def _minor(price: str | None) -> int | None:
    return None if price is None else int(Decimal(price) * 100)
