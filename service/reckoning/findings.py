"""What the reckoning noticed and a person should know: values, not errors."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Finding:
    """One sentence for the maker.

    `code` names the kind of finding for tests and pages; `waits` says that making the garment
    waits until somebody has chosen what to do about it.
    """

    code: str
    text: str
    waits: bool = False
