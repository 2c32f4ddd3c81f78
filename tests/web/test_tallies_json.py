"""Counting over JSON, on both kinds of database: what is answered, and what is refused in which order."""

from collections.abc import Iterator
from contextlib import closing
from typing import Any

import httpx2
import pytest

from service.records.tables import Tally
from service.studio.proofs import prove
from service.studio.sign_in import make_token
from tests.building import a_garment
from tests.counting import all_rows, number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, SECOND, START, STITCHER, Live


class Bib:
    """A bib in the stitcher's hands, worked as far as its first knots, over HTTP."""

    def __init__(self, live: Live) -> None:
        self.live = live
        with live.database.writing() as db:
            garment_id = number(a_garment(db, "bib"))
            give(db, person(db, OWNER), Giving(garment_id, stitcher_id(db, STITCHER)), START)
            work_on(db, person(db, OWNER), garment_id, lambda row: row.operation == "ladder_knot")
            self.knots = number(step(db, garment_id, "ladder_knot"))
            self.clip = number(step(db, garment_id, "clip", "bib.middle"))
            self.mark = number(step(db, garment_id, "mark", "bib.middle"))
            self.cut_out = number(step(db, garment_id, "cut_out"))

    def rows(self) -> dict[str, list[tuple[Any, ...]]]:
        with self.live.database.reading() as db:
            found = all_rows(db)
        del found["login_session"]
        return found


@pytest.fixture
def bib(live_on_each: Live) -> Bib:
    """A bib as far as its first knots, on each kind of database."""
    return Bib(live_on_each)


@pytest.fixture
def wren(bib: Bib) -> Iterator[httpx2.Client]:
    """The stitcher who has the bib in her hands."""
    with closing(bib.live.signed_in(STITCHER)) as client:
        yield client


@pytest.fixture
def owner_of_bib(bib: Bib) -> Iterator[httpx2.Client]:
    """The owner of the studio."""
    with closing(bib.live.signed_in(OWNER)) as client:
        yield client


def _post(client: httpx2.Client, step_id: int, **said: Any) -> httpx2.Response:
    return client.post(f"/api/steps/{step_id}/tallies", json=said)


def _problem(answer: httpx2.Response) -> tuple[int, str]:
    assert answer.headers["content-type"] == "application/problem+json"
    return answer.status_code, answer.json()["detail"]


def test_a_count_answers_with_the_step_as_it_stands(bib: Bib, wren: httpx2.Client) -> None:
    answer = _post(wren, bib.knots, key="a", counted=41, minutes=12.5, at="2026-09-01T10:00:00+02:00")
    assert (answer.status_code, answer.json()) == (
        200,
        {"id": bib.knots, "operation": "ladder_knot", "unit": "knot", "quantity": 160, "done": 41},
    )
    assert _post(wren, bib.mark, key="b", counted=12.3).json()["done"] == 12.3
    assert _post(wren, bib.knots, key="c", counted=6, kind="unpick", minutes=3).json()["done"] == 35
    assert _post(wren, bib.knots, key="d", counted=5, kind="counter").json()["done"] == 30


def test_a_key_seen_again_answers_as_the_step_stands_now(bib: Bib, wren: httpx2.Client) -> None:
    said = {"key": "a", "counted": 10, "minutes": 5}
    assert _post(wren, bib.knots, **said).json()["done"] == 10
    _post(wren, bib.knots, key="b", counted=7)
    again = _post(wren, bib.knots, **said)
    assert (again.status_code, again.json()["done"]) == (200, 17)
    assert _post(wren, bib.knots, key="a", counted=10.0, minutes=5.0).json()["done"] == 17
    before = bib.rows()
    refused = _post(wren, bib.knots, key="a", counted=11, minutes=5)
    assert _problem(refused) == (409, "That key was used for another count. Make a new key for each count.")
    assert bib.rows() == before


def test_refusals_come_in_one_order_and_change_nothing(
    bib: Bib, wren: httpx2.Client, owner_of_bib: httpx2.Client
) -> None:
    before = bib.rows()
    nonsense: dict[str, Any] = {"key": "", "counted": -1, "hue": "blue"}
    with closing(bib.live.signed_in(SECOND)) as ida:
        assert _problem(_post(ida, 999_999, **nonsense)) == (404, "There is no such step.")
        assert _post(ida, bib.clip, **nonsense).status_code == 403
    refused = _post(wren, bib.clip, **nonsense)
    assert refused.status_code == 422
    assert {error["field"] for error in refused.json()["errors"]} == {"key", "counted", "hue"}
    gate = (409, "Clip only when the edge stitching is complete: 0 of 1.3 cm done.")
    assert _problem(_post(wren, bib.clip, key="a", counted=9999)) == gate
    assert _post(wren, bib.clip, key="a", counted=9999, overrule="let me").status_code == 403
    past = _problem(_post(wren, bib.knots, key="a", counted=161))
    assert past == (409, "Only 160 of 160 were left to do. Did the cloth have more? Say so, or correct the number.")
    assert _post(owner_of_bib, bib.cut_out, key="a", counted=1).status_code == 409
    assert bib.rows() == before


def test_the_owner_passes_a_gate_and_anyone_the_quantity_when_it_is_said(
    bib: Bib, wren: httpx2.Client, owner_of_bib: httpx2.Client
) -> None:
    assert _post(owner_of_bib, bib.clip, key="a", counted=2, overrule="stitched before").json()["done"] == 2
    assert _post(wren, bib.knots, key="b", counted=162, more_on_cloth=True).json() == {
        "id": bib.knots,
        "operation": "ladder_knot",
        "unit": "knot",
        "quantity": 162,
        "done": 162,
    }
    with bib.live.database.reading() as db:
        assert prove(db).faults == ()


@pytest.mark.parametrize(
    "said",
    [
        {},
        {"key": "a"},
        {"counted": 1},
        {"key": "a", "counted": "1"},
        {"key": "a", "counted": "ten"},
        {"key": "a", "counted": True},
        {"key": "a", "counted": None},
        {"key": "a", "counted": 0},
        {"key": "a", "counted": -1},
        {"key": "a", "counted": 0.5},
        {"key": "a", "counted": 1e9},
        {"key": "a", "counted": 10**400},
        {"key": "a", "counted": [1]},
        {"key": 7, "counted": 1},
        {"key": "", "counted": 1},
        {"key": "k" * 101, "counted": 1},
        {"key": "a", "counted": 1, "minutes": -1},
        {"key": "a", "counted": 1, "minutes": "5"},
        {"key": "a", "counted": 1, "minutes": 14401},
        {"key": "a", "counted": 1, "kind": "guess"},
        {"key": "a", "counted": 1, "at": "yesterday"},
        {"key": "a", "counted": 1, "at": 1_790_000_000},
        {"key": "a", "counted": 1, "at": "2026-09-01T10:00:00"},
        {"key": "a", "counted": 1, "at": "1026-09-01T10:00:00Z"},
        {"key": "a", "counted": 1, "at": "0001-01-01T00:00:00+14:00"},
        {"key": "a", "counted": 1, "more_on_cloth": "yes"},
        {"key": "a", "counted": 1, "overrule": "x" * 1001},
        {"key": "a", "counted": 1, "reason": "not asked for"},
    ],
    ids=str,
)
def test_a_body_that_cannot_be_read_is_refused_by_its_field(live: Live, said: dict[str, Any]) -> None:
    bib = Bib(live)
    before = bib.rows()
    with closing(live.signed_in(STITCHER)) as wren:
        answer = wren.post(f"/api/steps/{bib.knots}/tallies", json=said)
        assert answer.status_code == 422
        assert answer.json()["errors"]
    assert bib.rows() == before


@pytest.mark.parametrize(
    "body", ["", "{", "null", "[]", '"ten"', '{"key": "a", "counted": NaN}', '{"key": "a", "counted": Infinity}']
)
def test_what_is_not_a_body_is_refused(live: Live, body: str) -> None:
    bib = Bib(live)
    with closing(live.signed_in(STITCHER)) as wren:
        answer = wren.post(
            f"/api/steps/{bib.knots}/tallies", content=body, headers={"Content-Type": "application/json"}
        )
    assert (answer.status_code, answer.headers["content-type"]) == (422, "application/problem+json")


def test_a_script_counts_by_its_token_without_an_origin(bib: Bib) -> None:
    with bib.live.database.writing() as db:
        token = make_token(db, STITCHER, START)
    with httpx2.Client(base_url=bib.live.url, headers={"Authorization": f"Bearer {token}"}) as script:
        assert _post(script, bib.knots, key="a", counted=3).json()["done"] == 3
        script.headers["Authorization"] = "Bearer wrong"
        assert _problem(_post(script, bib.knots, key="b", counted=3)) == (401, "Sign in first.")
    with bib.live.database.reading() as db:
        tally = db.get_one(Tally, max(row[0] for row in all_rows(db)["tally"]))
        assert (tally.key, tally.stitcher_id) == ("a", stitcher_id(db, STITCHER))
