"""Questions about whole designs and about the log, for the answers kept in full."""

from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from datetime import timedelta
from difflib import unified_diff
from functools import partial
from itertools import chain
from pathlib import Path

import numpy as np

from service.reckoning.carry import own_cloths, plan_garment
from service.reckoning.closed_form import ClosedForm, closed_form
from service.reckoning.dates import DatesAsk, Job, reckon_dates
from service.reckoning.design_faults import faults_of
from service.reckoning.design_text import read_design
from service.reckoning.design_writing import write_design
from service.reckoning.designs import ClothCounts, Faults
from service.reckoning.draws import draw
from service.reckoning.forecast import drawn_hours
from service.reckoning.hindsight import hindsight
from service.reckoning.hours import Line, hours_range
from service.reckoning.hours_answer import HoursAsk, Work, reckon_hours
from service.reckoning.hours_left import hours_left
from service.reckoning.mirrors import drawn_up
from service.reckoning.own_paces import own_paces
from service.reckoning.paces import pace_range
from service.reckoning.path_text import line_of, moved_line
from service.reckoning.quoting import hours_changed, hours_to_quote
from service.reckoning.rates import Pace
from service.reckoning.rates_fit import Fit, fit
from service.reckoning.sizes import size_range, sized
from service.reckoning.slips import slip_in
from service.reckoning.to_buy import cloth_to_buy
from service.reckoning.trial import trials
from tests.reckoning.golden_log import CORRECTED, GARMENT, LOG, REST_OF_P1, stretches
from tests.reckoning.good_questions import GOOD, MAY
from tests.reckoning.in_full import Questions, each

DESIGNS = Path(__file__).parents[2] / "seed_data" / "designs"

LINES = (
    "0,0 30,0 30,40",
    "0,0 1",
    "M 0,0 H 30 V 40 C 1,2 3,4 5,6 Q 7,8 9,9 9,9 8,7 L 1,1 2,2 Z",
    "M 0,0 L 1",
    "M 0,0 L 1,1 1",
    "M 0,0 Z 1",
    "M 0,0 L 2,0 Z L 1,1",
    "M 0,0 M 1,1",
    "M 0,0 B 1,1",
    "0,0 ?",
    "",
    "-1.5e1,.5 100001,0",
)


def text_of(name: str) -> str:
    return (DESIGNS / f"{name}.toml").read_text(encoding="utf-8")


def of_faults() -> Questions:
    return {f"faults of {name}": (_every_fault, name) for name in ("bib", "bonnet")}


def of_designs() -> Questions:
    planned = ("bib", "blouse", "bonnet", "day_gown", "yoke_dress")
    return {
        **{f"planned {name} on {at}": (_planned, (name, at)) for name in planned for at in (12.5, 31.0)},
        **{f"sizes of {name}": (_in_another_size, name) for name in ("bib", "blouse", "day_gown", "handkerchief")},
        **each("to buy", _to_buy, ("christening_gown", "gown"), ("christening_gown", "binding"), ("bib", "lining")),
        "sections astray": (_astray, "handkerchief"),
        **each("moved", _moved, *((text,) for text in LINES)),
        **each("line", line_of, *((text,) for text in LINES)),
        **{f"mirrored {name}": (_mirrored, name) for name in ("handkerchief", "boys_shirt")},
        "nothing of that name": (_nothing_of_that_name, "handkerchief"),
    }


def _every_fault(name: str) -> tuple[str, ...]:
    """What is said when a line is left out, says something else or has a word that is none; each word once."""
    lines = text_of(name).splitlines()
    found: list[str] = []
    seen: set[str] = set()
    for at, line in enumerate(lines):
        word = line.partition(" = ")[0] if " = " in line else ""
        others = [f'{word} = "?"', f"{word} = -3", f"{word}_ = 1", ""] if word and word not in seen else []
        seen.add(word)
        for other in [*others, *([""] if line.startswith("[") else [])]:
            try:
                read_design("\n".join((*lines[:at], other, *lines[at + 1 :])))
            except Faults as faults:
                found += [f"{line[:40]} / {other}: {wrong}" for wrong in faults.wrongs][:3]
    return tuple(found)


def _planned(asked: tuple[str, float]) -> tuple[object, ...]:
    name, per_cm = asked
    design = read_design(text_of(name))
    plan = plan_garment(design, {cloth.role: ClothCounts(per_cm, per_cm - 1.5) for cloth in design.cloths})
    return (
        (plan.design, plan.name, plan.waits, *(panel.steps for panel in plan.panels[:1])),
        *(
            (each.key, each.owner, each.panels, each.counts, each.after, each.error_mm, each.left_over, each.waits)
            for each in plan.sections
        ),
        *((each.key, finding) for each in plan.sections for finding in each.findings),
        *(
            (each.key, step.operation, step.note, step.cannot_be_undone)
            for each in plan.sections[:2]
            for step in each.steps
        ),
    )


def _in_another_size(name: str) -> tuple[str, ...]:
    design = read_design(text_of(name))
    sizes = size_range(design.size)
    assert sizes is not None
    drawn = write_design(design).splitlines()
    found = [f"{sizes.by} {sizes.own_cm} {sizes.sizes_cm}"]
    for size in (sizes.sizes_cm[0], sizes.sizes_cm[-1]):
        other = write_design(sized(design, size)).splitlines()
        found += [line for line in unified_diff(drawn, other, lineterm="", n=0) if line[0] == "+"]
    return tuple(found)


def _astray(name: str) -> tuple[str, ...]:
    design = read_design(text_of(name))
    top = design.panels[0].sections[0]
    joined = (replace(top, key="square.seam"), replace(top, key="top"), replace(top, key="top", owner="garment"))
    moved = replace(design.panels[0], sections=(replace(top, key="other.top"), replace(top, owner="garment")))
    return tuple(map(str, faults_of(replace(design, panels=(moved,), sections=joined))))


def _to_buy(name: str, role: str) -> object:
    design = read_design(text_of(name))
    return cloth_to_buy(plan_garment(design, own_cloths(design)), role, 1400.0, (4.0, 2.5))


def _moved(text: str) -> str:
    return moved_line(text, lambda point, ends: (point[0] + ends[0][1], 2 * point[1] + ends[1][0]))


def _mirrored(name: str) -> tuple[object, ...]:
    text = text_of(name)
    panel = text.partition("[panels.")[2].partition("]")[0]
    other = f'\n[panels.other]\nname = "Other"\nside = "back"\nmirror_of = "{panel}"\n'
    return drawn_up(read_design(text + other)).panel("other").sections


def _nothing_of_that_name(name: str) -> tuple[str, ...]:
    design = read_design(text_of(name))
    plan = plan_garment(design, {cloth.role: cloth.counts for cloth in design.cloths})
    asked: tuple[Callable[[str], object], ...] = (design.panel, design.counts, plan.section, plan.panel)
    return tuple(map(_refused, asked))


def _refused(ask: Callable[[str], object]) -> str:
    try:
        ask("none")
    except ValueError as wrong:
        return str(wrong)
    return ""


def of_the_log() -> Questions:
    told, left = draw(fit(LOG), ["P1"]), stretches(REST_OF_P1, "Ada", 24, "P1")
    new = stretches(GARMENT, "Bea", 28)
    work = {1: left, 2: new}
    questions: dict[str, Callable[[], object]] = {
        "the fit": lambda: _figures(told.fit)[1:],
        "paces": lambda: tuple(pace_range(told.fit, Pace(who, "hem_knot", 24.0)) for who in ("Ada", "Bea", "Eve", "")),
        "own paces": lambda: own_paces(fit(LOG), "Cleo"),
        "closed": lambda: _figures(closed_form(told.fit, left)),
        "hours drawn": lambda: tuple(map(hours_range, drawn_hours(draw(fit(LOG), ["P1"]), [*left, *new]))),
        "hours left": lambda: tuple(one.hundredths[9::10] for one in hours_left(told, work, 1.3).values()),
        "quoted": lambda: hours_to_quote(told, work, 0.7, 1.2),
        "changed": lambda: hours_changed(told, {1: left}, work, 0.6),
        "slips": lambda: tuple(slip_in(fit(CORRECTED), entry) for entry in LOG[9:14]),
        "trials": lambda: trials(fit(CORRECTED), [*left, *new]),
        "looked back on": lambda: tuple(hindsight(LOG, name) for name in ("P1", "P2")),
        "hours asked": lambda: reckon_hours(
            HoursAsk(tuple(Work(line, "P1") for each in left for line in each.lines), "Ada", LOG), told
        ),
        "too many lines": lambda: reckon_hours(HoursAsk((Work(Line("press", 1)),) * 2001), told),
        "too long a log": lambda: reckon_hours(HoursAsk((), log=LOG[:1] * 20_001), told),
        "days": lambda: _days([hours.astype(float) for hours in drawn_hours(told, [*left, *new])]),
    }
    return {f"log, {name}": (partial(_rounded, ask), name) for name, ask in questions.items()}


def _rounded(ask: Callable[[], object], _name: str) -> object:
    return rounded(ask())


def _figures(record: Fit | ClosedForm) -> tuple[object, ...]:
    return tuple(getattr(record, field.name) for field in fields(record))


def _days(hours: list[object]) -> object:
    ask: DatesAsk = GOOD["dates"][1]
    jobs = tuple(
        Job(str(at), ("gown", "bib")[at % 2], "Ada", each, MAY + timedelta(9 * at))  # type: ignore[arg-type]
        for at, each in enumerate(hours[:5])
    )
    return reckon_dates(DatesAsk(ask.start, ask.stitchers, jobs))


def rounded(value: object) -> object:
    """Figures to four digits, as processors do not agree on more of a draw."""
    if isinstance(value, np.ndarray):
        return rounded(tuple(value.ravel().tolist()[:60]))
    if isinstance(value, float):
        return f"{value:.4g}"
    if isinstance(value, dict):
        return tuple((str(name), rounded(one)) for name, one in value.items())
    if isinstance(value, tuple):
        return tuple(rounded(one) for one in value)
    if is_dataclass(value):
        named = ((field.name, rounded(getattr(value, field.name))) for field in fields(value))
        return (type(value).__name__, *chain.from_iterable(named))
    return value
