"""A piece's road to its day and a chance as drawings: the points stand in order, the words stay on the sheet."""

import re
from datetime import date, timedelta
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.drawing.chance import DAY, LEVELS, chance_mark, chance_word
from service.drawing.road import LETTER, LONGER, WIDTH, Road, road_drawing, road_words

TODAY = date(2026, 11, 25)
DAYS = st.integers(0, 400)


def said(day: date, with_year: bool) -> str:
    return f"{day.day} {day:%b %Y}" if with_year else f"{day.day} {day:%b}"


def road(likely: int, sure: int, wanted: int) -> Road:
    day = [TODAY + timedelta(days=number) for number in (likely, sure, wanted)]
    return Road("Ivy's gown", TODAY, day[0], day[1], day[2], 0.84, said)


def test_the_road_tells_its_days_in_words_and_lettering() -> None:
    drawn = road_drawing(road(8, 15, 39), "road-1")
    assert road_words(road(8, 15, 39)) in drawn
    assert road_words(road(8, 15, 39)) == (
        "Likely done on 3 Dec, eight times in ten by 10 Dec; wanted on 3 Jan 2027, kept with a chance of 84 %."
    )
    for words in ("wanted 3 Jan 2027", "likely 3 Dec", "today", "8 times in 10 by 10 Dec"):
        assert f">{words}<" in drawn
    assert "Ivy&#x27;s gown" in drawn


def test_the_line_of_a_day_that_is_missed_is_drawn_as_needing_a_hand() -> None:
    assert 'class="d-here"' in road_drawing(road(10, 12, 9), "road-1")
    assert 'class="d-here"' not in road_drawing(road(10, 12, 10), "road-1")


@settings(max_examples=40, deadline=None)
@given(DAYS, DAYS, st.integers(-100, 400))
def test_the_points_stand_in_the_order_of_their_days_and_words_stay_on_the_sheet_if_longer_in_another_language(
    likely: int, more: int, wanted: int
) -> None:
    drawn = ET.fromstring(road_drawing(road(likely, likely + more, wanted), "road-1"))
    space = "{http://www.w3.org/2000/svg}"
    today, sure, knot = (float(each.attrib["cx"]) for each in drawn.iter(f"{space}circle"))
    assert 0 <= today <= knot <= sure <= WIDTH
    for text in drawn.iter(f"{space}text"):
        side = -1 if text.attrib["text-anchor"] == "end" else 1
        ends = (float(text.attrib["x"]), float(text.attrib["x"]) + side * LONGER * len(text.text or "") * LETTER)
        assert min(ends) >= -0.1
        assert max(ends) <= WIDTH + 0.1


@pytest.mark.parametrize("level", range(len(LEVELS)))
def test_every_chance_has_a_word_and_a_knot_of_its_own_place(level: int) -> None:
    least, word, at = LEVELS[level]
    assert chance_word(least) == word
    assert re.findall(r'cx="([\d.]+)"', chance_mark(least)) == [f"{at:g}"]
    assert (at < DAY) == (least >= 0.7)
    assert ("stroke-dasharray" in chance_mark(least)) == (at > DAY)
