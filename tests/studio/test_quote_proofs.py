"""What always holds of quotes and payments, seen at once when a record is broken by hand."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlmodel import text

from service.records.db import Database, open_database
from service.records.tables import Quote
from service.studio.alterations import change_work, draw_alteration_up
from service.studio.payments import Paid, take_payment_back, write_payment
from service.studio.promising import accept, send
from service.studio.proofs import prove
from service.studio.quote_proofs import PROMISED
from service.studio.quote_seal import SAID_SINCE, seal_of
from service.studio.statements_quotes import QUOTES
from tests.counting import number, person
from tests.quoting import LATER, a_draft, a_sent_quote, an_agreed_garment, foresight, yes_to
from tests.serving import OWNER

BROKEN = [
    ("a quote's price is the sum", "update quote_line set amount_minor = amount_minor + 1 where quote_id = 3 and kind = 'fee'"),
    ("a quote's price is the sum", "update quote_line set amount_minor = amount_minor + 1 where quote_id = 1 and kind = 'tax'"),
    ("a quote's instalments", "update quote_instalment set amount_minor = amount_minor - 1 where quote_id = 1 and position = 0"),
    ("the shares of the garments", "update quote_garment set price_minor = price_minor + 1 where quote_id = 1"),
    ("a quote is for garments", "update quote_garment set garment_id = 1 where quote_id = 2"),
    ("an accepted alteration", "update quote set state = 'lapsed' where id = 1"),
    ("what the studio asks for in parts", "update charges_instalment set percent_hundredths = 2999 where position = 1"),
    ("a payment that is taken back", "update payment set amount_minor = 1 where kind = 'counter'"),
    ("a quote that was sent", "update quote_line set words = 'something else' where quote_id = 2 and kind = 'labour'"),
    ("a quote that was sent", "update quote set note = 'and a bonnet' where id = 2"),
    ("a quote that was sent", "delete from quote_work where quote_id = 3"),
    ("a quote that was sent", "update quote set wanted_on = '2027-01-01' where id = 1"),
    ("a quote that was sent", "update quote set client_name = 'Somebody else' where id = 1"),
    ("what is owed", "update quote_instalment set due = 'at delivery', amount_minor = amount_minor + 5 where quote_id = 1 and position = 0"),
]  # fmt: skip


@pytest.fixture(scope="module")
def promised_template(quotable_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A studio with an agreed quote (1), a sent one (2), an accepted alteration (3), a draft (4) and payments."""
    path = tmp_path_factory.mktemp("promised") / "studio.sqlite"
    shutil.copyfile(quotable_template, path)
    database = open_database(f"sqlite:///{path}")
    with database.writing() as db:
        owner = person(db, OWNER)
        garment, quote = an_agreed_garment(db)
        a_sent_quote(db)
        change = draw_alteration_up(db, garment.commission_id, foresight(), owner, LATER)
        change_work(db, number(change), number(garment), ("embroider", 20), foresight(), LATER)
        send(db, number(change), 1, owner, LATER)
        accept(db, number(change), yes_to(change), LATER)
        a_draft(db)
        for minor in (5000, 700):
            paid = write_payment(db, garment.commission_id, Paid("paid", LATER.date(), minor, "cash"), owner, LATER)
        take_payment_back(db, number(paid), "written twice", owner, LATER)
        assert quote.id == 1
    with database.reading() as db:
        assert prove(db).faults == ()
    database.close()
    return path


@pytest.fixture
def promised(promised_template: Path, tmp_path: Path) -> Iterator[Database]:
    """That studio, to be broken."""
    path = tmp_path / "studio.sqlite"
    shutil.copyfile(promised_template, path)
    database = open_database(f"sqlite:///{path}")
    yield database
    database.close()


@pytest.mark.parametrize(
    ("says", "breaking"), BROKEN, ids=[f"{says}: {place}" for place, (says, _) in enumerate(BROKEN)]
)
def test_money_broken_by_hand_is_seen(promised: Database, says: str, breaking: str) -> None:
    with promised.writing() as db:
        db.connection().execute(text("PRAGMA ignore_check_constraints=ON"))
        assert db.connection().execute(text(breaking)).rowcount > 0
    with promised.reading() as db:
        assert any(fault.startswith(f"It does not hold that {says}") for fault in prove(db).faults)


def test_every_statement_about_money_can_fail() -> None:
    said = [*(statement.says for statement in QUOTES), *PROMISED]
    assert [one for one in said if not any(one.startswith(says) for says, _ in BROKEN)] == []


def test_a_quote_sealed_before_it_kept_its_day_still_holds_and_is_still_seen_broken(promised: Database) -> None:
    with promised.writing() as db:
        quote = db.get_one(Quote, 1)
        quote.sealed_sha256 = seal_of(db, quote, SAID_SINCE)
    with promised.reading() as db:
        assert prove(db).faults == ()
    with promised.writing() as db:
        db.get_one(Quote, 1).note = "and a bonnet"
    with promised.reading() as db:
        assert [fault for fault in prove(db).faults if PROMISED[0] in fault] != []
