"""What the demo studio charges, its quotes in every state, their alterations, and what was paid."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from sqlmodel import col, select

from service.reckoning.hours import Line, Stretch
from service.reckoning.quoting import hours_to_quote
from service.records.db import Writing
from service.records.tables import Client, Commission, Garment, Panel, Quote, QuoteInstalment, Step
from service.studio.alterations import change_work, draw_alteration_up
from service.studio.charges import ChargesFacts, Part, charges_of, write_charges
from service.studio.demo_records import YEARS_AGO, Stock, read
from service.studio.payments import Paid, take_payment_back, write_payment
from service.studio.promising import Yes, accept, lapse, seal, send
from service.studio.quote_lines import FreeLine, add_line, change_line
from service.studio.quote_materials import materials_of
from service.studio.quote_sums import as_ms, lines_in, write_sums
from service.studio.quotes import Foresight, keep, new_draft, put_materials, share_of
from service.studio.rates import learn
from service.studio.sign_in import Person
from service.studio.studio_day import studio_day

HOUR = timedelta(hours=1)
MINOR = 100
SEWING_MINOR = 380


def fill_quotes(db: Writing, stock: Stock, at: datetime) -> None:
    """Write all of it down, each as of its own day; past hours are those of the whole plan."""
    owner, said = stock.workers["edda"].person, read("quotes.toml")
    _charges(db, said["charges"], owner, at - YEARS_AGO)
    foresight = Foresight(learn(db))
    for one in said["quotes"]:
        _quote(db, one, foresight, owner, at)
    for one in said["alterations"]:
        _alteration(db, one, foresight, owner, at)
    db.flush()


def _charges(db: Writing, said: Mapping[str, Any], owner: Person, at: datetime) -> None:
    facts = ChargesFacts(
        hour_rate_minor=_minor(said["hour_rate"]),
        overhead_minor_per_hour=_minor(said["overhead"]),
        margin_hundredths=said["margin"] * 100,
        price_step_minor=_minor(said["price_step"]),
        tax_name="",
        tax_hundredths=0,
        valid_days=said["valid_days"],
        dearness_tenths=round(said["dearness"] * 10),
        alteration_fee_minor=_minor(said["alteration_fee"]),
        skein_um=said["skein_m"] * 1_000_000,
        includes=said["includes"].strip(),
        leaves_out=said["leaves_out"].strip(),
    )
    parts = [Part(part["percent"] * 100, part["due"], part.get("days")) for part in said["parts"]]
    write_charges(db, facts, parts, owner.id, at)


def _quote(db: Writing, said: Mapping[str, Any], foresight: Foresight, owner: Person, at: datetime) -> None:
    commission = db.exec(select(Commission).where(Commission.title == said["commission"])).one()
    assert commission.id is not None
    drawn, ending = at + timedelta(days=said["drawn"]), commission.state
    made = select(Garment).where(Garment.commission_id == commission.id, Garment.created_at <= drawn)
    quote = _drawn_up(db, commission.id, db.exec(made.order_by(col(Garment.id))).all(), foresight, drawn)
    assert quote.id is not None
    _price_sewing(db, quote.id)
    for line in said.get("add", ()):
        add_line(db, quote.id, FreeLine(line["words"], _minor(line["sum"])))
    quote.note = said.get("note", "")
    keep(db, quote, "quote drawn up", owner.id, drawn)
    for older in db.exec(select(Quote).where(Quote.commission_id == commission.id, Quote.state == "sent")):
        older.state, older.taken_back_reason = "taken back", f"version {quote.version} was sent"
    db.flush()
    seal(db, quote, owner, drawn + HOUR)
    if "yes" in said:
        commission.state = "quoted"
        name = db.get_one(Client, commission.client_id).name
        accept(db, quote.id, Yes(quote.version, quote.total_minor, name), at + timedelta(days=said["yes"]["on"]), owner)
    if said.get("end") == "lapsed":
        lapse(db, commission.id, studio_day(db, at))
        db.refresh(quote)
    commission.state = ending
    for paid in said.get("paid", ()):
        _paid(db, quote, paid, owner, at)


def _price_sewing(db: Writing, quote_id: int) -> None:
    """The thread that no design names is plain sewing cotton, priced by hand."""
    for line in lines_in(db, quote_id):
        if line.key == "thread:" and line.id is not None:
            change_line(db, quote_id, line.id, FreeLine("Sewing cotton No 100", SEWING_MINOR))


def _drawn_up(
    db: Writing, commission_id: int, garments: Sequence[Garment], foresight: Foresight, at: datetime
) -> Quote:
    """A draft for these garments before any of their work was done."""
    charges = charges_of(db)
    assert charges is not None
    quote = new_draft(db, commission_id, "quote", charges, at)
    assert quote.id is not None
    work = {garment.id: _whole_work(db, garment.id) for garment in garments if garment.id is not None}
    hours = hours_to_quote(foresight.learned.drawn, work, quote.chance_hundredths / 10_000)
    quote.likely_ms, quote.quoted_ms, quote.worst_ms = (as_ms(one) for one in (hours.likely, hours.quoted, hours.worst))
    for position, garment in enumerate(garments):
        assert garment.id is not None
        db.add(share_of(quote.id, position, garment, as_ms(hours.shares[garment.id])))
    put_materials(db, quote, materials_of(db, garments, charges.skein_um))
    write_sums(db, quote)
    return quote


def _whole_work(db: Writing, garment_id: int) -> list[Stretch]:
    """All the work of a garment, as nobody had begun it."""
    counts = db.exec(select(Panel.warp_per_cm, Panel.weft_per_cm).where(Panel.garment_id == garment_id)).all()
    mean = sum(warp + weft for warp, weft in counts) / (2 * len(counts))
    amounts: dict[str, float] = {}
    for operation, tenths in db.exec(select(Step.operation, Step.quantity_tenths).where(Step.garment_id == garment_id)):
        amounts[operation] = amounts.get(operation, 0) + tenths / 10
    return [Stretch(f"{garment_id} ", tuple(Line(name, amount, mean) for name, amount in amounts.items()))]


def _alteration(db: Writing, said: Mapping[str, Any], foresight: Foresight, owner: Person, at: datetime) -> None:
    commission = db.exec(select(Commission.id).where(Commission.title == said["commission"])).one()
    drawn = at + timedelta(days=said["drawn"])
    assert commission is not None
    quote = draw_alteration_up(db, commission, foresight, owner, drawn)
    assert quote.id is not None
    for change in said.get("work", ()):
        garment = db.exec(select(Garment.id).where(Garment.commission_id == commission)).first()
        assert garment is not None
        change_work(db, quote.id, garment, (change["operation"], change["more"] * 10), foresight, drawn)
    if "yes" in said:
        send(db, quote.id, quote.version, owner, drawn + HOUR)
        name = db.exec(select(Client.name).join(Commission).where(Commission.id == commission)).one()
        yes = Yes(quote.version, quote.total_minor, name)
        accept(db, quote.id, yes, at + timedelta(days=said["yes"]["on"]), owner)


def _paid(db: Writing, quote: Quote, said: Mapping[str, Any], owner: Person, at: datetime) -> None:
    """Pay one part of a quote; a slip first writes it with a digit too many and takes that back."""
    when = at + timedelta(days=said["on"])
    part = db.exec(
        select(QuoteInstalment).where(
            QuoteInstalment.quote_id == quote.id, QuoteInstalment.position == said["part"] - 1
        )
    ).one()
    how = said.get("how", "bank transfer")
    if said.get("slip"):
        wrong = Paid("paid", studio_day(db, when), part.amount_minor * 10, how)
        slip = write_payment(db, quote.commission_id, wrong, owner, when)
        assert slip.id is not None
        take_payment_back(db, slip.id, "A digit too many", owner, when + HOUR)
    right = Paid("paid", studio_day(db, when), part.amount_minor, how)
    write_payment(db, quote.commission_id, right, owner, when + HOUR)


def _minor(written: str) -> int:
    return int(Decimal(written) * MINOR)
