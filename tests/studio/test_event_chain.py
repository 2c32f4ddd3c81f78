"""What was done stays: events are sealed in order, the tables refuse to alter them, and one changed row is found."""

import random
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import pytest
from alembic import command
from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError
from sqlmodel import col, select

from service.records.db import Database, Reading, Writing, alembic_config, migrate
from service.records.tables import Client, Commission, Erasure, Event, EventSeal, LastSeal
from service.studio import client_data
from service.studio.event_proofs import CHAINED, GUARDS, broken_chain
from service.studio.proofs import prove
from tests.serving import START

EVENTS = 30
ALTERING = (
    "update event set action = 'seen'",
    "update event set at = '2020-01-01'",
    "update event set account_id = null, garment_id = null, object_id = 7",
    "update event set reason = 'another'",
    "delete from event",
    "update event_seal set sha256 = 'x'",
    "update event_seal set salt = 'x'",
    "delete from event_seal",
)
FIELDS = {"action": "seen", "object_kind": "cloth", "before": "it was", "after": "it is", "reason": "because"}


def _note(db: Writing, number: int, reason: str = "") -> None:
    words = reason or f"because {number}"
    noted = Event(at=START, action="noted", object_kind="studio", object_id=number, reason=words)
    noted.before, noted.after = f"it was {number}", f"it is {number}"
    db.add(noted)


def _faults(database: Database) -> set[str]:
    with database.reading() as db:
        return {says for says, _ in broken_chain(db)}


@pytest.fixture
def noted(database: Database) -> Database:
    """A studio in which thirty things were written down, in transactions of one, two and more."""
    for first in (0, 1, 3, 10):
        with database.writing() as db:
            for number in range(first, {0: 1, 1: 3, 3: 10, 10: EVENTS}[first]):
                _note(db, number)
    return database


def test_every_event_is_sealed_in_the_order_in_which_it_was_written(noted: Database) -> None:
    with noted.reading() as db:
        sealed = db.exec(select(EventSeal.id, EventSeal.event_id).order_by(col(EventSeal.id))).all()
        numbers = db.exec(select(Event.id).order_by(col(Event.id))).all()
        assert [place for place, _ in sealed] == list(range(1, len(numbers) + 1))
        assert [number for _, number in sealed] == numbers
        assert len(numbers) >= EVENTS
        assert list(broken_chain(db)) == []


def _fail_after_noting(database: Database) -> None:
    with database.writing() as db:
        _note(db, 3)
        db.flush()
        1 / 0  # noqa: B018 (anything that goes wrong)


def test_what_is_taken_back_before_it_counts_leaves_no_seal(database: Database) -> None:
    with database.writing() as db:
        before = len(db.exec(select(EventSeal)).all())
        with db.begin_nested() as part:
            _note(db, 1)
            db.flush()
            part.rollback()
        _note(db, 2)
    with pytest.raises(ZeroDivisionError):
        _fail_after_noting(database)
    with database.reading() as db:
        assert len(db.exec(select(EventSeal)).all()) == before + 1
        assert list(broken_chain(db)) == []


def test_many_who_write_at_once_make_one_chain(database: Database) -> None:
    def write(number: int) -> None:
        with database.writing() as db:
            _note(db, number)

    with ThreadPoolExecutor(8) as people:
        list(people.map(write, range(64)))
    assert _faults(database) == set()
    with database.reading() as db:
        assert db.exec(select(LastSeal.seals)).one() == len(db.exec(select(Event)).all())


def test_the_tables_refuse_to_alter_or_remove_what_was_done(noted: Database) -> None:
    for altering in ALTERING:
        with pytest.raises(DBAPIError, match="never"), noted.writing() as db:
            db.connection().execute(text(altering))
    assert _faults(noted) == set()


def test_words_erased_with_a_client_s_data_leave_the_chain_whole(noted: Database) -> None:
    with noted.writing() as db:
        for name in ("Hester", "Judith"):
            db.add(_commission(_a_client(db, name)))
        db.flush()
        for number in (1, 2):
            words = "Hester changed her mind"
            db.add(Event(at=START, action="called off", object_kind="commission", object_id=number, reason=words))
            db.add(Event(at=START, action="moved", object_kind="commission", object_id=number))
    with noted.writing() as db:
        client_data.erase(db, 1, 1, START)
    with noted.reading() as db:
        of_each = select(Event.reason, EventSeal.salt != "").join(EventSeal).where(Event.action == "called off")
        assert db.exec(of_each.order_by(col(Event.id))).all() == [("erased", False), ("Hester changed her mind", True)]
        assert prove(db).faults == ()


def test_words_that_were_wiped_without_an_erasure_are_found(noted: Database) -> None:
    with noted.writing() as db:
        db.connection().execute(text("update event set reason = 'erased' where id = 7"))
        db.connection().execute(text("update event_seal set salt = '' where event_id = 7"))
        db.add(Erasure(client_id=_a_client(db, "Hester"), at=START))
    assert _faults(noted) == {CHAINED[3]}


def _a_client(db: Writing, name: str) -> int:
    db.add(client := Client(name=name, created_at=START))
    db.flush()
    assert client.id is not None
    return client.id


def _commission(client_id: int) -> Commission:
    return Commission(client_id=client_id, title="A gown", state="closed", wanted_on=START.date(), created_at=START)


def test_events_of_an_older_release_are_sealed_when_the_tables_are_brought_up(noted: Database) -> None:
    noted.close()
    command.downgrade(alembic_config(noted.url), "0002")
    migrate(noted.url)
    with noted.writing() as db:
        _note(db, 99)
    assert _faults(noted) == set()
    with noted.reading() as db:
        assert db.exec(select(LastSeal.seals)).one() == len(db.exec(select(Event)).all())


@dataclass(frozen=True)
class Hand:
    """Somebody who writes into the file itself, past every guard."""

    here: Connection
    chance: random.Random

    def altered(self) -> None:
        """Change one column of one event."""
        column, words = self.chance.choice(list(FIELDS.items()))
        self._say(f'update event set "{column}" = :words where id = :one', words=words, one=self._one())

    def removed(self) -> None:
        """Take one event out, its seal with it."""
        one = self._one()
        self._say("delete from event_seal where event_id = :one", one=one)
        self._say("delete from event where id = :one", one=one)

    def swapped(self) -> None:
        """Let two events say what the other one said."""
        first, second = self.chance.sample(range(1, EVENTS + 1), 2)
        moved = "set object_id = (select object_id from event where id = :there) where id = :here"
        self._say(f"update event {moved}", there=first, here=second)

    def cut_off(self) -> None:
        """Take the last event out, its seal with it."""
        self._say("delete from event_seal where event_id = (select max(id) from event)")
        self._say("delete from event where id = (select max(id) from event)")

    def slipped_in(self) -> None:
        """Add an event without a seal."""
        added = (
            "insert into event select :one, at, account_id, garment_id, action, object_kind, 7, reason, before, after"
        )
        self._say(f"{added} from event where id = 1", one=900 + self._one())

    def _one(self) -> int:
        return self.chance.randrange(1, EVENTS + 1)

    def _say(self, statement: str, **values: object) -> None:
        assert self.here.execute(text(statement), values).rowcount == 1


WAYS: list[Callable[[Hand], None]] = [Hand.altered, Hand.removed, Hand.swapped, Hand.cut_off, Hand.slipped_in]


def test_one_altered_removed_or_swapped_row_is_found_every_time(noted: Database) -> None:
    found = []
    for seed in range(20):
        with noted.writing() as db:
            _take_the_guards_off(db)
            WAYS[seed % len(WAYS)](Hand(db.connection(), random.Random(seed)))
            found.append({says for says, _ in broken_chain(Reading(db))} - {CHAINED[4]} != set())
            db.rollback()
    assert found == [True] * 20
    assert _faults(noted) == set()


def _take_the_guards_off(db: Writing) -> None:
    of = "" if db.connection().dialect.name == "sqlite" else " on {}"
    for name in GUARDS:
        db.connection().execute(text(f"drop trigger {name}{of.format(name.partition('_not')[0])}"))


def test_a_guard_that_was_taken_off_is_missed(database: Database) -> None:
    with database.writing() as db:
        _take_the_guards_off(db)
    assert _faults(database) == {CHAINED[4]}
