"""Payments and what is owed: parts settled in turn, what is due and overdue, entries taken back, what hours brought in."""

from datetime import date, timedelta

import pytest
from sqlmodel import select

from service.errors import Conflict, Unreadable
from service.records.db import Database
from service.records.queries.quotes import commissions_with_money
from service.records.tables import Commission, Payment, Tally
from service.studio import standing
from service.studio.as_quoted import as_quoted
from service.studio.money_owed import owed_for
from service.studio.payments import Paid, take_payment_back, write_payment
from tests.counting import number, person, work_on
from tests.quoting import LATER, a_sent_quote, an_agreed_garment
from tests.serving import OWNER

TODAY = LATER.date()


def test_payments_settle_the_parts_in_the_order_in_which_they_are_due(database: Database) -> None:
    with database.writing() as db:
        owner = person(db, OWNER)
        garment, quote = an_agreed_garment(db)
        commission = garment.commission_id
        before = owed_for(db, commission)
        deposit, middle, last = before.dues
        assert (deposit.on, deposit.is_due(TODAY), deposit.is_overdue(TODAY)) == (TODAY, True, False)
        assert (middle.on, last.on) == (date(2027, 4, 16), None)
        assert before.due_minor(TODAY) == deposit.amount_minor
        write_payment(db, commission, Paid("paid", TODAY, deposit.amount_minor + 100, "cash"), owner, LATER)
        after = owed_for(db, commission)
        assert [due.open_minor for due in after.dues] == [0, middle.amount_minor - 100, last.amount_minor]
        assert after.owed_minor == quote.total_minor - deposit.amount_minor - 100
        assert (after.overdue(TODAY), after.next_due(TODAY)) == (None, after.dues[1])
        assert after.overdue(date(2027, 4, 17)) == after.dues[1]
        db.get_one(Commission, commission).state = "closed"
        assert [row.id for row in commissions_with_money(db)] == [commission]
        write_payment(db, commission, Paid("paid", TODAY, after.owed_minor, "cash"), owner, LATER)
        assert commissions_with_money(db) == []


def test_paying_too_much_is_told_and_giving_back_settles_it(quotable: Database) -> None:
    with quotable.writing() as db:
        owner = person(db, OWNER)
        garment, quote = an_agreed_garment(db)
        write_payment(db, garment.commission_id, Paid("paid", TODAY, quote.total_minor + 500, "cash"), owner, LATER)
        assert owed_for(db, garment.commission_id).owed_minor == -500
        write_payment(db, garment.commission_id, Paid("given back", TODAY, 500, "cash"), owner, LATER)
        assert owed_for(db, garment.commission_id).owed_minor == 0


def test_a_wrong_entry_is_taken_back_once_and_never_edited(quotable: Database) -> None:
    with quotable.writing() as db:
        owner = person(db, OWNER)
        garment, quote = an_agreed_garment(db)
        wrong = write_payment(db, garment.commission_id, Paid("paid", TODAY, 99_999, "cheque"), owner, LATER)
        with pytest.raises(Unreadable, match="Say why"):
            take_payment_back(db, number(wrong), " ", owner, LATER)
        counter = take_payment_back(db, number(wrong), "the cheque was not good", owner, LATER)
        assert owed_for(db, garment.commission_id).owed_minor == quote.total_minor
        with pytest.raises(Conflict, match="taken back already"):
            take_payment_back(db, number(wrong), "again", owner, LATER)
        with pytest.raises(Conflict, match="takes another back"):
            take_payment_back(db, number(counter), "again", owner, LATER)
        assert [row.amount_minor for row in db.exec(select(Payment))] == [99_999, 99_999]


@pytest.mark.parametrize("on", [TODAY + timedelta(days=1), date(1999, 12, 31)])
def test_money_is_not_written_down_for_days_that_cannot_be(quotable: Database, on: date) -> None:
    with quotable.writing() as db:
        garment, _ = an_agreed_garment(db)
        with pytest.raises(Unreadable, match="today or earlier"):
            write_payment(db, garment.commission_id, Paid("paid", on, 100, "cash"), person(db, OWNER), LATER)
        with pytest.raises(Unreadable, match="above nothing"):
            write_payment(db, garment.commission_id, Paid("paid", TODAY, 0, "cash"), person(db, OWNER), LATER)


def test_before_a_yes_nothing_is_owed_and_a_payment_is_kept_all_the_same(quotable: Database) -> None:
    with quotable.writing() as db:
        garment, _ = a_sent_quote(db)
        assert owed_for(db, garment.commission_id).owed_minor == 0
        write_payment(db, garment.commission_id, Paid("paid", TODAY, 100, "cash"), person(db, OWNER), LATER)
        assert owed_for(db, garment.commission_id).owed_minor == -100


def test_a_delivered_garment_is_held_against_its_quote_and_the_last_part_is_due(quotable: Database) -> None:
    with quotable.writing() as db:
        owner = person(db, OWNER)
        garment, quote = an_agreed_garment(db)
        assert as_quoted(db, garment.commission_id) is None
        work_on(db, owner, number(garment), lambda _: False)
        first = db.exec(select(Tally)).first()
        assert first is not None
        first.seconds = 7200
        db.add(first)
        standing.finish(db, number(garment), owner.id, LATER)
        standing.deliver(db, number(garment), owner.id, LATER)
        owed = owed_for(db, garment.commission_id)
        assert [due.on for due in owed.dues if due.due == "at delivery"] == [TODAY]
        found = as_quoted(db, garment.commission_id)
        assert found is not None
        (piece,) = found.garments
        seconds = sum(one or 0 for one in db.exec(select(Tally.seconds)))
        assert (piece.quoted_ms, piece.worked_ms) == (quote.quoted_ms, seconds * 1000)
        assert piece.over_ms == seconds * 1000 - quote.quoted_ms
        assert piece.worked_minor == round(seconds / 3600 * 3650)
        assert piece.untimed == sum(one is None for one in db.exec(select(Tally.seconds)))
        assert found.earned_an_hour_minor == pytest.approx(quote.price_minor / (seconds / 3600), abs=1)
