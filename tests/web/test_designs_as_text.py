"""A design as a text over HTTP: brought in, taken out byte for byte, changed as a whole, refused by its place."""

import re
from html import unescape
from pathlib import Path

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Design
from tests.building import DESIGNS, a_design
from tests.serving import Live

SEEDS = sorted(DESIGNS.glob("*.toml"))


def _none_kept(live: Live) -> bool:
    with live.database.reading() as db:
        return db.exec(select(Design)).first() is None


@pytest.mark.parametrize("file", SEEDS, ids=lambda path: path.stem)
def test_a_design_brought_in_is_taken_out_again_byte_for_byte(owner: httpx2.Client, file: Path) -> None:
    text = file.read_bytes()
    answer = owner.post("/designs/import", files={"file": ("a.toml", text)}, data={"text": ""})
    assert answer.status_code == 303, answer.text
    taken = owner.get(f"{answer.headers['location']}/text")
    assert taken.content == text
    assert taken.headers["content-disposition"].startswith('attachment; filename="')
    pasted = owner.post("/designs/import", data={"text": text.decode().replace("\n", "\r\n")})
    assert owner.get(f"{pasted.headers['location']}/text").content == text


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "Choose a file, or paste a design’s text."),
        ("not toml", "is not TOML, line 1: "),
        ('key = "bib"\n\nname = \n', "is not TOML, line 3: Invalid value (column 8)"),
        ("x" * 300_000, "is longer than 200000 letters"),
        ('key = "bib"\nname = "Bib"', "a design needs at least one"),
        ("[panels.front]\nblock_width_mm = nan", "must be a number"),
        ('[panels.front.sections.hem]\nkind = "zigzag"', "must be one of hem_band"),
        (
            '[sections.neck]\nname = "Neck"\nkind = "seam"\n[sections.neck.on.front]\nalong = 4',
            "must be words in quotes",
        ),
    ],
    ids=["nothing", "not TOML", "not TOML further down", "huge", "no panel", "no number", "unknown kind", "wrong sort"],
)
def test_bad_text_is_told_by_its_place_and_nothing_is_kept(
    owner: httpx2.Client, live: Live, text: str, told: str
) -> None:
    answer = owner.post("/designs/import", data={"text": text})
    assert answer.status_code == 422
    assert told in unescape(answer.text)
    assert _none_kept(live)


def test_what_is_wrong_with_a_text_stands_before_it(owner: httpx2.Client) -> None:
    page = owner.post("/designs/import", data={"text": "not toml"}).text
    assert page.index("<h2>What is wrong</h2>") < page.index('id="f-text"')


def test_a_file_that_is_no_text_is_refused(owner: httpx2.Client, live: Live) -> None:
    answer = owner.post("/designs/import", files={"file": ("a.toml", b"\xff\xfe\x00")})
    assert answer.status_code == 422
    assert "This file is not readable text." in answer.text
    assert _none_kept(live)


def test_the_whole_text_is_changed_at_once(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        gown = f"/designs/{a_design(db).id}"
    text = owner.get(f"{gown}/text").text
    assert owner.post(f"{gown}/change-text", data={"text": text.replace("Day gown", "Summer gown")}).status_code == 303
    assert "<h1>Summer gown" in owner.get(gown).text
    answer = owner.post(f"{gown}/change-text", data={"text": text.replace('kind = "ladder"', 'kind = "ladders"', 1)})
    assert answer.status_code == 422
    assert re.search(r"panels\.front\.sections\.\w+\.kind", answer.text)
