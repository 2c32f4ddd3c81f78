"""What people typed is shown as they typed it, in German too, where it reads like a sentence of ours."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from time import perf_counter

import pytest
from sqlmodel import SQLModel, update

from service.languages import saying
from service.languages.catalogues import sentences_of
from service.languages.spoken import IN_CM
from service.records.db import Database
from service.records.tables import Studio
from tests.filled import demo_copied
from tests.language.walk import Words, addresses, asking
from tests.web.asking import make_ready

TYPED = {
    "broken_sharp": ("note", "found_note"),
    "client": ("notes",),
    "client_wish": ("words", "answer"),
    "cloth": ("notes",),
    "cloth_swatch": ("washed",),
    "cloth_use": ("reason",),
    "commission": ("title", "occasion", "notes"),
    "finishing_check": ("note",),
    "handover": ("tension", "odd", "notes", "reason"),
    "handover_material": ("what", "amount"),
    "handover_place": ("thread", "needle"),
    "payment": ("how", "note"),
    "quote": ("includes", "leaves_out", "note"),
    "risk_considered": ("risk", "answer"),
    "share_link": ("label",),
    "stitcher_away": ("note",),
    "stitcher_payment": ("note",),
    "supply": ("notes",),
    "supply_use": ("reason",),
}
OURS = {f"{table}.{column}": f"Gesagt {table} {column}" for table, columns in TYPED.items() for column in columns}
"""What stands in each column: a message of a catalogue, for this test alone, with its translation."""


@pytest.fixture
def _in_the_catalogue(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    known = {**sentences_of("de"), **{f"Typed {key}": german for key, german in OURS.items()}}
    monkeypatch.setattr(saying, "sentences_of", lambda _: known)
    for kept in (saying.sayings, saying.said_in, saying.drawn_in):
        kept.cache_clear()
    yield
    for kept in (saying.sayings, saying.said_in, saying.drawn_in):
        kept.cache_clear()


@pytest.fixture
def demo(tmp_path_factory: pytest.TempPathFactory, tmp_path: Path) -> Iterator[Database]:
    """The demo in German, in which every such column holds a sentence that the catalogue knows."""
    with demo_copied(tmp_path_factory.getbasetemp(), tmp_path) as database:
        with database.writing() as db:
            db.get_one(Studio, 1).language = "de"
            wishes = SQLModel.metadata.tables["client_wish"]
            db.execute(update(wishes).values(answer="Yes", answered_at=datetime.now(UTC)))
            for name, columns in TYPED.items():
                table = SQLModel.metadata.tables[name]
                for column in columns:
                    written = update(table).where(table.c[column] != "").values({column: f"Typed {name}.{column}"})
                    db.execute(written)
        yield database


@pytest.mark.usefixtures("_in_the_catalogue")
def test_what_was_typed_is_never_translated_where_it_stands_by_itself(demo: Database) -> None:
    with demo.writing() as db:
        here = make_ready(db)
    assert saying.said_in("de", IN_CM, "Typed client_wish.answer") == OURS["client_wish.answer"]
    altered, shown = set[str](), set[str]()
    with asking(demo, here) as who:
        for address in addresses(demo, here):
            answer = who(address).get(address)
            if answer.headers.get("content-type", "").startswith("text/html"):
                words = "\n".join(Words(answer.text).found)
                altered |= {f"{key} on {address}" for key, german in OURS.items() if german in words}
                shown |= {key for key in OURS if f"Typed {key}" in words}
    assert altered == set()
    assert {"client_wish.answer", "commission.title", "cloth_swatch.washed", "payment.how", "quote.leaves_out"} <= shown


@pytest.mark.parametrize("text", ["x: y: ", "Aa. Bb. ", "a of b, c; "])
def test_a_long_text_that_somebody_typed_is_looked_through_in_no_time(text: str) -> None:
    known = saying.sayings("de")
    saying.told(known, "Hem")
    began = perf_counter()
    assert saying.told(known, text * (4000 // len(text))).startswith(text)
    assert perf_counter() - began < 5  # by the signs to the power of the places it took a minute
