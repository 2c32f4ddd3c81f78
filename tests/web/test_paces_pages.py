"""Pages of what the log has taught: a stitcher's own pace, and how long so much of one work is likely to take."""

import html
import re
from datetime import timedelta
from decimal import Decimal

import httpx2
import pytest

from service.web.hours_words import hours_between
from tests.building import a_garment
from tests.counting import count, number, person, step, stitcher_id, work_on
from tests.giving import Giving, give
from tests.serving import OWNER, START, STITCHER, Live


@pytest.fixture
def wren(live: Live) -> int:
    """A stitcher's number, who knotted ten knots in ten minutes on each of three days."""
    with live.database.writing() as db:
        garment_id, owner, hers = number(a_garment(db, "bib")), person(db, OWNER), person(db, STITCHER)
        work_on(db, owner, garment_id, lambda row: row.operation == "ladder_knot")
        give(db, owner, Giving(garment_id, hers.stitcher_id), START)
        for day in range(3):
            knots = step(db, garment_id, "ladder_knot")
            count(db, hers, knots, 10, START + timedelta(day), minutes=Decimal(10))
        return stitcher_id(db, STITCHER)


def _words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).replace("\xa0", " ").split())


def _pace(page: str) -> str:
    found = re.search(
        r"Knot the edges on cloth of 20 per cm (.+?) a knot 3 Eight times in ten the usual pace", _words(page)
    )
    assert found, _words(page)
    return found[1]


def test_a_stitcher_sees_her_own_pace_and_so_does_the_owner(
    owner: httpx2.Client, stitcher: httpx2.Client, wren: int
) -> None:
    hers = _pace(stitcher.get("/stitchers/me").text)
    assert _pace(owner.get(f"/stitchers/{wren}").text) == hers
    low, high = (int(number) for number in re.findall(r"\d+", hers))
    assert 20 < low < 36 < high < 60  # ten minutes less four of setting up, for ten knots: 36 s


def test_nobody_else_sees_her_pace(second: httpx2.Client, wren: int) -> None:
    assert second.get(f"/stitchers/{wren}").status_code == 403
    mine = second.get("/stitchers/me").text
    assert "Nothing is logged with its minutes yet." in mine
    assert "Knot the edges" not in mine
    asked = second.get("/reckoner/hours", params={"operation": "clip", "quantity": "10", "stitcher": str(wren)})
    assert asked.status_code == 422
    assert "Choose somebody from the list, or anybody." in asked.text
    assert "Wren Hallam" not in asked.text


def _asked(client: httpx2.Client, **said: str) -> httpx2.Response:
    return client.get("/reckoner/hours", params=said)


def test_the_hours_of_some_knots_are_told_as_a_range(owner: httpx2.Client, wren: int) -> None:
    said = {"operation": "ladder_knot", "quantity": "412", "count": "20", "stitcher": str(wren)}
    page = _asked(owner, **said)
    assert page.status_code == 200
    line = {"operation": "ladder_knot", "quantity": 412, "threads_per_cm": 20}
    sent = owner.post("/api/reckon/hours", json={"work": [line], "stitcher": "Wren Hallam"}).json()["hours"]
    words = _words(page.text)
    assert f"412 knots: likely {hours_between(sent['p10'], sent['p90'])} for Wren Hallam." in words
    assert "Mostly guesses: the log is too short yet" in words
    assert "The log tells of 3 days of one kind of work." in words


def test_a_finer_cloth_counted_by_the_inch_takes_longer(owner: httpx2.Client) -> None:
    def likely(count: str, unit: str) -> str:
        page = _asked(owner, operation="ladder_knot", quantity="4000", count=count, count_unit=unit)
        found = re.search(r"As likely more as less about (\d+) h", _words(page.text))
        assert found
        return found[1]

    assert likely("50.8", "in") == likely("20", "cm")
    assert int(likely("40", "cm")) > int(likely("20", "cm"))


def test_nothing_to_do_takes_no_time(owner: httpx2.Client) -> None:
    assert "Nothing to do takes no time." in _asked(owner, operation="press", quantity="0").text


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"operation": "ladder_knot", "quantity": "10"}, "This is needed: a finer cloth takes longer."),
        ({"operation": "ladder_knot", "quantity": "many", "count": "20"}, "Enter how much of it as a number"),
        ({"operation": "ladder_knot", "quantity": "-4", "count": "20"}, "How much of it must be"),
        ({"operation": "ladder_knot", "quantity": "9999999", "count": "20"}, "How much of it must be"),
        ({"operation": "ladder_knot", "quantity": "", "count": "20"}, "Enter how much of it."),
        ({"operation": "crochet", "quantity": "4"}, "Choose the work"),
        ({"operation": "clip", "quantity": "4", "count": "0"}, "must be"),
        ({"operation": "clip", "quantity": "4", "count": "20", "length": "long"}, "Enter the length of a thread"),
        ({"operation": "clip", "quantity": "4", "count": "20", "stitcher": "999"}, "Choose somebody from the list"),
    ],
)
def test_what_cannot_be_reckoned_is_said_at_its_field(
    owner: httpx2.Client, said: dict[str, str], sentence: str
) -> None:
    page = _asked(owner, **said)
    assert page.status_code == 422
    assert sentence in html.unescape(page.text)


def test_the_empty_question_is_asked_without_a_fault(stitcher: httpx2.Client) -> None:
    page = _asked(stitcher)
    assert page.status_code == 200
    assert "Wren Hallam</option>" in page.text
    assert "Ida Thorne" not in page.text
