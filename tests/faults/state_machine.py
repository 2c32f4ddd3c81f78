"""The whole studio against a plain model: anything done in any order, and all that must hold looked at after each step.

    python -m tests.faults.state_machine --runs 2000 --steps 50

Garments are made, counted on, recounted, handed over, finished; quotes sent, accepted, altered, taken back; money comes
and goes; clients are erased; backups are made, and put back later. The model (plain_studio.py) says what must be
refused and what stands in the records afterwards.
"""

import copy
import sys
from pathlib import Path

import pytest
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from service.errors import Conflict, Refusal
from service.records.db import migrate, open_database, sqlite_url
from service.records.tables import Quote
from service.studio import alterations, payments, promising, quotes
from service.studio.after_restoring import settling
from service.studio.backup import back_up
from service.studio.client_data import erase_for_good, remember, remembered
from service.studio.commissions import call_commission_off
from service.studio.restoring import restore
from tests.faults.book import PLACE
from tests.faults.book_work import Work
from tests.faults.machines import measure, run_machine
from tests.faults.plain_studio import UNDONE, PlainQuote
from tests.quoting import charge, foresight
from tests.serving import START, open_studio

MOST_BACKUPS = 3


class Studio(Work):
    """Quotes, money, clients and backups too."""

    def something_left(self, quote: PlainQuote) -> bool:
        """Whether there is a garment to quote for; an alteration may do without."""
        return quote.kind == "alteration" or any(piece.state in UNDONE for piece in self.model.of(quote.commission))

    @rule(place=PLACE, kind=st.sampled_from(["quote", "quote", "alteration"]))
    def draw_up(self, place: int, kind: str) -> None:
        """A quote or an alteration is drawn up, or the draft there is looked at."""
        commission, up = self.commission(place), quotes.draw_up
        up = alterations.draw_alteration_up if kind == "alteration" else up
        drafts = self.model.quotes_of(commission, kind, "draft")
        given = self.tried(lambda db: up(db, commission, foresight(), self.owner, START), told=not drafts)
        if isinstance(given, Refusal):
            agreed = self.model.quotes_of(commission, "quote", "accepted")
            over = self.model.state_of(commission) in {"closed", "called off"}
            left = any(piece.state in UNDONE for piece in self.model.of(commission))
            assert over or not left or bool(agreed) is (kind == "quote"), given
        elif not drafts:
            self.model.quotes[given.id] = PlainQuote(commission, kind, given.version, given.total_minor)

    @precondition(lambda self: self.model.quotes)
    @rule(place=PLACE)
    def reckon_again(self, place: int) -> None:
        """A draft is reckoned afresh; what was sent is not."""
        key, quote = self.quote(place)
        again = quotes.reckon_again if quote.kind == "quote" else alterations.reckon_alteration_again
        given = self.tried(lambda db: again(db, key, foresight(), START), told=False)
        assert isinstance(given, Refusal) is (quote.state != "draft" or not self.something_left(quote)), given
        if not isinstance(given, Refusal):
            quote.total = given.total_minor

    @precondition(lambda self: self.model.quotes)
    @rule(place=PLACE, piece=PLACE, tenths=st.sampled_from([-10, 10, 30]))
    def change_the_work(self, place: int, piece: int, tenths: int) -> None:
        """An alteration says what is to be worked more or less."""
        key, quote = self.quote(place)
        garment_id, _ = self.piece(piece)
        change = ("embroider", tenths)
        given = self.tried(
            lambda db: alterations.change_work(db, key, garment_id, change, foresight(), START), told=False
        )
        if not isinstance(given, Refusal):
            assert (quote.kind, quote.state) == ("alteration", "draft")
            with self.database.reading() as db:
                quote.total = db.get_one(Quote, key).total_minor

    @precondition(lambda self: self.model.quotes)
    @rule(place=PLACE, again=st.booleans())
    def send(self, place: int, *, again: bool) -> None:
        """A draft is sent and sealed, reckoned again before."""
        key, quote = self.quote(place)
        if again:
            self.reckon_again(place)
        given = self.tried(lambda db: promising.send(db, key, quote.version, self.owner, START))
        if isinstance(given, Refusal):
            return
        assert quote.state == "draft"
        self.model.send(quote)
        quote.seal = given.sealed_sha256

    @precondition(lambda self: self.model.quotes)
    @rule(place=PLACE, off=st.sampled_from([0, 0, 0, 5]), by_client=st.booleans())
    def accept(self, place: int, off: int, *, by_client: bool) -> None:
        """A yes to what was sent, at its total or at another."""
        key, quote = self.quote(place)
        yes, by = promising.Yes(quote.version, quote.total + off, "Hester Vane"), None if by_client else self.owner
        given = self.tried(lambda db: promising.accept(db, key, yes, START, by))
        may = self.model.may_accept(quote) and not off
        assert isinstance(given, Refusal) is not may, given
        if may:
            self.model.accept(quote)

    @rule(place=PLACE, kind=st.sampled_from(["quote", "alteration"]))
    def come_to_terms(self, place: int, kind: str) -> None:
        """One way through from a draft to the yes, so that runs come further."""
        commission = self.commission(place)
        self.draw_up(place, kind)
        for key, quote in self.model.quotes.items():
            if (quote.commission, quote.kind, quote.state) == (commission, kind, "draft"):
                newest = len(self.model.quotes) - 1 - list(self.model.quotes).index(key)
                if kind == "alteration":
                    garments = [
                        place
                        for place, piece in enumerate(self.model.pieces.values())
                        if piece.commission == commission
                    ]
                    self.change_the_work(newest, garments[0], 30)
                self.send(newest, again=True)
                self.accept(newest, 0, by_client=True)
                return

    @precondition(lambda self: self.model.quotes)
    @rule(place=PLACE)
    def take_a_quote_back(self, place: int) -> None:
        """What was sent or accepted is taken back."""
        key, quote = self.quote(place)
        given = self.tried(lambda db: promising.take_back(db, key, "asked for otherwise", self.owner, START))
        assert isinstance(given, Refusal) is not self.model.take_quote_back(quote), given

    @rule(place=PLACE, amount=st.integers(0, 90_000), kind=st.sampled_from(["paid", "paid", "given back"]))
    def pay(self, place: int, amount: int, kind: str) -> None:
        """Money comes, or goes back."""
        commission = self.commission(place)
        paid = payments.Paid(kind, START.date(), amount, "by cheque")
        given = self.tried(lambda db: payments.write_payment(db, commission, paid, self.owner, START))
        assert isinstance(given, Refusal) is (amount == 0), given
        if amount:
            self.model.paid[given.id] = (commission, amount if kind == "paid" else -amount)

    @precondition(lambda self: self.model.paid)
    @rule(place=PLACE)
    def take_a_payment_back(self, place: int) -> None:
        """A wrong payment is taken back, once."""
        key = list(self.model.paid)[place % len(self.model.paid)]
        for refused in (False, True):
            given = self.tried(lambda db: payments.take_payment_back(db, key, "typed wrong", self.owner, START))
            assert isinstance(given, Refusal) is refused, given
        del self.model.paid[key]

    @rule(place=PLACE, sure=PLACE)
    def call_off(self, place: int, sure: int) -> None:
        """Now and then a commission is called off."""
        if sure < 8:
            return
        commission = self.commission(place)
        given = self.tried(lambda db: call_commission_off(db, commission, "she moves away", self.owner.id, START))
        assert isinstance(given, Refusal) is not self.model.call_off(commission), given

    @rule(place=PLACE)
    def erase(self, place: int) -> None:
        """A client's data is erased, unless something of hers is open."""
        client, _ = self.model.commissions[self.commission(place)]
        if not self.model.may_erase(client):
            with pytest.raises(Conflict, match="still open"):
                erase_for_good(self.database, self.store, client, self.owner.id, START)
            return
        erase_for_good(self.database, self.store, client, self.owner.id, START)
        self.model.erased.add(client)
        self.sealed_again()
        remember(self.data, self.model.erased)

    @rule()
    def back_up(self) -> None:
        """A backup is made."""
        path = self.folder / f"backup {next(self.places)}.zip"
        back_up(self.database, self.store, path, START)
        self.backups = [*self.backups[1 - MOST_BACKUPS :], (path, copy.deepcopy(self.model))]

    @precondition(lambda self: self.backups)
    @rule(place=PLACE)
    def put_back(self, place: int) -> None:
        """A backup is put back on a new machine, which remembers whose data was erased since."""
        path, then = self.backups[-1 - place % len(self.backups)]
        erased = remembered(self.data)
        self.database.close()
        new = self.folder / f"machine {next(self.places)}"
        new.mkdir()
        remember(new, erased)
        self.model = copy.deepcopy(then)
        restore(path, sqlite_url(new), new, self.store, settling(new, self.store, START))
        self.open_at(new)
        known = {client for client, _ in self.model.commissions.values()}
        for client in set(erased) & known - self.model.erased:
            for commission in [key for key, (whose, _) in self.model.commissions.items() if whose == client]:
                self.model.becomes(commission, "closed", ("asked", "quoted", "agreed"))
            self.model.erased.add(client)
        self.sealed_again()


def prepared(folder: Path) -> Path:
    """A studio that charges and has nothing to do yet, to begin every run from."""
    migrate(sqlite_url(folder))
    database = open_database(sqlite_url(folder))
    open_studio(database)
    with database.writing() as db:
        charge(db)
    database.close()
    return folder / "studio.sqlite"


def run(template: Path, runs: int, steps: int, *, same: bool) -> None:
    """So many runs of at most so many steps; the same ones each time when asked so."""
    run_machine(Studio, template, runs, steps, same=same)


if __name__ == "__main__":
    sys.exit(measure("state machine", prepared, run, 2000, 50, sys.argv[1:]))
