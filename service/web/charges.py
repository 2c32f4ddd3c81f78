"""The page of what the studio charges. The owner's alone."""

from collections.abc import Sequence

from fastapi import APIRouter
from fastapi.responses import Response

from service.errors import Unreadable
from service.languages.spoken import said
from service.reckoning.price import quoted_chance
from service.records.db import Reading, Writing
from service.records.tables import Charges, Studio
from service.records.tables.quotes import DUES
from service.studio.charges import (
    DEARNESS_TENTHS,
    MOST_INSTALMENTS,
    USUAL_SKEIN_UM,
    ChargesFacts,
    Part,
    charges_of,
    parts_of_price,
    usual_charges,
    write_charges,
)
from service.web.again import OWNER_AFTER_PROOF
from service.web.deps import Desk, Now, Owner, OwnerDesk, Reads, Writes
from service.web.forms import UM_PER, Form, Typed
from service.web.manner import typed
from service.web.money_words import hundredths, money_typed
from service.web.words import LONG_UNIT

router = APIRouter(include_in_schema=False, prefix="/settings/charges")
DUE_WORDS = {
    "at acceptance": "when the quote is accepted",
    "before the day": "so many days before the day",
    "at delivery": "when all is delivered",
}
DEAR_WORDS = {
    10: "just as dear",
    15: "half as dear again",
    20: "twice as dear",
    40: "four times as dear",
    90: "nine times as dear",
}
SPARE = 2


@router.get("")
def show_charges(desk: OwnerDesk, db: Reads) -> Response:
    assert desk.studio is not None
    charges = charges_of(db)
    form = _usual(desk.studio) if charges is None else _filled(charges, parts_of_price(db), desk.studio)
    return _page(desk, db, form)


@router.post("", dependencies=[OWNER_AFTER_PROOF])
def change_charges(desk: OwnerDesk, form: Typed, db: Writes, at: Now, owner: Owner) -> Response:
    assert desk.studio is not None
    facts, parts = _facts(form, desk.studio), _parts(form)
    if facts is not None and not form.wrong:
        try:
            write_charges(db, facts, parts, owner.id, at)
        except Unreadable as refused:
            form.errors = dict(refused.faults)
    if form.wrong:
        return _page(desk, db, form, 422)
    wanted_for = form.raw("for")
    return desk.go(
        f"/commissions/{wanted_for}" if wanted_for.isascii() and wanted_for.isdigit() else "/settings/charges"
    )


def _page(desk: Desk, db: Reading | Writing, form: Form, status: int = 200) -> Response:
    assert desk.studio is not None
    filled = [at for at in range(1, MOST_INSTALMENTS + 1) if form.raw(f"percent-{at}")]
    return desk.page(
        "settings/charges.html",
        "settings",
        status=status,
        form=form,
        is_said=charges_of(db) is not None,
        wanted_for=desk.request.query_params.get("for", form.raw("for")),
        rows=range(1, min(MOST_INSTALMENTS, max([*filled, 0]) + SPARE) + 1),
        dues=[("", "–"), *DUE_WORDS.items()],
        dearness=[_dear(tenths) for tenths in DEARNESS_TENTHS],
        long_unit=LONG_UNIT[desk.studio.length_unit],
    )


def _dear(tenths: int) -> tuple[str, str, str]:
    chance = round(quoted_chance(tenths, 10) * 100)
    words = f"A missed hour is {DEAR_WORDS[tenths]} as a lost one"
    return str(tenths), words, f"The quoted hours are then enough in {chance} of 100 cases."


def _usual(studio: Studio) -> Form:
    """What stands there before anything was said: a start to change, no rate and nothing that is nothing."""
    facts, parts = usual_charges(studio.currency, 0)
    form = _filled(facts, parts, studio)
    for unsaid in ("hour_rate", "overhead", "margin", "tax", "alteration_fee"):
        form.values.pop(unsaid)
    for written in ("includes", "leaves_out"):
        form.values[written] = said(form.values[written])
    return form


def _filled(charges: Charges | ChargesFacts, parts: Sequence[Part], studio: Studio) -> Form:
    def money(minor: int) -> str:
        return str(money_typed(minor, studio.currency))

    values = {
        "hour_rate": money(charges.hour_rate_minor),
        "overhead": money(charges.overhead_minor_per_hour),
        "margin": hundredths(charges.margin_hundredths),
        "price_step": money(charges.price_step_minor),
        "tax_name": charges.tax_name,
        "tax": hundredths(charges.tax_hundredths),
        "valid_days": str(charges.valid_days),
        "dearness": str(charges.dearness_tenths),
        "alteration_fee": money(charges.alteration_fee_minor),
        "skein": _skein(charges.skein_um, studio),
        "includes": charges.includes,
        "leaves_out": charges.leaves_out,
    }
    return Form(values | _part_fields(parts))


def _part_fields(parts: Sequence[Part]) -> dict[str, str]:
    fields = {}
    for at, part in enumerate(parts, 1):
        fields[f"percent-{at}"] = hundredths(part.percent_hundredths)
        fields[f"due-{at}"] = part.due
        fields[f"days-{at}"] = str(part.days_before or "")
    return fields


def _skein(um: int, studio: Studio) -> str:
    return typed(round(um / UM_PER[LONG_UNIT[studio.length_unit]], 4))


def _facts(form: Form, studio: Studio) -> ChargesFacts | None:
    currency = studio.currency
    rate = form.money_minor("hour_rate", currency, called="what an hour costs", needed=True)
    if rate == 0:
        form.fault("hour_rate", "What an hour costs must be above nothing.")
    step = form.money_minor("price_step", currency, called="the step", needed=True)
    if step == 0:
        form.fault("price_step", "The step must be above nothing: 0.01 or 1, for example.")
    skein = form.length_um("skein", LONG_UNIT[studio.length_unit], called="the length of a skein", most=10_000)
    if skein is not None and skein < UM_PER["m"]:
        form.fault("skein", "A skein must be a metre long at least.")
    dearness = form.choice("dearness", [str(tenths) for tenths in DEARNESS_TENTHS], called="how dear a missed hour is")
    found = ChargesFacts(
        hour_rate_minor=rate or 0,
        overhead_minor_per_hour=form.money_minor("overhead", currency, called="the overhead") or 0,
        margin_hundredths=_percent(form, "margin", "the margin"),
        price_step_minor=step or 1,
        tax_name=form.text("tax_name", called="what the tax is called", most=40, needed=False),
        tax_hundredths=_percent(form, "tax", "the tax"),
        valid_days=form.whole("valid_days", called="the days", least=1, most=365) or 30,
        dearness_tenths=int(dearness or 20),
        alteration_fee_minor=form.money_minor("alteration_fee", currency, called="the fee") or 0,
        skein_um=skein or USUAL_SKEIN_UM,
        includes=form.text("includes", called="what is included", most=4000, needed=False),
        leaves_out=form.text("leaves_out", called="what is left out", most=4000, needed=False),
    )
    return None if form.wrong else found


def _percent(form: Form, field: str, called: str, *, above: bool = False) -> int:
    value = form.decimal(field, called=called, most=100, needed=False, above=above)
    if value is not None and value * 100 != (value * 100).to_integral_value():
        form.fault(field, f"Write {called} to a hundredth at the finest.")
    return 0 if value is None else int(value * 100)


def _parts(form: Form) -> list[Part]:
    """The parts of a price; rows without a percentage are left out."""
    found = []
    for at in range(1, MOST_INSTALMENTS + 1):
        if form.raw(f"percent-{at}"):
            percent = _percent(form, f"percent-{at}", "the part", above=True)
            due = form.choice(f"due-{at}", DUES, called="when this part is due")
            days = None
            if due == "before the day":
                days = form.whole(f"days-{at}", called="how many days before", least=1, most=1000)
            found.append(Part(percent, due, days))
    return found
