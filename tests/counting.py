"""Counting in tests: who counts, which step, working a garment through, and what every table holds."""

import itertools
from collections.abc import Callable
from datetime import datetime
from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy import Select
from sqlmodel import Session, SQLModel, col, select

from service.errors import Refusal
from service.records.db import Reading, Writing
from service.records.tables import Account, Section, Step
from service.studio.log import StepNow, TallyAsk, add_tally
from service.studio.sign_in import Person
from tests.building import a_garment
from tests.serving import START

KEYS = itertools.count(1)


def person(db: Reading | Writing, email: str) -> Person:
    """Who signs in with that e-mail."""
    account = db.exec(select(Account).where(Account.email == email)).one()
    assert account.id is not None
    return Person(account.id, account.name, account.email, account.role, account.stitcher_id)


def stitcher_id(db: Reading | Writing, email: str) -> int:
    """The stitcher who signs in with that e-mail."""
    found = person(db, email).stitcher_id
    assert found is not None
    return found


def step(db: Reading | Writing, garment_id: int, operation: str, section: str = "", nth: int = 0) -> Step:
    """The nth step of that operation, of the section with that key if one is named."""
    found: Any = select(Step).where(Step.garment_id == garment_id, Step.operation == operation)
    if section:
        found = found.join(Section, col(Step.section_id) == Section.id).where(Section.key == section)
    row: Step = db.exec(found.order_by(col(Step.position)).execution_options(populate_existing=True)).all()[nth]
    return row


def number(row: Any) -> int:
    """The number of a kept record."""
    assert row.id is not None
    return int(row.id)


def ask(counted: float | str, /, **said: Any) -> TallyAsk:
    """A count with a key of its own."""
    return TallyAsk(**{"key": f"key {next(KEYS)}", "counted": Decimal(str(counted)), **said})


def count(db: Writing, who: Person, at_step: Step, counted: float | str, at: datetime = START, **said: Any) -> StepNow:
    """Count so much on a step."""
    return add_tally(db, who, number(at_step), ask(counted, **said), at)


def work_on(db: Writing, who: Person, garment_id: int, until: Callable[[Step], bool]) -> None:
    """Do every step whole, in the order of the garment, up to the first for which `until` holds."""
    for row in db.exec(select(Step).where(Step.garment_id == garment_id).order_by(col(Step.position))).all():
        if until(row):
            return
        left = row.quantity_tenths - row.done_tenths
        if left:
            count(db, who, row, left / 10)


def all_rows(db: Session) -> dict[str, list[tuple[Any, ...]]]:
    """What every table holds."""
    db.flush()
    found: dict[str, list[tuple[Any, ...]]] = {}
    for table in SQLModel.metadata.sorted_tables:
        everything: Select[Any] = table.select()
        found[table.name] = sorted((tuple(row) for row in db.execute(everything)), key=repr)
    return found


def a_bib(db: Writing) -> int:
    """The number of a bib being made."""
    return number(a_garment(db, "bib"))


def refused_unchanged(db: Writing, email: str, step_id: int, asked: TallyAsk) -> Refusal:
    """The refusal, after seeing that it left nothing changed."""
    before = all_rows(db)
    with pytest.raises(Refusal) as refused:
        add_tally(db, person(db, email), step_id, asked, START)
    assert all_rows(db) == before
    return refused.value
