"""Words of every kind, and what they are said to mean."""

from __future__ import annotations

import time

import pytest

from core.directions.meaning import CATEGORIES
from core.directions.reading import read_direction


@pytest.mark.parametrize(
    ("text", "translation"),
    [
        ("dolce", "sweet"),
        ("molto espressivo", "very expressive"),
        ("più lento", "slower"),
        ("un poco più lento", "a little slower"),
        ("molto più lento", "much slower"),
        ("meno allegro", "less fast"),
        ("sempre pp", "always very soft"),
        ("più p", "softer"),
        ("più pp", "softer, very soft"),
        ("poco rit.", "slowing down a little"),
        ("cresc. molto", "getting much louder"),
        ("Mässig schnell", "moderately fast"),
        ("ben legato", "very smooth and connected"),
        ("quasi arpa", "like a harp"),
        ("poco a poco cresc.", "little by little getting louder"),
        ("più f poco a poco", "little by little louder"),
        ("Allegro non troppo", "not too fast"),
        ("con molta espressione", "with much expression"),
        ("senza rallentare", "without slowing down"),
        ("sehr langsam", "very slow"),
        ("immer leiser", "ever softer"),
        ("nicht eilen", "do not hurry"),
        ("ohne zu eilen", "without hurrying"),
        ("mit innigster Empfindung", "with most heartfelt feeling"),
        ("in ruhiger Bewegung", "in calm movement"),
        ("zurückgehalten", "held back"),
        ("un peu moins vite", "a little less fast"),
        ("en retenant", "holding back"),
        ("sans presser", "without hurrying"),
        ("avec une joie sauvage", "with a wild joy"),
        ("ne pas ralentir", "do not slow down"),
        ("comme un écho", "like an echo"),
        ("a tempo (meno mosso)", "in time (slower)"),
    ],
)
def test_a_translation_is_put_together_from_the_parts(text: str, translation: str) -> None:
    assert read_direction(text).translation == translation


@pytest.mark.parametrize(
    ("text", "language"),
    [
        ("poco rit.", "it"),
        ("etwas drängend", "de"),
        ("très doux", "fr"),
        ("p très doux", "fr"),
        ("Slow march tempo", "en"),
        ("Langsam Lento", "mix"),
        ("muy triste", "es"),
        ("qwrtz", None),
    ],
)
def test_the_language_is_that_of_the_words(text: str, language: str | None) -> None:
    assert read_direction(text).language == language


def test_the_language_of_the_score_decides_between_equals() -> None:
    assert read_direction("triste", context_language="fr").language == "fr"
    assert read_direction("triste", context_language="it").language == "it"


@pytest.mark.parametrize(
    ("text", "normal_form"),
    [
        ("Cresc.", "crescendo"),
        ("rit. e dim.", "ritardando e diminuendo"),
        ("M. D.", "mano destra"),
        ("D.C. al Fine", "da capo al fine"),
        ("sempre ligato", "sempre legato"),
        ("piu lento", "piu lento"),
        ("cre - - scen - - do", "crescendo"),
        ("poco ri - tar - dan - do", "poco ritardando"),
        ("mit Ausdruck", "mit Ausdruck"),
        ("Allegro ( = 120)", "allegro"),
        ("tranquilllo", "tranquillo"),
    ],
)
def test_the_normal_form_is_written_out(text: str, normal_form: str) -> None:
    assert read_direction(text).normal_form == normal_form


def test_an_abbreviation_of_two_words_gives_both_the_likelier_first() -> None:
    meaning = read_direction("rit.")
    assert meaning.normal_form == "ritardando"
    assert meaning.alternatives[0].normal_form == "ritenuto"
    assert meaning.alternatives[0].translation == "held back"
    assert meaning.confidence < 1


@pytest.mark.parametrize(
    ("text", "categories"),
    [
        ("Allegro", ("tempo",)),
        ("più lento", ("tempo change", "tempo")),
        ("p dolce", ("dynamics", "character")),
        ("dim. e rall.", ("dynamic change", "tempo change")),
        ("ben legato", ("articulation touch",)),
        ("una corda", ("pedal",)),
        ("l.h.", ("hands technique",)),
        ("D.C. al Fine", ("structure navigation",)),
        ("Fine", ("structure navigation",)),
        ("ossia", ("page instruction",)),
        ("SCHERZO Allegro molto", ("tempo", "structure navigation")),
    ],
)
def test_the_main_category_comes_first(text: str, categories: tuple[str, ...]) -> None:
    found = read_direction(text).categories
    assert found == categories
    assert set(found) <= set(CATEGORIES)


@pytest.mark.parametrize("text", ["legato", "fz", "a tempo", "Tempo I°", "getragen", "cédez"])
def test_conventions_are_known(text: str) -> None:
    assert read_direction(text).is_known


@pytest.mark.parametrize(
    "text",
    ["comme un oiseau", "Le père", "He laughs", "mit Donner", "wie ein Stern", "12", "une"],
)
def test_what_is_plain_language_has_no_standard_meaning(text: str) -> None:
    assert not read_direction(text).is_known


def test_a_word_that_is_not_understood_is_quoted_and_never_invented() -> None:
    meaning = read_direction("p qwertzig")
    assert meaning.translation == "soft, “qwertzig”"
    assert not meaning.is_known
    assert meaning.confidence < 0.5


def test_what_is_not_understood_at_all_says_so() -> None:
    meaning = read_direction("zzyzx brrgl")
    assert (meaning.translation, meaning.normal_form, meaning.categories) == (None, None, ())
    assert not meaning.is_known


def test_a_slip_is_a_guess() -> None:
    meaning = read_direction("appasssionato")
    assert meaning.translation == "passionate"
    assert meaning.confidence < 0.9


@pytest.mark.parametrize("to", ["de", "fr", "es"])
def test_other_languages_are_composed_or_english_is_said(to: str) -> None:
    composed = {"de": "etwas langsamer", "fr": "un peu plus lent", "es": "un poco más lento"}
    found = read_direction("poco più lento", to=to)
    assert (found.translation, found.translation_language) == (composed[to], to)
    fallback = read_direction("comme un oiseau", to=to)
    assert (fallback.translation, fallback.translation_language) == ("like a bird", "en")


def test_a_target_without_renderings_is_refused() -> None:
    with pytest.raises(ValueError, match="to is 'xx'; it is one of en, de, fr, es"):
        read_direction("dolce", to="xx")


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "\x00\x07",
        "-",
        "...",
        "((((",
        "\u202ep\u202c",
        "שלום",
        "ピアノで",
        "p" * 5000,
        "¿?",
    ],
)
def test_bad_input_is_not_understood(text: str) -> None:
    meaning = read_direction(text)
    # A "p" between marks for the order of writing is still one.
    assert (meaning.text, meaning.is_known) == (text, text == "\u202ep\u202c")


@pytest.mark.parametrize("piece", ["poco ", "cre - ", "qwertzuiop ", "( = 1", "a a a a a a "])
def test_time_is_bounded_for_long_texts(piece: str) -> None:
    onset = time.perf_counter()
    assert not read_direction(piece * 10_000).is_known
    assert time.perf_counter() - onset < 2
