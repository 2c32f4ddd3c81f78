"""Hours asked over HTTP without a log of one's own: the studio's is asked, and only what the asker may see."""

from contextlib import closing
from datetime import timedelta
from decimal import Decimal

import pytest
from sqlmodel import select

from service.records.db import Writing
from service.records.tables import Tally
from service.studio.log import take_back
from tests.building import a_garment
from tests.counting import count, number, person, step, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, START, STITCHER, Live
from tests.web.test_reckon_hours_json import CLIP, ENTRY, asked, refused


def knotted(db: Writing, days: int) -> int:
    """A bib in a stitcher's hands, ten knots in ten minutes on each of so many days; one entry was taken back."""
    garment_id, owner, wren = number(a_garment(db, "bib")), person(db, OWNER), person(db, STITCHER)
    work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
    give(db, owner, Giving(garment_id, wren.stitcher_id), START)
    knots = step(db, garment_id, "ladder_knot")
    for day in range(days):
        count(db, wren, knots, 10, START + timedelta(day), minutes=Decimal(10))
    count(db, wren, knots, 10, START, minutes=Decimal(600))
    wrong = db.exec(select(Tally).where(Tally.seconds == 36_000)).one()
    take_back(db, wren, number(wrong), "back", START)
    return garment_id


def test_without_a_log_the_studios_own_is_asked(live_on_each: Live) -> None:
    with live_on_each.database.writing() as db:
        garment_id = knotted(db, 3)
    line = {"operation": "ladder_knot", "quantity": 60, "threads_per_cm": 20}
    entry = {**ENTRY, "operation": "ladder_knot", "threads_per_cm": 20, "units": 10, "minutes": 10}
    own = [{**entry, "day": f"2026-09-0{day}", "stitcher": "Wren Hallam", "garment": "bib"} for day in (1, 2, 3)]
    with closing(live_on_each.signed_in(OWNER)) as owner:
        found = asked(owner, "hours", work=[{**line, "garment": str(garment_id)}], stitcher="Wren Hallam")
        sent = asked(owner, "hours", work=[{**line, "garment": "bib"}], stitcher="Wren Hallam", log=own)
        nobody = asked(owner, "hours", work=[line])
    assert found["by_operation"][0]["seconds_per_unit"] == pytest.approx(sent["by_operation"][0]["seconds_per_unit"])
    assert found["hours"]["p50"] == pytest.approx(sent["hours"]["p50"], rel=0.03)
    assert found["hours"]["p50"] > 1.1 * nobody["hours"]["p50"]


def test_a_new_entry_is_known_to_the_next_question(live: Live) -> None:
    with live.database.writing() as db:
        garment_id = knotted(db, 2)
    line = {"operation": "ladder_knot", "quantity": 60, "threads_per_cm": 20}
    with closing(live.signed_in(OWNER)) as owner:
        before = asked(owner, "hours", work=[line], stitcher="Wren Hallam")["hours"]["p50"]
        with live.database.writing() as db:
            count(db, person(db, STITCHER), step(db, garment_id, "ladder_knot"), 10, minutes=Decimal(30))
        assert asked(owner, "hours", work=[line], stitcher="Wren Hallam")["hours"]["p50"] > before


def test_another_stitchers_pace_is_the_owners_to_see(live: Live) -> None:
    with live.database.writing() as db:
        hers, other = knotted(db, 1), number(a_garment(db, "bib"))
    line = {"operation": "ladder_knot", "quantity": 60, "threads_per_cm": 20}
    with closing(live.signed_in(STITCHER)) as wren:
        answer = wren.post("/api/reckon/hours", json={"work": [line], "stitcher": "Ida Thorne"})
        assert (answer.status_code, answer.json()["detail"]) == (
            403,
            "Another stitcher's pace is the owner's to see. Leave the stitcher out, or name yourself.",
        )
        assert asked(wren, "hours", work=[{**line, "garment": str(hers)}], stitcher="Wren Hallam")
        assert list(refused(wren, "hours", work=[{**line, "garment": str(other)}])) == ["work.0.garment"]


def test_a_name_that_two_garments_share_is_not_guessed_at(live: Live) -> None:
    with live.database.writing() as db:
        name = a_garment(db, "bib").name
        a_garment(db, "bib")
    with closing(live.signed_in(OWNER)) as owner:
        found = refused(owner, "hours", work=[{**CLIP, "garment": name}])
    assert "give the garment's number instead" in found["work.0.garment"]
