"""What is done with a cloth on its pages: counting, cutting, measuring, washing a swatch, over HTTP."""

import re

import httpx2
import pytest
from sqlmodel import select

from service.records.tables import Cloth
from tests.building import a_garment
from tests.serving import Live
from tests.shelf import FIVE, holds, linen, words_of


@pytest.mark.parametrize(
    ("over", "threads", "per_cm", "as_read"),
    [
        ("1/4 in", "20", "31.5 per cm 80 per in.", "20 over ¼ in"),
        ("1/4", "20", "80 per cm 203.2 per in.", "20 over 0.25 cm"),
        ("¼ in", "13", "20.5 per cm 52 per in.", "13 over ¼ in"),
        ('1 1/2 "', "57", "15 per cm 38 per in.", "57 over 1½ in"),
        ("50mm", "100", "20 per cm", "100 over 5 cm"),
        ("5", "100", "20 per cm", "100 over 5 cm"),
        ("2,5 cm", "50", "20 per cm", "50 over 2.5 cm"),
    ],
)
def test_threads_are_counted_over_any_length(
    owner: httpx2.Client, over: str, threads: str, per_cm: str, as_read: str
) -> None:
    path = linen(owner)
    assert owner.post(f"{path}/count", data={"over": over, "warp-2": threads}).status_code == 303
    page = words_of(owner.get(path).text)
    assert f"Warp {per_cm}" in page
    assert f"warp, {as_read}" in page
    assert "Weft Not counted yet." in page


def test_one_place_may_be_counted_over_a_length_of_its_own(owner: httpx2.Client) -> None:
    path = linen(owner)
    typed = {"over": "5 cm", "weft-1": "95", "weft-2": "190", "weft-2-over": "10 cm", "weft-2-place": "near the fold"}
    owner.post(f"{path}/count", data=typed)
    page = words_of(owner.get(path).text)
    assert "Weft 19 per cm 48.3 per in. 2 places, spread ±0, 0 %." in page
    assert "weft, 190 over 10 cm near the fold Ottilie Brook" in page


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"over": "5 cm"}, "warp-1", "Enter the threads you counted at one place at least."),
        ({"over": "5 cm", "weft-3-place": "fold"}, "weft-3", "Weft, place 3: enter the threads counted."),
        ({"over": "5 cm", "warp-4": "many"}, "warp-4", "Warp, place 4: enter the threads counted as a number"),
        ({"over": "5 cm", "warp-4": "0"}, "warp-4", "Warp, place 4: threads counted must be at least 1."),
        ({"over": "5 cm", "warp-4": "20.5"}, "warp-4", "Warp, place 4: threads counted must be a whole number."),
        ({"over": "5 cm", "warp-4": "99999"}, "warp-4", "Warp, place 4: 99999 threads over 50 mm cannot be cloth"),
        ({"over": "", "warp-1": "20"}, "over", "Write the length with its unit, like 5 cm, 50 mm or 1/4 in."),
        ({"over": "a hand", "warp-1": "20"}, "over", "Write the length with its unit"),
        ({"over": "1/0 in", "warp-1": "20"}, "over", "Write the length with its unit"),
        ({"over": "0 cm", "warp-1": "20"}, "over", "Count over more than nothing and at most 10 m."),
        ({"over": "11 m", "warp-1": "20"}, "over", "Count over more than nothing and at most 10 m."),
        (
            {"over": "5 cm", "warp-1": "20", "warp-1-over": "x"},
            "warp-1-over",
            "Warp, place 1: write the length with its unit",
        ),
        ({"over": "5 cm", "warp-1": "100", "instead": "yes"}, "reason", "Say why the earlier readings"),
    ],
)
def test_wrong_readings_come_back_at_their_very_field(
    owner: httpx2.Client, typed: dict[str, str], field: str, sentence: str
) -> None:
    path = linen(owner)
    owner.post(f"{path}/count", data={"over": "5 cm", "weft-1": "95"})
    answer = owner.post(f"{path}/count", data=typed)
    assert answer.status_code == 422
    assert f'<a href="#f-{field}">{sentence}' in answer.text
    assert f'id="f-{field}"' in answer.text
    assert "Warp Not counted yet." in words_of(owner.get(path).text)


def test_two_places_wrong_alike_are_each_named(owner: httpx2.Client) -> None:
    path = linen(owner)
    answer = owner.post(f"{path}/count", data={"over": "5 cm", "warp-2": "many", "weft-1": "some"})
    summary = words_of(answer.text.partition('id="error-summary"')[2].partition("</ul>")[0])
    assert "Warp, place 2: enter the threads counted as a number" in summary
    assert "Weft, place 1: enter the threads counted as a number" in summary
    assert '<a href="/cloth">Cloth</a>' in owner.get(path).text.partition("<h1>")[0].partition("<main")[2]


def test_a_recount_keeps_the_earlier_readings_with_day_and_name(owner: httpx2.Client, stitcher: httpx2.Client) -> None:
    path = linen(owner)
    stitcher.post(f"{path}/count", data=FIVE)
    assert "These count instead" not in stitcher.get(f"{path}/count").text
    assert 'value="yes" checked' in owner.get(f"{path}/count", params={"again": "true"}).text
    again = {"over": "10 cm", "warp-1": "206", "weft-1": "194", "instead": "yes", "reason": "washed"}
    assert owner.post(f"{path}/count", data=again).status_code == 303
    page = words_of(owner.get(path).text)
    assert "Warp 20.6 per cm 52.3 per in. One place." in page
    assert "Set aside (10)" in page
    assert "warp, 101 over 5 cm Wren Hallam" in page
    assert "Ottilie Brook counted again: washed 20 × 19 20.6 × 19.4" in page


def test_a_stitcher_may_not_let_her_readings_count_instead(owner: httpx2.Client, stitcher: httpx2.Client) -> None:
    path = linen(owner)
    owner.post(f"{path}/count", data=FIVE)
    answer = stitcher.post(f"{path}/count", data={"over": "5 cm", "warp-1": "150", "instead": "yes", "reason": "mine"})
    assert answer.status_code == 403
    assert "Warp 20 per cm" in words_of(owner.get(path).text)


def test_a_reading_is_set_aside_and_counts_again(owner: httpx2.Client, stitcher: httpx2.Client) -> None:
    path = linen(owner)
    owner.post(f"{path}/count", data={"over": "5 cm", "warp-1": "100"})
    stitcher.post(f"{path}/count", data={"over": "5 cm", "warp-1": "110"})
    assert stitcher.get(path).text.count("/set-aside") == 1
    assert stitcher.post("/cloth/readings/1/set-aside", data={"aside": "yes"}).status_code == 403
    answer = stitcher.post("/cloth/readings/2/set-aside", data={"aside": "yes"})
    assert answer.headers["location"] == f"{path}#readings"
    assert "Warp 20 per cm" in words_of(owner.get(path).text)
    owner.post("/cloth/readings/2/set-aside", data={})
    page = words_of(owner.get(path).text)
    assert "Warp 21 per cm" in page
    assert "reading counts again 20 × – 21 × –" in page
    assert owner.post("/cloth/readings/77/set-aside", data={}).status_code == 404


def test_what_the_counting_leaves_to_do_and_a_sheer_cloth_are_told(owner: httpx2.Client) -> None:
    path = linen(owner, weight="72")
    owner.post(f"{path}/count", data={"over": "1/4 in", "warp-1": "19", "weft-1": "15", "weft-2": "17"})
    page = words_of(owner.get(path).text)
    assert "Warp: Counted at one place: count at 5 or more" in page
    assert "Weft: At 25.2 threads per cm, count over at least 30 mm" in page
    assert "Weft: The places differ by 8.8 % of the count" in page
    assert "a square of cut work comes out 19 % too long along the warp" in page
    assert "72.0 g per square metre, lighter than 88.2" in page
    assert "(16 CFR 1610)" in page
    assert "This is a reminder, not legal advice or a safety certificate." in page


def test_cloth_comes_in_is_cut_and_is_corrected_with_reasons(owner: httpx2.Client, live: Live) -> None:
    path = linen(owner, on_hand="2")
    assert owner.post(f"{path}/length", data={"kind": "bought", "length": "3"}).headers["location"] == f"{path}/length"
    owner.post(f"{path}/length", data={"kind": "cut", "length": "0.6", "reason": "a sampler"})
    owner.post(f"{path}/measured", data={"measured": "4.25", "why": "the end was frayed"})
    page = words_of(owner.get(f"{path}/length").text)
    assert "4.25 m on hand" in page
    assert re.search(
        r"corrected −0.15 m the end was frayed Ottilie Brook .* cut −0.6 m a sampler .* came in \+3 m .* came in \+2 m",
        page,
    )
    assert holds(live)


def test_a_cut_names_its_garment(owner: httpx2.Client, live: Live) -> None:
    with live.database.writing() as db:
        garment = a_garment(db)
        name, garment_id, cloth_id = garment.name, garment.id, db.exec(select(Cloth.id)).one()
    answer = owner.post(
        f"/cloth/{cloth_id}/length",
        data={"kind": "cut", "length": "1", "garment": str(garment_id), "reason": "sleeves"},
    )
    assert answer.status_code == 303
    page = owner.get(f"/cloth/{cloth_id}/length").text
    assert f'<a href="/garments/{garment_id}">{name}, sleeves</a>' in page


@pytest.mark.parametrize(
    ("act", "typed", "sentence"),
    [
        ("length", {"length": "1"}, "Choose whether it came in, was cut or was given back."),
        ("length", {"kind": "stolen", "length": "1"}, "Choose whether it came in, was cut or was given back."),
        ("length", {"kind": "cut", "length": ""}, "Enter the length."),
        ("length", {"kind": "cut", "length": "0"}, "Length must be above 0."),
        ("length", {"kind": "cut", "length": "-1"}, "Length must be above 0."),
        ("length", {"kind": "cut", "length": "2.01"}, "That is more than is on hand."),
        ("length", {"kind": "cut", "length": "NaN"}, "Enter the length as a number"),
        ("length", {"kind": "bought", "length": "99999.9"}, "No shelf holds so much cloth"),
        ("length", {"kind": "cut", "length": "1", "garment": "99"}, "Choose a garment from the list."),
        ("measured", {"measured": "1", "why": ""}, "Enter why the book said something else."),
        ("measured", {"measured": "", "why": "frayed"}, "Enter the length measured."),
        ("measured", {"measured": "2", "why": "frayed"}, "That is what the book says already"),
        ("measured", {"measured": "-1", "why": "frayed"}, "Length measured must be at least 0."),
    ],
)
def test_a_length_that_cannot_be_comes_back_at_its_field(
    owner: httpx2.Client, live: Live, act: str, typed: dict[str, str], sentence: str
) -> None:
    path = linen(owner, on_hand="2")
    answer = owner.post(f"{path}/{act}", data=typed)
    assert answer.status_code == 422
    assert re.search(rf'<a href="#f-\w+">{re.escape(sentence)}', answer.text)
    assert "2 m on hand" in words_of(owner.get(f"{path}/length").text)
    assert holds(live)


def test_a_long_history_goes_on_on_further_pages(owner: httpx2.Client) -> None:
    path = linen(owner, on_hand="1")
    for number in range(1, 60):
        owner.post(f"{path}/length", data={"kind": "bought", "length": str(number)})
    first = owner.get(f"{path}/length").text
    assert (first.count('data-head="What"'), "+59 m" in first, "+9 m" in first) == (50, True, False)
    further = re.search(r'href="([^"]+\?before=\d+)', first)
    assert further
    second = owner.get(further[1]).text
    assert (second.count('data-head="What"'), "+9 m" in second, "?before=" in second) == (10, True, False)
    assert "Nothing came or went before that" in owner.get(f"{path}/length?before=1").text
    assert owner.get(f"{path}/length?before=x").status_code == 404


def test_a_washed_swatch_tells_the_shrinkage_and_asks_for_a_count(owner: httpx2.Client) -> None:
    path = linen(owner)
    owner.post(f"{path}/count", data=FIVE)
    typed = {
        "warp-1-before": "50",
        "warp-1-after": "47",
        "warp-3-before": "50",
        "warp-3-after": "47.4",
        "weft-1-before": "50",
        "weft-1-after": "49",
        "washed": "at 60 °C",
    }
    assert owner.post(f"{path}/swatch", data=typed).headers["location"] == f"{path}#washing"
    page = words_of(owner.get(path).text)
    assert "Shrinks along the warp 5.6 % Shrinks along the weft 2 %" in page
    assert "(at 60 °C) changed by −5.6 % along the warp and −2.0 % along the weft." in page
    assert "Washed, this cloth should count about 20.4 × 20.1 per cm; arithmetic is no count" in page
    owner.post(f"{path}/count", data={**FIVE, "instead": "yes", "reason": "washed"})
    assert "should count about" not in words_of(owner.get(path).text)


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({}, "warp-1-before", "Warp, length 1: enter the length before washing."),
        ({"weft-1-before": ""}, "weft-1-before", "Weft, length 1: enter the length before washing."),
        ({"warp-1-after": ""}, "warp-1-after", "Warp, length 1: enter the length after washing."),
        ({"warp-2-before": "50"}, "warp-2-after", "Warp, length 2: enter the length after washing."),
        ({"warp-1-after": "5"}, "warp-1-after", "A change of -90 % cannot be right for cloth: measure again."),
        ({"washed": "x" * 501}, "washed", "Keep how it was washed to 500 characters; this is 501."),
        ({"weft-1-after": "0"}, "weft-1-after", "Weft, length 1: length after washing must be above 0."),
        ({"weft-1-after": "x"}, "weft-1-after", "Weft, length 1: enter the length after washing as a number"),
        ({"weft-1-after": "5000"}, "weft-1-after", "Weft, length 1: length after washing must be at most 390."),
    ],
)
def test_a_swatch_that_cannot_be_comes_back_at_its_field(
    owner: httpx2.Client, typed: dict[str, str], field: str, sentence: str
) -> None:
    path = linen(owner)
    whole = {"warp-1-before": "50", "warp-1-after": "47", "weft-1-before": "50", "weft-1-after": "49"}
    answer = owner.post(f"{path}/swatch", data={**whole, **typed} if typed else {})
    assert answer.status_code == 422
    assert f'<a href="#f-{field}">{sentence}' in answer.text
    assert "Shrinks along the weft not known" in words_of(owner.get(path).text)
