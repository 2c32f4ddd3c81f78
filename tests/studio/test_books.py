"""Hours as books: every sum against a plain sum over the same entries, and what stitchers earned, were paid, are owed."""

import random
from collections import Counter
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from sqlmodel import select

from service.errors import Conflict, NotFound
from service.records.db import Database, Writing
from service.records.queries.books import every_entry, seconds_in, worked_by_operation, worked_by_piece
from service.records.tables import Event, Step, Studio, Tally
from service.studio.books import Days, accounts, by_month, by_person, span_of
from service.studio.log import take_back
from service.studio.payments_to_stitchers import PaymentAsk, pay_stitcher, payments_to, set_pay, take_back_payment
from service.studio.proofs import prove
from service.studio.sign_in import Person
from tests.building import a_garment
from tests.counting import count, number, person, step, stitcher_id, work_on
from tests.serving import OWNER, SECOND, START, STITCHER
from tests.studio.test_rates import statements

AUCKLAND = ZoneInfo("Pacific/Auckland")
TODAY = date(2026, 11, 25)


def filled(db: Writing, seed: int = 5) -> list[Tally]:
    """Three months of an invented log of two pieces and three people: work, counters with and without a name, unpicks."""
    db.get_one(Studio, 1).time_zone = "Pacific/Auckland"
    draw = random.Random(seed)
    pieces = [number(a_garment(db, "bib")), number(a_garment(db, "bib"))]
    people = [person(db, email) for email in (OWNER, STITCHER, SECOND)]
    rows: list[Tally] = []
    for place in range(60):
        who, steps = draw.choice(people), db.exec(select(Step).where(Step.garment_id == draw.choice(pieces))).all()
        kind, at_step = draw.choice(("work", "work", "work", "unpick", "counter")), draw.choice(steps)
        row = Tally(
            key=f"made up {place}",
            step_id=number(at_step),
            garment_id=at_step.garment_id,
            account_id=who.id,
            stitcher_id=who.stitcher_id,
            kind=kind,
            counted_tenths=draw.randint(1, 40) * 10,
            seconds=draw.choice((None, 0, 60 * draw.randint(1, 200), draw.randint(1, 5000))),
            body_sha256="",
            at=START + timedelta(minutes=draw.randint(0, 90 * 1440)),
            recorded_at=START,
        )
        rows.append(row)
    db.add_all(rows)
    db.flush()
    for wrong in [row for row in rows if row.kind == "work"][:5]:
        facts = wrong.model_dump(exclude={"id", "key"}) | {"kind": "counter", "counters_id": wrong.id}
        rows.append(Tally(key=f"back {wrong.id}", **facts | {"account_id": people[0].id, "stitcher_id": None}))
        rows[-1].at = START + timedelta(days=100)
    db.add_all(rows[60:])
    db.flush()
    return rows


def logged(db: Writing, who: Person, at_step: Step, seconds: int, at: datetime) -> Tally:
    """Five units logged on a step in so many seconds, whoever holds it."""
    row = Tally(
        key=f"{at_step.id} at {at}",
        step_id=number(at_step),
        garment_id=at_step.garment_id,
        account_id=who.id,
        stitcher_id=who.stitcher_id,
        kind="work",
        counted_tenths=50,
        seconds=seconds,
        body_sha256="",
        at=at,
        recorded_at=at,
    )
    db.add(row)
    db.flush()
    return row


def plain(rows: list[Tally]) -> list[tuple[Tally, int]]:
    """The entries that count and their seconds, one after the other."""
    taken_back = {row.counters_id for row in rows} - {None}
    counting = [row for row in rows if row.counters_id is None and row.id not in taken_back]
    return [(row, (row.seconds or 0) * (-1 if row.kind == "counter" else 1)) for row in counting]


@pytest.mark.parametrize("days", [Days(), Days(date(2026, 9, 20)), Days(date(2026, 9, 20), date(2026, 10, 31))])
def test_every_sum_of_the_books_is_the_plain_sum_of_its_entries(database: Database, days: Days) -> None:
    with database.writing() as db:
        rows = filled(db)
        zone = AUCKLAND
        inside = [
            (row, seconds)
            for row, seconds in plain(rows)
            if (days.first is None or row.at.astimezone(zone).date() >= days.first)
            and (days.last is None or row.at.astimezone(zone).date() <= days.last)
        ]
        months, pieces, work, people = (Counter[object]() for _ in range(4))
        operations = {each.id: each.operation for each in db.exec(select(Step))}
        for row, seconds in inside:
            if row.seconds:
                months[row.at.astimezone(zone).date().replace(day=1)] += seconds
                pieces[row.garment_id] += seconds
                people[row.stitcher_id or f"account {row.account_id}"] += seconds
            work[operations[row.step_id]] += seconds
        span = span_of(db, days)
        total = sum(seconds for _, seconds in inside)
        assert total
        assert seconds_in(db, span) == total
        assert {each.first_day: each.seconds for each in by_month(db, days)} == dict(months)
        assert {each.id: each.seconds for each in worked_by_piece(db, span)[0]} == dict(pieces)
        assert {each.operation: each.seconds or 0 for each in worked_by_operation(db, span)} == dict(work)
        told = {each.stitcher_id or f"account {each.account_id}": each.seconds for each in by_person(db, days)}
        assert told == dict(people)
        assert [each.id for each in every_entry(db, span_of(db, Days()))] == [row.id for row in rows]


def test_months_are_those_of_the_studios_clock_and_name_whose_time_it_was(database: Database) -> None:
    with database.writing() as db:
        db.get_one(Studio, 1).time_zone = "Pacific/Auckland"
        garment_id, owner = number(a_garment(db, "bib")), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        evening = datetime(2026, 9, 30, 11, 30, tzinfo=UTC)  # half past midnight in Auckland
        count(db, owner, knots, 5, evening, minutes=Decimal(10))
        count(db, owner, knots, 5, evening - timedelta(hours=1), minutes=Decimal(20))
        assert [(each.first_day, each.by_person) for each in by_month(db, Days())] == [
            (date(2026, 10, 1), (("Ottilie Brook", 600),)),
            (date(2026, 9, 1), (("Ottilie Brook", 1200),)),
        ]


def test_an_entry_taken_back_by_the_owner_comes_off_the_stitchers_own_time_and_month(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner, wren = number(a_garment(db, "bib")), person(db, OWNER), person(db, STITCHER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        row = logged(db, wren, knots, 900, START)
        knots.done_tenths += 50
        db.flush()
        assert seconds_in(db, span_of(db, Days())) == 900
        take_back(db, owner, number(row), "back", START + timedelta(days=40))
        assert by_month(db, Days()) == []
        assert by_person(db, Days()) == []


def worked(db: Writing, hours: float, at: datetime) -> None:
    """So many hours of the stitcher's, logged on that day."""
    garment_id = number(a_garment(db, "bib"))
    logged(db, person(db, STITCHER), step(db, garment_id, "wash"), round(hours * 3600), at)


def test_a_new_pay_counts_from_its_day_on_and_what_was_earned_before_stays(database: Database) -> None:
    with database.writing() as db:
        hers, owner = stitcher_id(db, STITCHER), person(db, OWNER)
        set_pay(db, hers, 1600, TODAY, owner.id, START)  # the first pay written down counts for all work
        worked(db, 10, START)
        worked(db, 2.5, START + timedelta(days=40))
        set_pay(db, hers, 1850, (START + timedelta(days=30)).date(), owner.id, START)
        pay_stitcher(db, PaymentAsk("once", hers, 10_000, TODAY), owner.id, START)
        (account,) = accounts(db, hers)
        assert [(each.per_hour, each.seconds, each.earned) for each in account.stretches] == [
            (1600, 36_000, 16_000),
            (1850, 9_000, 4_625),
        ]
        assert (account.earned, account.paid, account.owed) == (20_625, 10_000, 10_625)
        assert [each.owed for each in accounts(db) if each.stitcher.id == hers] == [10_625]
        set_pay(db, hers, 2000, date(2026, 1, 1), owner.id, START)  # from long ago: all of it
        assert accounts(db, hers)[0].earned == 25_000
        assert len(db.exec(select(Event).where(Event.action == "paid otherwise")).all()) == 3


def test_pays_of_two_stitchers_that_changed_on_other_days_stay_apart(database: Database) -> None:
    with database.writing() as db:
        hers, other, owner = stitcher_id(db, STITCHER), stitcher_id(db, SECOND), person(db, OWNER)
        for number_, day in ((hers, 5), (other, 15)):
            set_pay(db, number_, 1000, TODAY, owner.id, START)
            set_pay(db, number_, 2000, (START + timedelta(days=day)).date(), owner.id, START)
        for day in (0, 10, 20):
            worked(db, 1, START + timedelta(days=day))
        (account,) = accounts(db, hers)
        assert [(each.per_hour, each.seconds) for each in account.stretches] == [(1000, 3600), (2000, 7200)]
        assert accounts(db)[0].seconds + accounts(db)[1].seconds + accounts(db)[2].seconds == 3 * 3600


def test_without_a_pay_nothing_is_earned(database: Database) -> None:
    with database.writing() as db:
        worked(db, 3, START)
        (account,) = accounts(db, stitcher_id(db, STITCHER))
        assert (account.seconds, account.earned, account.is_paid_by_the_hour) == (10_800, 0, False)


def test_a_payment_sent_twice_stands_once_and_is_taken_back_once(database: Database) -> None:
    with database.writing() as db:
        hers, owner = stitcher_id(db, STITCHER), person(db, OWNER)
        first = pay_stitcher(db, PaymentAsk("once", hers, 5000, TODAY, "in cash"), owner.id, START)
        assert pay_stitcher(db, PaymentAsk("once", hers, 5000, TODAY), owner.id, START) is first
        with pytest.raises(Conflict):
            pay_stitcher(db, PaymentAsk("once", hers, 6000, TODAY), owner.id, START)
        assert accounts(db, hers)[0].owed == -5000
        take_back_payment(db, hers, number(first), owner.id, TODAY, START)
        with pytest.raises(Conflict):
            take_back_payment(db, hers, number(first), owner.id, TODAY, START)
        with pytest.raises(NotFound):
            take_back_payment(db, stitcher_id(db, SECOND), number(first), owner.id, TODAY, START)
        assert [(each.kind, each.amount_minor) for each in payments_to(db, hers)] == [("counter", 5000), ("paid", 5000)]
        assert accounts(db, hers)[0].owed == 0


def test_check_finds_a_counter_that_takes_back_another_sum(database: Database) -> None:
    with database.writing() as db:
        hers, owner = stitcher_id(db, STITCHER), person(db, OWNER)
        first = pay_stitcher(db, PaymentAsk("once", hers, 5000, TODAY), owner.id, START)
        wrong = take_back_payment(db, hers, number(first), owner.id, TODAY, START)
        wrong.amount_minor = 4000
        db.add(wrong)
        told = f"a payment taken back from a stitcher is taken back whole: record {wrong.id}."
    with database.reading() as db:
        assert prove(db).faults == (f"It does not hold that {told}",)


def test_the_books_take_as_many_queries_for_many_pieces_as_for_one(database: Database) -> None:
    counted = []
    for more in (1, 3):
        with database.writing() as db:
            for _ in range(more):
                worked(db, 1, START)
        with database.reading() as db, statements(database) as said:
            span = span_of(db, Days())
            assert by_month(db, Days())
            assert by_person(db, Days())
            assert accounts(db)
            assert len(worked_by_piece(db, span)[0]) == len(list(every_entry(db, span)))
        counted.append(len(said))
    assert counted[0] == counted[1]
