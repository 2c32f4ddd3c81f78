"""Counts that wait for the writer's turn together: one commit for all, each as if it were alone, none left waiting."""

import asyncio
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import event
from sqlmodel import col, select

from service.records.db import Database
from service.records.tables import LoginSession, Step, Studio, Tally
from service.studio.log import TallyAsk
from service.studio.proofs import prove
from service.studio.sessions import end_all
from service.studio.sign_in import UNUSED_ENDS_AFTER, Caller, begin_session, make_token
from service.studio.turns import Asked, Counted, Turns
from tests.building import a_garment
from tests.counting import ask, number, person, step, work_on
from tests.serving import OWNER, START

SOON_S = 60


class Knots:
    """Two bibs as far as their first knots, and the owner's token and browser."""

    def __init__(self, database: Database) -> None:
        self.database = database
        with database.writing() as db:
            owner = person(db, OWNER)
            garments = [number(a_garment(db, "bib")) for _ in range(2)]
            for garment_id in garments:
                work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
            self.steps = [number(step(db, garment_id, "ladder_knot")) for garment_id in garments]
            self.clips = [number(step(db, garment_id, "clip", "bib.middle")) for garment_id in garments]
            self.script = Caller(make_token(db, OWNER, START), is_script=True)
            self.browser = Caller(begin_session(db, owner.id, START), is_script=False)

    def one(self, asked: TallyAsk | None = None, place: int = 0) -> Asked:
        """One count by the owner's script."""
        return Asked(self.script, self.steps[place], asked or ask(1), START)

    def done(self) -> list[int]:
        with self.database.reading() as db:
            return [db.get_one(Step, step_id).done_tenths // 10 for step_id in self.steps]


@pytest.fixture
def knots(database: Database) -> Knots:
    """They, on each kind of database."""
    return Knots(database)


def _kept(knots: Knots, *asked: Sequence[Asked]) -> list[list[Counted | None]]:
    """What becomes of counts asked together, one group of them after the other."""

    async def all_of() -> list[list[Counted | None]]:
        with closing(Turns(knots.database)) as turns:
            return [list(await asyncio.wait_for(asyncio.gather(*map(turns.keep, group)), SOON_S)) for group in asked]

    return asyncio.run(all_of())


@contextmanager
def _commits(database: Database) -> Iterator[Callable[[], int]]:
    counted: list[object] = []

    def count(connection: object) -> None:
        counted.append(connection)

    event.listen(database.writer, "commit", count)
    yield lambda: len(counted)
    event.remove(database.writer, "commit", count)


def test_counts_that_wait_together_are_all_kept_and_on_sqlite_by_one_commit(knots: Knots) -> None:
    with _commits(knots.database) as commits:
        (kept,) = _kept(knots, [knots.one(place=place % 2) for place in range(40)])
        assert commits() == (1 if knots.database.is_sqlite else 40)
    assert knots.done() == [20, 20]
    assert sorted(each.added.now.done for each in kept if each) == sorted([*range(1, 21), *range(1, 21)])
    with knots.database.reading() as db:
        numbers = set(db.exec(select(Tally.id).where(col(Tally.step_id).in_(knots.steps))))
        assert {each.added.tally_id for each in kept if each} == numbers
        assert prove(db).faults == ()


def test_those_who_are_answered_together_and_count_on_share_the_next_turn_too(sqlite_database: Database) -> None:
    knots = Knots(sqlite_database)

    async def each_ten() -> None:
        async def one(turns: Turns) -> None:
            for _ in range(10):
                assert await asyncio.wait_for(turns.keep(knots.one()), SOON_S) is not None

        with closing(Turns(knots.database)) as turns:
            await asyncio.gather(*(one(turns) for _ in range(4)))

    with _commits(knots.database) as commits:
        asyncio.run(each_ten())
        assert commits() == 10
    assert knots.done() == [40, 0]


def test_one_after_the_other_nobody_is_left_waiting(knots: Knots) -> None:
    kept = _kept(knots, *([knots.one()] for _ in range(12)))
    assert [each.added.now.done for (each,) in kept if each] == list(range(1, 13))


def test_what_cannot_be_kept_so_goes_the_long_way_and_hinders_nobody(knots: Knots) -> None:
    used = ask(2)
    (kept,) = _kept(
        knots,
        [
            knots.one(used),
            knots.one(used),  # once more
            replace(knots.one(), step_id=999_999),
            replace(knots.one(), step_id=knots.clips[0]),  # out of order
            replace(knots.one(), caller=Caller("nobody's", is_script=True)),
            replace(knots.one(), caller=Caller(knots.script.secret, is_script=False)),
            knots.one(ask(1000)),
            knots.one(ask("0.5")),
            knots.one(ask(3)),
        ],
    )
    assert sum(each is not None for each in kept) == 2
    assert knots.done() == [5, 0]


def test_the_last_of_a_step_and_what_is_unpicked_are_kept_too(knots: Knots) -> None:
    kept = _kept(knots, *([knots.one(asked)] for asked in (ask(150), ask(10), ask(4, kind="unpick"))))
    assert [each.added.now.done for (each,) in kept if each] == [150, 160, 156]
    with knots.database.reading() as db:
        assert prove(db).faults == ()


def test_a_browser_counts_until_it_is_signed_out_or_was_not_used_or_a_second_step_is_wanted(knots: Knots) -> None:
    one = replace(knots.one(), caller=knots.browser)
    ((counted,), late) = _kept(knots, [one], [replace(one, ask=ask(1), at=START + UNUSED_ENDS_AFTER)])
    assert counted is not None
    assert counted.browser is not None
    assert late == [None]
    with knots.database.writing() as db:
        db.get_one(Studio, 1).second_step_needed = True
    assert _kept(knots, [replace(one, ask=ask(1))]) == [[None]]
    with knots.database.writing() as db:
        db.get_one(Studio, 1).second_step_needed = False
        end_all(db, person(db, OWNER).id, START + timedelta(minutes=1))
        assert db.exec(select(LoginSession.ended_at)).one() is not None
    assert _kept(knots, [replace(one, ask=ask(1))]) == [[None]]


def test_when_one_of_a_turn_cannot_be_written_nothing_of_the_turn_is_kept(sqlite_database: Database) -> None:
    knots = Knots(sqlite_database)
    refused = f"before update on step when new.id = {knots.steps[1]} begin select raise(abort, 'no'); end"
    with sqlite_database.writing() as db:
        db.connection().exec_driver_sql(f"create trigger spoilt {refused}")
    assert _kept(knots, [knots.one(), knots.one(place=1)]) == [[None, None]]
    assert knots.done() == [0, 0]
    assert _kept(knots, [knots.one()])[0] != [None]


def test_a_count_that_comes_after_the_end_is_handed_back(knots: Knots) -> None:
    async def late() -> Counted | None:
        turns = Turns(knots.database)
        turns.close()
        return await asyncio.wait_for(turns.keep(knots.one()), SOON_S)

    assert asyncio.run(late()) is None
    assert knots.done() == [0, 0]
