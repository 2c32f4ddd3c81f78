"""Undoing what was done with one press, on the very next page.

What would undo it is an ordinary form of this book. It waits in memory for the browser that pressed and is offered on
the next page it opens; nothing of it is kept anywhere. Another process of the same studio does not offer it.
"""

import time
from collections.abc import Mapping
from dataclasses import dataclass, field

from service.studio.sign_in import sha256

LASTS_S = 120
MOST = 500


@dataclass(frozen=True, slots=True)
class Undo:
    """What was done, in a sentence, and the form that undoes it: where it is sent, and its fields."""

    words: str
    action: str
    fields: Mapping[str, str]


@dataclass(slots=True)
class Offers:
    """What waits to be offered, by the digest of each browser's secret."""

    waiting: dict[str, tuple[float, Undo]] = field(default_factory=dict)

    def offer(self, secret: str, undo: Undo) -> None:
        """Offer it on the next page that this browser opens."""
        self.waiting[sha256(secret)] = (time.monotonic(), undo)
        if len(self.waiting) > MOST:
            self.waiting.pop(next(iter(self.waiting)), None)

    def take(self, secret: str) -> Undo | None:
        """What is offered to this browser, once."""
        at, undo = self.waiting.pop(sha256(secret), (0.0, None)) if self.waiting else (0.0, None)
        return undo if time.monotonic() - at <= LASTS_S else None
