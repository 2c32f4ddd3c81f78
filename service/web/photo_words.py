"""How photos are told of: what they show, how large each size of them is."""

from collections.abc import Callable, Mapping
from typing import Any, Protocol

from service.studio.pictures import SIZES, within
from service.web.words import operation


class HasPart(Protocol):
    """A photo with the names of what it shows."""

    @property
    def section(self) -> str: ...

    @property
    def operation(self) -> str: ...

    @property
    def handover_id(self) -> int | None: ...


class HasSides(Protocol):
    """A photo with the sides of its largest picture."""

    @property
    def width(self) -> int: ...

    @property
    def height(self) -> int: ...


def shown_part(photo: HasPart) -> str:
    """What a photo shows, in words; nothing where it is the whole garment.

    >>> from types import SimpleNamespace as S
    >>> shown_part(S(section="Upper ladder", operation="withdraw", handover_id=None))
    'Upper ladder, withdraw'
    >>> shown_part(S(section="", operation="", handover_id=3))
    'a handover'
    """
    if photo.handover_id is not None:
        return "a handover"
    named = (photo.section, operation(photo.operation) if photo.operation else "")
    return ", ".join(word for word in named if word)


def sides(photo: HasSides, size: str) -> tuple[int, int]:
    """The sides of one size of a photo, so that its place is kept free while it is fetched.

    >>> from types import SimpleNamespace as S
    >>> sides(S(width=2048, height=1536), "small")
    (320, 240)
    """
    return within(photo.width, photo.height, SIZES[size])


FILTERS: Mapping[str, Callable[..., Any]] = {"shown_part": shown_part, "sides": sides}
