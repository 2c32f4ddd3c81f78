"""What the studio's own log teaches: which entries are read and how, what is kept, and when it is reckoned afresh."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from sqlalchemy import event
from sqlmodel import select

from service.reckoning.rates import LoggedWork
from service.records.db import Database, Writing
from service.records.queries.rates import log_mark, work_mark
from service.records.tables import Garment, Section, Studio, Tally
from service.studio.log import take_back
from service.studio.rates import Learning, learn, own_log, stretches_left
from service.studio.recount import Recount, recount_section
from tests.building import a_garment
from tests.counting import count, number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, START, STITCHER

LONG_AFTER = START + timedelta(30)


def bib_to_knot(db: Writing) -> int:
    """A bib whose edges wait to be knotted, in a stitcher's hands."""
    garment_id, owner = number(a_garment(db, "bib")), person(db, OWNER)
    work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
    give(db, owner, Giving(garment_id, stitcher_id(db, STITCHER)), START)
    return garment_id


def knot(db: Writing, garment_id: int, counted: int, minutes: int | None, at: datetime = START) -> int:
    """Count knots; gives the entry's number."""
    said = {} if minutes is None else {"minutes": Decimal(minutes)}
    count(db, person(db, STITCHER), step(db, garment_id, "ladder_knot"), counted, at, **said)
    return max(db.exec(select(Tally.id).where(Tally.garment_id == garment_id)).all() or [0])  # type: ignore[type-var, return-value]


@contextmanager
def statements(database: Database) -> Iterator[list[str]]:
    """Every statement that reading sends meanwhile."""
    said: list[str] = []

    def hear(*heard: object) -> None:
        said.append(str(heard[2]))

    event.listen(database.reader, "before_cursor_execute", hear)
    yield said
    event.remove(database.reader, "before_cursor_execute", hear)


def test_the_log_is_read_with_its_fineness_days_and_names(database: Database) -> None:
    with database.writing() as db:
        db.get_one(Studio, 1).time_zone = "Pacific/Auckland"
        garment_id = bib_to_knot(db)
        knot(db, garment_id, 20, 25, datetime(2026, 9, 3, 20, 0, tzinfo=UTC))
        hers = str(stitcher_id(db, STITCHER))
    with database.reading() as db:
        assert list(own_log(db)) == [
            LoggedWork(date(2026, 9, 4), hers, "ladder_knot", 20.0, str(garment_id), 20.0, 25.0, None)
        ]


def test_a_withdrawn_thread_is_read_with_its_length_and_its_own_system(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner = number(a_garment(db, "bib")), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "withdraw")
        at_step = step(db, garment_id, "withdraw")
        count(db, owner, at_step, 3, minutes=Decimal(4))
        section = db.get_one(Section, at_step.section_id)
        length_um = at_step.thread_length_um
        assert length_um
        withdrawn = section.withdrawn_per_cm
    with database.reading() as db:
        (entry,) = own_log(db)
    assert (entry.threads_per_cm, entry.thread_length_mm, entry.units) == (withdrawn, length_um / 1000, 3)
    assert entry.stitcher == f"account {owner.id}" if owner.stitcher_id is None else str(owner.stitcher_id)


def test_entries_taken_back_undone_without_minutes_or_longer_than_a_day_teach_nothing(database: Database) -> None:
    with database.writing() as db:
        garment_id, wren = bib_to_knot(db), person(db, STITCHER)
        knot(db, garment_id, 10, 12)
        wrong = knot(db, garment_id, 11, 13)
        take_back(db, wren, wrong, "back", START)
        count(db, wren, step(db, garment_id, "ladder_knot"), 2, kind="unpick", minutes=Decimal(5))
        knot(db, garment_id, 7, None)
        knot(db, garment_id, 8, 0)
        knot(db, garment_id, 9, 1441)
    with database.reading() as db:
        assert [(entry.units, entry.minutes) for entry in own_log(db)] == [(10, 12)]


def test_what_is_learned_is_kept_until_the_log_grows(database: Database) -> None:
    learning = Learning()
    with database.writing() as db:
        garment_id = bib_to_knot(db)
        knot(db, garment_id, 10, 12)
    with database.reading() as db:
        assert learning.is_behind(db)
        first = learning.exact(db)
        assert (first.records, first.mostly_guesses) == (1, True)
        assert learning.exact(db) is first
        assert not learning.is_behind(db)
    with database.writing() as db:
        knot(db, garment_id, 10, 12, LONG_AFTER)
    with database.reading() as db:
        assert learning.is_behind(db)
        assert learning.newest(db) is first
        assert learning.exact(db).records == 2
        assert learning.newest(db).records == 2


def test_catching_up_learns_what_came_in_since(database: Database) -> None:
    learning = Learning()
    with database.writing() as db:
        garment_id = bib_to_knot(db)
    learning.catch_up(database)
    with database.reading() as db:
        assert learning.newest(db).records == 0
    with database.writing() as db:
        knot(db, garment_id, 10, 12)
    learning.catch_up(database)
    with database.reading() as db:
        assert not learning.is_behind(db)
        assert learning.newest(db).records == 1


def test_learning_rests_between_whiles(database: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    learning = Learning()
    with database.writing() as db:
        garment_id = bib_to_knot(db)
    monkeypatch.setattr("service.studio.rates.RESTS_FOR", 100_000)
    with database.reading() as db:
        assert learning.is_due(db)
    learning.catch_up(database)
    with database.writing() as db:
        knot(db, garment_id, 10, 12)
    with database.reading() as db:
        assert (learning.is_behind(db), learning.is_due(db)) == (True, False)


def test_an_entry_that_comes_in_behind_a_newer_one_is_seen(database: Database) -> None:
    """PostgreSQL gives out numbers before they are kept: 3 may be there before 2."""
    with database.writing() as db:
        garment_id = bib_to_knot(db)
        between = knot(db, garment_id, 10, 12)
        knot(db, garment_id, 11, 12)
        row = db.get_one(Tally, between)
        late = row.model_dump()
        db.delete(row)
    with database.reading() as db:
        before = log_mark(db)
    with database.writing() as db:
        db.add(Tally(**late))
    with database.reading() as db:
        assert log_mark(db) != before
        assert log_mark(db).newest == before.newest


def test_hours_left_fall_with_the_work_and_end_at_none(database: Database) -> None:
    learning = Learning()
    with database.writing() as db:
        garment_id = bib_to_knot(db)
    with database.reading() as db:
        before = learning.hours_left(db, [garment_id])[garment_id]
    with database.writing() as db:
        knot(db, garment_id, 100, None)
    with database.reading() as db:
        after = learning.hours_left(db, [garment_id])[garment_id]
    assert 0 < after.at(50) < before.at(50)
    with database.writing() as db:
        work_on(db, person(db, OWNER), garment_id, lambda _: False)
    with database.reading() as db:
        assert learning.hours_left(db, [garment_id])[garment_id].is_none


def test_hours_left_are_those_of_whoever_holds_the_piece(database: Database) -> None:
    learning = Learning()
    with database.writing() as db:
        garment_id = bib_to_knot(db)
        for day in range(5):
            knot(db, garment_id, 10, 20, START + timedelta(day))
    with database.reading() as db:
        slow = learning.hours_left(db, [garment_id])[garment_id]
        assert {stretch.stitcher for stretch in stretches_left(db, [garment_id])[garment_id]} == {
            str(stitcher_id(db, STITCHER))
        }
    with database.writing() as db:
        give(db, person(db, OWNER), Giving(garment_id, None), START)
    with database.reading() as db:
        anybody = learning.hours_left(db, [garment_id])[garment_id]
        assert [stretch.stitcher for stretch in stretches_left(db, [garment_id])[garment_id]] == [""]
    assert anybody.at(50) < slow.at(50)
    assert anybody.at(90) / anybody.at(10) > slow.at(90) / slow.at(10)


def test_a_recount_changes_the_hours_left(database: Database) -> None:
    learning = Learning()
    with database.writing() as db:
        garment_id, owner = number(a_garment(db, "bib")), person(db, OWNER)
        section = step(db, garment_id, "ladder_knot").section_id
        assert section is not None
        standing = db.get_one(Section, section).standing_threads
        assert standing is not None
    with database.reading() as db:
        before, mark = learning.hours_left(db, [garment_id])[garment_id], work_mark(db)
    with database.writing() as db:
        recount_section(db, owner, section, Recount("counted at the table", standing * 2), START)
    with database.reading() as db:
        assert work_mark(db) != mark
        assert learning.hours_left(db, [garment_id])[garment_id].at(50) > before.at(50)


def test_hours_left_of_many_pieces_take_no_more_queries_than_of_one(database: Database) -> None:
    with database.writing() as db:
        pieces = [number(a_garment(db, "bib")) for _ in range(4)]
    counted = []
    for wanted in (pieces[:1], pieces):
        learning = Learning()
        with database.reading() as db:
            learning.newest(db)
            with statements(database) as said:
                assert list(learning.hours_left(db, wanted)) == wanted
            with statements(database) as again:
                learning.hours_left(db, wanted)
        counted.append((len(said), len(again)))
    assert counted == [(1, 0), (1, 0)]


def test_the_stored_summary_stays_on_the_guesses(database: Database) -> None:
    with database.writing() as db:
        garment_id = bib_to_knot(db)
        knots = step(db, garment_id, "ladder_knot")
        left_ms = db.get_one(Garment, garment_id).left_ms
        knot(db, garment_id, 10, 200)
        assert db.get_one(Garment, garment_id).left_ms == left_ms - 10 * knots.unit_ms


def test_the_same_log_teaches_the_same(database: Database) -> None:
    with database.writing() as db:
        garment_id = bib_to_knot(db)
        knot(db, garment_id, 10, 12)
    with database.reading() as db:
        first, second = learn(db), learn(db)
        assert first.drawn.core.tolist() == second.drawn.core.tolist()


@pytest.mark.parametrize("many", [0, 1])
def test_an_empty_studio_has_learned_nothing(database: Database, many: int) -> None:
    with database.writing() as db:
        for _ in range(many):
            a_garment(db, "bib")
    with database.reading() as db:
        assert learn(db).records == 0
        assert Learning().hours_left(db, []) == {}
