"""Numbers, sums, lengths and days in the studio's manner: as they are written, and read again as they were typed."""

import re
from collections.abc import Iterator
from datetime import date

import httpx2
import pytest
from sqlmodel import select

from service.languages.saying import drawing_said
from service.records.tables import Cloth, Studio
from service.web import manner
from service.web.forms import Form
from service.web.money_words import money
from service.web.words import cloth_length, day, fine, per, short_day, tidy
from tests.building import a_cloth, a_garment
from tests.serving import Live
from tests.web.usual_questions import USUAL


@pytest.fixture(autouse=True)
def in_a_manner_of_its_own() -> Iterator[None]:
    """Each test begins and ends in the usual manner."""
    manner.begin()
    yield
    manner.begin()


@pytest.mark.parametrize(
    ("locale", "number", "sum_", "long", "short"),
    [
        ("en_GB", "1,234.5", "€1,234.50", "16 May 2027", "16 May 27"),
        ("en_US", "1,234.5", "€1,234.50", "May 16, 2027", "May 16, 2027"),
        ("de_DE", "1.234,5", "1.234,50\u00a0€", "16. Mai 2027", "16.05.2027"),
        ("fr_FR", "1\u202f234,5", "1\u202f234,50\u00a0€", "16 mai 2027", "16 mai 2027"),
        ("de_CH", "1’234.5", "EUR\u00a01’234.50", "16. Mai 2027", "16.05.2027"),
        ("xx_XX", "1,234.5", "€1,234.50", "16 May 2027", "16 May 27"),
    ],
)
def test_figures_are_written_in_the_manner_of_the_studio(
    locale: str, number: str, sum_: str, long: str, short: str
) -> None:
    manner.write_as(locale)
    on = date(2027, 5, 16)
    assert (tidy(1234.5), money(123_450, "EUR"), day(on), short_day(on)) == (number, sum_, long, short)


def test_units_follow_the_manner_too() -> None:
    manner.write_as("de_DE")
    assert (fine(9.144, "in"), per(20.25, "in"), cloth_length(3_250_000)) == ("0,36 in", "51,4 per in", "3,25 m")
    assert (cloth_length(2_857_500, "in"), cloth_length(114_300, "in")) == ("3⅛ yd", "⅛ yd")


@pytest.mark.parametrize(
    ("locale", "typed", "read"),
    [
        ("en_GB", "1,234.5", "1234.5"),
        ("en_GB", "12,5", "12.5"),
        ("en_GB", "1,234", "1234"),
        ("de_DE", "1.234,5", "1234.5"),
        ("de_DE", "12.5", "12.5"),
        ("de_DE", "1.234", "1234"),
        ("de_DE", "0.125", "0.125"),
        ("fr_FR", "1\u202f234,5", "1234.5"),
        ("de_CH", "1'234.5", "1234.5"),
    ],
)
def test_a_number_is_read_as_the_studio_writes_it(locale: str, typed: str, read: str) -> None:
    manner.write_as(locale)
    form = Form({"x": typed})
    assert (str(form.decimal("x", called="it")), form.errors) == (read, {})


@pytest.mark.parametrize("locale", manner.OFFERED)
@pytest.mark.parametrize("value", ["0.005", "1.234", "1234.5", "12", "-7.25", "999999.125"])
def test_what_is_filled_in_is_read_again_as_the_same_number(locale: str, value: str) -> None:
    manner.write_as(locale)
    for written in (manner.typed(value), manner.said(f"{float(value):,.3f}")):
        number = Form({"x": written}).decimal("x", called="it", least=-1e9)
        assert number is not None
        assert float(number) == float(value)


@pytest.mark.parametrize(
    ("typed", "unit", "um"),
    [
        ("44 1/2", "in", 1_130_300),
        ("44½", "in", 1_130_300),
        ("3⅛", "yd", 2_857_500),
        ("3 1/8 yd", "m", 2_857_500),
        ('44.5"', "cm", 1_130_300),
        ("113.03 cm", "in", 1_130_300),
        ("25.4 mm", "in", 25_400),
        ("1", "in", 25_400),
    ],
)
def test_a_length_is_exact_in_whichever_unit_it_is_typed(typed: str, unit: str, um: int) -> None:
    form = Form({"x": typed})
    assert (form.length_um("x", unit, called="the width"), form.errors) == (um, {})


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("1/0", "Enter the width as a number, like 12 or 12.5."),
        ("wide in", "Enter the width as a number, like 12 or 12.5."),
        ("0 cm", "Width must be above 0."),
        ("90 m", "Width must be at most 1,000."),
        ("", "Enter the width."),
    ],
)
def test_a_length_that_cannot_be_is_refused_in_a_sentence(typed: str, sentence: str) -> None:
    form = Form({"x": typed})
    form.length_um("x", "cm", called="the width", most=1000)
    assert form.errors == {"x": sentence}


def test_decimals_in_a_sentence_follow_but_names_of_rules_and_times_do_not() -> None:
    manner.write_as("de_DE")
    said = manner.figures_said("One thread measures 0.45 mm (88.2 g), 16 CFR 1610.4a, at 10.30.1, v1.2.")
    assert said == "One thread measures 0,45 mm (88,2 g), 16 CFR 1610.4a, at 10.30.1, v1.2."


def test_a_page_is_written_and_read_in_the_manner_set_and_a_script_is_not(live: Live, owner: httpx2.Client) -> None:
    with live.database.writing() as db:
        a_cloth(db)
        studio = db.get_one(Studio, 1)
        studio.numbers = "de_DE"
        db.add(studio)
    facts = {"name": "Batist", "fibre": "Baumwolle", "width": "112,5", "price": "1.234,50"}
    assert owner.post("/cloth/1/change", data=facts).status_code == 303
    with live.database.reading() as db:
        cloth = db.exec(select(Cloth)).one()
        assert (cloth.width_um, cloth.price_minor_per_m) == (1_125_000, 123_450)
    page = owner.get("/cloth/1/change").text
    assert 'value="112,5"' in page
    assert 'value="1234,50"' in page
    wrong = owner.post("/cloth/1/change", data={**facts, "width": "breit", "price": "1.234,50"})
    assert wrong.status_code == 422
    assert 'value="1.234,50"' in wrong.text
    assert "like 12 or 12,5." in wrong.text
    answer = owner.post("/api/reckon/convert", json={"threads": 10, "from_threads_per_cm": 8, "to_threads_per_cm": 9})
    assert answer.json()["width_mm"] == 12.5


def test_the_marking_sheet_is_drawn_in_the_unit_and_manner_of_the_studio(live: Live, owner: httpx2.Client) -> None:
    with live.database.writing() as db:
        a_garment(db, "handkerchief")
    in_mm = owner.get("/garments/1/marking-sheet").text
    assert "in along the warp" not in in_mm
    with live.database.writing() as db:
        studio = db.get_one(Studio, 1)
        studio.numbers, studio.length_unit = "de_DE", "in"
        db.add(studio)
    page = owner.get("/garments/1/marking-sheet").text
    (width,) = re.findall(r">([\d.]+) mm</text>", in_mm)[:1]
    assert f">{manner.said(tidy(float(width) / 25.4, 3)).replace('.', ',')} in</text>" in page
    assert " mm</text>" not in page.partition("A bar of")[0]


def test_the_figures_of_a_drawing_follow_and_its_lines_do_not() -> None:
    drawing = '<svg><title>0.6 of 1.5 cm, 16.5.1</title><path d="M1.5 2.5"/><text x="2.5">0.9</text></svg>'
    assert drawing_said(drawing) == drawing
    manner.write_as("de_DE")
    assert drawing_said(drawing) == (
        '<svg><title>0,6 of 1,5 cm, 16.5.1</title><path d="M1.5 2.5"/><text x="2.5">0,9</text></svg>'
    )


def test_a_page_in_english_is_drawn_in_the_manner_of_the_studio(live: Live, owner: httpx2.Client) -> None:
    with live.database.writing() as db:
        studio = db.get_one(Studio, 1)
        studio.numbers = "de_DE"
        db.add(studio)
    page = owner.get("/reckoner/tucks", params={**USUAL["tucks"], "depth": "5,55"}).text
    drawn = re.findall(r"<(?:text|desc|title)[^>]*>([^<]*)<", page)
    assert any(re.search(r"\d,\d mm", words) for words in drawn)
    assert [words for words in drawn if re.search(r"\d\.\d", words)] == []


@pytest.mark.parametrize(
    ("locale", "near", "far"), [("en_GB", "3 Dec", "3 Jan 2027"), ("de_DE", "3. Dez.", "3. Jan. 2027")]
)
def test_a_day_in_a_drawing_is_written_in_few_letters(locale: str, near: str, far: str) -> None:
    manner.write_as(locale)
    assert manner.few_letters(date(2026, 12, 3), with_year=False) == near
    assert manner.few_letters(date(2027, 1, 3), with_year=True) == far
