"""The cloth shelf: readings, counts, what came and what went, swatches, on both databases."""

import json
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from sqlmodel import col, select

from service.errors import NotAllowed, NotFound, Unreadable
from service.reckoning.asked import Wrong
from service.reckoning.designs import ClothCounts
from service.records.db import Database, Reading, Writing
from service.records.queries.cloth import cloths_by_name, planned_on, readings_that_count, uses_of
from service.records.tables import Account, Cloth, ClothReading, ClothUse, Event
from service.studio import cloth as shelf
from service.studio.cloth import (
    ClothFacts,
    Counting,
    CountsNow,
    PlaceRead,
    add_cloth,
    add_readings,
    change_cloth,
    counts_have_moved,
    current_counts,
    set_reading_aside,
)
from service.studio.cloth_lengths import Measured, Moved, correct_length, move_cloth
from service.studio.cloth_swatches import SwatchLength, Washing, expected_after, keep_swatch
from service.studio.proofs import prove
from service.studio.sign_in import Person
from tests.building import a_cloth, a_garment
from tests.serving import OWNER, START, STITCHER

LINEN = ClothFacts("Fine linen", "linen", 1_500_000)
LATER = START + timedelta(days=30)
METRE = 1_000_000


def the(db: Reading | Writing, email: str = OWNER) -> Person:
    account = db.exec(select(Account).where(Account.email == email)).one()
    assert account.id is not None
    return Person(account.id, account.name, account.email, account.role, account.stitcher_id)


def linen(database: Database, on_hand_um: int = 0) -> int:
    with database.writing() as db:
        cloth = add_cloth(db, the(db), LINEN, on_hand_um, START)
        assert cloth.id is not None
        return cloth.id


def read(*threads: int, system: str = "warp", over_um: int = 50_000) -> tuple[PlaceRead, ...]:
    return tuple(PlaceRead(system, count, over_um, field=f"{system}.{at}") for at, count in enumerate(threads))


def per_cm(database: Database, cloth_id: int) -> tuple[float | None, float | None]:
    with database.reading() as db:
        now = current_counts(db, cloth_id)
    return now.warp.threads_per_cm if now.warp else None, now.weft.threads_per_cm if now.weft else None


def on_hand(database: Database, cloth_id: int) -> int:
    with database.reading() as db:
        assert prove(db).faults == ()
        return db.get_one(Cloth, cloth_id).on_hand_um


def test_counts_are_the_mean_of_the_places_warp_and_weft_apart(database: Database) -> None:
    cloth_id = linen(database)
    with database.writing() as db:
        add_readings(db, the(db), cloth_id, Counting((*read(100, 104), *read(95, system="weft"))), START)
    assert per_cm(database, cloth_id) == pytest.approx((20.4, 19.0))


def test_a_cloth_nobody_counted_has_no_counts(database: Database) -> None:
    assert per_cm(database, linen(database)) == (None, None)


def test_counts_of_no_cloth_are_refused(database: Database) -> None:
    with database.reading() as db, pytest.raises(NotFound, match="There is no such cloth"):
        current_counts(db, 999)


def test_a_recount_sets_the_earlier_readings_aside_and_keeps_who_when_and_why(database: Database) -> None:
    cloth_id = linen(database)
    with database.writing() as db:
        places = (*read(100, 100), *read(95, system="weft"))
        add_readings(db, the(db, STITCHER), cloth_id, Counting(places), START)
        add_readings(db, the(db), cloth_id, Counting(read(103), instead=True, reason="washed"), LATER)
    assert per_cm(database, cloth_id) == pytest.approx((20.6, 19.0))
    with database.reading() as db:
        rows = db.exec(select(ClothReading).order_by(col(ClothReading.id))).all()
        assert [row.set_aside for row in rows] == [True, True, False, False]
        event = db.exec(select(Event).where(Event.action == "counted again", Event.object_id == cloth_id)).one()
        assert (event.action, event.reason, event.at, event.account_id) == (
            "counted again",
            "washed",
            LATER,
            the(db).id,
        )
        assert json.loads(event.before) == {"warp": 20.0, "weft": 19.0}
        assert json.loads(event.after) == {"warp": pytest.approx(20.6), "weft": 19.0}


@pytest.mark.parametrize(
    ("counting", "field", "sentence"),
    [
        pytest.param(Counting(()), "", "Enter the threads you counted", id="nothing counted"),
        pytest.param(Counting(read(100), instead=True), "reason", "Say why the earlier", id="instead, for no reason"),
        pytest.param(
            Counting(read(100, 99_000)),
            "warp.1",
            "99000 threads over 50 mm cannot be cloth: the count must be at most 1000",
            id="more threads than cloth can have",
        ),
    ],
)
def test_readings_that_cannot_be_are_refused_at_their_field(
    database: Database, counting: Counting, field: str, sentence: str
) -> None:
    cloth_id = linen(database)
    with database.writing() as db, pytest.raises(Unreadable) as refused:
        add_readings(db, the(db), cloth_id, counting, START)
    assert list(refused.value.faults) == [field]
    assert sentence in refused.value.faults[field]
    assert per_cm(database, cloth_id) == (None, None)


def test_a_stitcher_adds_readings_but_sets_aside_only_her_own(database: Database) -> None:
    cloth_id = linen(database)
    with database.writing() as db:
        add_readings(db, the(db), cloth_id, Counting(read(100)), START)
        add_readings(db, the(db, STITCHER), cloth_id, Counting(read(110)), START)
        first, hers = db.exec(select(ClothReading.id).order_by(col(ClothReading.id))).all()
        assert first is not None
        assert hers is not None
        with pytest.raises(NotAllowed, match="Only the owner sets all earlier readings aside"):
            add_readings(db, the(db, STITCHER), cloth_id, Counting(read(103), instead=True, reason="washed"), LATER)
        with pytest.raises(NotAllowed, match="whoever counted it"):
            set_reading_aside(db, the(db, STITCHER), first, aside=True, at=LATER)
        assert set_reading_aside(db, the(db, STITCHER), hers, aside=True, at=LATER) == cloth_id
    assert per_cm(database, cloth_id)[0] == pytest.approx(20.0)
    with database.writing() as db:
        set_reading_aside(db, the(db), hers, aside=False, at=LATER)
        set_reading_aside(db, the(db), hers, aside=False, at=LATER)
    assert per_cm(database, cloth_id)[0] == pytest.approx(21.0)
    with database.reading() as db:
        told = select(Event.action).where(Event.object_id == cloth_id, col(Event.action).startswith("reading"))
        actions = db.exec(told.order_by(col(Event.id))).all()
    assert actions == ["reading set aside", "reading counts again"]


def test_no_reading_is_set_aside_where_there_is_none(database: Database) -> None:
    with database.writing() as db, pytest.raises(NotFound, match="There is no such reading"):
        set_reading_aside(db, the(db), 999, aside=True, at=START)


def test_a_plan_on_a_cloth_not_counted_again_has_not_moved() -> None:
    assert counts_have_moved(ClothCounts(20, 19), CountsNow(None, None)) is None


def test_a_garment_planned_on_older_counts_is_told_of_the_new_ones(database: Database) -> None:
    with database.writing() as db:
        garment = a_garment(db)
        cloth = db.exec(select(Cloth)).one()
        assert cloth.id is not None
        places = (*read(206, over_um=100_000), *read(194, system="weft", over_um=100_000))
        add_readings(db, the(db), cloth.id, Counting(places, instead=True, reason="washed"), LATER)
        name, garment_id, cloth_id = garment.name, garment.id, cloth.id
    with database.reading() as db:
        (planned,) = planned_on(db, cloth_id)
        assert (planned.garment_id, planned.name) == (garment_id, name)
        moved = counts_have_moved(ClothCounts(planned.warp_per_cm, planned.weft_per_cm), current_counts(db, cloth_id))
        assert planned_on(db, cloth_id, stitcher_id=the(db, STITCHER).stitcher_id) == []
    assert moved is not None
    assert "Planned on 20 × 19 threads per cm (warp × weft); the cloth now counts 20.6 × 19.4 per cm." in moved.text


def test_a_cloth_is_noticed_for_its_counting_its_counts_and_its_weight(database: Database) -> None:
    with database.writing() as db:
        cloth = a_cloth(db, warp=200, weft=180)
        cloth.weight_mg_per_m2 = 70_000
        db.flush()
        assert cloth.id is not None
        rows = readings_that_count(db, [cloth.id])[cloth.id]
        now = current_counts(db, cloth.id)
        assert [finding.code for finding in shelf.findings_about(cloth, now)] == ["not_square", "burn_test"]
        assert shelf.findings_of_counting(rows) == ()
        few = shelf.findings_of_counting(rows[:2])
        assert [finding.text[:26] for finding in few] == ["Warp: Counted at 2 places:"]


def test_cloth_that_came_and_went_is_told_by_its_uses(database: Database) -> None:
    cloth_id = linen(database, 3 * METRE)
    with database.writing() as db:
        move_cloth(db, the(db), cloth_id, Moved("bought", 2 * METRE), START)
        move_cloth(db, the(db), cloth_id, Moved("cut", METRE, "a sampler"), START)
        move_cloth(db, the(db), cloth_id, Moved("given back", METRE // 2), START)
        correct_length(db, the(db), cloth_id, Measured(4 * METRE, "the end was frayed"), LATER)
    assert on_hand(database, cloth_id) == 4 * METRE
    with database.reading() as db:
        kept = [(row.use.kind, row.use.change_um, row.use.reason) for row in uses_of(db, cloth_id)]
    assert kept == [
        ("corrected", -METRE // 2, "the end was frayed"),
        ("given back", METRE // 2, ""),
        ("cut", -METRE, "a sampler"),
        ("bought", 2 * METRE, ""),
        ("bought", 3 * METRE, "when it was first written down"),
    ]


@pytest.mark.parametrize(
    ("moved", "field"),
    [
        pytest.param(Moved("cut", 3 * METRE + 1), "length", id="more than is on hand"),
        pytest.param(Moved("cut", METRE, garment_id=77), "garment", id="no such garment"),
        pytest.param(Moved("bought", 100_000 * METRE), "length", id="more than any shelf holds"),
    ],
)
def test_a_length_that_cannot_be_is_refused_and_nothing_changed(database: Database, moved: Moved, field: str) -> None:
    cloth_id = linen(database, 3 * METRE)
    with database.writing() as db, pytest.raises(Unreadable) as refused:
        move_cloth(db, the(db), cloth_id, moved, START)
    assert list(refused.value.faults) == [field]
    assert on_hand(database, cloth_id) == 3 * METRE


def test_measuring_what_the_book_says_already_changes_nothing(database: Database) -> None:
    cloth_id = linen(database, 3 * METRE)
    with database.writing() as db, pytest.raises(Unreadable, match="what the book says already"):
        correct_length(db, the(db), cloth_id, Measured(3 * METRE, "checked"), LATER)
    with database.writing() as db, pytest.raises(NotFound, match="There is no such cloth"):
        correct_length(db, the(db), 999, Measured(METRE, "checked"), LATER)


def test_six_cuts_at_once_never_take_more_than_is_on_hand(database: Database) -> None:
    cloth_id = linen(database, 4 * METRE)

    def cut() -> bool:
        with database.writing() as db:
            try:
                move_cloth(db, the(db), cloth_id, Moved("cut", METRE), START)
            except Unreadable:
                return False
        return True

    with ThreadPoolExecutor(6) as hands:
        done = [hand.result() for hand in [hands.submit(cut) for _ in range(6)]]
    assert sorted(done) == [False, False, True, True, True, True]
    assert on_hand(database, cloth_id) == 0


def test_a_correction_of_what_is_written_keeps_what_it_said_before(database: Database) -> None:
    cloth_id = linen(database)
    with database.writing() as db:
        change_cloth(db, the(db), cloth_id, LINEN, LATER)
        assert db.exec(select(Event).where(Event.action == "cloth corrected")).all() == []
        change_cloth(db, the(db), cloth_id, ClothFacts("Fine linen", "linen", 1_400_000, shrink_warp_bp=300), LATER)
        event = db.exec(select(Event).where(Event.action == "cloth corrected")).one()
        assert json.loads(event.before) == {"width_um": 1_500_000, "shrink_warp_bp": None}
        assert json.loads(event.after) == {"width_um": 1_400_000, "shrink_warp_bp": 300}


def test_a_swatch_tells_the_shrinkage_and_what_to_expect_of_the_counts(database: Database) -> None:
    cloth_id = linen(database)
    lengths = (
        SwatchLength("warp", 500_000, 470_000),
        SwatchLength("warp", 500_000, 474_000),
        SwatchLength("weft", 500_000, 490_000),
    )
    with database.writing() as db:
        test = keep_swatch(db, the(db), cloth_id, Washing(lengths, "at 60 °C, dried flat"), LATER)
        assert (test.warp_change_percent, test.weft_change_percent) == pytest.approx((-5.6, -2.0))
        cloth = db.get_one(Cloth, cloth_id)
        assert (cloth.shrink_warp_bp, cloth.shrink_weft_bp) == (560, 200)
        assert expected_after(current_counts(db, cloth_id), test) is None
        add_readings(db, the(db), cloth_id, Counting((*read(100), *read(95, system="weft"))), START)
        after = expected_after(current_counts(db, cloth_id), test)
    assert after is not None
    # The wefts' shrinking brings the warp threads together, and the other way about.
    assert (after.warp_per_cm, after.weft_per_cm) == pytest.approx((20 / 0.98, 19 / 0.944))


def test_a_swatch_with_no_length_along_the_weft_is_refused(database: Database) -> None:
    cloth_id = linen(database)
    with database.writing() as db, pytest.raises(Wrong) as refused:
        keep_swatch(db, the(db), cloth_id, Washing((SwatchLength("warp", 500_000, 470_000),)), LATER)
    assert refused.value.field == "weft_before_mm"
    with database.reading() as db:
        assert db.get_one(Cloth, cloth_id).shrink_warp_bp == 0


def test_the_shelf_is_found_page_by_page_and_none_is_told_twice(database: Database) -> None:
    with database.writing() as db:
        for number in range(120):
            facts = ClothFacts(("Lawn", "lawn", "Ägyptian lawn", "Batiste")[number % 4], "cotton", 900_000)
            add_cloth(db, the(db), facts, METRE, START)
    found: list[Cloth] = []
    with database.reading() as db:
        rows = cloths_by_name(db, "", put_away=False)
        while rows:
            found += rows[:50]
            rows = cloths_by_name(db, "", put_away=False, after=rows[49].id) if len(rows) > 50 else []
        assert len({cloth.id for cloth in found}) == len(found) == 120
        assert len(cloths_by_name(db, "LAWN", put_away=False)) == 51
        assert cloths_by_name(db, "lawn%", put_away=False) == []
        assert cloths_by_name(db, "", put_away=True) == []
        assert len(db.exec(select(ClothUse)).all()) == 120
