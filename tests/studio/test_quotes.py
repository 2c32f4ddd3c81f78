"""Quotes in the studio: what they come to, how they are sealed, sent, accepted once, and lapse by themselves."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy.exc import IntegrityError
from sqlmodel import col, select

from service.errors import Conflict, Refusal, Unreadable
from service.reckoning.quoting import hours_to_quote
from service.records.db import Database
from service.records.tables import (
    Cloth,
    ClothUse,
    Commission,
    Event,
    Quote,
    QuoteGarment,
    QuoteInstalment,
    QuoteLine,
    Studio,
    Supply,
)
from service.studio import standing
from service.studio.promising import Yes, accept, send, state_on, take_back
from service.studio.quote_lines import FreeLine, add_line, add_supply_line, change_line, leave_line_out
from service.studio.quote_seal import seal_of
from service.studio.quote_sums import as_ms, lines_in
from service.studio.quotes import Said, draw_up, reckon_again, say
from service.studio.rates import stretches_left
from tests.building import a_commission, a_garment
from tests.counting import number, person, work_on
from tests.quoting import LATER, a_draft, a_sent_quote, a_supply, an_agreed_garment, charge, foresight, yes_to
from tests.serving import OWNER, START


def _amounts(db: Any, quote: Quote) -> dict[str, int]:
    return {line.key: line.amount_minor for line in lines_in(db, number(quote)) if not line.left_out}


def _line(db: Any, quote: Quote, kind: str) -> QuoteLine:
    """The first line of that kind."""
    return next(line for line in lines_in(db, number(quote)) if line.kind == kind)


def test_a_quote_is_the_hours_left_at_the_studio_s_charges(quotable: Database) -> None:
    with quotable.writing() as db:
        garment, quote = a_draft(db)
        hours = hours_to_quote(foresight().learned.drawn, stretches_left(db, [number(garment)]), 2 / 3)
        assert (quote.likely_ms, quote.quoted_ms, quote.worst_ms) == tuple(
            as_ms(one) for one in (hours.likely, hours.quoted, hours.worst)
        )
        lines = _amounts(db, quote)
        likely, quoted = quote.likely_ms / 36_000, quote.quoted_ms / 36_000  # hundredths of an hour
        assert lines["labour"] == int(likely * 32 + 0.5)
        assert lines["risk"] == int((quoted - likely) * 32 + 0.5)
        assert lines["overhead"] == int(quoted * 4.5 + 0.5)
        before_margin = sum(amount for key, amount in lines.items() if key not in {"margin", "rounding", "tax"})
        assert abs(lines["margin"] - before_margin * 0.15) <= 0.5
        assert quote.price_minor % 500 == 0
        assert 0 <= lines["rounding"] < 500
        assert sum(lines.values()) == quote.total_minor
        assert lines["tax"] == quote.tax_minor == quote.price_minor // 5
        assert quote.valid_until == (START + timedelta(days=30)).date()


def test_the_price_is_shared_out_over_garments_and_instalments_to_the_last_penny(database: Database) -> None:
    with database.writing() as db:
        charge(db)
        first = a_garment(db, "handkerchief")
        second = a_garment(db, "bib")
        second.commission_id = first.commission_id
        db.flush()
        quote = draw_up(db, first.commission_id, foresight(), person(db, OWNER), START)
        shares = db.exec(select(QuoteGarment).where(QuoteGarment.quote_id == quote.id)).all()
        assert sorted(share.garment_id for share in shares) == sorted([number(first), number(second)])
        assert sum(share.price_minor for share in shares) == quote.price_minor
        parts = db.exec(select(QuoteInstalment).order_by(col(QuoteInstalment.position))).all()
        assert sum(part.amount_minor for part in parts) == quote.total_minor
        assert parts[0].amount_minor == pytest.approx(quote.total_minor * 0.4, abs=1)
        wanted_on = db.get_one(Commission, first.commission_id).wanted_on
        assert [part.due_on for part in parts] == [None, wanted_on - timedelta(days=30), None]


def test_cloth_and_thread_stand_at_the_shelf_s_price_with_where_it_comes_from(quotable: Database) -> None:
    with quotable.writing() as db:
        _, quote = a_draft(db)
        cloth, thread = _line(db, quote, "cloth"), _line(db, quote, "thread")
        assert cloth.amount_minor == thread.amount_minor == 0
        assert "no price on the shelf: enter what it costs" in cloth.source
        needed_m = float(cloth.source.split(" m still needed")[0])
        bolt = db.exec(select(Cloth)).one()
        bolt.price_minor_per_m = 2000
        db.add(bolt)
        a_supply(db, name=thread.words)
        reckon_again(db, number(quote), foresight(), START)
        cloth, thread = _line(db, quote, "cloth"), _line(db, quote, "thread")
        assert cloth.amount_minor == pytest.approx(needed_m * 2000, abs=1)
        assert thread.amount_minor == 210 * int(thread.source.split()[0])
        assert "at the shelf's price" in thread.source


def test_cloth_that_is_cut_is_told_from_cloth_that_is_needed(quotable: Database) -> None:
    with quotable.writing() as db:
        garment, quote = a_draft(db)
        work_on(db, person(db, OWNER), number(garment), lambda row: row.operation == "wash")
        reckon_again(db, number(quote), foresight(), START)
        cut_um = -sum(db.exec(select(ClothUse.change_um).where(ClothUse.kind == "cut")))
        source = _line(db, quote, "cloth").source
        assert source.startswith(f"{cut_um / 1_000_000:.3f} m cut; ")
        assert "still needed" not in source


def test_what_is_written_by_hand_stays_when_the_draft_is_reckoned_again(quotable: Database) -> None:
    with quotable.writing() as db:
        _, quote = a_draft(db)
        ribbon = a_supply(db, name="Silk ribbon", kind="ribbon", unit="m", price_minor=275)
        before = quote.price_minor
        add_supply_line(db, number(quote), number(ribbon), 1500)
        add_line(db, number(quote), FreeLine("A box to keep it in", 1200))
        change_line(db, number(quote), number(_line(db, quote, "cloth")), FreeLine("Linen from a chest", 900))
        threads = [line.kind for line in lines_in(db, number(quote))].count("thread")
        leave_line_out(db, number(quote), number(_line(db, quote, "thread")), out=True)
        reckon_again(db, number(quote), foresight(), LATER)
        kept = {line.words: (line.amount_minor, line.left_out) for line in lines_in(db, number(quote))}
        assert kept["Silk ribbon, 1.5 m"] == (413, False)  # 2.75 x 1.5 = 4.125, half up
        assert kept["A box to keep it in"] == (1200, False)
        assert kept["Linen from a chest"] == (900, False)
        assert [line.kind for line in lines_in(db, number(quote))].count("thread") == threads
        assert quote.price_minor > before


def test_sending_seals_and_nothing_changes_any_more(quotable: Database) -> None:
    with quotable.writing() as db:
        garment, quote = a_sent_quote(db)
        assert (quote.state, quote.sealed_sha256) == ("sent", seal_of(db, quote))
        assert db.get_one(Commission, garment.commission_id).state == "agreed"  # it was before
        line = _line(db, quote, "cloth")
        for change in (
            lambda: add_line(db, number(quote), FreeLine("More", 1)),
            lambda: change_line(db, number(quote), number(line), FreeLine("Less", 1)),
            lambda: reckon_again(db, number(quote), foresight(), LATER),
            lambda: say(
                db, number(quote), Said(quote.valid_until, shows_hours=True, includes="", leaves_out="", note=""), LATER
            ),
            lambda: send(db, number(quote), 1, person(db, OWNER), LATER),
        ):
            with pytest.raises(Conflict, match="does not change any more"):
                change()
        assert quote.sealed_sha256 == seal_of(db, quote)
        line.amount_minor += 1
        db.add(line)
        db.flush()
        assert quote.sealed_sha256 != seal_of(db, quote)


def test_a_change_makes_the_next_version_and_what_was_sent_is_taken_back_by_it(quotable: Database) -> None:
    with quotable.writing() as db:
        garment, first = a_sent_quote(db)
        second = draw_up(db, garment.commission_id, foresight(), person(db, OWNER), LATER)
        assert draw_up(db, garment.commission_id, foresight(), person(db, OWNER), LATER).id == second.id
        assert (second.version, second.state, first.state) == (2, "draft", "sent")
        send(db, number(second), 2, person(db, OWNER), LATER)
        assert (second.state, first.state) == ("sent", "taken back")
        with pytest.raises(Conflict, match="Only a quote that was sent is accepted; this one is taken back"):
            accept(db, number(first), yes_to(first), LATER)


def test_sending_and_accepting_move_the_commission(quotable: Database) -> None:
    with quotable.writing() as db:
        charge(db)
        garment = a_garment(db, "handkerchief")
        commission = db.get_one(Commission, garment.commission_id)
        commission.state = "asked"
        db.add(commission)
        quote = draw_up(db, garment.commission_id, foresight(), person(db, OWNER), START)
        assert commission.state == "asked"
        send(db, number(quote), 1, person(db, OWNER), START)
        assert commission.state == "quoted"
        accept(db, number(quote), yes_to(quote), LATER)
        assert (commission.state, quote.accepted_by_id, quote.accepted_name) == ("agreed", None, "Hester Vane")
        take_back(db, number(quote), "The family thought again", person(db, OWNER), LATER)
        assert (commission.state, quote.state) == ("asked", "taken back")
        acts = db.exec(select(Event.action).where(Event.object_kind == "quote").order_by(col(Event.id))).all()
        assert acts == ["quote drawn up", "quote sent", "quote accepted", "quote taken back"]


@pytest.mark.parametrize(
    ("yes", "kind", "sentence"),
    [
        (lambda quote: Yes(quote.version + 1, quote.total_minor, "Hester"), Conflict, "not the version or the total"),
        (lambda quote: Yes(quote.version, quote.total_minor - 1, "Hester"), Conflict, "not the version or the total"),
        (lambda quote: Yes(quote.version, quote.total_minor, "  "), Unreadable, "Enter the name"),
    ],
    ids=["another version", "another total", "nobody"],
)
def test_a_yes_to_something_else_is_refused(quotable: Database, yes: Any, kind: type[Refusal], sentence: str) -> None:
    with quotable.writing() as db:
        _, quote = a_sent_quote(db)
        with pytest.raises(kind, match=sentence):
            accept(db, number(quote), yes(quote), LATER)
        assert quote.state == "sent"


def test_a_quote_lapses_by_the_studio_s_own_day(database: Database) -> None:
    with database.writing() as db:
        _, quote = a_sent_quote(db)
        last = quote.valid_until
        assert (state_on(quote, last), state_on(quote, last + timedelta(days=1))) == ("sent", "lapsed")
        summer_night = START.replace(year=last.year, month=last.month, day=last.day, hour=23, minute=30)
        with pytest.raises(Conflict, match="has lapsed"):
            accept(db, number(quote), yes_to(quote), summer_night)  # half past midnight in London
        db.refresh(quote)
        assert quote.state == "lapsed"
        draft = draw_up(db, quote.commission_id, foresight(), person(db, OWNER), LATER)
        assert draft.version == 2


def test_of_ten_who_accept_at_once_one_is_heard(database: Database) -> None:
    with database.writing() as db:
        _, quote = a_sent_quote(db)
        asked, yes = number(quote), yes_to(quote)

    def try_it(at: int) -> str:
        try:
            with database.writing() as db:
                accept(db, asked, Yes(yes.version, yes.total_minor, f"Client {at}"), LATER)
        except Conflict as refused:
            return refused.sentence.partition(",")[0]
        return "accepted"

    with ThreadPoolExecutor(10) as pool:
        heard = list(pool.map(try_it, range(10)))
    assert sorted(heard) == ["This quote was accepted already"] * 9 + ["accepted"]
    with database.writing() as db:
        events = db.exec(select(Event).where(Event.action == "quote accepted")).all()
        assert len(events) == 1


def test_the_database_itself_holds_one_accepted_quote_of_a_commission(database: Database) -> None:
    with database.writing() as db:
        _, quote = an_agreed_garment(db)
        copied = quote.model_dump(exclude={"id"})
    with database.writing() as db:
        db.add(Quote(**{**copied, "version": 2}))
        with pytest.raises(IntegrityError):
            db.flush()
        db.rollback()


def test_after_the_yes_a_new_quote_waits_until_the_old_one_is_taken_back(quotable: Database) -> None:
    with quotable.writing() as db:
        garment, quote = an_agreed_garment(db)
        with pytest.raises(Conflict, match="Quote the change as an alteration"):
            draw_up(db, garment.commission_id, foresight(), person(db, OWNER), LATER)
        with pytest.raises(Unreadable, match="Say why"):
            take_back(db, number(quote), " ", person(db, OWNER), LATER)
        take_back(db, number(quote), "another cloth", person(db, OWNER), LATER)
        assert draw_up(db, garment.commission_id, foresight(), person(db, OWNER), LATER).version == 2


def test_without_rates_garments_or_a_day_to_come_nothing_is_quoted(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        owner = person(db, OWNER)
        commission = number(a_commission(db))
        with pytest.raises(Conflict, match="Say first what the studio charges"):
            draw_up(db, commission, foresight(), owner, START)
        charge(db)
        with pytest.raises(Conflict, match="no garment to quote for yet"):
            draw_up(db, commission, foresight(), owner, START)
        garment, quote = a_draft(db)
        with pytest.raises(Unreadable, match="is over already"):
            say(
                db,
                number(quote),
                Said(START.date() - timedelta(days=1), shows_hours=False, includes="", leaves_out="", note=""),
                START,
            )
        with pytest.raises(Unreadable, match="is over already"):
            send(db, number(quote), 1, owner, START + timedelta(days=40))
        standing.call_off(db, number(garment), "another design", owner.id, START)
        with pytest.raises(Conflict, match="have changed since"):
            send(db, number(quote), 1, owner, START)
        closed = db.get_one(Commission, garment.commission_id)
        closed.state = "closed"
        with pytest.raises(Conflict, match="nothing is quoted for it any more"):
            draw_up(db, garment.commission_id, foresight(), owner, START)


def test_a_discount_larger_than_everything_is_refused(quotable: Database) -> None:
    with quotable.writing() as db:
        _, quote = a_draft(db)
        with pytest.raises(Unreadable, match="cannot be priced"):
            add_line(db, number(quote), FreeLine("A gift", -10_000_000))
        assert db.exec(select(Supply)).all() == []


@pytest.mark.parametrize("currency", ["JPY", "KWD", "CLF"])
def test_every_currency_is_quoted_in_its_own_minor_units(quotable: Database, currency: str) -> None:
    with quotable.writing() as db:
        db.exec(select(Studio)).one().currency = currency
        _, quote = a_draft(db)
        parts = db.exec(select(QuoteInstalment.amount_minor).where(QuoteInstalment.quote_id == quote.id)).all()
        assert (quote.currency, sum(parts)) == (currency, quote.total_minor)
        assert sum(_amounts(db, quote).values()) == quote.total_minor


def test_of_two_who_draw_up_at_once_both_get_the_same_draft(database: Database) -> None:
    with database.writing() as db:
        charge(db)
        commission = a_garment(db, "handkerchief").commission_id
        owner = person(db, OWNER)

    def drawn(_: int) -> int:
        with database.writing() as db:
            return number(draw_up(db, commission, foresight(), owner, START))

    with ThreadPoolExecutor(2) as pool:
        assert len(set(pool.map(drawn, range(2)))) == 1


def test_a_part_whose_day_is_past_is_due_at_acceptance(quotable: Database) -> None:
    with quotable.writing() as db:
        garment, quote = a_draft(db)
        commission = db.get_one(Commission, garment.commission_id)
        commission.wanted_on = garment.wanted_on = START.date() + timedelta(days=20)
        reckon_again(db, number(quote), foresight(), START)
        parts = db.exec(select(QuoteInstalment).order_by(col(QuoteInstalment.position))).all()
        assert [(part.due, part.due_on) for part in parts] == [
            ("at acceptance", None),
            ("at acceptance", None),
            ("at delivery", None),
        ]
