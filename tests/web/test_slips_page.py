"""A slip at entry is asked about once, before anything is kept, and kept as answered."""

import re

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Tally
from tests.building import a_garment
from tests.counting import number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, START, STITCHER, Live


@pytest.fixture
def knots(live: Live) -> int:
    """The knots of a bib's first ladder, in a stitcher's hands."""
    with live.database.writing() as db:
        garment_id, owner = number(a_garment(db, "bib")), person(db, OWNER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        give(db, owner, Giving(garment_id, stitcher_id(db, STITCHER)), START)
        return number(step(db, garment_id, "ladder_knot"))


def _kept(live: Live, step_id: int) -> list[tuple[int, int | None]]:
    with live.database.reading() as db:
        found = db.exec(select(Tally).where(Tally.step_id == step_id)).all()
        return [(tally.counted_tenths // 10, tally.seconds) for tally in found]


def _count(client: httpx2.Client, step_id: int, **said: str) -> httpx2.Response:
    page = client.get(f"/steps/{step_id}").text
    key = re.search(r'name="key" value="([^"]+)"', page)
    assert key
    return client.post(f"/steps/{step_id}/count", data={"key": key[1], **said})


def _question(page: str) -> tuple[str, dict[str, str], dict[str, str]]:
    """What is asked, what goes along with the answer, and the answers by their words."""
    asks = re.search(r'<form [^>]*class="asks".*?</form>', page, re.DOTALL)
    assert asks
    hidden = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', asks[0]))
    answers = re.findall(r'<button [^>]*name="minutes" value="([^"]*)"[^>]*>([^<]*)</button>', asks[0])
    said = re.search(r"<p>(.*?)</p>", asks[0])
    assert said
    return said[1], hidden, {words: value for value, words in answers}


def test_450_minutes_for_45_are_asked_about_and_nothing_is_kept_yet(
    stitcher: httpx2.Client, live: Live, knots: int
) -> None:
    answer = _count(stitcher, knots, counted="100", minutes="450")
    assert answer.status_code == 422
    said, _, answers = _question(answer.text)
    assert said == "450 minutes, or 45? Nothing is counted yet."
    assert answers == {"45 minutes": "45", "450 minutes, as I said": "450"}
    assert _kept(live, knots) == []


@pytest.mark.parametrize(("answered", "seconds"), [("45 minutes", 2700), ("450 minutes, as I said", 27_000)])
def test_either_answer_is_kept_without_asking_again(
    stitcher: httpx2.Client, live: Live, knots: int, answered: str, seconds: int
) -> None:
    _, hidden, answers = _question(_count(stitcher, knots, counted="100", minutes="450").text)
    answer = stitcher.post(f"/steps/{knots}/count", data={**hidden, "minutes": answers[answered]})
    assert answer.status_code == 303
    assert _kept(live, knots) == [(100, seconds)]


def test_the_rest_counted_at_once_is_asked_about_too(stitcher: httpx2.Client, live: Live, knots: int) -> None:
    asked = _count(stitcher, knots, quick="end", minutes="1400")
    said, hidden, answers = _question(asked.text)
    assert said == "1,400 minutes, or 140? Nothing is counted yet."
    stitcher.post(f"/steps/{knots}/count", data={**hidden, "minutes": answers["140 minutes"]})
    assert [seconds for _, seconds in _kept(live, knots)] == [8400]


def test_more_than_a_day_is_asked_about_without_a_guess_at_what_was_meant(
    stitcher: httpx2.Client, live: Live, knots: int
) -> None:
    said, hidden, answers = _question(_count(stitcher, knots, counted="1", minutes="2000").text)
    assert said.startswith("2,000 minutes: is that right? It is far from what the log says of this work.")
    assert list(answers) == ["2,000 minutes, as I said"]
    assert stitcher.post(f"/steps/{knots}/count", data={**hidden, "minutes": "2000"}).status_code == 303
    assert _kept(live, knots) == [(1, 120_000)]


@pytest.mark.parametrize("minutes", ["30", "60", "0", ""])
def test_what_may_well_be_is_kept_without_a_question(
    stitcher: httpx2.Client, live: Live, knots: int, minutes: str
) -> None:
    assert _count(stitcher, knots, counted="100", minutes=minutes).status_code == 303
    assert _kept(live, knots) == [(100, int(minutes) * 60 if minutes else None)]


def test_what_cannot_be_read_is_said_before_any_question(stitcher: httpx2.Client, live: Live, knots: int) -> None:
    page = _count(stitcher, knots, counted="many", minutes="450").text
    assert "Enter how much was done as a number" in page
    assert 'class="asks"' not in page
    assert _kept(live, knots) == []
