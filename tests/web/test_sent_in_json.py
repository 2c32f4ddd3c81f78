"""Counts sent in together over JSON: each kept or refused alone, each key once."""

import random
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlmodel import col, select

from service.records.tables import Step, Tally
from service.studio.proofs import prove
from tests.building import a_garment
from tests.counting import number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, SECOND, START, STITCHER, Live


@dataclass(frozen=True)
class Bib:
    """A bib in the stitcher's hands, worked as far as its first knots, and what she sends of it."""

    live: Live
    account: int
    knots: int
    clip: int

    def send(self, *counts: dict[str, Any], by: str = STITCHER, account: int | None = None) -> Any:
        with closing(self.live.signed_in(by)) as client:
            return client.post("/api/tallies", json={"account": account or self.account, "counts": list(counts)})

    def work(self, key: str, counted: float = 1, **said: Any) -> dict[str, Any]:
        return {"step": self.knots, "key": key, "counted": counted, **said}

    def back(self, key: str, of: str) -> dict[str, Any]:
        return {"step": self.knots, "key": key, "kind": "counter", "takes_back": of}

    @property
    def done(self) -> float:
        with self.live.database.reading() as db:
            assert prove(db).faults == ()
            return db.get_one(Step, self.knots).done_tenths / 10


@pytest.fixture
def bib(live: Live) -> Bib:
    """The bib."""
    with live.database.writing() as db:
        garment_id = number(a_garment(db, "bib"))
        give(db, person(db, OWNER), Giving(garment_id, stitcher_id(db, STITCHER)), START)
        work_on(db, person(db, OWNER), garment_id, lambda row: row.operation == "ladder_knot")
        clip = step(db, garment_id, "clip")
        return Bib(live, person(db, STITCHER).id, number(step(db, garment_id, "ladder_knot")), number(clip))


def _statuses(answer: Any) -> list[int]:
    assert answer.status_code == 200, answer.text
    return [each["status"] for each in answer.json()["answers"]]


def test_counts_sent_together_answer_with_the_step_as_it_then_is(bib: Bib) -> None:
    answer = bib.send(bib.work("a", 12, minutes=7.5), bib.work("b", 3))
    assert [each["step"]["done"] for each in answer.json()["answers"]] == [15, 15]
    later = bib.send(bib.work("c", 1)).json()["answers"][0]["step"]
    assert later["newest"] > answer.json()["answers"][1]["step"]["newest"]
    with bib.live.database.reading() as db:
        seconds = db.exec(select(Tally.seconds).where(Tally.key == "a")).one()
    assert seconds == 450
    assert bib.done == 16


def test_minutes_that_cannot_be_are_refused_in_a_plain_sentence(bib: Bib) -> None:
    answer = bib.send(bib.work("a", 2, minutes=9_999_999))
    assert answer.status_code == 422
    assert answer.json()["errors"] == [{"field": "counts.0.minutes", "detail": "Minutes must be at most 14,400."}]
    nothing = bib.send({"step": bib.knots, "key": "b"})
    assert [each["detail"] for each in nothing.json()["errors"]] == ["Say how much was counted."]
    assert bib.done == 0


def test_a_refused_one_holds_back_none_of_the_others(bib: Bib) -> None:
    answer = bib.send(
        bib.work("a", 2),
        bib.work("b", 9999),
        {"step": 99999, "key": "c", "counted": 1},
        bib.work("d", 1.5),
        bib.work("e"),
    )
    assert _statuses(answer) == [200, 409, 404, 422, 200]
    sentences = [each["detail"] for each in answer.json()["answers"]]
    assert sentences[1].startswith("Only ")
    assert sentences[3] == "Count whole knots."
    assert bib.done == 3


@pytest.mark.parametrize("seed", range(2))
def test_counts_in_any_order_and_twice_come_to_one_end(bib: Bib, seed: int) -> None:
    counts = [bib.work(f"k{each}", 1 + each % 3) for each in range(30)]
    backs = [bib.back(f"b{each}", f"k{each}") for each in range(0, 30, 5)]
    sent = counts + backs
    random.Random(seed).shuffle(sent)
    again = [each for each, kept in zip(sent, _statuses(bib.send(*sent)), strict=True) if kept != 200]
    assert {each["kind"] for each in again} <= {"counter"}
    assert set(_statuses(bib.send(*again, *sent))) == {200}
    assert bib.done == 60 - sum(1 + each % 3 for each in range(0, 30, 5))


def test_taking_back_takes_the_minutes_back_too_and_only_once(bib: Bib) -> None:
    bib.send(bib.work("a", 4, minutes=6))
    assert _statuses(bib.send(bib.back("u", "a"), bib.back("v", "a"), bib.back("u", "a"))) == [200, 409, 200]
    assert bib.done == 0
    with bib.live.database.reading() as db:
        kept = db.exec(select(Tally.kind, Tally.seconds).where(Tally.step_id == bib.knots).order_by(Tally.kind)).all()
    assert list(kept) == [("counter", 360), ("work", 360)]


def test_a_count_with_a_clock_years_out_is_kept_with_the_studio_s_time(bib: Bib) -> None:
    now = datetime.now(UTC)
    for place, out in enumerate(
        [timedelta(days=-730), timedelta(days=-200), timedelta(days=3), timedelta(days=16_000)]
    ):
        late = bib.work(f"{place}", at=(now + out).isoformat())
        assert _statuses(bib.send(late, late)) == [200, 200]
    assert _statuses(bib.send(bib.work("yesterday", at=(now - timedelta(days=1)).isoformat()))) == [200]
    assert bib.done == 5
    with bib.live.database.reading() as db:
        said = db.exec(select(Tally.at).where(Tally.step_id == bib.knots).order_by(col(Tally.id))).all()
    assert [round((moment - now) / timedelta(days=1)) for moment in said] == [0, 0, 0, 0, -1]


def test_a_key_used_for_another_count_is_refused(bib: Bib) -> None:
    assert _statuses(bib.send(bib.work("a", 1), bib.work("a", 2))) == [200, 409]
    assert bib.done == 1


def test_nobody_sends_what_another_person_counted(bib: Bib) -> None:
    answer = bib.send(bib.work("a"), by=SECOND)
    assert answer.status_code == 403
    assert "until that person signs in here" in answer.json()["detail"]
    assert bib.done == 0


def test_another_s_piece_is_refused_entry_by_entry(bib: Bib) -> None:
    with bib.live.database.reading() as db:
        second = person(db, SECOND).id
    assert _statuses(bib.send(bib.work("a"), by=SECOND, account=second)) == [403]


BAD_BODIES: list[dict[str, Any]] = [
    {"kind": "counter"}, {"kind": "work"}, {"kind": "out", "needles": 1}, {"counted": 0}, {"counted": "4"},
    {"counted": 1, "step": 2**40}, {"counted": 1, "more": 1}, {"kind": "out", "needles": -1, "pins": 0},
]  # fmt: skip


def test_a_bad_body_keeps_nothing_of_all_that_was_sent(bib: Bib) -> None:
    for count in BAD_BODIES:
        answer = bib.send(bib.work("a"), {"step": bib.knots, "key": "b", **count})
        assert (count, answer.status_code) == (count, 422)
    assert bib.done == 0


def test_needles_out_and_in_are_kept_in_turn(bib: Bib) -> None:
    def needles(key: str, way: str, needles: int) -> dict[str, Any]:
        return {"step": bib.knots, "key": key, "kind": way, "needles": needles, "pins": 10}

    early, out = needles("x", "in", 2), needles("o", "out", 2)
    assert _statuses(bib.send(early, out, needles("i", "in", 3), needles("j", "in", 2), out)) == [
        409,
        200,
        422,
        200,
        200,
    ]


def test_a_count_that_came_in_before_is_answered_as_kept_when_the_piece_has_gone_to_other_hands(bib: Bib) -> None:
    bib.send(bib.work("a", 3))
    with bib.live.database.writing() as db:
        garment_id = db.get_one(Step, bib.knots).garment_id
        give(db, person(db, OWNER), Giving(garment_id, stitcher_id(db, SECOND)), START)
    assert _statuses(bib.send(bib.work("a", 3), bib.work("b", 1))) == [200, 403]
    assert bib.done == 3
