"""Mistakes in Spanish: every sentence of the reader has one, and no English comes through."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from string import Formatter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.notes.sentences import HOLE, holes, sentences

from slabwright import measure
from slabwright.notes import Mistake, NotesError, parse_notes, read_notes
from slabwright.notes.mistakes import SHOWN
from slabwright.notes.said import LONGEST, example_in, say, spanish, templates, words

ZOO = Path(__file__).parent / "zoo"
SENTENCES = sentences()
TEMPLATES = dict(templates())
ENGLISH = re.compile(
    r"\b(the|is|are|not|of|or|and|with|must|be|been|was|written|missing|than|cannot|takes?|holds?|wanted|"
    r"needs?|this|that|neither|nor|twice|slabs|unit|number|feet|inches|minutes|seconds|list|record)\b"
)


def test_every_sentence_of_the_reader_has_spanish_words() -> None:
    known = {holes(key) for key in TEMPLATES}
    lost = {
        where: text
        for text, where in SENTENCES.items()
        if text not in known and HOLE + text not in known and (HOLE in text or spanish(text) is None)
    }
    assert not lost
    assert len(SENTENCES) > 190  # the walk over the source found them


def test_no_spanish_sentence_is_of_one_that_nobody_says() -> None:
    assert not {key for key in TEMPLATES if holes(key) not in SENTENCES} - {
        "{before:said}; did you mean {near}?"
    }


def test_a_walk_finds_the_sentences_that_stand_in_odd_places() -> None:
    for text in (
        "comes twice in a row: each corner is named once",  # within an f-string
        "cannot be read, at character {}: {}",  # of two names at once
        "is longer than {} characters",  # in a table
        "is not between 0 and 110 mph",  # in a validator
        "has more than one hyphen and names no point that is written elsewhere",  # returned
        "this is a folder, not a job file; it holds a job.yaml: name that file",  # put together
        "{} is not a unit of {} (known: {})",  # in another room
    ):
        assert text in SENTENCES


@pytest.mark.parametrize("english", TEMPLATES)
def test_each_sentence_is_found_again_with_its_values(english: str) -> None:
    values = {"number": "12", "word": "run", "list": "feet or inches", "said": "is missing", "": "Q7"}
    shown = {"number": "12", "word": "avance", "list": "pies o pulgadas", "said": "falta", "": "Q7"}
    made, wanted = "", {}
    for text, name, kind, _ in Formatter().parse(english):
        made += text
        if name is not None:
            made += values[kind or ""]
            wanted[name] = shown[kind or ""]
    assert say(made, "en") == made
    assert say(made, "es") == TEMPLATES[english].format_map(wanted)


@pytest.mark.parametrize("english", TEMPLATES)
def test_a_sentence_keeps_its_values_and_is_in_spanish(english: str) -> None:
    names = {name for _, name, _, _ in Formatter().parse(english) if name is not None}
    said = {name for _, name, _, _ in Formatter().parse(TEMPLATES[english]) if name is not None}
    assert names == said
    assert not ENGLISH.search(re.sub(r"\{\w+\}|'[^']*'|\(in per ft\)", "", TEMPLATES[english]))
    assert TEMPLATES[english][-1] not in ".;"


def leaks(mistake: Mistake) -> str:
    """Return a mistake's reason in Spanish where it is not: no words for it, or English ones among them."""
    made = mistake.say("es").why
    if made == mistake.why:
        return made
    bare = re.sub(r"'[^']*'|\([^)]*\)|¿quiso decir .*|estas (opciones|palabras): .*", "", made)
    return made if ENGLISH.search(bare) else ""


@pytest.mark.parametrize("file", sorted(ZOO.glob("*.yaml")), ids=lambda f: f.stem)
def test_the_zoo_in_spanish(file: Path) -> None:
    with pytest.raises(NotesError) as caught:
        read_notes(file)
    english, spanish_text = str(caught.value), caught.value.text("es")
    assert not [text for m in caught.value.mistakes if (text := leaks(m))]
    assert len(english.splitlines()) == len(spanish_text.splitlines())
    assert "Write for example" not in spanish_text
    assert english.count("Write for example") == spanish_text.count("Escriba por ejemplo")


def test_what_the_writer_wrote_stays_as_it_is() -> None:
    m = Mistake("job.yaml", 3, 1, "slabs.1.meets.1.door", "is missing or new", "goes with door", "12' or so")
    assert m.text("es") == (
        'job.yaml:3: slabs.1.meets.1.door: "is missing or new" va con door. Escriba por ejemplo 12\' or so'
    )
    assert m.say("en") is m
    assert str(m) == m.text() == m.text("en")


def test_names_in_quotes_keep_their_own_and_and_or() -> None:
    said = say("can be read in more than one way: 'A' and 'land or sea' or 'A-land' and 'b'", "es")
    assert said.endswith(": 'A' y 'land or sea' o 'A-land' y 'b'")


def test_a_nested_reason_is_said_in_spanish_too() -> None:
    assert say("cannot be read, at character 2: the unit is missing: h or min?; did you mean h?", "es") == (
        "no se puede leer, en el carácter 2: falta la unidad: ¿h o min?; ¿quiso decir h?"
    )
    assert spanish("cannot be read, at character 2: an unheard-of reason") is None


def test_a_reason_without_words_stays_english() -> None:
    m = Mistake("j", None, None, "k", None, "a reason that no catalogue has", None)
    assert m.text("es") == "j: k: a reason that no catalogue has."
    assert m.say("es") == replace(m)


def test_a_sentence_that_holds_a_whole_file_is_left_alone_and_soon() -> None:
    for middle in (" after ", " must be less than ", "; did you mean ", "' or '", " is not a unit of "):
        held = f"x{middle * 20_000}y must be less than z"
        assert say(held, "es") == held
        assert say(held[-LONGEST:], "es")


def test_an_example_that_names_two_ways_says_or_in_spanish() -> None:
    assert example_in("1250 or 1.250", "es") == "1250 o 1.250"
    assert example_in("3' or 3\" or 3 m", "es") == "3' o 3\" o 3 m"
    assert example_in('4 or "#4"', "es") == '4 o "#4"'
    assert example_in("name: door or gate", "es") == "name: door or gate"


def test_many_mistakes_are_counted_in_spanish() -> None:
    many = NotesError([Mistake("j", n, 1, "k", None, "is missing", None) for n in range(1, SHOWN + 4)])
    assert many.text("es").splitlines()[-1] == "... y 3 más"
    assert many.text("en").splitlines()[-1] == "... and 3 more"


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"%PDF-1.7", "esto es un PDF, no un archivo de obra: un archivo de obra es texto simple"),
        (b"PK\x03\x04", "esto es una hoja de cálculo, un archivo de procesador de textos o un zip, no"),
        (b"", "el archivo está vacío"),
        (b"a\0b", "el archivo trae bytes NUL"),
        (b"t: \xff\xfe\xfd", "el byte 0xFF no es UTF-8"),
    ],
)
def test_a_file_that_is_none(data: bytes, said: str) -> None:
    with pytest.raises(NotesError) as caught:
        parse_notes(data)
    assert said in caught.value.text("es")


def test_a_folder_and_no_file(tmp_path: Path) -> None:
    with pytest.raises(NotesError) as caught:
        read_notes(tmp_path)
    assert "esto es una carpeta, no un archivo de obra." in caught.value.text("es")
    (tmp_path / "job.yaml").write_text("title: x\n", encoding="utf-8")
    with pytest.raises(NotesError) as caught:
        read_notes(tmp_path)
    assert "adentro hay un job.yaml" in caught.value.text("es")
    with pytest.raises(NotesError) as caught:
        read_notes(tmp_path / "none.yaml")
    assert "no existe el archivo" in caught.value.text("es")


KINDS = (
    *("length", "inches", "slope", "angle", "clock", "duration", "volume", "temperature", "percent"),
    *("area", "speed", "flow", "rain", "pressure", "count", "ratio", "height_difference"),
)
PIECES = (
    *("3", "14", "0", "1/2", "5/0", "3/7", "9/8", ".5", "1,250", "1.250", " ", "'", '"', "ft", "in", "m"),
    *("mm", "yd", "cm", "%", "per", ":", "(", ")", "deg", "°", "am", "pm", "h", "min", "s", "d", "week"),
    *("noon", "soon", "x", "-", "+", "F", "psi", "999999999"),
)


@given(st.sampled_from(KINDS), st.lists(st.sampled_from(PIECES), min_size=0, max_size=6).map("".join))
@settings(max_examples=400, deadline=None)
def test_every_refused_measure_says_why_in_spanish(kind: str, text: str) -> None:
    try:
        measure.read(kind, text)
    except measure.MeasureError as error:
        made = spanish(error.reason)
        assert made is not None
        assert not ENGLISH.search(re.sub(r"'[^']*'|\"[^\"]*\"|\([^)]*\)", "", made)), made


@pytest.mark.parametrize(
    ("kind", "text", "said"),
    [
        ("length", "5' 14\"", "pulgadas después de pies: debe ser menos de 12"),
        ("length", "5 yd 3 m", "después de yardas solo pueden seguir pies o pulgadas"),
        ("length", "3 5", "¿3 son pies? Falta la marca que lo diga"),
        ("length", "1,250 ft", "1,250 se puede leer de dos maneras; no marque los miles y use punto"),
        ("slope", "1/4 in", "una subida necesita su avance"),
        ("slope", "1/4 in per 3", "falta la unidad (avance)"),
        ("duration", "5 s 3", "lo que puede seguir aquí después de s: nada"),
        ("duration", "1 h 70 min", "min después de h: debe ser menos de 60"),
        ("duration", "1 week 3 min", "lo que puede seguir aquí después de semana: d o h"),
        ("clock", "7:61", "los minutos deben ser menos de 60"),
        ("clock", "13 pm", "con pm la hora va de 1 a 12"),
        ("angle", "12 30'", "falta el signo de grado antes de los minutos"),
        ("volume", "3 acres", "'acres' no es una unidad de volumen (se conocen: yd3"),
        ("temperature", "75", "falta la unidad: ¿F o C?"),
        (
            "temperature",
            "99999 F",
            "en una obra no hay nada así (temperatura): no está entre -100 y 2000 degC",
        ),
    ],
)
def test_reasons_of_measures(kind: str, text: str, said: str) -> None:
    with pytest.raises(measure.MeasureError) as caught:
        measure.read(kind, text)
    assert say(caught.value.reason, "es").startswith(said)


def test_every_kind_of_measure_has_its_word() -> None:
    assert {kind.replace("_", " ") for kind in measure.KINDS} <= set(words())
