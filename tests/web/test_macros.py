"""The parts that pages share: every word of a field is tied to it, everything typed is escaped."""

from html.parser import HTMLParser
from typing import Any

import pytest

from service.reckoning.findings import Finding
from service.web.forms import Form
from service.web.render import environment


def filled(values: dict[str, str] | None = None, errors: dict[str, str] | None = None) -> Form:
    """A form with these values, and these faults in this order."""
    form = Form(values)
    for name, sentence in (errors or {}).items():
        form.fault(name, sentence)
    return form


class Page(HTMLParser):
    """The elements of a piece of HTML, in order, each with its attributes and the text inside it."""

    VOID = frozenset({"input", "meta", "link", "path", "circle"})

    def __init__(self, markup: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str]]] = []
        self.texts: list[str] = []
        self._open: list[int] = []
        self.feed(markup)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, {name: value or "" for name, value in attrs}))
        self.texts.append("")
        if tag not in self.VOID:
            self._open.append(len(self.found) - 1)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, {name: value or "" for name, value in attrs}))
        self.texts.append("")

    def handle_endtag(self, tag: str) -> None:
        assert self.found[self._open.pop()][0] == tag, f"</{tag}> closes nothing"

    def handle_data(self, data: str) -> None:
        for index in self._open:
            self.texts[index] += data

    def all(self, tag: str) -> list[dict[str, str]]:
        return [attrs for name, attrs in self.found if name == tag]

    def one(self, tag: str) -> dict[str, str]:
        (attrs,) = self.all(tag)
        return attrs

    def text_of(self, wanted_id: str) -> str:
        (text,) = [
            " ".join(text.split())
            for (_, attrs), text in zip(self.found, self.texts, strict=True)
            if attrs.get("id") == wanted_id
        ]
        return text

    def text(self, tag: str) -> str:
        (text,) = [
            " ".join(text.split()) for (name, _), text in zip(self.found, self.texts, strict=True) if name == tag
        ]
        return text


def draw(call: str, **context: Any) -> Page:
    template = environment().from_string('{% import "macros.html" as m %}{{ m.' + call + " }}")
    return Page(template.render(context))


def draw_text(call: str, **context: Any) -> str:
    template = environment().from_string('{% import "macros.html" as m %}{{ m.' + call + " }}")
    return " ".join(template.render(context).split())


FIELDS = {
    "text": 'text(form, "width", "Width of the cloth", hint="After washing.")',
    "number": 'number(form, "width", "Width of the cloth", hint="After washing.")',
    "day": 'day(form, "width", "Width of the cloth", hint="After washing.")',
    "long_text": 'long_text(form, "width", "Width of the cloth", hint="After washing.")',
    "choice": 'choice(form, "width", "Width of the cloth", [("a", "A"), ("b", "B")], hint="After washing.")',
    "tick": 'tick(form, "width", "Width of the cloth", hint="After washing.")',
}
ALL_FIELDS = FIELDS | {
    "one_of": 'one_of(form, "width", "Width of the cloth", [("a", "A"), ("b", "B")], hint="After washing.")'
}


def control(page: Page) -> dict[str, str]:
    (attrs,) = [attrs for tag, attrs in page.found if tag in {"input", "select", "textarea"}]
    return attrs


@pytest.mark.parametrize("call", FIELDS.values(), ids=FIELDS)
def test_field_is_named_by_its_label(call: str) -> None:
    page = draw(call, form=filled())
    assert control(page)["id"] == "f-width"
    assert page.one("label")["for"] == "f-width"
    assert page.text("label") == "Width of the cloth"


@pytest.mark.parametrize("call", FIELDS.values(), ids=FIELDS)
def test_field_at_fault_is_described_by_hint_and_error(call: str) -> None:
    page = draw(call, form=filled(errors={"width": "Give a number."}))
    assert control(page)["aria-describedby"] == "h-width e-width"
    assert control(page)["aria-invalid"] == "true"
    assert page.text_of("h-width") == "After washing."
    assert page.text_of("e-width") == "Error: Give a number."


@pytest.mark.parametrize("call", FIELDS.values(), ids=FIELDS)
def test_field_without_fault_says_nothing_of_one(call: str) -> None:
    page = draw(call, form=filled(errors={"length": "Give a number."}))
    assert control(page)["aria-describedby"] == "h-width"
    assert "aria-invalid" not in control(page)


def test_choices_are_named_by_their_legend_and_described_together() -> None:
    page = draw(ALL_FIELDS["one_of"], form=filled(errors={"width": "Choose one."}))
    assert page.text("legend") == "Width of the cloth"
    assert page.one("fieldset")["aria-describedby"] == "h-width e-width"
    assert [attrs["id"] for attrs in page.all("input")] == ["f-width", "f-width-2"]
    assert [attrs["for"] for attrs in page.all("label")] == ["f-width", "f-width-2"]


def test_choice_with_its_own_hint_is_described_by_it() -> None:
    page = draw('one_of(form, "grain", "Grain", [("warp", "Warp"), ("weft", "Weft", "Across.")])', form=filled())
    assert [attrs.get("aria-describedby") for attrs in page.all("input")] == [None, "h-f-grain-2"]
    assert page.text_of("h-f-grain-2") == "Across."


def test_unit_beside_a_number_is_part_of_its_description() -> None:
    page = draw('number(form, "width", "Width", unit="cm")', form=filled())
    assert page.one("input")["aria-describedby"] == "u-width"
    assert page.text_of("u-width") == "cm"


@pytest.mark.parametrize(("whole", "inputmode"), [("true", "numeric"), ("false", "decimal")])
def test_number_asks_for_the_right_keys_and_is_no_spinner(whole: str, inputmode: str) -> None:
    attrs = draw(f'number(form, "knots", "Knots", whole={whole})', form=filled()).one("input")
    assert (attrs["type"], attrs["inputmode"]) == ("text", inputmode)


@pytest.mark.parametrize("call", ALL_FIELDS.values(), ids=ALL_FIELDS)
def test_summary_links_to_an_element_of_the_field(call: str) -> None:
    form = filled(errors={"width": "Give a number.", "": "The two do not agree."})
    summary, shown = draw("error_summary(form)", form=form), draw(call, form=form)
    target = summary.one("a")["href"].removeprefix("#")
    assert target in {attrs.get("id") for _, attrs in shown.found}


def test_summary_is_announced_can_be_focused_and_repeats_each_sentence() -> None:
    page = draw("error_summary(form)", form=filled(errors={"width": "Give a number.", "": "They do not agree."}))
    attrs = page.found[0][1]
    assert (attrs["role"], attrs["tabindex"]) == ("alert", "-1")
    assert page.text_of(attrs["aria-labelledby"]) == "There is a problem"
    assert page.text("ul") == "Give a number. They do not agree."


def test_summary_of_a_form_without_fault_is_nothing() -> None:
    assert draw_text("error_summary(form)", form=filled()) == ""


SPITEFUL = '"><script>alert(1)</script>'


@pytest.mark.parametrize("call", ["text", "number", "day"])
def test_typed_value_comes_back_as_it_was_typed(call: str) -> None:
    page = draw(f'{call}(form, "name", "Name")', form=filled({"name": SPITEFUL}))
    assert page.one("input")["value"] == SPITEFUL
    assert page.all("script") == []


def test_long_text_comes_back_with_its_first_empty_line() -> None:
    markup = environment().from_string('{% import "macros.html" as m %}{{ m.long_text(form, "n", "Notes") }}')
    shown = markup.render(form=filled({"n": "\nsecond line </textarea>"}))
    # A browser drops one line break right after the opening tag.
    assert ">\n\nsecond line &lt;/textarea&gt;</textarea>" in shown


def test_password_is_never_sent_back() -> None:
    page = draw('text(form, "password", "Password", type="password")', form=filled({"password": "a secret"}))
    assert "value" not in page.one("input")


def test_choice_keeps_what_was_chosen_also_when_options_are_numbers() -> None:
    page = draw('choice(form, "cloth", "Cloth", [(7, "Lawn"), (8, "Linen")])', form=filled({"cloth": "8"}))
    assert ["selected" in attrs for attrs in page.all("option")] == [False, True]


def test_one_of_keeps_what_was_chosen() -> None:
    page = draw(ALL_FIELDS["one_of"], form=filled({"width": "b"}))
    assert ["checked" in attrs for attrs in page.all("input")] == [False, True]


@pytest.mark.parametrize(("typed", "checked"), [({}, False), ({"width": ""}, False), ({"width": "yes"}, True)])
def test_tick_is_kept(typed: dict[str, str], checked: bool) -> None:
    assert ("checked" in draw(FIELDS["tick"], form=filled(typed)).one("input")) is checked


def test_needed_field_says_so_to_eyes_and_to_the_browser() -> None:
    page = draw('text(form, "name", "Name", required=true)', form=filled())
    assert "required" in page.one("input")
    assert page.text("label") == "Name needed"


STATES = {
    "garment": ["planned", "in work", "finished", "delivered", "called off"],
    "commission": ["asked", "quoted", "agreed", "closed", "called off"],
    "quote": ["draft", "sent", "accepted", "lapsed", "taken back"],
    "handover": ["offered", "taken", "sent back"],
    "design": ["current", "redrawn", "put away"],
}


@pytest.mark.parametrize("words", STATES.values(), ids=STATES)
def test_states_of_one_thing_each_have_a_word_and_a_shape_of_their_own(words: list[str]) -> None:
    pages = [draw("state(word)", word=word) for word in words]
    assert [" ".join(page.texts[0].split()) for page in pages] == words
    shapes = [page.one("svg")["class"] for page in pages]
    off = [shape for shape in shapes if shape == "shape cut"]
    kept = [shape for shape in shapes if shape != "shape cut"]
    assert len(set(kept)) == len(kept)
    assert len(off) == len(set(words) & {"called off", "lapsed", "taken back", "sent back"})


@pytest.mark.parametrize(("name", "said"), [("Wren", "Wren"), ("", "on the shelf"), (None, "on the shelf")])
def test_hands_names_the_stitcher_or_the_shelf(name: str | None, said: str) -> None:
    assert " ".join(draw("hands(name)", name=name).texts[0].split()) == said


def test_finding_that_making_waits_for_says_so_in_words() -> None:
    found = [Finding("odd", "97 bundles are odd."), Finding("odd", "Three threads are over.", waits=True)]
    assert draw("findings(found)", found=found).text("ul") == (
        "97 bundles are odd. Choose first. Three threads are over."
    )


def test_no_findings_leave_no_empty_list() -> None:
    assert draw_text("findings([])") == ""


def test_facts_pair_each_word_with_its_value_and_keep_a_figure_whole() -> None:
    page = draw('facts([("Width", m.figure("9.0", "mm")), ("Note", note)])', note="<b>fine</b>")
    assert page.text("dl") == "Width 9.0 mm Note <b>fine</b>"
    assert page.all("b") == []


def test_empty_place_offers_one_next_action() -> None:
    page = draw('empty("Cloths stand here.", "/cloth/add", "Add the first cloth")')
    assert page.one("a")["href"] == "/cloth/add"
    assert page.text("a") == "Add the first cloth"


LEDGER = """
{% import "macros.html" as m %}
{% call m.ledger("Cloth", ["Cloth", ("Width", "amount")]) %}
{% call m.line("cloth-7") %}{{ m.lead("Lawn", "/cloth/7") }}{{ m.amount("Width", 140, "cm") }}{% endcall %}
{% endcall %}
"""


def test_ledger_stays_a_table_when_its_rows_are_stacked() -> None:
    page = Page(environment().from_string(LEDGER).render())
    roles = [attrs["role"] for _, attrs in page.found if "role" in attrs]
    assert roles == [
        "table", "rowgroup", "row", "columnheader", "columnheader", "rowgroup", "row", "rowheader", "cell",
    ]  # fmt: skip
    assert page.one("td") == {"role": "cell", "class": "amount", "data-head": "Width"}
    assert page.text("td") == "140 cm"
    assert page.text_of("cloth-7") == "Lawn140 cm"


def test_save_may_offer_a_way_back() -> None:
    assert draw('save("Save")').all("a") == []
    assert draw('save("Save", also="/cloth")').one("a")["href"] == "/cloth"


def test_hidden_value_is_escaped() -> None:
    assert draw('hidden("key", key)', key=SPITEFUL).one("input")["value"] == SPITEFUL
