"""Where the garments stand, over JSON, on both kinds of database."""

from contextlib import closing
from datetime import UTC, date, datetime
from typing import Any

import pytest
from sqlmodel import select

from service.records.tables import Garment, Panel, Step
from service.studio.foresight import Foresight
from service.studio.rates import Learning
from service.studio.standing import call_off
from service.studio.stitchers import change_hours
from tests.building import a_garment
from tests.counting import count, number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, SECOND, START, STITCHER, Live

FIELDS = {
    "id",
    "name",
    "state",
    "done_fraction",
    "hours_left",
    "ready_by",
    "expected",
    "chance_in_time",
    "hands",
    "next_step",
}


def _made(live: Live, key: str = "bonnet", *, to: str = "") -> int:
    with live.database.writing() as db:
        garment_id = number(a_garment(db, key))
        if to:
            give(db, person(db, OWNER), Giving(garment_id, stitcher_id(db, to)), START)
        return garment_id


def _seen(live: Live, email: str, path: str) -> Any:
    with closing(live.signed_in(email)) as client:
        answer = client.get(path)
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/json")
    return answer.json()


def test_an_open_garment_stands_with_what_is_left_and_what_comes_next(live_on_each: Live) -> None:
    garment_id = _made(live_on_each, to=STITCHER)
    with live_on_each.database.writing() as db:
        work_on(db, person(db, OWNER), garment_id, lambda row: row.operation == "hem_knot")
        count(db, person(db, OWNER), step(db, garment_id, "hem_knot"), 63)
        change_hours(db, stitcher_id(db, STITCHER), (60,) * 7)
        garment = db.get_one(Garment, garment_id)
        name, planned_ms, left_ms = garment.name, garment.planned_ms, garment.left_ms
    (row,) = _seen(live_on_each, OWNER, "/api/standing")
    assert set(row) == FIELDS
    assert (row["id"], row["name"], row["state"], row["hands"]) == (garment_id, name, "in work", ["Wren Hallam"])
    assert row["done_fraction"] == pytest.approx(1 - left_ms / planned_ms)
    with live_on_each.database.reading() as db:
        left = Learning().hours_left(db, [garment_id])[garment_id]
    assert row["hours_left"] == {"p50": pytest.approx(left.at(50)), "p80": pytest.approx(left.at(80))}
    assert 1 < left.at(50) / (left_ms / 3_600_000) < 1.5  # the guesses leave out setting up
    assert left.at(50) < left.at(80)
    assert row["ready_by"] == "2027-05-16"
    assert 0.01 <= row["chance_in_time"] <= 0.99
    assert date.fromisoformat(row["expected"]) <= date(2027, 5, 16)
    next_step = row["next_step"]
    assert (next_step["operation"], next_step["unit"], next_step["left"]) == ("hem_knot", "knot", 100)
    assert (next_step["section"], next_step["panel"]) == ("Face edge", "Brim")


def test_only_planned_and_worked_garments_stand_there_the_most_urgent_first(live_on_each: Live) -> None:
    late, soon, off = (_made(live_on_each, "bib") for _ in range(3))
    with live_on_each.database.writing() as db:
        call_off(db, off, "moved away", person(db, OWNER).id, START)
        work_on(db, person(db, OWNER), late, lambda row: row.operation == "cut_out")
    assert [row["id"] for row in _seen(live_on_each, OWNER, "/api/standing")] == [soon, late]


def test_an_empty_studio_has_nothing_standing(live_on_each: Live) -> None:
    assert _seen(live_on_each, OWNER, "/api/standing") == []


def test_a_garment_is_told_with_its_panels_sections_and_steps(live_on_each: Live) -> None:
    garment_id = _made(live_on_each)
    found = _seen(live_on_each, OWNER, f"/api/garments/{garment_id}")
    assert set(found) == FIELDS | {"size", "joined", "panels", "sections"}
    assert [panel["key"] for panel in found["panels"]] == ["brim", "crown"]
    assert [section["key"] for section in found["sections"]] == ["crown_seam", "lace", "neck", "ties"]
    brim = found["panels"][0]
    assert (brim["hands"], [each["operation"] for each in brim["steps"]]) == (
        None,
        ["cut_block", "wash", "press", "trace", "retrace", "cut_out"],
    )
    ladder = brim["sections"][2]
    assert {name: ladder[name] for name in ladder if name not in {"id", "steps"}} == {
        "key": "brim.ladder",
        "name": "Ladder",
        "kind": "ladder",
        "withdrawn_threads": 8,
        "standing_threads": 520,
        "bundle_threads": 4,
        "bundles": 130,
    }
    with live_on_each.database.reading() as db:
        kept = {row.id: (row.operation, row.unit, row.quantity_tenths / 10, 0.0) for row in db.exec(select(Step))}
    told = [each for panel in found["panels"] for each in panel["steps"]]
    told += [each for panel in found["panels"] for section in panel["sections"] for each in section["steps"]]
    told += [each for section in found["sections"] for each in section["steps"]]
    assert {each["id"]: (each["operation"], each["unit"], each["quantity"], each["done"]) for each in told} == kept


def test_a_stitcher_sees_the_pieces_in_her_hands_and_nothing_of_the_client(live_on_each: Live) -> None:
    hers, other = _made(live_on_each, to=STITCHER), _made(live_on_each, "bib", to=SECOND)
    standing = _seen(live_on_each, STITCHER, "/api/standing")
    assert [row["id"] for row in standing] == [hers]
    found = _seen(live_on_each, STITCHER, f"/api/garments/{hers}")
    for said in (standing, found):
        assert "Hester" not in str(said)
        assert "Christening" not in str(said)
    with closing(live_on_each.signed_in(STITCHER)) as client:
        for unknown in (other, 999):
            answer = client.get(f"/api/garments/{unknown}")
            assert (answer.status_code, answer.headers["content-type"]) == (404, "application/problem+json")
            assert answer.json()["detail"] == "There is no such garment among those you may see."


def test_a_stitcher_is_told_the_step_in_her_own_hands_and_the_owner_the_garments(live_on_each: Live) -> None:
    gown = _made(live_on_each, "day_gown")
    with live_on_each.database.writing() as db:
        back = db.exec(select(Panel.id).where(Panel.garment_id == gown, Panel.name == "Back")).one()
        assert back is not None
        give(db, person(db, OWNER), Giving(gown, stitcher_id(db, STITCHER), frozenset({back})), START)
    for email, panel in ((STITCHER, "Back"), (OWNER, "Front")):
        (row,) = _seen(live_on_each, email, "/api/standing")
        found = _seen(live_on_each, email, f"/api/garments/{gown}")
        assert (row["next_step"]["operation"], row["next_step"]["panel"]) == ("cut_block", panel)
        assert found["next_step"] == row["next_step"]


@pytest.mark.parametrize("path", ["/api/standing", "/api/garments/1"])
def test_nobody_signed_in_sees_nothing(live: Live, path: str) -> None:
    with closing(live.visitor()) as visitor:
        answer = visitor.get(path)
    assert (answer.status_code, answer.json()["detail"]) == (401, "Sign in first.")


def test_a_garment_number_that_is_none_is_refused(live: Live) -> None:
    with closing(live.signed_in(OWNER)) as owner:
        assert owner.get("/api/garments/bonnet").status_code == 422
        assert owner.get("/api/garments/0").status_code == 422
        assert owner.get("/api/garments/99999999999999999999").status_code == 422


def test_the_day_and_chance_told_are_those_of_the_plan(live: Live) -> None:
    garment_id = _made(live, to=STITCHER)
    _hours(live, STITCHER, 60)
    (row,) = _seen(live, OWNER, "/api/standing")
    with live.database.reading() as db:
        plan = Foresight(Learning()).exact(db, datetime.now(UTC).date())
        days = plan.days_of(garment_id)
    assert days.likely is not None
    assert (row["expected"], row["chance_in_time"]) == (days.likely.isoformat(), days.chance)
    found = _seen(live, OWNER, f"/api/garments/{garment_id}")
    assert (found["expected"], found["chance_in_time"]) == (row["expected"], row["chance_in_time"])


def test_without_hours_in_any_week_there_is_no_day_and_no_chance(live: Live) -> None:
    _made(live, to=STITCHER)
    (row,) = _seen(live, OWNER, "/api/standing")
    assert (row["expected"], row["chance_in_time"]) == (None, None)


def _hours(live: Live, email: str, minutes: int) -> None:
    with live.database.writing() as db:
        change_hours(db, stitcher_id(db, email), (minutes,) * 7)
