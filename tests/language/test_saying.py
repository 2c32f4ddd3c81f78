"""A sentence of the program in another language: whole, by its places, by its parts; what was typed stays."""

import pytest
from markupsafe import Markup

from service.languages.places import faults_of
from service.languages.saying import drawing_said, each_said, heads_said, options_said, sayings_of, told
from service.languages.spoken import Units, asked_in, language_now, said, speak

KNOWN = sayings_of(
    {
        "finished": "fertig",
        "the shelf": "dem Regal",
        "thread": "Faden",
        "{part_name}: from {hands} to {hands_2}": "{part_name}: von {hands} an {hands_2}",
        "{done} of {whole} are done.": "{done} von {whole} sind fertig.",
        "Nothing was changed.": "Nichts wurde geändert.",
        "{row_name} is {state} already.": "{row_name} ist schon {state}.",
        "for {days} days": "seit {days} Tagen",
        "{done} of {all}": "{done} von {all}",
        "{len} bundles left": "{len} Stäbchen übrig",
        "{section_name}: {bundles} of {of_bundles} bundles left": "{section_name}: {bundles} von {of_bundles} Stäbchen übrig",
        "likely {hours}": "voraussichtlich {hours}",
        "Turn the work. Begin at the {edge}.": "Die Arbeit wenden. Am {edge} beginnen.",
        "edge": "Rand",
        "Draw it tight.": "Fest anziehen.",
        "Enter {called}.": "{called}: bitte ausfüllen.",
        "{along}: {sentence}": "{along}: {sentence}",
        "Width": "Breite",
        "must be at least {least}, not {value}": "muss mindestens {least} sein, nicht {value}",
        "must be at least {least} threads, not {value}": "braucht mindestens {least} Fäden, nicht {value}",
    }
)


@pytest.mark.parametrize(
    ("english", "german"),
    [
        ("finished", "fertig"),
        ("Finished", "Fertig"),
        ("12.5 of 20 are done.", "12.5 von 20 sind fertig."),
        ("Hem: from the shelf to Tilly", "Hem: von dem Regal an Tilly"),
        ("finished: from the shelf to finished", "finished: von dem Regal an fertig"),  # the part's name was typed
        ("thread is finished already.", "thread ist schon fertig."),
        ("3 of 4 are done. Nothing was changed.", "3 von 4 sind fertig. Nichts wurde geändert."),
        (
            "must be at least 3 threads, not 2",
            "braucht mindestens 3 Fäden, nicht 2",
        ),  # the one with more letters of its own
        (" for 3 days ", " seit 3 Tagen "),
        ("3 of 12", "3 von 12"),
        ("Front of Ivy", "Front of Ivy"),  # too few letters to be sure, and no figure in it
        ("Something that nobody translated", "Something that nobody translated"),
        ("12 × 40", "12 × 40"),
        ("Ladder, right of the front: 3 of 12 bundles left", "Ladder, right of the front: 3 von 12 Stäbchen übrig"),
        ("the front bundles left", "the front bundles left"),  # what is counted is a figure
        ("Ivy of the edge are done.", "Ivy of the edge are done."),  # whole or not at all
        ("thread, of the edge", "thread, of the edge"),
        ("Likely 13 h", "Voraussichtlich 13 h"),
        ("Enter width.", "Breite: bitte ausfüllen."),  # a field's label, small within a sentence
        ("Enter the shelf.", "Dem Regal: bitte ausfüllen."),
        ("width", "width"),  # by itself a name may begin so
        ("Draw it tight. Turn the work. Begin at the edge.", "Fest anziehen. Die Arbeit wenden. Am Rand beginnen."),
    ],
)
def test_a_sentence_is_said_by_the_message_it_was_made_from(english: str, german: str) -> None:
    assert told(KNOWN, english) == german


IN_INCHES = (
    "Two rows of knots would lie only {gap_mm} mm apart in a band {width_mm} mm wide.",
    "{section_name}: {width} × {height} mm, {threads} threads",
    "{length_mm} mm",
    "At {count} threads per cm, count over at least {asked_mm} mm.",
    "{done} of {quantity} {units} done",
    "In some countries babies run about 1 cm longer.",
    "A tube 32 mm across.",
    "Count the bundles on 50 mm.",
    "A swatch of 25.4 × 50.8 mm.",
    "Write 50 mm or 1/4 in.",
)


@pytest.mark.parametrize(
    ("english", "in_inches"),
    [
        (
            "Two rows of knots would lie only 0.4 mm apart in a band 6.35 mm wide.",
            "Two rows of knots would lie only 0.016 in apart in a band 0.25 in wide.",
        ),
        ("Tuck of 6 mm: 540 × 254 mm, 30 threads", "Tuck of 6 mm: 21.26 × 10 in, 30 threads"),  # its name was typed
        (
            "At 20.0 threads per cm, count over at least 50 mm.",
            "At 50.8 threads per inch, count over at least 50 mm (about 2 in).",
        ),
        ("Count the bundles on 50 mm.", "Count the bundles on 50 mm (about 2 in)."),
        ("A swatch of 25.4 × 50.8 mm.", "A swatch of 1 × 2 in."),
        ("Write 50 mm or 1/4 in.", "Write 50 mm or 1/4 in."),
        ("12.7 of 25.4 cm done", "5 of 10 in done"),
        ("3 of 4 threads done", "3 of 4 threads done"),
        ("In some countries babies run about 1 cm longer.", "In some countries babies run about 1 cm (3/8 in) longer."),
        ("A tube 32 mm across.", "A tube 32 mm across."),  # as the rule has it that is quoted
        ("6 mm", "6 mm"),  # whoever typed it means that
        ("Silk ribbon, 6 mm", "Silk ribbon, 6 mm"),
        ("Nothing of ours is 6 mm wide", "Nothing of ours is 6 mm wide"),
    ],
)
def test_lengths_and_counts_of_ours_are_said_in_inches_and_no_others(english: str, in_inches: str) -> None:
    known = sayings_of(
        dict(zip(IN_INCHES, IN_INCHES, strict=True)), Units("in", "in"), as_printed=frozenset({"A tube 32 mm across."})
    )
    assert told(known, english) == in_inches


def test_a_length_is_said_in_inches_in_another_language_too() -> None:
    known = sayings_of({"{a} to {b} mm wide": "{a} bis {b} mm breit"}, Units("in"))
    assert told(known, "25.4 to 50.8 mm wide") == "1 bis 2 in breit"


def test_in_english_everything_stays_as_it_is() -> None:
    speak("en")
    assert said("finished") == "finished"
    assert each_said([("a", "b"), 3]) == [("a", "b"), 3]
    assert options_said([("finished", "Finished")]) == [("finished", "Finished")]
    assert heads_said(["Day", ("Sum", "amount")]) == ["Day", ("Sum", "amount")]
    assert drawing_said(Markup("<svg><title>Hem</title></svg>")) == "<svg><title>Hem</title></svg>"


def test_a_language_that_nobody_knows_is_english() -> None:
    speak("xx")
    assert language_now() == "en"
    assert asked_in("xx,de-CH;q=0.8") == "de"


@pytest.mark.parametrize(
    ("english", "german", "faults"),
    [
        ("For <1>{client}</1>", "Für <1>{client}</1>", []),
        ("<1>Days</1> and <2>hours</2>", "<2>Stunden</2> und <1>Tage</1>", []),
        ("For <1>{client}</1>", "Für {kunde}", ["<1> is missing", "{client} is missing", "</1> is missing", "{kunde} is not in the English"]),
        ("<1>a</1> <2>b</2>", "<1>a<2></1>b</2>", ["</1> closes what is not open", "</2> closes what is not open"]),
        ("a < b", "a <b> b", ["> stands alone"]),
    ],
)  # fmt: skip
def test_a_translation_with_other_places_or_signs_is_found(english: str, german: str, faults: list[str]) -> None:
    assert faults_of(english, german) == faults
