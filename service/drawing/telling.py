"""The drawings in words, for whoever does not see them."""

from collections import Counter
from collections.abc import Iterable, Sequence

from service.drawing.shown import ShownPanel, ShownSection


def told(section: ShownSection) -> str:
    """Return one section's state as a sentence without its full stop.

    >>> from service.reckoning.shapes import Place, Rect
    >>> told(ShownSection("hem", "Hem", "hem_band", Place((Rect(0, 0, 9, 1),)), "across", 96, 0.42))
    'Hem: 40 of 96 bundles knotted'
    """
    return _told(section, section.name)


def _told(section: ShownSection, name: str) -> str:
    hand = ", needs a hand now" if section.needs_hand else ""
    if section.done_fraction >= 1:
        return f"{name}: done{hand}"
    if section.done_fraction <= 0:
        return f"{name}: not begun{hand}"
    if section.is_band:
        return f"{name}: {section.bundles_done} of {section.bundles} bundles knotted{hand}"
    return f"{name}: {min(99, max(1, round(section.done_fraction * 100)))} % done{hand}"


def told_by_key(panels: Sequence[ShownPanel]) -> dict[str, str]:
    """Return each section's state by its key; sections of one name are told apart by their panel."""
    sections = each_once(panels)
    names = Counter(section.name for section in sections)
    where = {section.key: panel.name for panel in reversed(panels) for section in panel.sections}
    return {
        section.key: told(section)
        if names[section.name] == 1
        else _told(section, f"{where[section.key]}, {section.name}")
        for section in sections
    }


def told_garment(panels: Sequence[ShownPanel]) -> str:
    """Return what a garment's drawing shows: how many sections are done, and each one's state, a line each."""
    sections = each_once(panels)
    return "\n".join([told_in_short(sections), *(f"{words}." for words in told_by_key(panels).values())])


def told_in_short(sections: Sequence[ShownSection]) -> str:
    """Return how many sections are done, begun and not begun.

    >>> told_in_short(())
    'No sections.'
    """
    if not sections:
        return "No sections."
    done = sum(section.done_fraction >= 1 for section in sections)
    begun = sum(0 < section.done_fraction < 1 for section in sections)
    hands = sum(section.needs_hand for section in sections)
    parts = [f"{done} done", f"{begun} begun", f"{len(sections) - done - begun} not begun"]
    if hands:
        parts.append("1 needs a hand now" if hands == 1 else f"{hands} need a hand now")
    count = "1 section" if len(sections) == 1 else f"{len(sections)} sections"
    return f"{count}: {', '.join(parts)}."


def each_once(panels: Iterable[ShownPanel]) -> tuple[ShownSection, ...]:
    """Return every section once: one that lies on several panels with all its bundles.

    A section's parts follow each other, so that its done part is the sum of theirs.
    """
    parts: dict[str, list[ShownSection]] = {}
    for panel in panels:
        for section in panel.sections:
            parts.setdefault(section.key, []).append(section)
    return tuple(_joined(found) for found in parts.values())


def _joined(parts: list[ShownSection]) -> ShownSection:
    if len(parts) == 1:
        return parts[0]
    first = parts[0]
    bundles = sum(part.bundles for part in parts)
    weights = [part.bundles or 1 for part in parts]
    done = sum(part.done_fraction * weight for part, weight in zip(parts, weights, strict=True)) / sum(weights)
    return ShownSection(
        first.key,
        first.name,
        first.kind,
        first.place,
        first.direction,
        bundles,
        min(done, 1.0),
        needs_hand=any(part.needs_hand for part in parts),
    )
