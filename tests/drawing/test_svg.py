"""Markup: everything escaped, an alternative in words, nothing the pages' policy forbids."""

import pytest

from service.drawing.svg import INKS, Picture, drawn, lettering, path, tag, titled
from service.reckoning.asked import Wrong
from service.reckoning.shapes import Rect
from tests.drawing.markup import SVG, read

HOSTILE = '<script>alert("1")</script>&\'"'
VIEW = Rect(0, 0, 10, 10)


def test_words_are_escaped_wherever_they_stand() -> None:
    body = titled(HOSTILE) + lettering("d-text", (1, 2), HOSTILE) + tag("a", "x", {"href": HOSTILE})
    root = read(drawn(Picture(VIEW, HOSTILE, HOSTILE, "p", "map"), body))
    assert [element.text for element in root.iter() if element.text == HOSTILE] == [HOSTILE] * 4
    assert [element.get("href") for element in root.iter() if element.get("href")] == [HOSTILE]
    assert list(root.iter(f"{SVG}script")) == []


def test_a_picture_is_named_and_described_by_its_own_ids() -> None:
    root = read(drawn(Picture(VIEW, "Gown", "Two bands.", "gown-1", "map"), ""))
    title, text = list(root)
    assert (root.get("role"), title.text, text.text) == ("img", "Gown", "Two bands.")
    assert root.get("aria-labelledby") == title.get("id") == "gown-1-title"
    assert root.get("aria-describedby") == text.get("id") == "gown-1-text"


def test_a_picture_with_links_is_not_announced_as_one_image() -> None:
    root = read(drawn(Picture(VIEW, "Gown", "Two bands.", "g", "map", has_links=True), ""))
    assert root.get("role") == "group"


@pytest.mark.parametrize("prefix", ["", "1a", 'a"b', "a b", "a" * 80])
def test_a_prefix_that_is_no_id_is_refused(prefix: str) -> None:
    with pytest.raises(Wrong, match=r"^prefix: "):
        Picture(VIEW, "Gown", "", prefix, "map")


def test_no_ink_writes_a_style() -> None:
    assert {"style", "class"} & {name for ink in INKS.values() for name in ink} == set()


def test_nothing_is_drawn_for_an_empty_path() -> None:
    assert path("d-thread", "") == ""
