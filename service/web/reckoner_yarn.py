"""The reckoner's page for yarns: their numbers in every system, the cloth's cover and weight, and two cautions."""

from dataclasses import dataclass

from service.drawing.cover_drawing import cover_drawing
from service.languages.spoken import said
from service.reckoning.asked import Wrong
from service.reckoning.findings import Finding
from service.reckoning.lengths import count_in, unit_called
from service.reckoning.yarn import (
    PER_TEX,
    TEX_TIMES,
    Cover,
    Threads,
    average_tex,
    burning_findings,
    cover_of,
    number_of,
    square_findings,
    tex_of,
    weight_g_per_m2,
)
from service.records.tables import Cloth, Panel, Studio
from service.web.forms import Form
from service.web.reckoner import put
from service.web.reckoner_counts import count_from
from service.web.reckoner_making import Answer, Filling, Page, Source, cloth_panels, plain
from service.web.words import per, tidy

SYSTEMS = (*PER_TEX, *TEX_TIMES)
SYSTEM_WORDS = {
    "tex": "tex",
    "denier": "denier",
    "Nm": "metric, Nm",
    "Ne": "cotton, Ne",
    "NeL": "linen lea, NeL",
    "Nw": "worsted, Nw",
    "metric ticket": "ticket number, metric",
    "cotton ticket": "ticket number, cotton",
}
MOST_NUMBER = 1e5
FIELDS = {
    "warp.per_cm": "warp_count",
    "weft.per_cm": "weft_count",
    "warp_per_cm": "warp_count",
    "weft_per_cm": "weft_count",
    "warp.tex": "warp_number",
    "weft.tex": "weft_number",
    "warp.crimp_percent": "warp_crimp",
    "weft.crimp_percent": "weft_crimp",
    "g_per_m2": "weight",
}
YARN = ("system", "number", "plies", "crimp")


@dataclass(frozen=True, slots=True)
class Yarns:
    """Both yarns' numbers, a row for each system."""

    rows: tuple[tuple[str, str, str], ...]


def usual(studio: Studio) -> dict[str, str]:
    """What is usual before anything is typed."""
    return {"count_unit": studio.count_unit, "warp_system": "tex", "weft_system": "", "warp_plies": "1"}


def answer(form: Form, studio: Studio) -> Answer | None:
    """Cover and weight where the yarns are known; the yarns' average where only the weight is."""
    counts = [
        count_from(form, f"{system}_count", "count_unit", called=f"the {system} count") for system in ("warp", "weft")
    ]
    weight = form.decimal("weight", called="the weight", most=10_000, needed=False, above=True)
    if not form.raw("warp_number") and weight is None:
        form.fault("warp_number", "Enter the number of the warp yarn, or the weight of the cloth.")
    warp_tex = _tex(form, "warp")
    weft_tex = _tex(form, "weft") if form.raw("weft_number") else warp_tex
    crimps = [_crimp(form, name) for name in ("warp", "weft")]
    if form.wrong or counts[0] is None or counts[1] is None:
        return None
    measured = None if weight is None else float(weight)
    try:
        if warp_tex is None or weft_tex is None:
            return _from_weight(form, (counts[0], counts[1]), measured or 0, studio)
        threads = Threads(counts[0], warp_tex, crimps[0]), Threads(counts[1], weft_tex, crimps[1])
        return _from_yarns(form, threads, measured)
    except Wrong as wrong:
        put(form, wrong, FIELDS)
        return None


def _tex(form: Form, name: str) -> float | None:
    if not form.raw(f"{name}_number"):
        return None
    own = form.raw(f"{name}_system") or form.raw("warp_system")
    system = own if own in SYSTEMS else ""
    if not system:
        form.fault(f"{name}_system", "Choose how the yarn is numbered.")
    number = form.decimal(f"{name}_number", called="the number of the yarn", most=MOST_NUMBER, above=True)
    plies = form.whole(f"{name}_plies", called="the plies", least=1, most=100, needed=False)
    if not system or number is None:
        return None
    try:
        return tex_of(system, float(number), plies or 1)
    except Wrong as wrong:
        put(form, wrong, {"system": f"{name}_system", "number": f"{name}_number", "plies": f"{name}_plies"})
        return None


def _crimp(form: Form, name: str) -> float:
    return float(form.decimal(f"{name}_crimp", called="the crimp", most=100, needed=False) or 0)


def _from_yarns(form: Form, threads: tuple[Threads, Threads], measured: float | None) -> Answer:
    warp, weft = threads
    si, peirce = cover_of(warp, weft)
    reckoned = weight_g_per_m2(warp, weft)
    weighed = () if measured is None else (("Weighed", f"{tidy(measured)} g per m²"),)
    figures = (
        ("Weight reckoned", f"{tidy(reckoned)} g per m²"),
        *weighed,
        ("Cover factor, SI", _cover(si)),
        ("Cover factor, Peirce", _cover(peirce)),
    )
    findings = _findings(form, warp.per_cm, weft.per_cm, reckoned if measured is None else measured)
    dense = f"cover {tidy(si.warp)} by {tidy(si.weft)}, where threads touch near 28"
    told = f"About {tidy(reckoned, 0)} g per square metre; {dense}."
    drawing = cover_drawing(warp.per_cm, weft.per_cm, si)
    return Answer(told, figures, findings, (), (drawing,), Yarns(_numbers(warp.tex, weft.tex)))


def _from_weight(form: Form, counts: tuple[float, float], g_per_m2: float, studio: Studio) -> Answer:
    tex = average_tex(*counts, g_per_m2)
    told = f"The yarns of this cloth average {tidy(tex)} tex, crimp counted in."
    counted = f"{said(per(counts[0], studio.count_unit))} × {said(per(counts[1], studio.count_unit))}"
    figures = (("Weighed", f"{tidy(g_per_m2)} g per m²"), ("Counts, warp by weft", counted))
    return Answer(told, figures, _findings(form, *counts, g_per_m2), (), (), Yarns(_numbers(tex, tex)))


def _cover(cover: Cover) -> str:
    return f"warp {tidy(cover.warp)}, weft {tidy(cover.weft)}, cloth {tidy(cover.cloth)}"


def _findings(form: Form, warp_per_cm: float, weft_per_cm: float, g_per_m2: float) -> tuple[Finding, ...]:
    fibre = form.text("fibre", called="the fibre", most=60, needed=False)
    return (*burning_findings(g_per_m2, fibre), *square_findings(warp_per_cm, weft_per_cm))


def _numbers(warp_tex: float, weft_tex: float) -> tuple[tuple[str, str, str], ...]:
    return tuple(
        (words, tidy(number_of(system, warp_tex), 2), tidy(number_of(system, weft_tex), 2))
        for system, words in SYSTEM_WORDS.items()
    )


def fill(source: Source) -> tuple[Filling, ...]:
    """The counts, weight and fibre of each cloth of the garment."""
    return tuple(_filling(source, cloth, panels[0]) for cloth, panels in cloth_panels(source))


def _filling(source: Source, cloth: Cloth, panel: Panel) -> Filling:
    unit = source.studio.count_unit
    warp, weft = (plain(count_in(count, unit_called(unit))) for count in (panel.warp_per_cm, panel.weft_per_cm))
    fields = {
        "count_unit": unit,
        "warp_count": warp,
        "weft_count": weft,
        "fibre": cloth.fibre,
        "weight": "" if cloth.weight_mg_per_m2 is None else plain(cloth.weight_mg_per_m2 / 1000),
    }
    note = "" if fields["weight"] else "Fill in its weight, or the number of its yarns."
    return Filling(cloth.name, fields, note)


PAGE = Page(
    "yarn",
    frozenset(
        {"count_unit", "warp_count", "weft_count", "weight", "fibre"}
        | {f"{name}_{part}" for name in ("warp", "weft") for part in YARN}
    ),
    usual,
    answer,
    fill,
    {"systems": SYSTEM_WORDS},
)
