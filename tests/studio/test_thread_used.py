"""Thread that garments really took: what counts of it, what is learned, and where it corrects, on both databases."""

import pytest
from sqlmodel import select

from service.errors import Conflict, NotFound
from service.reckoning.asked import Wrong
from service.reckoning.design_text import read_design
from service.reckoning.mirrors import drawn_up
from service.records.db import Database, Writing
from service.records.queries.garments import parts_of
from service.records.tables import Garment, Supply, ThreadUsed
from service.studio.quote_materials import materials_of
from service.studio.supplies import Moved, SupplyFacts, add_supply, move_supply
from service.studio.thread_used import (
    ThreadReckoned,
    learned_by_thread,
    learned_of,
    take_back_used,
    tell_used,
    threads_reckoned,
    told_of,
)
from tests.building import a_garment
from tests.counting import count, number, person, step
from tests.serving import OWNER, START

COTTON = ThreadReckoned("Lace cotton No 100", 20_000_000, 10_000_000)
SILK = ThreadReckoned("Silk", 5_000_000, 2_000_000)


def reckoned(db: Writing, garment: Garment) -> dict[str, ThreadReckoned]:
    drawn = {section.key: section for section in drawn_up(read_design(garment.document)).every_section}
    return {one.thread: one for one in threads_reckoned(parts_of(db, number(garment)), drawn)}


def test_what_is_done_is_reckoned_beside_the_whole_of_each_thread(database: Database) -> None:
    with database.writing() as db:
        garment = a_garment(db)
        before = reckoned(db, garment)
        seam = step(db, number(garment), "seam")
        count(db, person(db, OWNER), seam, 10, overrule="sewn beforehand")
        after = reckoned(db, garment)

    assert all(one.done_um == 0 < one.whole_um for one in before.values())
    assert {name: one.whole_um for name, one in after.items()} == {name: one.whole_um for name, one in before.items()}
    # 10 cm of back stitch are 324 mm of thread: one needleful of 450 mm.
    assert sorted(one.done_um for one in after.values() if one.done_um) == [450_000]


def test_thread_on_the_shelf_goes_down_by_what_was_used_and_comes_back(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment, owner = number(a_garment(db)), person(db, OWNER).id
        reel = number(add_supply(db, SupplyFacts("lace cotton no 100", "thread", "m", None, ""), START))
        skein = number(add_supply(db, SupplyFacts("Silk", "thread", "skein", 400, ""), START))
        other = number(add_supply(db, SupplyFacts("Linen", "thread", "m", None, ""), START))
        for supply in (reel, skein, other):
            move_supply(db, supply, Moved("bought", 15_000, ""), owner, START)
        left = []
        for say in (
            lambda: tell_used(db, garment, COTTON, 9_000_000, owner, START),
            lambda: tell_used(db, garment, COTTON, 12_500_000, owner, START),
            lambda: tell_used(db, garment, SILK, 2_200_000, owner, START),
            lambda: tell_used(db, garment, COTTON, 30_000_000, owner, START),
            lambda: take_back_used(db, garment, "Lace cotton No 100", owner, START),
        ):
            say()
            left.append([db.get_one(Supply, each).on_hand_thousandths for each in (reel, skein, other)])
    # 9 m and then 12.5 m of the reel; 2.2 m of skeins of 8 m; 30 m are more than there is; taken back it is as bought.
    assert left == [
        [6_000, 15_000, 15_000],
        [2_500, 15_000, 15_000],
        [2_500, 14_725, 15_000],
        [0, 14_725, 15_000],
        [15_000, 14_725, 15_000],
    ]


def test_the_newest_line_of_a_thread_counts_and_one_taken_back_counts_no_more(database: Database) -> None:
    with database.writing() as db:
        garment, owner = number(a_garment(db)), person(db, OWNER).id
        tell_used(db, garment, COTTON, 9_000_000, owner, START)
        tell_used(db, garment, COTTON, 12_000_000, owner, START)
        tell_used(db, garment, SILK, 2_200_000, owner, START)
        told = {thread: line.used_um for thread, line in told_of(db, garment).items()}
        learned = learned_by_thread(db)
        take_back_used(db, garment, "Silk", owner, START)
        left = learned_by_thread(db)
        with pytest.raises(NotFound, match="Nothing is written down of this thread"):
            take_back_used(db, garment, "Silk", owner, START)
        lines = db.exec(select(ThreadUsed)).all()

    assert told == {"Lace cotton No 100": 12_000_000, "Silk": 2_200_000}
    assert {thread: one.ratio for thread, one in learned.items()} == {"Lace cotton No 100": 1.2, "Silk": 1.1}
    assert list(left) == ["Lace cotton No 100"]
    assert len(lines) == 4


def test_a_thread_is_corrected_by_its_own_lines_or_by_all_by_their_length(database: Database) -> None:
    with database.writing() as db:
        first, second = number(a_garment(db)), number(a_garment(db, "bib"))
        owner = person(db, OWNER).id
        assert learned_of(learned_by_thread(db), "Silk") is None
        for garment, thread, used in (
            (first, COTTON, 13_000_000),
            (second, COTTON, 11_000_000),
            (first, SILK, 2_400_000),
        ):
            tell_used(db, garment, thread, used, owner, START)
        known = learned_by_thread(db)

    own, other = learned_of(known, "Lace cotton No 100"), learned_of(known, "Wool")
    assert own is not None
    assert (own.ratio, own.garments, own.is_of_thread) == (1.2, 2, True)
    assert other is not None
    assert (other.ratio, other.garments, other.is_of_thread) == (26_400_000 / 22_000_000, 3, False)


def test_what_cannot_be_right_is_not_written_down(database: Database) -> None:
    with database.writing() as db:
        garment, owner = number(a_garment(db)), person(db, OWNER).id
        for used_um in (900_000, 101_000_000):
            with pytest.raises(Wrong, match="check the unit"):
                tell_used(db, garment, COTTON, used_um, owner, START)
        with pytest.raises(Conflict, match="Nothing is sewn with this thread yet"):
            tell_used(db, garment, ThreadReckoned("Silk", 5_000_000, 0), 1_000_000, owner, START)
        with pytest.raises(NotFound):
            tell_used(db, 999, COTTON, 10_000_000, owner, START)
        assert db.exec(select(ThreadUsed)).all() == []


def test_thread_to_buy_for_a_quote_is_corrected_too(database: Database) -> None:
    with database.writing() as db:
        garment = a_garment(db)
        before = {line.key: line.source for line in materials_of(db, [garment], 8_000_000) if line.kind == "thread"}
        thread, whole = next((one.thread, one) for one in reckoned(db, garment).values())
        done = ThreadReckoned(thread, whole.whole_um, whole.whole_um)
        tell_used(db, number(garment), done, 2 * whole.whole_um, person(db, OWNER).id, START)
        after = {line.key: line.source for line in materials_of(db, [garment], 8_000_000) if line.kind == "thread"}

    assert before.keys() == after.keys()
    assert all("corrected" not in source for source in before.values())
    assert all("corrected by what was really used before" in source for source in after.values())
    assert before != after
