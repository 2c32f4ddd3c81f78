"""The studio's language: chosen in settings and in the first run, and followed by every page, not by the JSON interface."""

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import httpx2
import pytest

from service.records.db import migrate, open_database
from tests.serving import Live, serving

SETTINGS = {
    "name": "Flax and Bobbin",
    "currency": "EUR",
    "time_zone": "Europe/Berlin",
    "usual_minutes_a_day": "90",
    "length_unit": "cm",
    "count_unit": "cm",
    "numbers": "de_DE",
}


@pytest.fixture
def german(owner: httpx2.Client) -> httpx2.Client:
    """The owner of a studio that speaks German."""
    assert owner.post("/settings", data=SETTINGS | {"language": "de"}).status_code == 303
    return owner


def test_every_page_follows_the_language_of_the_studio(german: httpx2.Client, live: Live) -> None:
    page = german.get("/settings").text
    assert '<html lang="de">' in page
    assert "<h1>Einstellungen</h1>" in page
    assert '<option value="de" selected>Deutsch</option>' in page
    with closing(live.visitor()) as visitor:
        door = visitor.get("/login").text
    assert '<html lang="de">' in door
    assert "Anmelden" in door


def test_a_fault_at_a_field_is_said_in_the_language_and_what_was_typed_stays(german: httpx2.Client) -> None:
    answer = german.post("/settings", data=SETTINGS | {"usual_minutes_a_day": "Settings"})
    assert answer.status_code == 422
    assert "Da stimmt etwas nicht" in answer.text
    assert 'value="Settings"' in answer.text


def test_a_missing_page_is_refused_in_the_language_and_json_in_english(german: httpx2.Client) -> None:
    assert "Diese Kundin gibt es nicht." in german.get("/clients/999").text
    assert german.get("/api/garments/999").json()["detail"].startswith("There is no such garment")


def test_scripts_are_sent_in_the_language_under_an_address_of_their_own(german: httpx2.Client) -> None:
    sent = german.get("/settings").text.partition("/static/every-page.")[2].partition('"')[0]
    assert sent.startswith("de.js?")
    script = german.get(f"/static/every-page.{sent}")
    assert script.headers["cache-control"].startswith("public")
    assert "Abgemeldet" not in german.get("/static/every-page.js").text
    assert german.get("/static/every-page.xx.js").status_code == 404


def test_english_is_left_again(german: httpx2.Client) -> None:
    german.post("/settings", data=SETTINGS | {"language": "en"})
    assert '<html lang="en-GB">' in german.get("/settings").text


def test_an_unknown_language_is_refused(owner: httpx2.Client) -> None:
    answer = owner.post("/settings", data=SETTINGS | {"language": "xx"})
    assert answer.status_code == 422
    assert "Choose a language." in answer.text


@pytest.fixture
def unopened(tmp_path: Path) -> Iterator[Live]:
    """A running service whose studio has no owner yet."""
    url = f"sqlite:///{tmp_path / 'unopened.sqlite'}"
    migrate(url)
    database = open_database(url)
    with serving(database) as live:
        yield live
    database.close()


def test_the_first_page_speaks_as_the_browser_asks_and_opens_the_studio_so(unopened: Live) -> None:
    asked = {"Accept-Language": "de-AT, en;q=0.5"}
    with closing(unopened.visitor()) as visitor:
        page = visitor.get("/first-run", headers=asked).text
        assert '<html lang="de">' in page
        assert '<option value="de" selected>' in page
        assert '<html lang="en-GB">' in visitor.get("/first-run").text
        form = {"name": "Frieda Lohm", "email": "frieda@studio.example", "password": "sieben feine Leinenfäden"}
        opened = visitor.post("/first-run", data=form | {"studio_name": "Lohm", "language": "de"}, headers=asked)
        assert opened.status_code == 303
        assert '<option value="de_DE" selected>' in visitor.get("/first-run/money").text
