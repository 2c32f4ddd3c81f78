"""The demo studio's handovers: one offered, one taken, one sent back, and a needle that broke."""

from datetime import datetime, timedelta

from sqlmodel import col, select

from service.records.db import Writing
from service.records.tables import BrokenSharp, Garment, Panel
from service.studio.demo_records import Stock
from service.studio.handovers import CountedIn, Offer, Tools, offer, send_back, take
from service.studio.samples import Bundles, keep_sample
from service.studio.sharps import Found, all_of_it_found, find_missing, tell_broken
from service.studio.stopping import sections_left

HOUR = timedelta(hours=1)
SAMPLER, DAY_GOWN, BIB = "Window sampler", "Ivy's day gown", "Bib with three bands"


def fill_handovers(db: Writing, stock: Stock, at: datetime) -> None:
    """Offer, take and send back three of the demo's pieces."""
    edda, tilly, oriel = (stock.workers[key].person for key in ("edda", "tilly", "oriel"))
    gown, sampler, bib = (_open_one(db, name) for name in (DAY_GOWN, SAMPLER, BIB))
    began = at - timedelta(hours=20)
    given = offer(db, oriel, _gown(db, gown, tilly.stitcher_id), began)
    assert given.id is not None
    take(db, tilly, given.id, CountedIn(needles=3, pins=11), began + HOUR)
    find_missing(db, tilly, given.id, Found(0, 1, "in the fold of the facing"), began + 1.2 * HOUR)
    keep_sample(db, tilly, given.id, Bundles(258, 264), began + 2 * HOUR)
    _break_a_needle(db, stock, gown, began + 3 * HOUR)
    assert sampler.id is not None
    offer(
        db,
        edda,
        Offer(
            sampler.id,
            oriel.stitcher_id,
            needles_out=2,
            pins_out=8,
            notes="No hurry with this one: when the bib is done.",
            materials=(("Lace cotton No 80", "18 m"), ("Hoop", "13 cm")),
        ),
        at - 5 * HOUR,
    )
    assert bib.id is not None
    asked = offer(db, oriel, Offer(bib.id, tilly.stitcher_id, needles_out=2, notes="For the binding."), at - 30 * HOUR)
    assert asked.id is not None
    send_back(db, tilly, asked.id, "The day gown comes first; ask me again next week.", at - 28 * HOUR)


def _gown(db: Writing, gown: Garment, to_id: int | None) -> Offer:
    assert gown.id is not None
    begun = next(each for each in sections_left(db, gown, _panels(db, gown)) if each.is_begun)
    assert begun.section.id is not None
    return Offer(
        gown.id,
        to_id,
        needles_out=3,
        pins_out=12,
        notes="The needle is parked in the margin of the band.",
        tension="Drawn firm, not tight: the cloth must not pucker between bundles.",
        bundles_tenths=(246, 250),
        odd="A weft thread is mended two fingers from the left end.",
        materials=(("Lace cotton No 100", "31 m"), ("Spare cloth from the same bolt", "20 x 20 cm")),
        tools={begun.section.id: Tools(begun.section.thread or "Lace cotton No 100", "embroidery No 10")},
    )


def _panels(db: Writing, garment: Garment) -> frozenset[int]:
    return frozenset(number for number in db.exec(select(Panel.id).where(Panel.garment_id == garment.id)) if number)


def _open_one(db: Writing, name: str) -> Garment:
    """The open garment of that name."""
    found = select(Garment).where(Garment.name == name, Garment.state == "in work").order_by(col(Garment.id))
    garment = db.exec(found).first()
    assert garment is not None, name
    return garment


def _break_a_needle(db: Writing, stock: Stock, gown: Garment, at: datetime) -> None:
    tilly, edda = stock.workers["tilly"].person, stock.workers["edda"].person
    assert gown.id is not None
    broken = BrokenSharp(garment_id=gown.id, kind="needle", told_by=tilly.id, told_at=at, note="snapped at the eye")
    kept = tell_broken(db, tilly, broken)
    assert kept.id is not None
    all_of_it_found(db, edda, kept.id, "both parts, taped into the book", at + HOUR / 2)
