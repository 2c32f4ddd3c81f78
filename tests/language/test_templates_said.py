"""Templates in another language: text, attributes and constants for people; keys and what was typed stay."""

from types import SimpleNamespace

import pytest
from jinja2 import DictLoader, Environment

from service.languages.saying import each_said, heads_said, options_said
from service.languages.templates import Speaking, macros_in

MACROS = """
{% macro text(form, name, label, hint="needed") -%}<label for="f-{{ name }}">{{ label }}</label><i>{{ hint }}</i>{%- endmacro %}
{% macro facts(pairs) -%}{% for word, value in pairs %}<dt>{{ word }}</dt><dd>{{ value }}</dd>{% endfor %}{%- endmacro %}
{% macro choice(form, name, label, options) -%}{{ label }}{% for option in options %}<option value="{{ option[0] }}">{{ option[1] }}</option>{% endfor %}{%- endmacro %}
{% macro ledger(caption, heads) -%}{{ caption }}{% for head in heads %}{% if head is string %}{{ head }}{% else %}<b class="{{ head[1] }}">{{ head[0] }}</b>{% endif %}{% endfor %}{%- endmacro %}
"""
GERMAN = {
    "For <1>{piece_commission}</1>, wanted on {day}.": "Am {day} gewünscht, für <1>{piece_commission}</1>.",
    "Take it up again": "Wieder aufnehmen",
    "name": "Name",
    "needed": "nötig",
    "yes": "ja",
    "no": "nein",
    "All pages": "Alle Seiten",
    "Sections of {panel_name} and their steps": "Abschnitte von {panel_name}",
    "Work": "Arbeit",
    "work": "arbeit",
    "amount": "Menge",
    "per centimetre": "je Zentimeter",
    "special.html|Work": "Werk",
    "finished": "fertig",
}


def _page(template: str, name: str = "page.html", **values: object) -> str:
    env = Speaking(loader=DictLoader({name: template, "macros.html": MACROS}), autoescape=True)
    env.look_up = lambda of, message: GERMAN.get(f"{of}|{message}") or GERMAN.get(message)
    env.library = {"macros.html": macros_in(MACROS)}
    env.filters |= {
        "said": lambda value: GERMAN.get(value, value) if isinstance(value, str) else value,
        "each_said": each_said,
        "options_said": options_said,
        "heads_said": heads_said,
    }
    env.globals["m"] = env.get_template("macros.html").module
    return env.get_template(name).render(**values)


@pytest.mark.parametrize(
    ("template", "page"),
    [
        (
            '<p>For <a href="/c/{{ id }}">{{ piece.commission }}</a>,\n  wanted on {{ day }}.</p>',
            '<p>Am 3. Mai gewünscht, für <a href="/c/7">work</a>.</p>',
        ),
        ('<a href="/x"{% if id %} aria-current="page"{% endif %}>All pages</a>', '<a href="/x" aria-current="page">Alle Seiten</a>'),
        ('<nav aria-label="All pages" class="work">Work</nav>', '<nav aria-label="Alle Seiten" class="work">Arbeit</nav>'),
        ('<input value="Work"><script>"Work"</script><style>Work</style>', '<input value="Work"><script>"Work"</script><style>Work</style>'),
        ('{{ m.text(form, "name", "Take it up again") }}', '<label for="f-name">Wieder aufnehmen</label><i>nötig</i>'),
        ('{{ m.facts([("Work", "yes" if id else "no"), (piece.name, "no")]) }}', "<dt>Arbeit</dt><dd>ja</dd><dt>work</dt><dd>nein</dd>"),
        (
            '{{ m.choice(form, "work", "Work", [("yes", "per centimetre")]) }}',
            'Arbeit<option value="yes">je Zentimeter</option>',
        ),
        (
            '{{ m.ledger("Sections of " ~ panel.name ~ " and their steps", ["Work", ("Work", "amount")]) }}',
            'Abschnitte von finishedArbeit<b class="amount">Arbeit</b>',
        ),
        ('{% if piece.state == "finished" %}{{ piece.state }}{% endif %} {{ piece.name }}', "fertig work"),
        ('{% set heads = [("work", "Work")] %}{% for key, words in heads %}{{ words }}{% if key == "work" %}!{% endif %}{% endfor %}', "Arbeit!"),
        ("{# Work #}<!-- Work -->{{ id }}", "<!-- Work -->7"),
    ],
)  # fmt: skip
def test_what_people_read_is_translated_and_nothing_else(template: str, page: str) -> None:
    piece = SimpleNamespace(commission="work", name="work", state="finished")
    said = _page(template, id=7, piece=piece, day="3. Mai", panel=SimpleNamespace(name="finished"), form=None)
    assert said.strip() == page


def test_a_message_may_be_translated_for_one_template_alone() -> None:
    assert _page("<p>Work</p>") == "<p>Arbeit</p>"
    assert _page("<p>Work</p>", "special.html") == "<p>Werk</p>"


def test_without_a_catalogue_a_template_gives_the_same_bytes() -> None:
    template = '<p class="a">For <b>{{ a }}</b>\n  and {{ b or "nobody" }}</p><input placeholder="Work {{ a }}">'
    env = Speaking(loader=DictLoader({"page.html": template}), autoescape=True)
    env.look_up, env.library = lambda *_: None, {}
    env.filters["said"] = lambda value: value
    plain = Environment(autoescape=True).from_string(template).render(a="<1>", b="")
    assert env.get_template("page.html").render(a="<1>", b="") == plain
