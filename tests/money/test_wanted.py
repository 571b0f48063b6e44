"""Options as a person writes them: alone, joined, on top of others; what cannot be read says what would."""

from __future__ import annotations

import pytest

from slabwright.measure import LANGUAGES, System
from slabwright.money.model import Change
from slabwright.money.wanted import CHOICES, KINDS_OF_CHANGE, WantedError, option_of, options_of

FOOT, INCH = 0.3048, 0.0254


@pytest.mark.parametrize(
    ("written", "changes"),
    [
        ("finish=exposed", (Change("finish", to="exposed"),)),
        (" finish @ side walk = salt ", (Change("finish", slab="side walk", to="salt"),)),
        ("thicker=1/2 in", (Change("thicker", more=INCH / 2),)),
        ("wider=1 ft", (Change("wider", more=FOOT),)),
        ("take-out=old patio", (Change("take-out", to="old patio"),)),
        ("drain=P1, P2", (Change("drain", points=("P1", "P2")),)),
        ("finish=salt + wider=1 ft", (Change("finish", to="salt"), Change("wider", more=FOOT))),
        ("finish=salt+wider=1 ft", (Change("finish", to="salt"), Change("wider", more=FOOT))),
        ("take-out=walk + steps", (Change("take-out", to="walk + steps"),)),
    ],
)
def test_changes_are_read(written: str, changes: tuple[Change, ...]) -> None:
    made = option_of(written)
    assert made.changes == changes
    assert made.on_top_of == ()


def test_one_after_others_names_them_by_their_own_words() -> None:
    stone, both = options_of(["finish =  exposed", "thicker=1 in  after finish= exposed after steel=fiber"])
    assert stone.key == "finish=exposed"
    assert both.key == "thicker=1 in"
    assert both.on_top_of == ("finish=exposed", "steel=fiber")


def test_an_option_is_called_in_both_languages_and_in_the_job_s_units() -> None:
    made = option_of("finish@side walk=salt + thicker=1/2 in")
    assert made.en == 'side walk: Salt finish + 1/2" thicker'
    assert made.es == 'side walk: Acabado de sal + 1/2" más de espesor'
    assert "13 mm" in option_of("thicker=1/2 in", System.METRIC).es


def test_every_kind_of_change_has_a_name_of_its_own() -> None:
    written = dict.fromkeys(KINDS_OF_CHANGE, "")
    written |= {"finish": "salt", "steel": "fiber", "thicker": "1 in", "wider": "1 ft"}
    written |= {"take-out": "old patio", "drain": "P1,P2"}
    names = [option_of(f"{what}={to}") for what, to in written.items()]
    assert len({one.en for one in names}) == len({one.es for one in names}) == len(KINDS_OF_CHANGE)
    assert all(one.en != one.es for one in names)


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("finish", "finish=exposed"),
        ("", "finish=exposed"),
        ("colour=red", "finish=exposed"),
        ("finish=", "finish=exposed"),
        ("thicker=much", "thicker=1 in"),
        ("finish=salt + wider=lots", "wider=1 in"),
        ("after finish=salt", "finish=exposed"),
    ],
)
def test_what_cannot_be_read_says_what_would_do(written: str, said: str) -> None:
    with pytest.raises(WantedError, match=said):
        option_of(written)


@pytest.mark.parametrize(
    ("written", "key"),
    [
        ("exposed stone finish", "finish=exposed"),
        ("Exposed  Stone", "finish=exposed"),
        ("salt", "finish=salt"),
        ("acabado de sal", "finish=salt"),
        ("fibre in the concrete", "steel=fiber"),
        ("No steel", "steel=none"),
        ("1 in thicker", "thicker=1 in"),
        ("thicker by 1/2 in", "thicker=1/2 in"),
        ('1" más de espesor', 'thicker=1"'),
        ("1 ft wider", "wider=1 ft"),
        ("take out old Patio", "take-out=old Patio"),
        ("drain P1, P2", "drain=P1, P2"),
        ("side walk: salt finish", "finish@side walk=salt"),
        ("salt finish + 1 ft wider", "finish=salt + wider=1 ft"),
        ("acabado=expuesto", "finish=exposed"),
        ("acabado = sal + más ancho=30 cm", "finish=salt + wider=30 cm"),
        ("acero=fibra de vidrio", "steel=gfrp"),
    ],
)
def test_an_option_may_be_written_in_words(written: str, key: str) -> None:
    assert option_of(written) == option_of(key)


@pytest.mark.parametrize("units", list(System))
@pytest.mark.parametrize("lang", LANGUAGES)
def test_an_option_is_read_by_the_name_that_papers_give_it(lang: str, units: System) -> None:
    every = [f"{what}={choice}" for what, choices in CHOICES.items() for choice in choices]
    every += ["thicker=1 in", "wider=1 ft", "finish@side walk=salt", "finish=salt + thicker=1/2 in"]
    for written in every:
        made = option_of(written, units)
        again = option_of(made.en if lang == "en" else made.es, units)
        assert (again.en, again.es) == (made.en, made.es)
        assert [one.to for one in again.changes] == [one.to for one in made.changes]


def test_words_stand_on_other_words() -> None:
    made = option_of("1 in thicker after exposed stone finish")
    assert made.on_top_of == ("finish=exposed",)
    assert option_of("1 in más de espesor después de acabado de sal").on_top_of == ("finish=salt",)


@pytest.mark.parametrize(
    ("written", "english", "spanish"),
    [
        ("purple", "exposed stone finish", "acabado de agregado expuesto"),
        ("finish", "exposed stone finish", "acabado de agregado expuesto"),
        ("thicker=1", "the unit is missing", "falta la unidad"),
        ("1 thicker", "the unit is missing", "falta la unidad"),
    ],
)
def test_what_cannot_be_read_is_said_in_both_languages(written: str, english: str, spanish: str) -> None:
    with pytest.raises(WantedError) as wrong:
        option_of(written)
    assert f'"{written}"' in wrong.value.said("en")
    assert english in wrong.value.said("en")
    assert spanish in wrong.value.said("es").lower()
