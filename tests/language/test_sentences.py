"""What the sources hold for people: literals, patterns with places, every way in which a choice comes out."""

import pytest

from tests.language.sentences import Reader


@pytest.mark.parametrize(
    ("source", "messages"),
    [
        ('raise NotFound("There is no such cloth.")', ["There is no such cloth."]),
        ('raise Conflict(f"Only {done} of {step.left} are done.")', ["Only {done} of {step_left} are done."]),
        (
            'def f(n):\n    are = "thread is" if n == 1 else "threads are"\n    return f"{n} {are} left."',
            ["{n} thread is left.", "{n} threads are left."],
        ),
        ("say(f\"{n} day{'' if n == 1 else 's'} ago\")", ["{n} day ago", "{n} days ago"]),
        ('say("All of it" + (", at once" if now else "") + ".")', ["All of it, at once.", "All of it."]),
        ('form.text("name_of", called="a name")', ["a name"]),
        ('"""A docstring here."""\nif state == "called off":\n    go("/cloth/1")', []),
        ('log.info("Something was done")\nx = {"some key": "Some words"}["some key"]', ["Some words"]),
        ('db.exec(text("select the rows from it"))', []),
    ],
)
def test_every_sentence_for_people_is_found_and_nothing_else(source: str, messages: list[str]) -> None:
    assert Reader(source).found == messages
