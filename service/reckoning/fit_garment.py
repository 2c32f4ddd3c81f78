"""Whether a garment made for a certain size will do on the day."""

import re
from dataclasses import dataclass

from service.reckoning.asked import above_zero
from service.reckoning.findings import Finding
from service.reckoning.fit import CLASS_STEP_CM, SMALLEST_CLASS_CM, Fit, Span

LARGEST_CLASS_CM = 104
HEAD_EASE_MM = 20.0  # how much smaller a head still sits well in a bonnet: a guess, no source


@dataclass(frozen=True, slots=True)
class MadeFor:
    """The longest child a garment is made for, and the largest head a bonnet is made for, in cm."""

    length_cm: float | None = None
    head_cm: float | None = None


def class_named(size: str) -> int | None:
    """Return the largest size class of 50, 56 … 104 cm named in a design's size, or None when there is none.

    >>> class_named("62/68"), class_named("3 months")
    (68, None)
    """
    ladder = range(SMALLEST_CLASS_CM, LARGEST_CLASS_CM + 1, CLASS_STEP_CM)
    return max((int(figure) for figure in re.findall(r"\d+", size) if int(figure) in ladder), default=None)


def garment_findings(fit: Fit, made_for: MadeFor) -> tuple[Finding, ...]:
    """Return what a person should know when a garment of this size meets the child on the day; () when it will do.

    Too small (and making it waits) when even the middle is larger than it is made for; perhaps too small when
    the size to allow for is; large when all that is likely lies below its size class (6 cm), or 2 cm of head.
    """
    found: list[Finding] = []
    if made_for.length_cm is not None:
        top = above_zero("length_cm", made_for.length_cm) * 10
        found += _findings("child", fit.length_mm, top, CLASS_STEP_CM * 10)
    if made_for.head_cm is not None:
        top = above_zero("head_cm", made_for.head_cm) * 10
        found += _findings("head", fit.head_mm, top, HEAD_EASE_MM)
    return tuple(found)


def _findings(what: str, span: Span, top_mm: float, below_mm: float) -> list[Finding]:
    said = (
        f"Made for a {what} of up to {top_mm / 10:.1f} cm; likely {span.likely[0] / 10:.1f} to "
        f"{span.likely[1] / 10:.1f} cm on the day, with {span.allow[1] / 10:.1f} cm to allow for. "
    )
    if span.middle > top_mm:
        return [Finding("too_small", said + "It will probably be too small: choose a larger size.", waits=True)]
    if span.allow[1] > top_mm:
        advice = "It may be too small: cut the next size, or give it what lets it out later."
        return [Finding("perhaps_too_small", said + advice)]
    if span.likely[1] <= top_mm - below_mm:
        return [Finding("large", said + "It will probably be large: a smaller size may do.")]
    return []
