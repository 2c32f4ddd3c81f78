"""Pages of quotes: drawn up, changed while drafts, sent, a yes written down, taken back. The owner's alone."""

from collections.abc import Callable
from typing import Any

from fastapi import APIRouter
from fastapi.responses import Response
from sqlmodel import col, select

from service.errors import NotFound, Unreadable
from service.languages.spoken import said
from service.reckoning.findings import Finding
from service.reckoning.operations import OPERATIONS
from service.reckoning.price import suggested_deposit
from service.records.db import Reading, Writing
from service.records.tables import Supply
from service.records.tables.quotes import MATERIAL_KINDS
from service.studio import promising, quotes
from service.studio.alterations import change_work, draw_alteration_up, reckon_alteration_again
from service.studio.as_quoted import as_quoted
from service.studio.charges import charges_of
from service.studio.quote_lines import FreeLine, add_line, add_supply_line, change_line, leave_line_out
from service.studio.quote_materials import sewn_on
from service.studio.quotes import garments_quoted, quote_with
from service.web.again import OWNER_AFTER_PROOF
from service.web.amount_words import counted, kept_amount, typed_for_shelf, unit_of
from service.web.deps import Desk, Id, Now, Owner, OwnerDesk, Reads, Writes
from service.web.forms import Form, Typed
from service.web.money_words import money, money_typed
from service.web.quoting import ForesightHere, Shown, shown_quote
from service.web.words import day, operation

router = APIRouter(include_in_schema=False)
MOST_TEXT = 4000
ALL_OF_IT = "all"


@router.post("/commissions/{commission_id}/quotes")
def draw_up(
    desk: OwnerDesk, owner: Owner, foresight: ForesightHere, db: Writes, at: Now, commission_id: Id
) -> Response:
    if charges_of(db) is None:
        return desk.go(f"/settings/charges?for={commission_id}")
    return desk.go(f"/quotes/{quotes.draw_up(db, commission_id, foresight, owner, at).id}")


@router.post("/commissions/{commission_id}/alterations")
def draw_alteration(
    desk: OwnerDesk, owner: Owner, foresight: ForesightHere, db: Writes, at: Now, commission_id: Id
) -> Response:
    return desk.go(f"/quotes/{draw_alteration_up(db, commission_id, foresight, owner, at).id}")


@router.get("/quotes/{quote_id}")
def show_quote(desk: OwnerDesk, db: Reads, quote_id: Id) -> Response:
    shown = shown_quote(db, quote_id, desk.today)
    return _page(desk, db, shown, _filled(shown))


@router.post("/quotes/{quote_id}/reckon")
def reckon_again(desk: OwnerDesk, foresight: ForesightHere, db: Writes, at: Now, quote_id: Id) -> Response:
    is_quote = quote_with(db, quote_id).kind == "quote"
    (quotes.reckon_again if is_quote else reckon_alteration_again)(db, quote_id, foresight, at)
    return desk.go(f"/quotes/{quote_id}")


@router.post("/quotes/{quote_id}/say")
def say(desk: OwnerDesk, form: Typed, db: Writes, at: Now, quote_id: Id) -> Response:
    said = _said(form)
    if said is not None:
        _try(form, lambda: quotes.say(db, quote_id, said, at))
    return _after(desk, db, quote_id, form)


@router.post("/quotes/{quote_id}/lines")
def add_free_line(desk: OwnerDesk, form: Typed, db: Writes, quote_id: Id) -> Response:
    line = _free_line(form, quote_with(db, quote_id).currency)
    if line is not None:
        _try(form, lambda: add_line(db, quote_id, line))
    return _after(desk, db, quote_id, form)


@router.post("/quotes/{quote_id}/supplies")
def add_from_shelf(desk: OwnerDesk, form: Typed, db: Writes, quote_id: Id) -> Response:
    supply = form.number_of("supply", called="a supply")
    chosen = None if supply is None else db.get(Supply, supply)
    thousandths = typed_for_shelf(form, "how_much", chosen.unit if chosen else "", called="how much of it", above=True)
    if supply is not None and thousandths is not None and not form.wrong:
        _try(form, lambda: add_supply_line(db, quote_id, supply, thousandths))
    return _after(desk, db, quote_id, form)


@router.get("/quotes/{quote_id}/lines/{line_id}")
def show_line(desk: OwnerDesk, db: Reads, quote_id: Id, line_id: Id) -> Response:
    shown = shown_quote(db, quote_id, desk.today)
    line = _line_of(shown, line_id)
    values = {"words": line.words, "sum": str(money_typed(line.amount_minor, shown.quote.currency))}
    return _line_page(desk, shown, line, Form(values))


@router.post("/quotes/{quote_id}/lines/{line_id}/change")
def change_one_line(desk: OwnerDesk, form: Typed, db: Writes, quote_id: Id, line_id: Id) -> Response:
    shown = shown_quote(db, quote_id, desk.today)
    line, changed = _line_of(shown, line_id), _free_line(form, shown.quote.currency)
    if changed is not None:
        _try(form, lambda: change_line(db, quote_id, line_id, changed))
    if form.wrong:
        db.rollback()
        return _line_page(desk, shown, line, form, 422)
    return desk.go(f"/quotes/{quote_id}#lines")


@router.post("/quotes/{quote_id}/lines/{line_id}/leave-out")
def leave_out(desk: OwnerDesk, form: Typed, db: Writes, quote_id: Id, line_id: Id) -> Response:
    leave_line_out(db, quote_id, line_id, out=form.ticked("out"))
    if form.ticked("out"):
        desk.may_undo("The line is left out.", f"/quotes/{quote_id}/lines/{line_id}/leave-out")
    return desk.go(f"/quotes/{quote_id}#lines")


@router.post("/quotes/{quote_id}/work")
def alter_work(desk: OwnerDesk, form: Typed, foresight: ForesightHere, db: Writes, at: Now, quote_id: Id) -> Response:
    garment = form.number_of("garment", called="a garment")
    name = form.choice("operation", (ALL_OF_IT, *OPERATIONS), called="what is worked more or less")
    more = form.choice("more", ("more", "less", "none"), called="more, less or no change")
    amount = form.decimal(
        "amount", called="how much", most=1e6, above=True, needed=name != ALL_OF_IT and more != "none"
    )
    amount = amount if amount is None or name not in OPERATIONS else kept_amount(amount, OPERATIONS[name].unit)
    if amount is not None and amount * 10 != (amount * 10).to_integral_value():
        form.fault("amount", "Write the amount to a tenth at the finest.")
    if garment is not None and not form.wrong:
        tenths = {"more": 1, "less": -1, "none": 0}[more] * (10 if name == ALL_OF_IT else int((amount or 0) * 10))
        change = ("" if name == ALL_OF_IT else name, tenths)
        _try(form, lambda: change_work(db, quote_id, garment, change, foresight, at))
    return _after(desk, db, quote_id, form)


@router.post("/quotes/{quote_id}/send", dependencies=[OWNER_AFTER_PROOF])
def send(desk: OwnerDesk, form: Typed, owner: Owner, db: Writes, at: Now, quote_id: Id) -> Response:
    version = form.whole("version", called="the version", least=1) or 0
    said = _said(form) if "valid_until" in form.values else None
    unpriced = shown_quote(db, quote_id, desk.today).unpriced
    if unpriced and not form.ticked("unpriced"):
        names = "; ".join(line.words for line in unpriced)
        form.fault("unpriced", f"Priced at nothing: {names}. Change the lines, or tick that this is meant.")
    if said is not None and not form.wrong:
        _try(form, lambda: quotes.say(db, quote_id, said, at))
    if not form.wrong:
        _try(form, lambda: promising.send(db, quote_id, version, owner, at))
    return _after(desk, db, quote_id, form)


@router.post("/quotes/{quote_id}/accept", dependencies=[OWNER_AFTER_PROOF])
def accept(desk: OwnerDesk, form: Typed, owner: Owner, db: Writes, at: Now, quote_id: Id) -> Response:
    name = form.text("name", called="the name of whoever says yes")
    version = form.whole("version", called="the version", least=1) or 0
    total = form.whole("total", called="the total", least=-(10**15), most=10**15) or 0
    if not form.wrong:
        _try(form, lambda: promising.accept(db, quote_id, promising.Yes(version, total, name), at, owner))
    return _after(desk, db, quote_id, form)


@router.post("/quotes/{quote_id}/take-back", dependencies=[OWNER_AFTER_PROOF])
def take_back(desk: OwnerDesk, form: Typed, owner: Owner, db: Writes, at: Now, quote_id: Id) -> Response:
    reason = form.text("reason", called="the reason", most=1000)
    if not form.wrong:
        _try(form, lambda: promising.take_back(db, quote_id, reason, owner, at))
    return _after(desk, db, quote_id, form)


def _said(form: Form) -> quotes.Said | None:
    """What the draft is to say beside its figures, as it was typed."""
    valid_until = form.day("valid_until", called="the day until which it is valid")
    includes = form.text("includes", called="what is included", most=MOST_TEXT, needed=False)
    leaves_out = form.text("leaves_out", called="what is left out", most=MOST_TEXT, needed=False)
    note = form.text("note", called="the note", most=MOST_TEXT, needed=False)
    if form.wrong or valid_until is None:
        return None
    return quotes.Said(valid_until, form.ticked("shows_hours"), includes, leaves_out, note)


def _try(form: Form, act: Callable[[], object]) -> None:
    """Do it; a refusal that names a field is put there."""
    try:
        act()
    except Unreadable as refused:
        form.errors = dict(refused.faults)


def _after(desk: Desk, db: Writing, quote_id: int, form: Form) -> Response:
    """On to the quote, or back to it with what was typed and nothing changed."""
    if not form.wrong:
        return desk.go(f"/quotes/{quote_id}")
    db.rollback()
    shown = shown_quote(db, quote_id, desk.today)
    form.values = _filled(shown).values | form.values
    return _page(desk, db, shown, form, 422)


def _page(desk: Desk, db: Reading | Writing, shown: Shown, form: Form, status: int = 200) -> Response:
    return desk.page(
        "quotes/quote.html",
        "commissions",
        status=status,
        shown=shown,
        form=form,
        today=desk.today,
        findings=_findings(db, shown),
        as_quoted=as_quoted(db, shown.quote.commission_id) if shown.state == "accepted" else None,
        works=changes_told(shown),
        **(_choices(db, shown) if shown.is_draft else {}),
    )


def _line_page(desk: Desk, shown: Shown, line: Any, form: Form, status: int = 200) -> Response:
    may_change = shown.is_draft and line.kind in MATERIAL_KINDS
    said = {"shown": shown, "line": line, "form": form, "may_change": may_change}
    return desk.page("quotes/line.html", "commissions", status=status, **said)


def _choices(db: Reading | Writing, shown: Shown) -> dict[str, Any]:
    """What a draft offers to choose from."""
    kept = select(Supply).where(col(Supply.put_away).is_(False)).order_by(col(Supply.name)).limit(1000)
    supplies = [(one.id, f"{one.name} ({unit_of(20, one.unit)})") for one in db.exec(kept)]
    garments = [(one.id, one.name) for one in garments_quoted(db, shown.quote.commission_id)]
    ways = [(name, f"{said(operation(name))} ({unit_of(20, made.unit)})") for name, made in OPERATIONS.items()]
    return {
        "supplies": [("", "Choose from the shelf"), *supplies],
        "garments": [("", "Choose a garment"), *garments],
        "operations": [("", "Choose the work"), *ways, (ALL_OF_IT, "all of its work")],
    }


def changes_told(shown: Shown) -> list[str]:
    """What an alteration changes of what was agreed: the day, where it is another, and the work."""
    before, now = shown.day_agreed, shown.wanted_on
    other_day = [] if before is None or before == now else [f"Wanted on {day(now)} instead of {day(before)}"]
    return [*other_day, *(_work_words(shown, work) for work in shown.works)]


def _work_words(shown: Shown, work: Any) -> str:
    """What an alteration changes, in words."""
    name = next((one.name for one in shown.garments if one.garment_id == work.garment_id), "a garment")
    if not work.operation:
        return f"{name}: all of its work {'is added' if work.change_tenths > 0 else 'falls away'}"
    amount = counted(abs(work.change_tenths), OPERATIONS[work.operation].unit)
    return f"{name}: {operation(work.operation)}, {amount} {'more' if work.change_tenths > 0 else 'less'} than agreed"


def _findings(db: Reading | Writing, shown: Shown) -> list[Finding]:
    """What the owner should know before she sends it."""
    if not shown.is_draft:
        return []
    quote, found = shown.quote, []
    if quote.mostly_guesses:
        text = "The hours are mostly guesses: the log is still short. A careful margin, or a higher sureness, is wise."
        found.append(Finding("guesses", text))
    if shown.unpriced:
        names = "; ".join(line.words for line in shown.unpriced)
        found.append(Finding("unpriced", f"Without a price yet: {names}. Change the line, or price it on the shelf."))
    listed = {line.kind for line in shown.lines} & {"supply", "other"}
    if not shown.is_alteration and not listed and (amounts := sewn_on(db, shown.quote.id or 0)):
        told = " and ".join(
            f"{counted(tenths, 'cm')} of lace" if name == "lace" else counted(tenths, name)
            for name, tenths in amounts.items()
        )
        found.append(Finding("sewn_on", f"Not listed yet: {told}. Add them from the shelf."))
    if not shown.is_alteration and shown.instalments and shown.instalments[0].amount_minor < shown.materials_minor:
        materials = money(shown.materials_minor, quote.currency)
        enough = money(suggested_deposit(quote.total_minor, shown.materials_minor), quote.currency)
        text = f"The first part does not cover the materials, {materials}. A deposit of {enough} would."
        found.append(Finding("deposit", text))
    return found


def _filled(shown: Shown) -> Form:
    quote = shown.quote
    return Form(
        {
            "valid_until": quote.valid_until.isoformat(),
            "shows_hours": "yes" if quote.shows_hours else "",
            "includes": quote.includes,
            "leaves_out": quote.leaves_out,
            "note": quote.note,
            "name": shown.client.name,
            "more": "more",
        }
    )


def _free_line(form: Form, currency: str) -> FreeLine | None:
    words = form.text("words", called="what it is for", most=300)
    amount = form.money_minor("sum", currency, called="the sum", needed=True, least=-1e9)
    return None if form.wrong or amount is None else FreeLine(words, amount)


def _line_of(shown: Shown, line_id: int) -> Any:
    line = next((one for one in shown.lines if one.id == line_id), None)
    if line is None:
        raise NotFound("There is no such line in this quote.")
    return line
