"""Many people counting at the same instant, over HTTP, on both kinds of database: nothing is lost, nothing twice."""

import random
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Barrier
from typing import Any

import httpx2
import pytest
from sqlmodel import func, select

from service.records.tables import Step, Tally
from service.studio.proofs import prove
from service.studio.sign_in import make_token
from tests.building import a_garment
from tests.counting import number, person, step, work_on
from tests.serving import OWNER, START, Live

CLIENTS = 16
COUNTS_EACH = 12


@dataclass
class Studio:
    """Two bibs worked as far as their first knots, and a token to count with."""

    live: Live
    token: str = ""
    knots: list[int] = field(default_factory=list)

    def done(self, step_id: int) -> float:
        with self.live.database.reading() as db:
            return db.get_one(Step, step_id).done_tenths / 10

    def tallies(self, step_id: int) -> int:
        with self.live.database.reading() as db:
            return db.exec(select(func.count()).select_from(Tally).where(Tally.step_id == step_id)).one()

    def faults(self) -> tuple[str, ...]:
        with self.live.database.reading() as db:
            return prove(db).faults


@pytest.fixture
def studio(live_on_each: Live) -> Studio:
    """A studio in which there is much to knot."""
    made = Studio(live_on_each)
    with live_on_each.database.writing() as db:
        for _ in range(2):
            garment_id = number(a_garment(db, "bib"))
            work_on(db, person(db, OWNER), garment_id, lambda row: row.operation == "ladder_knot")
            made.knots.append(number(step(db, garment_id, "ladder_knot")))
        made.token = make_token(db, OWNER, START)
    return made


def _at_once(studio: Studio, acts: Sequence[Callable[[httpx2.Client], list[httpx2.Response]]]) -> list[httpx2.Response]:
    """Every act by a client of its own, all begun at the same instant."""
    barrier = Barrier(len(acts))

    def act(doing: Callable[[httpx2.Client], list[httpx2.Response]]) -> list[httpx2.Response]:
        headers = {"Authorization": f"Bearer {studio.token}"}
        with httpx2.Client(base_url=studio.live.url, headers=headers, timeout=60, verify=False) as client:
            barrier.wait()
            return doing(client)

    with ThreadPoolExecutor(len(acts)) as pool:
        return [answer for answers in pool.map(act, acts) for answer in answers]


def _post(client: httpx2.Client, step_id: int, **said: Any) -> httpx2.Response:
    return client.post(f"/api/steps/{step_id}/tallies", json=said)


def test_sixteen_clients_counting_at_once_lose_nothing(studio: Studio) -> None:
    """Each client works and takes back on both garments; what all of them say is what stands there afterwards."""
    chance = random.Random(7)
    said: list[list[dict[str, Any]]] = [
        [
            {"step": chance.choice(studio.knots), "key": f"{client}-{turn}", "counted": chance.randint(1, 3), "kind": chance.choice(["work", "work", "work", "unpick"])}
            for turn in range(COUNTS_EACH)
        ]
        for client in range(CLIENTS)
    ]  # fmt: skip

    def counting(mine: list[dict[str, Any]]) -> Callable[[httpx2.Client], list[httpx2.Response]]:
        return lambda client: [
            _post(client, one["step"], **{name: one[name] for name in ("key", "counted", "kind")}, more_on_cloth=True)
            for one in mine
        ]

    answers = _at_once(studio, [counting(mine) for mine in said])
    sent = [one for mine in said for one in mine]
    assert len(answers) == len(sent) == CLIENTS * COUNTS_EACH
    assert {answer.status_code for answer in answers} <= {200, 409}  # an unpick that found nothing done is refused
    expected: Counter[int] = Counter()
    for one, answer in zip(sent, answers, strict=True):
        if answer.status_code == 200:
            expected[one["step"]] += one["counted"] if one["kind"] == "work" else -one["counted"]
    assert {step_id: studio.done(step_id) for step_id in studio.knots} == dict(expected)
    assert sum(studio.tallies(step_id) for step_id in studio.knots) == sum(
        answer.status_code == 200 for answer in answers
    )
    assert studio.faults() == ()


def test_six_equal_requests_at_once_count_once(studio: Studio) -> None:
    knots = studio.knots[0]
    answers = _at_once(studio, [lambda client: [_post(client, knots, key="one tap", counted=7, minutes=4)]] * 6)
    assert [(answer.status_code, answer.json()["done"]) for answer in answers] == [(200, 7)] * 6
    assert (studio.done(knots), studio.tallies(knots)) == (7, 1)


def test_one_key_on_two_garments_at_once_counts_on_one_of_them(studio: Studio) -> None:
    first, second = studio.knots
    acts = [lambda client, at=at: [_post(client, at, key="one tap", counted=7)] for at in (first, second) * 3]
    answers = _at_once(studio, acts)
    assert {answer.status_code for answer in answers} == {200, 409}
    assert sorted((studio.done(first), studio.done(second))) == [0, 7]
    assert studio.faults() == ()


def test_the_last_knots_are_counted_by_whoever_comes_first(studio: Studio) -> None:
    """Sixteen clients want the last ten of 160 knots, one each: ten get them, six are asked."""
    knots = studio.knots[0]
    _at_once(studio, [lambda client: [_post(client, knots, key="before", counted=150)]])
    acts = [lambda client, at=at: [_post(client, knots, key=f"last {at}", counted=1)] for at in range(CLIENTS)]
    answers = _at_once(studio, acts)
    assert Counter(answer.status_code for answer in answers) == {200: 10, 409: 6}
    assert studio.done(knots) == 160
    assert studio.faults() == ()
