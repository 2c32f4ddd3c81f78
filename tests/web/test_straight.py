"""Counts kept straight from the guard are answered as by the long way, which takes whatever is sent otherwise."""

import json
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from typing import Any

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Step, Tally
from service.studio.proofs import prove
from tests.building import a_garment
from tests.counting import number, person, step, work_on
from tests.serving import OWNER, STITCHER, Live


class Knots:
    """A bib as far as its first knots, and its owner in her browser."""

    def __init__(self, live: Live, owner: httpx2.Client) -> None:
        self.live, self.owner = live, owner
        with live.database.writing() as db:
            garment_id = number(a_garment(db, "bib"))
            self.owner_id = person(db, OWNER).id
            self.other_id = person(db, STITCHER).id
            work_on(db, person(db, OWNER), garment_id, lambda row: row.operation == "ladder_knot")
            self.step = number(step(db, garment_id, "ladder_knot"))

    def sent_in(self, *counts: dict[str, Any], account: int = 0) -> httpx2.Response:
        """The answer to counts that a device sends in."""
        told = [{"step": self.step, "counted": 3, "minutes": 2, **each} for each in counts]
        return self.owner.post("/api/tallies", json={"account": account or self.owner_id, "counts": told})

    @property
    def done(self) -> float:
        with self.live.database.reading() as db:
            assert prove(db).faults == ()
            return db.get_one(Step, self.step).done_tenths / 10


@pytest.fixture
def knots(live_on_each: Live) -> Iterator[Knots]:
    """They, on each kind of database."""
    with closing(live_on_each.signed_in(OWNER)) as owner:
        yield Knots(live_on_each, owner)


def test_one_count_sent_in_is_answered_as_when_it_is_sent_again(knots: Knots) -> None:
    """Sent again it goes the long way, which knows its key."""
    first, again = (knots.sent_in({"key": "a", "at": "1999-01-01T00:00:00Z"}) for _ in range(2))
    assert first.status_code == again.status_code == 200
    assert first.json() == again.json()
    (answer,) = first.json()["answers"]
    assert (answer["key"], answer["status"], answer["step"]["done"]) == ("a", 200, 3)
    assert knots.done == 3
    with knots.live.database.reading() as db:
        tally = db.exec(select(Tally).where(Tally.key == "a")).one()
        assert tally.id == answer["step"]["newest"]
        assert tally.at == tally.recorded_at  # a clock that is years off says nothing
        assert abs((datetime.now(UTC) - tally.recorded_at).total_seconds()) < 600


def test_one_count_of_somebody_else_is_refused(knots: Knots) -> None:
    assert knots.sent_in({"key": "a"}, account=knots.other_id).status_code == 403
    assert knots.done == 0


def test_one_count_taken_back_and_several_at_once_go_the_long_way(knots: Knots) -> None:
    assert knots.sent_in({"key": "a"}).status_code == 200
    back = {"key": "b", "kind": "counter", "takes_back": "a", "counted": None}
    assert [each["status"] for each in knots.sent_in(back).json()["answers"]] == [200]
    several = knots.sent_in({"key": "c"}, {"key": "d", "counted": 0.5}, {"key": "e"}).json()["answers"]
    assert [each["status"] for each in several] == [200, 422, 200]
    assert knots.done == 6


def test_a_count_is_kept_however_it_is_sent(knots: Knots) -> None:
    address = f"/api/steps/{knots.step}/tallies"
    for place, headers in enumerate(({}, {"Content-Type": "application/json; charset=utf-8"})):
        body = json.dumps({"key": f"whole {place}", "counted": 2}).encode()
        usual = {"Content-Type": "application/json"}
        assert knots.owner.post(address, content=body, headers=usual | headers).json()["done"] == 4 * place + 2
        other = body.replace(b"whole", b"parts")
        answer = knots.owner.post(address, content=iter([other[:9], other[9:]]), headers=usual | headers)
        assert answer.json()["done"] == 4 * place + 4, answer.text
    assert knots.done == 8


def test_what_is_kept_straight_carries_the_strict_headers(knots: Knots) -> None:
    answer = knots.owner.post(f"/api/steps/{knots.step}/tallies", json={"key": "a", "counted": 2})
    assert answer.headers["content-type"] == "application/json"
    assert answer.headers["cache-control"] == "no-store"
    assert "default-src 'self'" in answer.headers["content-security-policy"]
    elsewhere = {"Origin": "https://elsewhere.example"}
    refused = knots.owner.post(f"/api/steps/{knots.step}/tallies", json={"key": "b", "counted": 2}, headers=elsewhere)
    assert (refused.status_code, knots.done) == (403, 2)
