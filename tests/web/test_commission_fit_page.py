"""The page of a commission's child: readings, the size on the day, and whether its garments will do."""

import html
import re
from datetime import date

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import ChildMeasure, Commission, Garment
from tests.building import a_garment
from tests.serving import Live

CHILD = {"child_sex": "girl", "child_born": "2026-08-15"}
GOOD = {"what": "length", "value": "62", "on": "2026-11-14"}  # day 91; the day itself is day 274


@pytest.fixture
def path(live: Live, owner: httpx2.Client) -> str:
    """The address of a commission of a girl born 274 days before the day, with a day gown of class 68."""
    with live.database.writing() as db:
        garment = a_garment(db)
        garment.size = "62/68"
        db.add(garment)
        commission_id = garment.commission_id
    answer = owner.post(
        f"/commissions/{commission_id}/change",
        data={"client": "1", "title": "Christening of Ivy", "wanted_on": "2027-05-16", **CHILD},
    )
    assert answer.status_code == 303, answer.text
    return f"/commissions/{commission_id}/fit"


def words_of(page: httpx2.Response) -> str:
    main = page.text.partition('<main id="main"')[2].partition("</main>")[0]
    main = re.sub(r"<(svg|title|desc)\b.*?</\1>", "", main, flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", main))).strip()


def kept(live: Live) -> list[ChildMeasure]:
    with live.database.reading() as db:
        return list(db.exec(select(ChildMeasure)))


def change(live: Live, **facts: object) -> None:
    with live.database.writing() as db:
        commission = db.exec(select(Commission)).one()
        for name, value in facts.items():
            setattr(commission, name, value)
        db.add(commission)


def test_without_a_reading_the_span_is_that_of_all_babies(owner: httpx2.Client, path: str) -> None:
    page = words_of(owner.get(path))
    # WHO, girl, day 274: 66.17 / 70.15 / 74.12 for nine in ten.
    assert "cut to allow for 66 to 75 cm." in page
    assert "Length 70.2 cm" in page
    assert "No length has been measured" in page
    assert "Please measure again 3 to 4 weeks before the day." in page


def test_a_reading_narrows_it_and_can_be_removed_for_good(owner: httpx2.Client, live: Live, path: str) -> None:
    answer = owner.post(f"{path}/add", data=GOOD)
    assert (answer.status_code, answer.headers["location"]) == (303, path)
    page = words_of(owner.get(path))
    assert "Likely 70 to 74 cm on the day; cut to allow for 69 to 75 cm." in page  # worked by hand
    assert "Length 62 cm 14 November 2026" in page
    removed = owner.post(f"{path}/{kept(live)[0].id}/remove")
    assert removed.status_code == 303
    assert kept(live) == []


def test_a_garment_too_small_is_told(owner: httpx2.Client, path: str) -> None:
    owner.post(f"{path}/add", data=GOOD)
    page = words_of(owner.get(path))
    assert "Choose first. Made for a child of up to 68.0 cm; likely 69.8 to 74.3 cm on the day" in page
    assert "It will probably be too small: choose a larger size." in page


def test_a_garment_that_will_do_or_has_no_size_in_cm_is_told(owner: httpx2.Client, live: Live, path: str) -> None:
    for size, sentence in (
        ("76, 80", "Made for a child of up to 80 cm: it will do"),
        ("Three to six months", "“Three to six months”, names no length of child in cm"),
    ):
        with live.database.writing() as db:
            garment = db.exec(select(Garment)).one()
            garment.size = size
            db.add(garment)
        owner.post(f"{path}/add", data=GOOD)
        assert sentence in words_of(owner.get(path))


def test_weights_and_heads_are_kept_in_their_own_units(owner: httpx2.Client, live: Live, path: str) -> None:
    owner.post(f"{path}/add", data={**GOOD, "what": "weight", "value": "6.4"})
    owner.post(f"{path}/add", data={**GOOD, "what": "head", "value": "40.3"})
    assert {(one.what, one.value_um, one.value_g) for one in kept(live)} == {
        ("weight", None, 6400),
        ("head", 403_000, None),
    }
    page = words_of(owner.get(path))
    assert "8.7 kg 7.7 to 9.9 kg 7.4 to 10.3 kg" in page  # WHO and van Buuren 2023, worked by hand
    assert "A single head reading is easily off: take it twice." in page


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"value": "6.2"}, "value", "please take this reading again"),
        ({"value": ""}, "value", "Enter the length."),
        ({"value": "NaN"}, "value", "as a number"),
        ({"value": "-62"}, "value", "must be above 0"),
        ({"value": "999999"}, "value", "must be at most"),
        ({"what": "chest"}, "what", "Choose what was measured."),
        ({"on": "2026-08-14"}, "on", "must lie between the birth and the day"),
        ({"on": "2027-05-17"}, "on", "must lie between the birth and the day"),
        ({"on": "soon"}, "on", "as year-month-day"),
    ],
)
def test_wrong_readings_come_back_at_their_field_and_are_not_kept(
    owner: httpx2.Client, live: Live, path: str, typed: dict[str, str], field: str, sentence: str
) -> None:
    answer = owner.post(f"{path}/add", data={**GOOD, **typed})
    assert answer.status_code == 422
    fault = re.findall(rf'id="e-{field}"><span class="unseen">Error: </span>(.*?)</p>', answer.text)
    assert sentence in fault[0]
    assert kept(live) == []


def test_what_must_be_known_first_is_asked_for(owner: httpx2.Client, live: Live, path: str) -> None:
    change(live, child_sex=None)
    page = owner.get(path)
    assert "Girl or boy must be known: write down whether it is a girl or a boy." in words_of(page)
    assert f'action="{path}/add"' not in page.text
    assert owner.post(f"{path}/add", data=GOOD).status_code == 422


def test_a_day_beyond_the_tables_is_told_in_a_sentence(owner: httpx2.Client, live: Live, path: str) -> None:
    change(live, child_born=date(2024, 1, 1))
    assert "The day it is wanted is 1231 days after birth; the tables end at 730" in words_of(owner.get(path))


def test_a_baby_not_born_yet_is_not_measured(owner: httpx2.Client, live: Live, path: str) -> None:
    change(live, born_is_due=True)
    page = words_of(owner.get(path))
    assert "The baby is not born yet: the day itself may move by weeks" in page
    assert owner.post(f"{path}/add", data=GOOD).status_code == 422


def test_readings_are_the_owners_alone(stitcher: httpx2.Client, path: str) -> None:
    assert stitcher.get(path).status_code == 403
    assert stitcher.post(f"{path}/add", data=GOOD).status_code == 403


def test_an_unknown_reading_or_commission_is_told_so(owner: httpx2.Client, path: str) -> None:
    assert owner.post(f"{path}/999/remove").status_code == 404
    assert owner.get("/commissions/999/fit").status_code == 404
