"""The first page of an empty studio: it makes the owner's account, from the machine itself or with the code."""

import shutil
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import httpx2
import pytest
from sqlmodel import select

from service.records.db import migrate, open_database
from service.records.tables import Account, Stitcher, Studio
from tests.serving import Live, serving

GOOD = {
    "name": "Ottilie Brook",
    "email": "Ottilie@Studio.example",
    "password": "seven linen threads",
    "studio_name": "Larkfield Whitework",
    "currency": "GBP",
    "time_zone": "Europe/London",
    "length_unit": "cm",
    "count_unit": "in",
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
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    with empty.database.reading() as db:
        account = db.exec(select(Account)).one()
        assert (account.email, account.role) == ("ottilie@studio.example", "owner")
        assert db.exec(select(Stitcher.id)).one() == account.stitcher_id
        assert db.exec(select(Studio.count_unit)).one() == "in"
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
        ({"currency": "none"}, "Choose a currency."),
        ({"time_zone": "here"}, "Choose a time zone."),
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
