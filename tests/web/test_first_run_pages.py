"""The first pages of an empty studio: the owner's account, from the machine itself or with the code, and what follows."""

import itertools
import shutil
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import httpx2
import pytest
from sqlmodel import col, select

from service.records.db import migrate, open_database
from service.records.tables import Account, Charges, Cloth, ClothReading, Stitcher, Studio
from service.studio.stitchers import minutes_of
from tests.serving import Live, serving

GOOD = {
    "name": "Ottilie Brook",
    "email": "Ottilie@Studio.example",
    "password": "seven linen threads",
    "studio_name": "Larkfield Whitework",
}
MONEY = {
    "currency": "GBP",
    "time_zone": "Europe/Lisbon",
    "length_unit": "in",
    "count_unit": "in",
    "numbers": "en_GB",
    "hour_rate": "28.50",
}
CLOTH = {
    "name": "Fine lawn",
    "fibre": "cotton",
    "width": "44 1/2",
    "on_hand": "3⅛",
    "over": "1 in",
    "warp-1": "96",
    "warp-2": "98",
    "weft-1": "90",
}
AFAR = {"X-Forwarded-For": "192.168.1.44"}


@pytest.fixture(scope="module")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated SQLite file in which no studio is open yet."""
    path = tmp_path_factory.mktemp("empty") / "studio.sqlite"
    migrate(f"sqlite:///{path}")
    return path


@pytest.fixture
def empty(empty_file: Path, tmp_path: Path) -> Iterator[Live]:
    """A running service on an empty studio that printed the code `abcd1234`."""
    path = tmp_path / "studio.sqlite"
    shutil.copyfile(empty_file, path)
    with serving(open_database(f"sqlite:///{path}"), first_run_code="abcd1234") as running:
        yield running


@pytest.fixture
def visitor(empty: Live) -> Iterator[httpx2.Client]:
    """A browser on the machine itself."""
    with closing(empty.visitor()) as client:
        yield client


def _opened(empty: Live) -> bool:
    with empty.database.reading() as db:
        return db.exec(select(Studio)).first() is not None


@pytest.mark.parametrize("path", ["/", "/login", "/clients", "/stitchers/me"])
def test_every_page_of_an_empty_studio_leads_to_the_first(visitor: httpx2.Client, path: str) -> None:
    assert visitor.get(path).headers["location"] == "/first-run"


def test_a_script_is_told_that_there_is_no_owner_yet(visitor: httpx2.Client) -> None:
    answer = visitor.get("/api/standing")
    assert answer.status_code == 401
    assert "no owner yet" in answer.json()["detail"]


def test_the_first_page_opens_the_studio_and_signs_the_owner_in(visitor: httpx2.Client, empty: Live) -> None:
    page = visitor.get("/first-run").text
    assert "Open your studio" in page
    assert "Code printed" not in page
    answer = visitor.post("/first-run", data=GOOD)
    assert (answer.status_code, answer.headers["location"]) == (303, "/first-run/money")
    with empty.database.reading() as db:
        account = db.exec(select(Account)).one()
        assert (account.email, account.role) == ("ottilie@studio.example", "owner")
        assert db.exec(select(Stitcher.id)).one() == account.stitcher_id
    assert visitor.get("/stitchers").status_code == 200
    assert visitor.get("/first-run").headers["location"] == "/"
    assert visitor.post("/first-run", data={**GOOD, "email": "second@studio.example"}).headers["location"] == "/"


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "Enter your name."),
        ({"email": "ottilie"}, "Enter an e-mail address like name@example.org."),
        ({"password": "short"}, "Choose a password of 12 to 200 characters."),
        ({"studio_name": ""}, "Enter the studio"),
    ],
)
def test_wrong_input_opens_nothing_and_keeps_what_was_typed(
    visitor: httpx2.Client, empty: Live, typed: dict[str, str], sentence: str
) -> None:
    answer = visitor.post("/first-run", data={**GOOD, **typed})
    assert answer.status_code == 422
    assert sentence in answer.text
    assert GOOD["password"] not in answer.text
    assert not _opened(empty)


def test_from_another_machine_the_printed_code_is_wanted(visitor: httpx2.Client, empty: Live) -> None:
    assert "Code printed by the service" in visitor.get("/first-run", headers=AFAR).text
    without = visitor.post("/first-run", data=GOOD, headers=AFAR)
    assert without.status_code == 422
    assert "Enter the code that the service printed" in without.text
    assert not _opened(empty)
    assert visitor.post("/first-run", data={**GOOD, "code": "abcd1234"}, headers=AFAR).status_code == 303
    assert _opened(empty)


def test_guessing_the_code_has_to_wait(visitor: httpx2.Client, empty: Live) -> None:
    statuses = [
        visitor.post("/first-run", data={**GOOD, "code": f"{n:08d}"}, headers=AFAR).status_code for n in range(6)
    ]
    assert statuses == [422] * 5 + [429]
    assert not _opened(empty)


def test_a_name_that_is_not_this_machine_asks_for_the_code(empty: Live) -> None:
    address = empty.url.replace("127.0.0.1", "192.168.7.7")
    host = address.removeprefix("http://")
    with closing(empty.visitor()) as client:
        page = client.get("/first-run", headers={"Host": host})
    assert "Code printed by the service" in page.text


def test_no_account_exists_before_the_owner_makes_one(empty: Live) -> None:
    with empty.database.reading() as db:
        assert db.exec(select(Account)).all() == []


@pytest.fixture
def opened(visitor: httpx2.Client) -> httpx2.Client:
    """The owner, who has just opened her studio."""
    visitor.post("/first-run", data=GOOD)
    return visitor


def test_three_more_pages_follow_and_each_may_be_passed_over(opened: httpx2.Client) -> None:
    way = ["/first-run/money", "/first-run/hours", "/first-run/cloth", "/"]
    for here, following in itertools.pairwise(way):
        assert f'<a href="{following}">Pass over this page</a>' in opened.get(here).text
    assert "Measure your first cloth" in opened.get("/").text


def test_money_and_units_are_kept_with_what_an_hour_costs(opened: httpx2.Client, empty: Live) -> None:
    assert opened.post("/first-run/money", data=MONEY).headers["location"] == "/first-run/hours"
    with empty.database.reading() as db:
        studio = db.get_one(Studio, 1)
        assert (studio.currency, studio.time_zone, studio.length_unit) == ("GBP", "Europe/Lisbon", "in")
        assert (studio.name, studio.usual_minutes_a_day) == ("Larkfield Whitework", 90)
        assert db.get_one(Charges, 1).hour_rate_minor == 2850
    again = opened.get("/first-run/money").text
    assert '<option value="GBP" selected>' in again
    assert "An hour of work costs" not in again


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"hour_rate": "0"}, "What an hour costs must be above nothing."),
        ({"hour_rate": "much"}, "Enter what an hour costs as a number"),
        ({"currency": "none"}, "Choose a currency."),
        ({"time_zone": "here"}, "Choose a time zone."),
    ],
)
def test_wrong_money_changes_nothing(opened: httpx2.Client, empty: Live, typed: dict[str, str], sentence: str) -> None:
    answer = opened.post("/first-run/money", data={**MONEY, **typed})
    assert answer.status_code == 422
    assert sentence in answer.text
    with empty.database.reading() as db:
        assert db.get_one(Studio, 1).length_unit == "cm"
        assert db.get(Charges, 1) is None


def test_hours_of_the_owner_and_of_whoever_else_stitches(opened: httpx2.Client, empty: Live) -> None:
    week = {"hours_mon": "3", "hours_sat": "1.5", "other-2": "Wren Hallam", "other-2-hours": "2,5"}
    assert opened.post("/first-run/hours", data=week).headers["location"] == "/first-run/cloth"
    with empty.database.reading() as db:
        rows = db.exec(select(Stitcher).order_by(col(Stitcher.id))).all()
        assert [(row.name, minutes_of(row)) for row in rows] == [
            ("Ottilie Brook", (180, 0, 0, 0, 0, 90, 0)),
            ("Wren Hallam", (150, 150, 150, 150, 150, 0, 0)),
        ]


def test_whoever_else_stitches_needs_a_name(opened: httpx2.Client, empty: Live) -> None:
    answer = opened.post("/first-run/hours", data={"hours_mon": "3", "other-1-hours": "2"})
    assert answer.status_code == 422
    assert "Enter her name." in answer.text
    with empty.database.reading() as db:
        assert [minutes_of(row) for row in db.exec(select(Stitcher))] == [(0, 0, 0, 0, 0, 0, 0)]


def test_the_first_cloth_is_written_down_and_counted_in_one_go(opened: httpx2.Client, empty: Live) -> None:
    opened.post("/first-run/money", data=MONEY)
    assert opened.post("/first-run/cloth", data=CLOTH).status_code == 303
    with empty.database.reading() as db:
        cloth = db.exec(select(Cloth)).one()
        assert (cloth.width_um, cloth.on_hand_um) == (1_130_300, 2_857_500)
        found = [(row.system, row.threads, row.over_um) for row in db.exec(select(ClothReading))]
        assert found == [("warp", 96, 25_400), ("warp", 98, 25_400), ("weft", 90, 25_400)]
    assert "Choose the first design" in opened.get("/").text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"weft-1": ""}, "Count the weft threads at one place at least"),
        ({"width": ""}, "Enter the width."),
        ({"over": "far"}, "Write the length with its unit"),
    ],
)
def test_a_cloth_that_cannot_be_taken_is_not_written_down(
    opened: httpx2.Client, empty: Live, typed: dict[str, str], sentence: str
) -> None:
    answer = opened.post("/first-run/cloth", data={**CLOTH, **typed})
    assert answer.status_code == 422
    assert sentence in answer.text
    assert 'value="Fine lawn"' in answer.text
    with empty.database.reading() as db:
        assert db.exec(select(Cloth)).all() == []
