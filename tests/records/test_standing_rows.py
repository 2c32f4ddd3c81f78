"""The lists of garments: what each row says, in which order, page by page, by a constant number of queries."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta

import pytest
from sqlalchemy import event

from service.records.db import Database, Writing
from service.records.queries.garments import parts_of
from service.records.queries.standing import (
    SHELF,
    After,
    NextStep,
    Wanted,
    garments_over,
    is_seen_by,
    next_operations,
    one_garment,
    open_garments,
)
from service.records.tables import Garment
from service.studio import standing
from service.studio.making import MakingAsk, make_garment
from tests.building import a_cloth, a_commission, a_design, a_garment
from tests.counting import count, number, person, step, stitcher_id
from tests.giving import Giving, give
from tests.serving import OWNER, SECOND, START, STITCHER


@contextmanager
def _counted_queries(database: Database) -> Iterator[list[str]]:
    said: list[str] = []

    def note(_connection: object, _cursor: object, statement: str, *_rest: object) -> None:
        if statement.startswith("SELECT"):
            said.append(statement)

    event.listen(database.reader, "before_cursor_execute", note)
    yield said
    event.remove(database.reader, "before_cursor_execute", note)


def _garments(db: Writing, days: list[date]) -> list[int]:
    """A bib for each of these days, all of one design on one cloth."""
    design, cloth = number(a_design(db, "bib")), number(a_cloth(db))
    return [
        number(
            make_garment(db, MakingAsk(number(a_commission(db, day)), design, {"bib": cloth, "binding": cloth}), START)
        )
        for day in days
    ]


def test_a_row_says_where_a_garment_stands(database: Database) -> None:
    with database.writing() as db:
        garment = a_garment(db, "bonnet")
        wren = stitcher_id(db, STITCHER)
        brim = step(db, number(garment), "cut_block").panel_id
        assert brim is not None
        give(db, person(db, OWNER), Giving(number(garment), wren, frozenset({brim})), START)
        hem = step(db, number(garment), "mark", "brim.hem")
        count(db, person(db, OWNER), step(db, number(garment), "cut_block"), 1)
        for operation in ("wash", "press", "trace"):
            count(db, person(db, OWNER), step(db, number(garment), operation), 1)
        count(db, person(db, OWNER), hem, 12.5)
        hem_id, section_id = number(hem), hem.section_id
        expected = (garment.planned_ms, garment.left_ms, garment.start_by)
    with database.reading() as db:
        (row,), more = open_garments(db, Wanted())
        assert not more
        assert (row.name, row.commission, row.client, row.state, row.joined) == (
            "Bonnet with a serpentine brim",
            "Christening of Ivy",
            "Hester Vane",
            "in work",
            False,
        )
        assert (row.planned_ms, row.left_ms, row.start_by) == expected
        assert row.next_step == NextStep(hem_id, "mark", "cm", 652, 125, "Face edge", "Brim", section_id)
        assert (row.hands, row.on_shelf) == (("Wren Hallam",), True)
        assert 0 < row.done_fraction < 1
        assert one_garment(db, row.id) == row
        assert one_garment(db, 999) is None


def test_what_must_be_begun_first_comes_first_page_by_page(database: Database) -> None:
    days = [date(2027, 5, 1) + timedelta(days=7 * (number % 4)) for number in range(7)]
    with database.writing() as db:
        made = _garments(db, days)
    with database.reading() as db:
        seen: list[int] = []
        after, more = None, True
        while more:
            rows, more = open_garments(db, Wanted(), after, limit=3)
            seen += [row.id for row in rows]
            after = After(rows[-1].start_by, rows[-1].id)
        assert seen == [garment for _, garment in sorted(zip(days, made, strict=True))]
        assert [row.id for row in open_garments(db, Wanted(), limit=None)[0]] == seen


def test_many_rows_take_no_more_queries_than_one(database: Database) -> None:
    with database.writing() as db:
        _garments(db, [date(2027, 5, 1)])
    counted = []
    for _ in range(2):
        with _counted_queries(database) as said, database.reading() as db:
            open_garments(db, Wanted(seen_by=None))
        counted.append(len(said))
        with database.writing() as db:
            _garments(db, [date(2027, 5, 1) + timedelta(days=day) for day in range(12)])
    assert counted == [2, 2]


def test_a_stitcher_sees_what_is_in_her_hands(database: Database) -> None:
    with database.writing() as db:
        first, second = _garments(db, [date(2027, 5, 1), date(2027, 6, 1)])
        wren, ida = stitcher_id(db, STITCHER), stitcher_id(db, SECOND)
        give(db, person(db, OWNER), Giving(second, wren), START)
    with database.reading() as db:
        assert [row.id for row in open_garments(db, Wanted(seen_by=wren))[0]] == [second]
        assert open_garments(db, Wanted(seen_by=ida)) == ([], False)
        assert is_seen_by(db, second, wren)
        assert not is_seen_by(db, first, wren)
        assert not is_seen_by(db, first, None)


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (Wanted(held_by=SHELF), {"Robe d'Élodie"}),
        (Wanted(words="ROBE"), {"Robe d'Élodie"}),
        (Wanted(words="christening of ivy"), {"Bib with three bands", "Robe d'Élodie"}),
        (Wanted(words="hester"), set[str]()),
        (Wanted(words="hester", clients=True), {"Bib with three bands", "Robe d'Élodie"}),
        (Wanted(words="%"), set[str]()),
        (Wanted(words="_ib"), set[str]()),
        (Wanted(words=" Élodie"), {"Robe d'Élodie"}),
        (Wanted(operation="wash"), {"Bib with three bands"}),
        (Wanted(operation="cut_block"), {"Robe d'Élodie"}),
        (Wanted(operation="clip"), set[str]()),
        (Wanted(states=("planned",)), {"Robe d'Élodie"}),
        (Wanted(states=("finished",)), set[str]()),
    ],
    ids=str,
)
def test_lists_are_searched_and_sifted(database: Database, wanted: Wanted, found: set[str]) -> None:
    with database.writing() as db:
        bib, shirt = _garments(db, [date(2027, 5, 1), date(2027, 6, 1)])
        db.get_one(Garment, shirt).name = "Robe d'Élodie"
        give(db, person(db, OWNER), Giving(bib, stitcher_id(db, STITCHER)), START)
        count(db, person(db, OWNER), step(db, bib, "cut_block"), 1)
    with database.reading() as db:
        assert {row.name for row in open_garments(db, wanted)[0]} == found


def test_garments_are_sifted_by_whose_hands(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        bib, _ = _garments(db, [date(2027, 5, 1), date(2027, 6, 1)])
        wren = stitcher_id(db, STITCHER)
        give(db, person(db, OWNER), Giving(bib, wren), START)
    with sqlite_database.reading() as db:
        assert [row.id for row in open_garments(db, Wanted(held_by=wren))[0]] == [bib]


def test_the_operations_waited_for_are_offered_once_each(database: Database) -> None:
    with database.writing() as db:
        first, *_ = _garments(db, [date(2027, 5, 1), date(2027, 6, 1), date(2027, 7, 1)])
        count(db, person(db, OWNER), step(db, first, "cut_block"), 1)
    with database.reading() as db:
        assert next_operations(db, Wanted()) == ["cut_block", "wash"]
        assert next_operations(db, Wanted(words="nothing like it")) == []


@pytest.mark.parametrize("state", ["finished", "delivered", "called off"])
def test_what_is_over_is_listed_latest_first_page_by_page(database: Database, state: str) -> None:
    with database.writing() as db:
        made = _garments(db, [date(2027, 5, 1)] * 5)
        for age, garment_id in enumerate(made):
            _end(db, garment_id, state, age % 3)
    with database.reading() as db:
        first, more = garments_over(db, Wanted(states=(state,)), limit=3)
        assert more
        assert first[-1].over_at is not None
        rest, more = garments_over(db, Wanted(states=(state,)), After(first[-1].over_at, first[-1].id), limit=3)
        assert not more
        assert [row.id for row in (*first, *rest)] == [made[at] for at in (3, 0, 4, 1, 2)]
        assert open_garments(db, Wanted()) == ([], False)


def _end(db: Writing, garment_id: int, state: str, days_ago: int) -> None:
    """Bring a garment to its end by hand: its work is of no account here."""
    at, who = START - timedelta(days=days_ago), person(db, OWNER).id
    if state == "called off":
        standing.call_off(db, garment_id, "moved away", who, at)
        return
    garment = db.get_one(Garment, garment_id)
    garment.state, garment.finished_at = "finished", at
    db.flush()
    if state == "delivered":
        standing.deliver(db, garment_id, who, START)


def test_the_parts_of_a_garment_come_in_their_order(database: Database) -> None:
    with database.writing() as db:
        garment_id = number(a_garment(db, "bonnet"))
        a_garment(db, "bib")
        crown = step(db, garment_id, "cut_block", nth=1).panel_id
        assert crown is not None
        give(db, person(db, OWNER), Giving(garment_id, stitcher_id(db, STITCHER), frozenset({crown})), START)
    with database.reading() as db:
        parts = parts_of(db, garment_id)
        assert [panel.key for panel in parts.panels] == ["brim", "crown"]
        assert parts.holders == {crown: "Wren Hallam"}
        assert [section.key for section in parts.sections_on(parts.panels[0])] == [
            "brim.hem",
            "brim.serpentine",
            "brim.ladder",
        ]
        assert [section.key for section in parts.joined_sections] == ["crown_seam", "lace", "neck", "ties"]
        assert [row.operation for row in parts.own_steps(parts.panels[1])] == [
            "cut_block",
            "wash",
            "press",
            "trace",
            "retrace",
            "cut_out",
        ]
        assert [row.operation for row in parts.steps_of(parts.joined_sections[2])] == [
            "cut_bias",
            "stitch_bias",
            "whip_bias",
        ]
