"""The sewing of a garment, thread by thread as its design names them, as the reckoning of thread takes it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping

from service.reckoning.band_kinds import BUNDLES_GATHERED
from service.reckoning.bias import cut_width_mm
from service.reckoning.designs import SectionDesign
from service.reckoning.thread_rates import THREAD_RATES
from service.records.tables import Section, Step

ITS_KNOTS = frozenset({"hem_knot", "ladder_knot", "tuck_knot"})
ThreadWork = dict[str, dict[tuple[str, float | None], float]]
"""Of every thread, how much of each operation at which width of a unit in mm."""


def thread_work(
    sections: Iterable[Section], steps: Iterable[Step], drawn: Mapping[str, SectionDesign], *, done_only: bool = False
) -> ThreadWork:
    """All the sewing of a garment, or only what is done; "" is sewing without a named thread."""
    work: ThreadWork = defaultdict(lambda: defaultdict(float))
    known = {section.id: section for section in sections}
    for step in steps:
        section = known.get(step.section_id)
        tenths = step.done_tenths if done_only else step.quantity_tenths
        if step.operation in THREAD_RATES and tenths:
            thread = section.thread if section else ""
            key = (step.operation, _width_mm(drawn, section, step.operation))
            work[thread][key] += tenths / 10
    return work


def _width_mm(drawn: Mapping[str, SectionDesign], section: Section | None, name: str) -> float | None:
    """The width that one unit of this operation takes in that section; None where it is of no account or unknown."""
    if section is None:
        return None
    if name in ITS_KNOTS or name in BUNDLES_GATHERED:
        if not section.bundle_threads or not section.standing_per_cm:
            return None
        bundle_mm = 10 * section.bundle_threads / section.standing_per_cm
        return round(BUNDLES_GATHERED.get(name, 1) * bundle_mm, 2)
    if name == "alternating_knot" and section.width_um:
        return round(section.width_um / 1000, 2)
    found = drawn.get(section.key)
    if name == "bias_join" and found is not None and found.finished_width_mm:
        return cut_width_mm(found.finished_width_mm, "double", found.binding_seam_mm)
    return None
