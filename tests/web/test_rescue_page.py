"""The page of ways out: side by side with what each changes; one is taken with a reason, others say why not."""

import httpx2
import pytest
from sqlmodel import col, select

from service.records.tables import Event, Section, Step
from service.studio.rescue import RESCUED
from tests.building import a_garment
from tests.counting import number
from tests.quoting import charge
from tests.serving import Live


@pytest.fixture
def band(live: Live) -> int:
    """The upper ladder of a bib that is planned."""
    with live.database.writing() as db:
        charge(db)
        garment_id = number(a_garment(db, "bib"))
        return number(
            db.exec(select(Section).where(Section.garment_id == garment_id, Section.key == "bib.upper")).one()
        )


def test_ways_stand_side_by_side_and_one_is_taken_with_a_reason(owner: httpx2.Client, live: Live, band: int) -> None:
    first = owner.get(f"/sections/{band}/rescue")
    assert "Show the ways out" in first.text
    assert "Take this way" not in first.text
    page = owner.get(f"/sections/{band}/rescue", params={"trouble": "standing thread cut"}).text
    assert "Do not pull" in page
    assert "Alternating" in page
    assert "319 standing threads, not 320" in page
    assert "Not now: It is a band of its own inside the cloth" in page
    assert "£" in page
    assert "Secure the open ends: 4.6 cm more. Fasten off: 2 ends more." in page
    said = {"trouble": "standing thread cut", "way": "reweave"}
    empty = owner.post(f"/sections/{band}/rescue", data=said | {"reason": ""})
    assert empty.status_code == 422
    assert "Enter what happened." in empty.text
    closed = owner.post(f"/sections/{band}/rescue", data=said | {"way": "bind instead", "reason": "slipped"})
    assert (closed.status_code, "no edge there" in closed.text) == (422, True)
    taken = owner.post(f"/sections/{band}/rescue", data=said | {"reason": "the scissors slipped"})
    assert taken.status_code == 303
    with live.database.reading() as db:
        assert db.exec(select(Event).where(Event.action == RESCUED)).one().object_id == band
        assert db.exec(select(Step).where(Step.section_id == band, Step.operation == "fasten_off")).one()


def test_what_is_no_band_no_trouble_or_not_hers_is_answered_plainly(
    owner: httpx2.Client, stitcher: httpx2.Client, live: Live, band: int
) -> None:
    assert stitcher.get(f"/sections/{band}/rescue").status_code == 404
    assert owner.get("/sections/9999/rescue").status_code == 404
    assert owner.get(f"/sections/{band}/rescue?trouble=bored").status_code == 200
    wrong = {"trouble": "bored", "way": "reweave", "reason": "x"}
    assert owner.post(f"/sections/{band}/rescue", data=wrong).status_code == 422
    with live.database.reading() as db:
        seam = db.exec(select(Section).where(col(Section.kind).not_in(["ladder", "hem_band"]))).first()
    assert seam is not None
    assert owner.get(f"/sections/{seam.id}/rescue").status_code in {200, 409}
