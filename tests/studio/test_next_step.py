"""What a step's page leads to: what holds the step up, what usually comes first, what it opens in its section."""

from service.reckoning.gates import Owner, StepState
from service.reckoning.operations import operation_named
from service.studio.lines import Line
from service.studio.next_step import held_up_by, next_of_section, usually_first


def _line(at: int, operation: str, done: float, panel: str, section: str | None = None) -> Line:
    owner: Owner = "section" if section else "panel"
    state = StepState(operation, 6, done, at, owner, section, panel)
    return Line(at, operation_named(operation).unit, 60, int(done * 10), 1000, state)


LINES = [
    _line(0, "cut_block", 0, "Front"),
    _line(1, "cut_block", 0, "Back"),
    _line(2, "wash", 0, "Back"),
    _line(3, "mark", 0, "Skirt", "Hem"),
    _line(4, "withdraw", 0, "Skirt", "Hem"),
    _line(5, "baste", 0, "Skirt", "Hem"),
    _line(6, "hem_knot", 0, "Skirt", "Hem"),
    _line(7, "secure", 0, "Skirt", "Hem"),
]


def _number(line: Line | None) -> int | None:
    return None if line is None else line.id


def test_what_holds_a_step_up_is_the_step_of_its_own_panel_or_section() -> None:
    assert [_number(held_up_by(LINES, at)) for at in range(len(LINES))] == [None, None, 1, None, None, None, 4, None]


def test_a_step_that_is_done_is_held_up_by_nothing() -> None:
    assert held_up_by([*LINES[:6], _line(6, "hem_knot", 6, "Skirt", "Hem")], 6) is None


def test_what_usually_comes_first_is_the_first_unfinished_step_of_the_same_section_or_panel() -> None:
    assert [_number(usually_first(LINES, at)) for at in range(len(LINES))] == [None, None, 1, None, 3, 3, 3, 3]
    marked = [*LINES[:3], _line(3, "mark", 6, "Skirt", "Hem"), *LINES[4:]]
    assert _number(usually_first(marked, 5)) == 4


def test_a_step_leads_to_the_next_unfinished_one_of_its_section_or_panel() -> None:
    assert [_number(next_of_section(LINES, at)) for at in range(len(LINES))] == [None, 2, None, 4, 5, 6, 7, None]


def test_a_panels_own_step_leads_to_the_first_section_on_it_before_the_panels_last_steps() -> None:
    lines = [_line(0, "trace", 0, "Bib"), _line(1, "mark", 0, "Bib", "Ladder"), _line(2, "retrace", 0, "Bib")]
    assert _number(next_of_section(lines, 0)) == 1
