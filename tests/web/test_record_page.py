"""The studio's own record: each finished piece beside what was to be foreseen, for the owner alone."""

import html
import re
from datetime import timedelta
from decimal import Decimal

import httpx2
import pytest
from sqlmodel import col, select

from service.reckoning.track_record import Finished
from service.records.db import Writing
from service.records.tables import Step
from service.studio.rates import Learning
from service.studio.record import Piece
from service.studio.standing import finish
from tests.building import a_garment
from tests.counting import count, number, person
from tests.serving import OWNER, START, Live


def _finished(db: Writing, times_the_guess: int, weeks: int) -> int:
    """A bib made in so many times the hours guessed, a step a day, and finished."""
    garment_id, owner = number(a_garment(db, "bib")), person(db, OWNER)
    at = START + timedelta(weeks=weeks)
    for row in db.exec(select(Step).where(Step.garment_id == garment_id).order_by(col(Step.position))).all():
        guessed = Decimal(row.quantity_tenths * row.unit_ms) / 600_000
        counted = row.quantity_tenths / 10
        count(db, owner, row, counted, at, minutes=min(Decimal(1400), round(guessed * times_the_guess + 4, 0)))
    finish(db, garment_id, owner.id, at + timedelta(days=1))
    return garment_id


def _words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).replace("\xa0", " ").split())


def test_an_empty_record_says_what_will_stand_there(owner: httpx2.Client) -> None:
    page = owner.get("/reckoner/record")
    assert page.status_code == 200
    assert "Finished pieces stand here" in page.text


def test_a_finished_piece_stands_beside_what_was_foreseen(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        _finished(db, 1, 0)
    words = _words(owner.get("/reckoner/record").text)
    assert "The piece finished last fell inside the range foreseen." in words
    assert "inside" in words


def test_a_piece_that_took_far_longer_fell_outside_and_widens_what_is_said_next(
    owner: httpx2.Client, live: Live
) -> None:
    line = {"operation": "ladder_knot", "quantity": 400, "threads_per_cm": 20}
    with live.database.writing() as db:
        for weeks in range(3):
            _finished(db, 1, weeks)
        _finished(db, 8, 4)
    with live.database.reading() as db:
        learning = Learning()
        record = learning.record(db)
        assert (record.held.garments, record.held.inside) == (4, 3)
        assert record.held.kappa > 1
        assert learning.kappa == record.held.kappa
        assert learning.record(db) is record
    words = _words(owner.get("/reckoner/record").text)
    assert "Of the last 4 pieces finished 3 fell inside the range foreseen." in words
    assert words.count("longer ") >= 1
    page = owner.get("/reckoner/hours", params={"operation": "ladder_knot", "quantity": "400", "count": "20"})
    assert "Of the last 4 pieces finished 3 fell inside the range foreseen. Piece by piece" in _words(page.text)
    assert owner.post("/api/reckon/hours", json={"work": [line]}).status_code == 200


def test_the_record_is_the_owners_alone(stitcher: httpx2.Client) -> None:
    assert stitcher.get("/reckoner/record").status_code == 403


@pytest.mark.parametrize(
    ("took", "verdict"),
    [(7, "quicker"), (7.5, "a little quicker"), (8, "inside"), (12, "inside"), (13, "a little longer"), (14, "longer")],
)
def test_a_piece_is_said_to_have_been_quicker_or_longer_than_its_range(took: float, verdict: str) -> None:
    assert Piece(1, "Bib", START, 3, Finished(took, 10, 8, 12)).verdict == verdict
