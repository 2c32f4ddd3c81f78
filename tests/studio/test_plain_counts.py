"""Counts in order kept the short way: the same stands there afterwards as by the long way, and nothing else is kept."""

from dataclasses import replace
from decimal import Decimal

import pytest
from sqlmodel import col, select

from service.errors import Unreadable
from service.records.db import Database, Writing
from service.records.tables import Garment, Step, Tally
from service.studio.log import TallyAsk, add_tally
from service.studio.plain_counts import add_in_order
from service.studio.proofs import prove
from service.studio.sign_in import Person
from tests.building import a_garment
from tests.counting import a_bib, all_rows, ask, count, number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, SECOND, START, STITCHER


def _shortly(db: Writing, who: Person, step_id: int, asked: TallyAsk) -> bool:
    """Whether it was kept the short way."""
    db.flush()
    added = add_in_order(db.connection(), who, step_id, asked, START)
    db.expire_all()
    return added is not None


def _stands(db: Writing, garment_id: int) -> tuple[object, ...]:
    """How a garment stands, its steps by their places."""
    garment = db.get_one(Garment, garment_id)
    steps = db.exec(select(Step).where(Step.garment_id == garment_id).order_by(col(Step.position))).all()
    following = next((row.position for row in steps if row.id == garment.next_step_id), None)
    done = [(row.quantity_tenths, row.done_tenths) for row in steps]
    return garment.state, garment.planned_ms, garment.left_ms, garment.start_by, following, done


@pytest.mark.parametrize("design", ["bib", "day_gown"])
def test_the_short_way_leaves_what_the_long_way_leaves(database: Database, design: str) -> None:
    """Two garments alike, every step of each in a few counts: on one as short as may be, on the other never."""
    with database.writing() as db:
        owner = person(db, OWNER)
        shortly, longly = (number(a_garment(db, design)) for _ in range(2))
        kept = 0
        pairs = zip(*(_steps(db, garment_id) for garment_id in (shortly, longly)), strict=True)
        for one, other in pairs:
            for part in _parts(one):
                if _shortly(db, owner, number(one), asked := ask(part, minutes=Decimal(3))):
                    kept += 1
                else:
                    add_tally(db, owner, number(one), asked, START)
                count(db, owner, other, part, minutes=Decimal(3))
            assert _stands(db, shortly) == _stands(db, longly)
        assert kept > 10
        rows = db.exec(select(Tally).order_by(col(Tally.id))).all()
        alike = [[_said(row) for row in rows if row.garment_id == garment_id] for garment_id in (shortly, longly)]
        assert alike[0] == alike[1]
    with database.reading() as reads:
        assert prove(reads).faults == ()


def _steps(db: Writing, garment_id: int) -> list[Step]:
    return list(db.exec(select(Step).where(Step.garment_id == garment_id).order_by(col(Step.position))))


def _parts(row: Step) -> list[float]:
    """Some of it, a little of it, and the rest."""
    whole = 1 if row.unit != "cm" else 10
    some = row.quantity_tenths // 20 // 10 * 10 if whole == 1 else row.quantity_tenths // 2
    least = 10 if whole == 1 else 1
    parts = [some, least, row.quantity_tenths - some - least]
    return [part / 10 for part in (parts if parts[-1] > 0 else [row.quantity_tenths]) if part > 0]


def _said(row: Tally) -> tuple[object, ...]:
    told = (row.account_id, row.stitcher_id, row.counters_id, row.reason, row.at, row.recorded_at)
    return row.kind, row.counted_tenths, row.seconds, row.overruled, len(row.body_sha256), *told


def test_a_count_kept_the_short_way_is_known_again_by_its_key(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = number(step(db, garment_id, "ladder_knot"))
        asked = ask(10, minutes=Decimal(5), reason="in the morning")
        assert _shortly(db, owner, knots, asked)
        assert not _shortly(db, owner, knots, asked)
        assert add_tally(db, owner, knots, asked, START).done == 10


def test_whatever_is_not_plainly_in_order_is_left_to_the_long_way_with_nothing_written(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        wren, ida = person(db, STITCHER), person(db, SECOND)
        block = number(step(db, garment_id, "cut_block"))
        give(db, owner, Giving(garment_id, stitcher_id(db, STITCHER)), START)
        before = all_rows(db)
        assert not _shortly(db, owner, block, ask(1))  # not in work yet, and cloth is cut
        assert all_rows(db) == before
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots, clip = (number(step(db, garment_id, operation)) for operation in ("ladder_knot", "clip"))
        middle = number(step(db, garment_id, "clip", "bib.middle"))
        count(db, owner, step(db, garment_id, "ladder_knot"), 20, key="used")
        before = all_rows(db)
        for who, step_id, asked in (
            (owner, 999_999, ask(1)),
            (ida, knots, ask(1)),
            (replace(wren, stitcher_id=None), knots, ask(1)),
            (owner, knots, ask(5, kind="unpick")),
            (owner, knots, ask(5, kind="counter")),
            (owner, knots, ask(20, kind="counter", counters_id=1)),
            (owner, knots, ask(140)),  # the last of them
            (owner, knots, ask(200, more_on_cloth=True)),
            (owner, knots, ask(1, key="used")),
            (owner, clip, ask(1, more_on_cloth=True)),
            (owner, middle, ask(1, overrule="stitched before")),
        ):
            assert not _shortly(db, who, step_id, asked), asked
        with pytest.raises(Unreadable):
            _shortly(db, owner, knots, ask("0.5"))
        assert all_rows(db) == before
        assert _shortly(db, wren, knots, ask(1))
        db.get_one(Garment, garment_id).state = "called off"
        assert not _shortly(db, owner, knots, ask(1))
