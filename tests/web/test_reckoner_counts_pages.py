"""The reckoner's pages for counts, conversions and bands, over HTTP as a browser asks for them.

Dillmont: T. de Dillmont, Encyclopedia of Needlework, English edition, c. 1890, by figure.
"""

import html
import re
from collections.abc import Iterator
from contextlib import closing

import httpx2
import pytest

from service.web.reckoner import QUESTIONS
from tests.serving import OWNER, STITCHER, Live

PAIRED = {
    "kind": "ladder_paired",
    "count_unit": "in",
    "withdrawn_count": "50",
    "withdraw_threads": "18",
    "width": "",
    "standing_count": "50",
    "standing_threads": "96",
    "length": "",
    "bundle_threads": "4",
    "stop_lines": "1",
    "pair_rows": "2",
}


@pytest.fixture(scope="module")
def owner(running: Live) -> Iterator[httpx2.Client]:
    """The owner, signed in once."""
    with closing(running.signed_in(OWNER)) as client:
        yield client


def words_of(page: str) -> str:
    """The page's words as they are read, drawings, tags and breaks left out."""
    bare = re.sub(r"<svg.*?</svg>|<[^>]+>", " ", page, flags=re.DOTALL)
    return " ".join(html.unescape(bare).replace("\xa0", " ").split())


def answered(owner: httpx2.Client, name: str, **asked: str) -> str:
    page = owner.get(f"/reckoner/{name}", params=asked)
    assert page.status_code == 200, page.text
    return page.text


def test_the_reckoner_asks_every_question_it_can_answer(running: Live, owner: httpx2.Client) -> None:
    with closing(running.signed_in(STITCHER)) as stitcher:
        for client in (owner, stitcher):
            page = client.get("/reckoner").text
            for question in QUESTIONS:
                if question.is_the_owners and client is stitcher:
                    assert question.href not in page
                    assert client.get(question.href).status_code == 403
                    continue
                assert f'<a href="{question.href}">{question.words}</a>' in page
                assert client.get(question.href).status_code == 200


def test_nobody_signed_in_is_sent_to_sign_in(running: Live) -> None:
    with closing(running.visitor()) as visitor:
        assert visitor.get("/reckoner/band").status_code == 303


@pytest.mark.parametrize("name", ["count", "convert", "band"])
def test_a_question_not_asked_yet_has_no_fault_and_no_answer(owner: httpx2.Client, name: str) -> None:
    page = answered(owner, name)
    assert 'id="answer"' not in page
    assert 'class="error-summary"' not in page


def test_a_count_is_answered_per_cm_and_per_inch_with_what_is_left_to_do(owner: httpx2.Client) -> None:
    places = {f"threads-{at}": str(threads) for at, threads in enumerate((100, 102, 98), 1)}
    page = words_of(answered(owner, "count", over="5 cm", **places))
    assert "20 per cm That is 50.8 per in, from 3 places, spread ±0.4, 2 % of the count." in page
    assert "Counted at 3 places: count at 5 or more" in page


def test_a_quarter_inch_glass_is_read_as_printed(owner: httpx2.Client) -> None:  # Dooley, Textiles, 1910
    page = words_of(answered(owner, "count", **{"over": "1/4 in", "threads-1": "20"}))
    assert "31.5 per cm That is 80 per in, from one place." in page


@pytest.mark.parametrize(
    ("asked", "field", "sentence"),
    [
        ({"threads-1": ""}, "threads-1", "Enter the threads you counted at one place at least."),
        ({"threads-1": "x"}, "threads-1", "Enter the threads counted as a number"),
        ({"threads-1": "-3"}, "threads-1", "Threads counted must be at least 1."),
        ({"threads-1": "", "threads-4": "90000"}, "threads-4", "That cannot be cloth"),
        ({"threads-1": "20", "over": "NaN"}, "over", "Write the length with its unit"),
        ({"threads-1": "", "over-2": "5 cm"}, "threads-2", "Enter the threads counted."),
        ({"threads-1": "20", "over-1": "0 cm"}, "over-1", "Count over more than nothing and at most 10 m."),
    ],
)
def test_a_count_that_cannot_be_is_told_at_its_field(
    owner: httpx2.Client, asked: dict[str, str], field: str, sentence: str
) -> None:
    page = owner.get("/reckoner/count", params={"over": "5 cm", **asked})
    assert page.status_code == 422
    assert f'<a href="#f-{field}">{sentence}' in page.text
    assert 'id="answer"' not in page.text


def test_threads_are_carried_through_the_width(owner: httpx2.Client) -> None:
    # Dillmont, fig. 71 withdraws 16 to 18 threads; the widths by hand from the exact inch.
    page = answered(owner, "convert", threads="18", from_count="50", from_unit="in", to_count="76", to_unit="in")
    assert "18 threads become 27 threads" in words_of(page)
    assert (
        "Width wanted 9.14 mm Width it comes to 9.02 mm Difference 0.12 mm less One thread of it measures 0.33 mm"
        in words_of(page)
    )
    assert "<desc" in page


def test_a_width_is_carried_alone(owner: httpx2.Client) -> None:
    page = words_of(answered(owner, "convert", width="9.144", to_count="76", to_unit="in"))
    assert "9.14 mm takes 27 threads" in page
    assert "Less than half a thread" in words_of(answered(owner, "convert", width="0.1", to_count="20", to_unit="cm"))


@pytest.mark.parametrize(
    ("asked", "field", "sentence"),
    [
        ({"threads": "", "to_count": "20"}, "threads", "Fill in the threads or the width, one of the two."),
        ({"threads": "8", "width": "4", "to_count": "20"}, "threads", "Fill in the threads or the width, one of the"),
        ({"threads": "8", "to_count": "20"}, "from_count", "This is needed to know how wide those threads are."),
        ({"width": "4", "to_count": ""}, "to_count", "Enter the count of the other cloth."),
        ({"width": "4", "to_count": "0"}, "to_count", "Count of the other cloth must be above 0."),
        ({"width": "4", "to_count": "1e3"}, "to_count", "Enter the count of the other cloth as a number"),
        ({"width": "4", "to_count": "2999"}, "to_count", "This must be at most 1000 per cm, not 2999 per cm."),
        ({"width": "4", "to_count": "20", "to_unit": "ell"}, "to_unit", "Choose per cm or per inch."),
        ({"width": "-4", "to_count": "20"}, "width", "Width must be above 0."),
        ({"threads": "8.5", "from_count": "20", "to_count": "20"}, "threads", "Threads must be a whole number."),
        ({"width": "99999", "to_count": "900"}, "width", "This comes to 8999910 threads; at most 1000000 can be"),
    ],
)
def test_a_conversion_that_cannot_be_is_told_at_its_field(
    owner: httpx2.Client, asked: dict[str, str], field: str, sentence: str
) -> None:
    page = owner.get("/reckoner/convert", params=asked)
    assert page.status_code == 422
    assert f'<a href="#f-{field}">{sentence}' in page.text
    assert f'id="f-{field}"' in page.text


def test_a_band_of_pairs_that_comes_out_says_yes_and_its_knots(owner: httpx2.Client) -> None:  # Dillmont, fig. 71
    page = words_of(answered(owner, "band", **PAIRED))
    assert "Yes: 96 standing threads make 24 bundles of 4, 72 knots." in page
    assert "Withdraw 18 threads, 9.14 mm" in page
    assert "knot the edges 48 knots" in page
    assert "knot in pairs 24 knots" in page
    assert "Ways out" not in page


def test_left_over_threads_are_told_with_ways_out_that_can_be_followed(owner: httpx2.Client) -> None:
    page = answered(owner, "band", **{**PAIRED, "standing_threads": "50"})
    assert "Not as it stands." in page
    assert "2 of 50 standing threads are left over after 12 bundles of 4" in page
    assert "2 left over" in page
    ways = [html.unescape(way) for way in re.findall(r'<th[^>]*><a href="(/reckoner/band[^"]+)"', page)]
    told = [words_of(owner.get(way).text) for way in ways]
    assert "Yes: 48 standing threads make 12 bundles of 4, 36 knots." in told[0]
    assert "Yes: 56 standing threads make 14 bundles of 4, 42 knots." in told[1]
    assert "Yes: 50 standing threads make 12 bundles, 36 knots, and 2 threads run into the seam." in told[2]


def test_an_odd_serpentine_is_told_what_to_gather_instead(owner: httpx2.Client) -> None:  # Dillmont, fig. 58
    asked = {**PAIRED, "kind": "serpentine", "standing_threads": "50", "bundle_threads": "5"}
    page = words_of(answered(owner, "band", **asked))
    assert "Not as it stands." in page
    assert "5 cannot be halved: gather 4 or 6 threads instead." in page


def test_a_band_too_narrow_for_a_thread_is_told_and_not_drawn(owner: httpx2.Client) -> None:
    page = answered(owner, "band", **{**PAIRED, "withdraw_threads": "", "width": "0.05"})
    assert "less than half a thread of this cloth" in page
    assert "d-done" not in page


@pytest.mark.parametrize(
    ("asked", "field", "sentence"),
    [
        ({"withdraw_threads": ""}, "withdraw_threads", "Fill in the threads to withdraw or the width, one of the two."),
        ({"width": "9"}, "withdraw_threads", "Fill in the threads to withdraw or the width, one of the two."),
        ({"length": "9"}, "standing_threads", "Fill in the standing threads or the length, one of the two."),
        ({"withdrawn_count": ""}, "withdrawn_count", "Enter the count of the threads withdrawn."),
        ({"standing_count": "NaN"}, "standing_count", "Enter the count of the standing threads as a number"),
        ({"standing_count": "-1"}, "standing_count", "Count of the standing threads must be above 0."),
        ({"standing_count": "2900"}, "standing_count", "This must be at most 1000 per cm, not 1141.73 per cm."),
        ({"bundle_threads": "0"}, "bundle_threads", "Threads of a bundle must be at least 1."),
        ({"standing_threads": "1000001"}, "standing_threads", "Standing threads must be at most 1,000,000."),
        ({"kind": "hemstitch"}, "kind", "Choose a kind of band."),
        ({"stop_lines": "3"}, "stop_lines", "Choose how many stop lines the band has."),
        ({"pair_rows": ""}, "pair_rows", "Choose one row of pairs or two."),
        ({"count_unit": "ell"}, "count_unit", "Choose per cm or per inch."),
        (
            {"standing_threads": "", "length": "90000"},
            "length",
            "This comes to 1771654 threads; at most 1000000 can be reckoned.",
        ),
    ],
)
def test_a_band_that_cannot_be_is_told_at_its_field(
    owner: httpx2.Client, asked: dict[str, str], field: str, sentence: str
) -> None:
    page = owner.get("/reckoner/band", params={**PAIRED, **asked})
    assert page.status_code == 422
    assert f'<a href="#f-{field}">{sentence}' in page.text
    assert f'id="f-{field}"' in page.text
    assert 'id="answer"' not in page.text


def test_the_longest_band_is_answered_as_a_page(owner: httpx2.Client) -> None:
    page = answered(owner, "band", **{**PAIRED, "standing_threads": "999999", "bundle_threads": "3"})
    assert "333333 bundles is an odd number" in page
    assert len(page) < 60_000
