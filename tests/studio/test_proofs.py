"""What always holds is proved on a busy studio, and seen at once when a record is broken by hand."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlmodel import select, text

from service.records.db import Database, Writing, open_database
from service.records.tables import Section
from service.studio import standing
from service.studio.event_proofs import CHAINED
from service.studio.proofs import EVERY, RECKONED, Report, prove
from service.studio.quote_proofs import PROMISED
from service.studio.recount import Recount, recount_section
from service.studio.statements import STATEMENTS
from tests.building import a_garment
from tests.counting import count, number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, SECOND, START, STITCHER


def _busy(db: Writing) -> None:
    """Garments 1 to 5: just planned; half done with every kind of count; joined; delivered; called off."""
    owner = person(db, OWNER)
    a_garment(db, "handkerchief")
    half = number(a_garment(db, "bib"))
    give(db, owner, Giving(half, stitcher_id(db, STITCHER)), START)
    work_on(db, owner, half, lambda row: row.operation == "clip")
    clip, knots = step(db, half, "clip"), step(db, half, "ladder_knot", "bib.middle")
    count(db, owner, clip, 22, more_on_cloth=True)
    count(db, owner, step(db, half, "withdraw"), 2)
    count(db, owner, clip, 1, kind="counter")
    count(db, owner, knots, 30, overrule="worked on the sampler first")
    count(db, owner, knots, 4, kind="unpick")
    ladder = db.exec(select(Section).where(Section.key == "bib.upper")).one()
    recount_section(db, owner, number(ladder), Recount("counted again", standing_threads=312), START)
    count(db, owner, step(db, half, "cut_block"), 1, kind="unpick", overrule="scorched: cut again")
    count(db, owner, step(db, half, "cut_block"), 1)
    joined = number(a_garment(db, "bonnet"))
    give(db, owner, Giving(joined, stitcher_id(db, SECOND)), START)
    work_on(db, owner, joined, lambda row: row.operation == "cut_bias")
    delivered = number(a_garment(db, "bonnet"))
    work_on(db, owner, delivered, lambda _: False)
    standing.finish(db, delivered, owner.id, START)
    standing.deliver(db, delivered, owner.id, START)
    standing.call_off(db, number(a_garment(db, "bib")), "The family moved away", owner.id, START)


def test_everything_holds_in_a_busy_studio(database: Database) -> None:
    with database.writing() as db:
        _busy(db)
    with database.reading() as db:
        assert prove(db) == Report(len(EVERY) + len(RECKONED) + len(PROMISED) + len(CHAINED), ())


def test_everything_holds_in_an_empty_studio(database: Database) -> None:
    with database.reading() as db:
        assert prove(db).faults == ()


BROKEN = [
    ("a step's done amount", "update step set done_tenths = done_tenths - 10 where garment_id = 2 and operation = 'wash'"),
    ("no more of a step is done", "update step set quantity_tenths = 0 where garment_id = 2 and operation = 'wash'"),
    ("a tally belongs", "update tally set garment_id = 1 where id = 1"),
    ("a counter that names", "update tally set counters_id = 1 where kind = 'counter'"),
    ("whoever passed over", "update tally set reason = ' ' where id = (select min(id) from tally where overruled)"),
    ("whoever passed over", "update event set action = 'seen' where action = 'overruled the order of work'"),
    ("cloth on hand", "update cloth set on_hand_um = on_hand_um + 1 where id = 1"),
    ("a supply on hand", "insert into supply (name, kind, unit, on_hand_thousandths, notes, put_away, created_at) values ('Lace', 'lace', 'm', 1, '', 0, '2026-09-01')"),
    ("a panel has used", "delete from cloth_use where panel_id = 2"),
    ("a step's panel and section", "update step set panel_id = 2 where id = 1"),
    ("the steps of a garment stand", "update step set position = 1 where garment_id = 1 and position = 0"),
    ("mirrored sections", "update section set depth_choice = 'keep_threads' where key = 'square.right'"),
    ("a garment is wanted", "update garment set wanted_on = '2028-01-01' where id = 4"),
    ("a garment's state agrees", "update garment set finished_at = '2026-09-01' where id = 1"),
    ("a garment's state agrees", "update garment set delivered_at = null where id = 4"),
    ("a garment's state agrees", "update garment set called_off_at = null where id = 5"),
    ("nothing is done on a garment", "update garment set state = 'planned' where id = 2"),
    ("every step of a finished", "update garment set state = 'finished', finished_at = '2026-09-01' where id = 3"),
    ("the panels of a joined", "update panel set holder_id = 1 where garment_id = 3 and position = 0"),
    ("the panels of a joined", "update step set done_tenths = 0 where garment_id = 3 and operation = 'cut_out'"),
    ("panels all cut out", "update garment set joined_at = null, holder_id = null where id = 3"),
    ("a garment has one holder", "update garment set holder_id = 1 where id = 2"),
    ("a garment's summary", "update garment set left_ms = left_ms - 1 where id = 2"),
    ("a garment's summary", "update garment set next_step_id = null where id = 1"),
    ("an open garment must be begun", "update garment set start_by = '2026-01-01' where id = 1"),
    ("no step is further", "update step set done_tenths = 10 where garment_id = 1 and operation = 'clip'"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("says", "breaking"), BROKEN, ids=[f"{says}: {number}" for number, (says, _) in enumerate(BROKEN)]
)
def test_a_record_broken_by_hand_is_seen(busy: Database, says: str, breaking: str) -> None:
    with busy.writing() as db:
        db.connection().execute(text("PRAGMA ignore_check_constraints=ON"))
        db.connection().execute(text("drop trigger event_not_altered"))
        assert db.connection().execute(text(breaking)).rowcount > 0
    with busy.reading() as db:
        assert any(fault.startswith(f"It does not hold that {says}") for fault in prove(db).faults)


def test_every_statement_can_fail() -> None:
    said = [*(statement.says for statement in STATEMENTS), *RECKONED]
    assert [one for one in said if not any(one.startswith(says) for says, _ in BROKEN)] == []


@pytest.fixture(scope="session")
def busy_template(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A busy studio on SQLite, made once and copied for each test."""
    path = tmp_path_factory.mktemp("busy") / "studio.sqlite"
    shutil.copyfile(sqlite_template, path)
    database = open_database(f"sqlite:///{path}")
    with database.writing() as db:
        _busy(db)
    database.close()
    return path


@pytest.fixture
def busy(busy_template: Path, tmp_path: Path) -> Iterator[Database]:
    """A busy studio on SQLite, whose checks can be switched off."""
    path = tmp_path / "studio.sqlite"
    shutil.copyfile(busy_template, path)
    database = open_database(f"sqlite:///{path}")
    yield database
    database.close()
