"""What finds English words inside a text of another language; every page is looked at with it beside the equal texts."""

import pytest

from service.languages.catalogues import messages_of
from service.reckoning.growth_tables import ATTRIBUTION
from tests.language.within import Within, cited

TYPED = ("Ladder, right of the front", "second birthday", "Hem", "gown")


@pytest.fixture(scope="module")
def german() -> Within:
    return Within(TYPED, messages_of("de"))


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Leiter, rechts von the front: fertig", ["the", "front"]),
        ("Likely 13 to 15 h übrig.", ["Likely", "to"]),
        ("auf je 20 Kettfäden 19,0 weft Fäden", ["weft"]),
        ("Yoke: sticken, 2 Motive more", ["Yoke", "more"]),
    ],
)
def test_a_text_said_by_half_is_found(german: Within, text: str, left: list[str]) -> None:
    assert german.left(text) == left


@pytest.mark.parametrize(
    "text",
    [
        "Ladder, right of the front: fertig",
        "Gewünscht für: second birthday, am 13. Dezember",
        "Stoff für: gown",
        "Hem: in der Hand der Stickerin, 3 von 12 Stäbchen übrig",
        "Dillmont, Encyclopedia of Needlework, um 1890, Kap. 1",
        "Meldet sich mit owner@demo.example an, unter http://127.0.0.1:8000/garments/8",
        "{client}, Ihr Stück ist fertig.",
    ],
)
def test_what_was_typed_and_what_is_cited_is_none(german: Within, text: str) -> None:
    assert german.left(text) == []


def test_what_is_cited_is_looked_for_in_what_is_translated() -> None:
    told = " ".join([*messages_of("de").values(), ATTRIBUTION])
    typed = ("Stoff für: ", "binding: ")
    assert [title for title in cited() if title not in told and not title.startswith(typed)] == []
