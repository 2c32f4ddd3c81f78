"""How handovers are written on pages and papers: where a section stopped, what was counted, who gave what to whom."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from service.languages.spoken import Typed, said, unit_now
from service.records.queries.handovers import HandoverRow, missing_words
from service.records.tables import HandoverPlace, Section, Step
from service.web.amount_words import amount, counted, unit_word
from service.web.words import depth, operation, tidy

COUNTED_ONES = {
    "hem_knot": "bundle",
    "ladder_knot": "bundle",
    "pair_knot": "pair",
    "alternating_knot": "bundle",
    "tuck_knot": "bundle",
    "clip": "clip",
    "withdraw": "thread",
}
THE_SHELF = "the shelf"
THE_EDGE = "the edge of the cloth"
EDGES = {
    "hem_band": "the edge of the hem",
    "tuck_band": "the edge of the tuck",
    "ladder_paired": "the edge of the cloth at both edges; the pairs between them catch nothing",
}


@dataclass(frozen=True, slots=True)
class StoppedPlace:
    """A section's place with what belongs to it."""

    place: HandoverPlace
    section: Section
    step: Step
    panel: str


def stopped_at(it: StoppedPlace) -> str:
    """What comes next, in a sentence."""
    place, step = it.place, it.step
    doing = operation(step.operation)
    if place.next_number is not None:
        one = "knot" if "half of one" in place.pass_words else COUNTED_ONES.get(step.operation, step.unit)
        return f"{doing.capitalize()}: {one} {place.next_number} of {place.whole_number} is next, {place.pass_words}."
    done, whole = amount(place.done_tenths, step.unit), counted(place.quantity_tenths, unit_word(step))
    if not place.done_tenths:
        return f"{doing.capitalize()} is next, {whole}, not begun."
    return f"{doing.capitalize()}: {done} of {whole} are done."


def place_facts(it: StoppedPlace) -> list[tuple[str, str]]:
    """How the section is worked, as pairs of words."""
    return list(_facts(it))


def _facts(it: StoppedPlace) -> Iterator[tuple[str, str]]:
    place = it.place
    if place.from_end:
        yield "Counted", f"from the {place.from_end}, as the edge being worked lies nearest you"
    if it.section.stop_lines and it.section.width_um:
        each = f"{depth(it.section.width_um, unit_now())} long, every thread of it overcast or buttonholed"
        yield (
            "Stop lines",
            f"one, at one end of the band, {each}" if it.section.stop_lines == 1 else f"two, one at each end, {each}",
        )
    if place.work_direction:
        yield (
            "Direction",
            f"worked {place.work_direction}{f', the loop {loop}' if (loop := place.loop_direction) else ''}",
        )
    if place.side_worked:
        yield "Side facing", f"the {place.side_worked} side"
    yield "Thread", Typed(place.thread) if place.thread else "not written down: ask before the first stitch"
    if place.needle:
        yield "Needle", Typed(place.needle)
    if place.bundle_threads:
        layers = " from each layer" if it.section.kind == "tuck_band" else ""
        sizes = ", odd threads spread" if it.section.bundle_sizes else ""
        yield "Bundle", f"{place.bundle_threads} threads{layers}{sizes}"
        yield "Catch", catch_words(it.section.kind, place.catch_threads)
        yield "Hoop", "in a hoop" if place.hoop else "without a hoop"


def catch_words(kind: str, catch_threads: int | None) -> str:
    """How deep the stitch catches the edge."""
    edge = EDGES.get(kind, THE_EDGE)
    if catch_threads is None:
        unsaid = (
            "no number of threads written down: take two (common practice, no source), and write down what you took"
        )
        return f"{said(edge)}, {said(unsaid)}" if kind != "ladder_paired" else edge
    return f"{catch_threads} thread{'' if catch_threads == 1 else 's'} of {edge}"


def handed(row: HandoverRow) -> str:
    """What is handed over: the garment as one, or its panels by name."""
    return said("the joined garment") if row.as_one else ", ".join(row.parts)


def given_by(row: HandoverRow) -> str:
    """In whose hands it was."""
    return f" {said('and')} ".join(name or said(THE_SHELF) for name in row.givers)


def given_to(row: HandoverRow) -> str:
    """Whose hands it goes into."""
    return row.to or said(THE_SHELF)


def sharps(needles: int, pins: int) -> str:
    """Needles and pins in words.

    >>> sharps(1, 12), sharps(0, 0)
    ('1 needle and 12 pins', 'no needle and no pin')
    """
    return missing_words(needles, pins) if needles or pins else "no needle and no pin"


def on_50_mm(first_tenths: int | None, second_tenths: int | None) -> str:
    """Bundles on 50 mm at two places.

    >>> on_50_mm(246, 250), on_50_mm(None, None)
    ('24.6 and 25 bundles on 50 mm', '')
    """
    if first_tenths is None or second_tenths is None:
        return ""
    return f"{tidy(first_tenths / 10)} and {tidy(second_tenths / 10)} bundles on 50 mm"


FILTERS: dict[str, Callable[..., Any]] = {
    "stopped_at": stopped_at,
    "place_facts": place_facts,
    "handed": handed,
    "given_by": given_by,
    "given_to": given_to,
    "sharps": sharps,
    "missing": missing_words,
    "on_50_mm": on_50_mm,
}
