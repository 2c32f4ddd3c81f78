"""Counting on steps: sums, keys, refusals in their order, gates, more on the cloth, taking back and unpicking."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from sqlmodel import col, select

from service.errors import Conflict, NotAllowed, NotFound, Unreadable
from service.records.db import Database, Writing
from service.records.tables import Cloth, ClothUse, Event, Garment, Panel, Tally
from service.studio.log import StepNow, TallyAsk, add_tally, finish_step
from tests.counting import a_bib, ask, count, number, person, refused_unchanged, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, SECOND, START, STITCHER


def test_a_count_is_added_to_the_step_and_to_the_garments_summary(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        left_ms = db.get_one(Garment, garment_id).left_ms
        assert count(db, owner, knots, 41, minutes=Decimal("12.5")) == StepNow(
            number(knots), "ladder_knot", "knot", 160, 41
        )
        garment = db.get_one(Garment, garment_id)
        assert garment.left_ms == left_ms - 41 * knots.unit_ms
        assert (garment.state, garment.next_step_id) == ("in work", knots.id)
        tally = db.exec(select(Tally).where(Tally.step_id == knots.id)).one()
        assert (tally.kind, tally.counted_tenths, tally.seconds, tally.at) == ("work", 410, 750, START)


def test_the_same_key_counts_once_however_often_it_is_sent(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        said = ask(10, minutes=Decimal(5), at=START)
        first = add_tally(db, owner, number(knots), said, START)
        count(db, owner, knots, 7)
        again = add_tally(db, owner, number(knots), said, START + timedelta(days=1))
        assert (first.done, again.done) == (10, 17)


@pytest.mark.parametrize(
    "change", [{"counted": Decimal(11)}, {"minutes": Decimal(6)}, {"kind": "counter"}, {"reason": "why"}], ids=str
)
def test_a_key_used_before_with_something_else_isrefused_unchanged(
    sqlite_database: Database, change: dict[str, Any]
) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        said: dict[str, Any] = {"key": "mine", "counted": Decimal(10), "minutes": Decimal(5)}
        add_tally(db, owner, number(knots), TallyAsk(**said), START)
        refusal = refused_unchanged(db, OWNER, number(knots), TallyAsk(**(said | change)))
        assert (refusal.status, refusal.sentence) == (
            409,
            "That key was used for another count. Make a new key for each count.",
        )


def test_a_key_belongs_to_whoever_counted_and_to_the_step(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        give(db, owner, Giving(garment_id, stitcher_id(db, STITCHER)), START)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        said = TallyAsk(key="mine", counted=Decimal(1))
        add_tally(db, owner, number(step(db, garment_id, "ladder_knot")), said, START)
        for email, operation in ((STITCHER, "ladder_knot"), (OWNER, "secure")):
            assert refused_unchanged(db, email, number(step(db, garment_id, operation)), said).status == 409


def test_refusals_come_in_one_order(database: Database) -> None:
    """Unknown, then not in her hands, then what cannot be read, then the order of work, then the quantity."""
    with database.writing() as db:
        garment_id = a_bib(db)
        clip, block = step(db, garment_id, "clip"), step(db, garment_id, "cut_block")
        nonsense = {"counted": Decimal(-1), "kind": "work"}
        assert isinstance(refused_unchanged(db, STITCHER, 999_999, ask(1, **nonsense)), NotFound)
        assert isinstance(refused_unchanged(db, STITCHER, number(clip), ask(1, **nonsense)), NotAllowed)
        assert isinstance(refused_unchanged(db, OWNER, number(clip), ask(1, **nonsense)), Unreadable)
        gate = refused_unchanged(db, OWNER, number(clip), ask(1_000_000, more_on_cloth=True))
        assert gate.sentence == "Cut the block off the cloth before anything else on this panel."
        past = refused_unchanged(db, OWNER, number(block), ask(2))
        assert past.sentence == "This is done once for the panel, and it is done."
        assert gate.status == past.status == 409


@pytest.mark.parametrize(
    ("said", "field", "sentence"),
    [
        ({"counted": Decimal(0)}, "counted", "Count more than nothing, and at most 1,000,000."),
        ({"counted": Decimal(-3)}, "counted", "Count more than nothing, and at most 1,000,000."),
        ({"counted": Decimal(1_000_001)}, "counted", "Count more than nothing, and at most 1,000,000."),
        ({"counted": Decimal("NaN")}, "counted", "Count more than nothing, and at most 1,000,000."),
        ({"counted": Decimal("Infinity")}, "counted", "Count more than nothing, and at most 1,000,000."),
        ({"counted": Decimal("0.5")}, "counted", "Count whole threads."),
        ({"kind": "guess"}, "kind", "Say one of work, counter, unpick."),
        ({"key": ""}, "key", "A key has 1 to 100 characters."),
        ({"key": "k" * 101}, "key", "A key has 1 to 100 characters."),
        ({"minutes": Decimal(-1)}, "minutes", "Minutes run from 0 to 14,400."),
        ({"minutes": Decimal(14_401)}, "minutes", "Minutes run from 0 to 14,400."),
        ({"at": datetime(1999, 1, 1, tzinfo=UTC)}, "at", "That time is too far from now."),
        ({"at": START + timedelta(days=3)}, "at", "That time is too far from now."),
        ({"at": datetime.max.replace(tzinfo=UTC)}, "at", "That time is too far from now."),
        ({"counters_id": 999}, "counters_id", "Only a counter names an entry, and only one of work on this step."),
    ],
    ids=lambda value: str(value) if isinstance(value, dict) else "",
)
def test_what_cannot_be_read_is_told_at_its_field(
    sqlite_database: Database, said: dict[str, Any], field: str, sentence: str
) -> None:
    with sqlite_database.writing() as db:
        withdraw = step(db, a_bib(db), "withdraw")
        refusal = refused_unchanged(db, OWNER, number(withdraw), ask(1, **said))
        assert isinstance(refusal, Unreadable)
        assert refusal.faults == {field: sentence}


def test_lengths_are_counted_to_a_tenth_of_a_cm_and_no_finer(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "mark")
        mark = step(db, garment_id, "mark")
        assert count(db, owner, mark, "12.3").done == 12.3
        refusal = refused_unchanged(db, OWNER, number(mark), ask("1.25"))
        assert refusal.sentence == "counted: Count to a tenth at the finest."


@pytest.mark.parametrize(
    ("before", "operation", "section", "counted", "sentence"),
    [
        ("edge_stitch", "clip", "bib.upper", 1, "Clip only when the edge stitching is complete: 0 of 1.1 cm done."),
        ("clip", "withdraw", "bib.upper", 1, "Withdraw only threads that are clipped: 0 of 10 are clipped free."),
        ("withdraw", "ladder_knot", "bib.upper", 1, "Knot only when the withdrawing is complete: 0 of 10 threads done."),
        ("secure", "cut_out", "", 1, "Cut out only when every section of this panel is complete: Hem still wants its securing of the open ends, 0 of 0.6 cm done."),
        ("cut_out", "whip_bias", "neck", "0.1", "This belongs to the joined garment: cut out Bib first."),
    ],
)  # fmt: skip
def test_work_out_of_order_is_refused_with_the_reason(
    sqlite_database: Database, before: str, operation: str, section: str, counted: str, sentence: str
) -> None:
    with sqlite_database.writing() as db:
        garment_id = a_bib(db)
        work_on(db, person(db, OWNER), garment_id, lambda row: row.operation == before)
        refusal = refused_unchanged(db, OWNER, number(step(db, garment_id, operation, section)), ask(counted))
        assert (refusal.status, refusal.sentence) == (409, sentence)


def test_the_owner_passes_a_gate_with_a_written_reason_which_is_kept(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "edge_stitch")
        clip = step(db, garment_id, "clip")
        assert refused_unchanged(db, OWNER, number(clip), ask(4, overrule="  ")).status == 409
        count(db, owner, clip, 4, overrule="Stitched on the machine before.")
        tally = db.exec(select(Tally).where(Tally.step_id == clip.id)).one()
        event = db.exec(select(Event).where(Event.object_id == clip.id, Event.object_kind == "step")).one()
        assert (tally.overruled, tally.reason) == (True, "Stitched on the machine before.")
        assert (event.action, event.reason) == ("overruled the order of work", "Stitched on the machine before.")


def test_a_reason_where_nothing_was_passed_overrules_nothing(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        count(db, owner, step(db, garment_id, "cut_block"), 1, overrule="just in case")
        assert [tally.overruled for tally in db.exec(select(Tally))] == [False]
        assert db.exec(select(Event).where(Event.object_kind == "step")).all() == []


def test_a_stitcher_passes_no_gate(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        give(db, owner, Giving(garment_id, stitcher_id(db, STITCHER)), START)
        refusal = refused_unchanged(
            db, STITCHER, number(step(db, garment_id, "clip")), ask(1, overrule="I know better")
        )
        assert isinstance(refusal, NotAllowed)
        assert refusal.sentence == "Only the owner may pass over the order of work, with a written reason."


def test_a_stitcher_counts_only_what_is_in_her_hands(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        block = step(db, garment_id, "cut_block")
        give(db, owner, Giving(garment_id, stitcher_id(db, STITCHER)), START)
        refusal = refused_unchanged(db, SECOND, number(block), ask(1))
        assert (
            refusal.sentence
            == "This is not in your hands, so it cannot be counted by you. Ask the owner to give it to you."
        )
        assert count(db, person(db, STITCHER), block, 1).done == 1


def test_more_than_was_planned_is_asked_about_and_then_taken(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        knots = step(db, garment_id, "ladder_knot")
        count(db, owner, knots, 158)
        planned = db.get_one(Garment, garment_id).planned_ms
        asked = refused_unchanged(db, OWNER, number(knots), ask(4))
        assert (
            asked.sentence == "Only 2 of 160 were left to do. Did the cloth have more? Say so, or correct the number."
        )
        now = count(db, owner, knots, 4, more_on_cloth=True)
        assert (now.quantity, now.done) == (162, 162)
        assert db.get_one(Garment, garment_id).planned_ms == planned + 2 * knots.unit_ms
        event = db.exec(select(Event).where(Event.object_kind == "step")).one()
        assert (event.action, event.before, event.after) == ("more on the cloth", "160", "162")


def test_more_on_the_cloth_is_not_noted_while_the_plan_holds(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        assert count(db, owner, step(db, garment_id, "ladder_knot"), 160, more_on_cloth=True).quantity == 160
        assert db.exec(select(Event).where(Event.object_kind == "step")).all() == []


def test_more_threads_clipped_are_more_threads_to_withdraw(sqlite_database: Database) -> None:
    """The band has two stop lines, so two clips free one thread."""
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "clip")
        clip, withdraw = step(db, garment_id, "clip"), step(db, garment_id, "withdraw")
        count(db, owner, clip, 33, more_on_cloth=True)
        assert (clip.quantity_tenths, withdraw.quantity_tenths) == (330, 170)
        refusal = refused_unchanged(db, OWNER, number(withdraw), ask(17))
        assert refusal.sentence == "Withdraw only threads that are clipped: 16 of 17 are clipped free."
        count(db, owner, clip, 1, more_on_cloth=True)
        assert count(db, owner, withdraw, 17).done == 17


def test_a_panel_is_cut_out_once_whatever_the_cloth_had(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        block = step(db, garment_id, "cut_block")
        count(db, owner, block, 1)
        assert refused_unchanged(db, OWNER, number(block), ask(1, more_on_cloth=True)).status == 409


def _on_hand(db: Writing) -> int:
    return db.exec(select(Cloth.on_hand_um)).one()


def test_a_block_cut_uses_its_cloth_and_a_wrong_entry_gives_it_back(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        block, panel = step(db, garment_id, "cut_block"), db.exec(select(Panel)).one()
        count(db, owner, block, 1)
        assert _on_hand(db) == 4_000_000 - panel.cut_height_um
        count(db, owner, block, 1, kind="counter")
        assert _on_hand(db) == 4_000_000
        uses = db.exec(select(ClothUse).order_by(col(ClothUse.id))).all()
        assert [(use.kind, use.change_um, use.panel_id) for use in uses[1:]] == [
            ("cut", -panel.cut_height_um, panel.id),
            ("given back", panel.cut_height_um, panel.id),
        ]


def test_a_spoilt_block_is_not_on_the_bolt_again(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        block, panel = step(db, garment_id, "cut_block"), db.exec(select(Panel)).one()
        count(db, owner, block, 1)
        refusal = refused_unchanged(db, OWNER, number(block), ask(1, kind="unpick"))
        assert refusal.sentence == "A block that is cut off cannot be put back; only a wrong entry can be taken back."
        count(db, owner, block, 1, kind="unpick", overrule="A scorch mark: cut again.")
        count(db, owner, block, 1)
        assert _on_hand(db) == 4_000_000 - 2 * panel.cut_height_um


def test_no_block_is_cut_from_more_cloth_than_there_is(database: Database) -> None:
    with database.writing() as db:
        garment_id = a_bib(db)
        cloth = db.exec(select(Cloth)).one()
        cloth.on_hand_um = 100_000
        panel = db.exec(select(Panel)).one()
        db.flush()
        with pytest.raises(Conflict) as refused:
            count(db, person(db, OWNER), step(db, garment_id, "cut_block"), 1)
        assert refused.value.sentence == (
            f"Only 10 cm of Fine linen are on hand; this block takes {panel.cut_height_um / 10_000:g} cm. "
            "If it lies beside a block of this garment that is cut, give that length back first, on the page of its "
            "finishing; else write down what came in."
        )


def test_a_step_is_finished_by_counting_what_is_left(database: Database) -> None:
    with database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "mark")
        mark = step(db, garment_id, "mark")
        count(db, owner, mark, "12.3")
        assert finish_step(db, owner, number(mark), "end", Decimal(9), START).done == mark.quantity_tenths / 10
        assert finish_step(db, owner, number(mark), "end", Decimal(9), START).done == mark.quantity_tenths / 10
        assert len(db.exec(select(Tally).where(Tally.step_id == mark.id)).all()) == 2
        with pytest.raises(NotFound):
            finish_step(db, owner, 999_999, "none", None, START)
        with pytest.raises(NotAllowed):
            finish_step(db, person(db, STITCHER), number(mark), "not hers", None, START)


@pytest.mark.parametrize(
    ("state", "sentence"),
    [
        ("finished", "This garment is finished. Let the owner take it up again before anything is counted."),
        ("called off", "This garment is called off. Let the owner take it up again before anything is counted."),
        ("delivered", "This garment is delivered; nothing is counted on it any more."),
    ],
)
def test_nothing_is_counted_on_a_garment_that_is_over(sqlite_database: Database, state: str, sentence: str) -> None:
    with sqlite_database.writing() as db:
        garment_id = a_bib(db)
        db.get_one(Garment, garment_id).state = state
        db.flush()
        refusal = refused_unchanged(db, OWNER, number(step(db, garment_id, "cut_block")), ask(1))
        assert (refusal.status, refusal.sentence) == (409, sentence)


def test_the_time_claimed_is_kept_and_orders_nothing(sqlite_database: Database) -> None:
    with sqlite_database.writing() as db:
        garment_id, owner = a_bib(db), person(db, OWNER)
        block, wash = step(db, garment_id, "cut_block"), step(db, garment_id, "wash")
        count(db, owner, block, 1, at=START)
        earlier = START - timedelta(hours=3)
        add_tally(db, owner, number(wash), ask(1, at=earlier), START)
        tally = db.exec(select(Tally).where(Tally.step_id == wash.id)).one()
        assert (tally.at, tally.recorded_at) == (earlier, START)
