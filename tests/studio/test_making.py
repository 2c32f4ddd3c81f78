"""A design made on chosen cloths becomes a garment in the records, on both kinds of database."""

import pytest
from sqlmodel import col, select

from service.errors import Conflict, NotFound, Unreadable
from service.reckoning.carry import plan_garment
from service.reckoning.design_text import read_design
from service.reckoning.designs import ClothCounts
from service.records.db import Database, Writing
from service.records.tables import ClothReading, Commission, Garment, Panel, Section, Step
from service.studio.making import MakingAsk, make_garment
from service.studio.places import read_outline, read_places
from tests.building import a_cloth, a_commission, a_design, a_garment
from tests.serving import START


def _ask(db: Writing, state: str = "agreed") -> MakingAsk:
    commission, design, cloth = a_commission(db, state=state), a_design(db), a_cloth(db)
    assert commission.id is not None
    assert design.id is not None
    assert cloth.id is not None
    return MakingAsk(commission.id, design.id, {"gown": cloth.id, "binding": cloth.id})


def test_a_garment_stands_with_every_panel_section_and_step_of_its_plan(database: Database) -> None:
    with database.writing() as db:
        garment = a_garment(db)
        plan = plan_garment(
            read_design(garment.document), {"gown": ClothCounts(20, 19), "binding": ClothCounts(20, 19)}
        )
        panels = db.exec(select(Panel).where(Panel.garment_id == garment.id).order_by(col(Panel.position))).all()
        assert [panel.key for panel in panels] == [panel.key for panel in plan.panels]
        assert read_outline(panels[0].outline)[0] == pytest.approx(plan.panels[0].outline[0])
        sections = db.exec(
            select(Section).where(Section.garment_id == garment.id).order_by(col(Section.position))
        ).all()
        assert [(row.key, row.standing_threads, row.bundles) for row in sections] == [
            (section.key, section.after.standing_threads, section.after.bundles) for section in plan.sections
        ]
        assert [spot.panel for spot in read_places(sections[0].places)] == list(plan.sections[0].panels)
        steps = db.exec(select(Step).where(Step.garment_id == garment.id).order_by(col(Step.position))).all()
        assert [step.operation for step in steps[:4]] == ["cut_block", "wash", "press", "trace"]
        assert len(steps) == sum(len(section.steps) for section in plan.sections) + 6 * len(plan.panels)


def test_the_summary_is_the_plan_while_nothing_is_done(database: Database) -> None:
    with database.writing() as db:
        garment = a_garment(db)
        plan = plan_garment(
            read_design(garment.document), {"gown": ClothCounts(20, 19), "binding": ClothCounts(20, 19)}
        )
        assert garment.planned_ms == garment.left_ms == pytest.approx(plan.seconds_after * 1000, rel=1e-4)
        first = db.exec(select(Step).where(Step.garment_id == garment.id, Step.position == 0)).one()
        assert garment.next_step_id == first.id
        assert garment.start_by < garment.wanted_on


def test_a_second_garment_of_the_same_design_has_a_name_of_its_own(database: Database) -> None:
    with database.writing() as db:
        ask = _ask(db)
        first, second = make_garment(db, ask, START), make_garment(db, ask, START)
        assert second.name == f"{first.name} 2"


@pytest.mark.parametrize("state", ["closed", "called off"])
def test_nothing_is_made_for_a_commission_that_is_over(database: Database, state: str) -> None:
    with database.writing() as db, pytest.raises(Conflict, match=state):
        make_garment(db, _ask(db, state), START)


def test_a_cloth_without_counts_is_not_planned_on(database: Database) -> None:
    with database.writing() as db:
        ask = _ask(db)
        bare = a_cloth(db, "Uncounted")
        for reading in db.exec(select(ClothReading).where(ClothReading.cloth_id == bare.id)):
            db.delete(reading)
        db.flush()
        assert bare.id is not None
        with pytest.raises(Unreadable, match="Count this cloth"):
            make_garment(db, MakingAsk(ask.commission_id, ask.design_id, {"gown": bare.id, "binding": bare.id}), START)


def test_a_cloth_is_wanted_for_every_role(database: Database) -> None:
    with database.writing() as db:
        ask = _ask(db)
        with pytest.raises(Unreadable, match=r"cloth\.binding"):
            make_garment(db, MakingAsk(ask.commission_id, ask.design_id, {"gown": ask.cloths["gown"]}), START)


def test_an_unknown_commission_is_refused_and_nothing_is_kept(database: Database) -> None:
    with database.writing() as db:
        ask = _ask(db)
        with pytest.raises(NotFound):
            make_garment(db, MakingAsk(999, ask.design_id, ask.cloths), START)
        assert db.exec(select(Garment)).all() == []
        assert len(db.exec(select(Commission)).all()) == 1
