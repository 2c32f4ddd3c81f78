"""What pages say of days and chances."""

from collections.abc import Callable
from typing import Any

from markupsafe import Markup, escape

from service.drawing.chance import chance_mark, chance_word
from service.reckoning.dates import shown_percent


def chance(value: float) -> Markup:
    """A chance as a drawn thread, a percentage from 1 to 99, and a word."""
    drawn = Markup(chance_mark(value))  # noqa: S704 (our own drawing; its figures are numbers)
    words = escape(chance_word(value))
    return Markup('<span class="chance">{} <span>{} %</span> <span class="quiet">{}</span></span>').format(
        drawn, shown_percent(value), words
    )


FILTERS: dict[str, Callable[..., Any]] = {"chance": chance}
