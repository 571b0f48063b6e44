"""What a customer took goes into the job's notes: as it was priced, once; what is missing is told."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse
from pydantic import BaseModel
from tests.kit.people import EXAMPLES, job, person, signed_in
from tests.kit.quoting import draft, signature, text_of

from slabwright.measure import System
from slabwright.money.offering import chosen_notes
from slabwright.money.wanted import option_of
from slabwright.notes import Append, Set, update
from slabwright.notes.values import Reading
from slabwright.office.actions import jobs
from slabwright.office.actions import quotes as actions
from slabwright.office.actions.edits import Edit, made
from slabwright.office.actions.taken import put_in, took
from slabwright.office.actions.taking import taken
from slabwright.office.models import Audit, Revision
from slabwright.office.planning import read, tree_of

WALK = (EXAMPLES / "side-walk" / "job.yaml").read_text(encoding="utf-8")
SECOND = {
    "name": "spur",
    "use": "walk",
    "along": ["G1", "G2"],
    "width": "2' 6",
    "meets": [{"existing": "gate walk"}, {"existing": "old patio"}, {"slab": "side walk"}],
}
TWO = update(WALK, [Append(("slabs",), SECOND)])
METRIC = (EXAMPLES / "quay-apron" / "job.yaml").read_text(encoding="utf-8")
EVERY = [
    "finish=exposed",
    "thicker=2 in",
    "thicker=20 mm",
    "thicker=0.3 in",
    "steel=fiber",
    "steel=none",
    "wider=1 ft",
    "wider=7 3/8 in",
    "wider=31 cm",
    "take-out=old patio",
    "take-out=gate walk",
    "drain=P1, P2",
    "finish=salt + wider=6 in + thicker=1/2 in",
]
ON_ONE = ["finish@spur=exposed", "thicker@spur=1 in", "steel@spur=mesh", "wider@spur=4 in"]


def options(*written, units=System.IMPERIAL):
    return tuple(option_of(one, units) for one in written)


def put(text, *written, quoted=None):
    """Return the text with what can be put in, what was found missing, and the notes that were agreed."""
    notes, every = read(quoted or text)[0], options(*written)
    found = taken(notes, read(text)[0], tree_of(text), every)
    new, wrong = made(text, found.edits)
    assert not wrong
    return new, found, chosen_notes(notes, [one.key for one in every], every)[0]


def same(one, other):
    """Whether notes hold the same, sizes to a millionth of a metre; where in the text is no matter."""
    if isinstance(one, BaseModel):
        return type(one) is type(other) and same(vars(one), vars(other))
    if isinstance(one, Reading):
        return one.si == other.si
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, tuple):
        return len(one) == len(other) and all(map(same, one, other))
    return one == pytest.approx(other, abs=1e-6) if isinstance(one, float) else one == other


# --- the edits ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "written"),
    [
        *((WALK, one) for one in ([key] for key in EVERY)),
        *((TWO, one) for one in ([key] for key in EVERY + ON_ONE)),
        *((text, several) for text in (WALK, TWO) for several in (EVERY[:2] + EVERY[4:5], EVERY[6:10])),
    ],
    ids=lambda one: ", ".join(one) if isinstance(one, list) else ("two slabs" if one is TWO else "demo"),
)
def test_the_notes_become_what_was_priced(text, written):
    new, found, agreed = put(text, *written)
    assert found.missing == tuple(one.key for one in options(*written))
    assert not found.by_hand
    assert new != text
    assert same(read(new)[0], agreed)
    again = taken(read(text)[0], read(new)[0], tree_of(new), options(*written))
    assert (again.missing, again.edits) == ((), ())


def test_metric_notes_too():
    units = System.METRIC
    every = options("thicker=20 mm", "wider=30 cm", "take-out=garage slab", units=units)
    notes = read(METRIC)[0]
    found = taken(notes, notes, tree_of(METRIC), every)
    new, wrong = made(METRIC, found.edits)
    assert not wrong
    assert "thickness: 170 mm" in new
    assert same(read(new)[0], chosen_notes(notes, [o.key for o in every], every)[0])


def test_sizes_are_written_as_one_writes_them():
    new, _, _ = put(WALK, "thicker=2 in", "wider=1 ft")
    assert "width: 4'" in new
    assert "thickness: 5 1/2 in" in new
    assert "# 2x4 forms" in new  # remarks stay


def test_rows_are_found_by_their_names():
    moved = update(WALK, [Set(("slabs",), [SECOND, *tree_of(WALK)["slabs"]])])
    new, _, _ = put(moved, "thicker@side walk=2 in", quoted=WALK)
    assert [slab.thickness for slab in read(new)[0].slabs] == [None, pytest.approx(0.1397)]


def test_what_changed_since_the_quote_is_left_by_hand():
    since = update(WALK, [Set(("slabs", 0, "thickness"), "4 in")])
    new, found, _ = put(since, "thicker=1 in", "finish=salt", quoted=WALK)
    assert found.missing == ("thicker=1 in", "finish=salt")
    assert found.by_hand == ("thicker=1 in",)
    assert read(new)[0].slabs[0].thickness == pytest.approx(0.1016)  # not touched
    assert read(new)[0].slabs[0].finish == "salt"


def test_a_slab_that_is_gone_is_left_by_hand():
    renamed = update(WALK, [Set(("slabs", 0, "name"), "long walk")])
    _, found, _ = put(renamed, "steel=fiber", quoted=WALK)
    assert (found.by_hand, found.edits) == (("steel=fiber",), ())


def test_a_width_measured_again_is_still_the_wider_one():
    after = update(WALK, [Set(("slabs", 0, "width"), "3' 11 1/2")])
    _, found, _ = put(after, "wider=1 ft", quoted=WALK)
    assert found.missing == ()


# --- the job --------------------------------------------------------------------------------------------


@pytest.fixture
def agreed(owner, walk, sent):
    quote, token = sent
    keys = ["finish=exposed", "steel=fiber"]  # fibre stands on 1 in thicker
    Client().post(reverse("customer-accept", args=(token,)), signature(quote, keys))
    quote.refresh_from_db()
    return quote


def press(who, walk, quote, back="quote"):
    at = reverse("quote-into-notes", args=(walk.code, quote.pk))
    return signed_in(who).post(at, {"back": back})


NOTICE = {
    "en": "The customer also took: Exposed stone finish; 1&quot; thicker; Fibre in the concrete.",
    "es": "El cliente tomó además: Acabado",
}


@pytest.mark.parametrize("role", ["owner", "crew"])
@pytest.mark.parametrize(("lang", "not_in"), [("en", "not in the notes yet"), ("es", "no está en las notas")])
def test_everybody_reads_what_is_missing(owner, walk, agreed, role, lang, not_in):
    who = owner if role == "owner" else person("Tomas Ek", "crew")
    who.language = lang
    who.save()
    page = signed_in(who).get(reverse("job", args=(walk.code,)))
    notice = re.search(r'<div id="took">(.*?)</div>\n', page.content.decode(), re.DOTALL)[1]
    assert NOTICE[lang] in notice
    assert not_in in notice
    assert ("<form" in notice) == (role == "owner")
    assert not re.search(r"[$€]|\d[.,]\d\d", re.sub(r"<input[^>]*>", "", notice))


def test_the_button_puts_it_in_once(each_database, owner, walk, agreed):
    before = walk.number
    own = signed_in(owner)
    assert "Put what was taken" in text_of(own.get(reverse("quote", args=(walk.code, agreed.pk))))
    assert press(owner, walk, agreed).url == reverse("quote", args=(walk.code, agreed.pk))
    walk.refresh_from_db()
    slab = read(walk.text)[0].slabs[0]
    assert (slab.finish, slab.steel.choice) == ("exposed", "fiber")
    assert slab.thickness == pytest.approx(4.5 * 0.0254)
    assert walk.number == before + 1
    assert Audit.objects.get(what="quote-into-notes").person == owner
    assert press(owner, walk, agreed, "job").url == reverse("job", args=(walk.code,))
    walk.refresh_from_db()
    assert walk.number == before + 1
    assert Audit.objects.filter(what="quote-into-notes").count() == 1
    for name, args in (("job", (walk.code,)), ("quote", (walk.code, agreed.pk))):
        said = text_of(own.get(reverse(name, args=args)))
        assert "The customer also took" not in said
    assert "The notes hold what was taken" in said


def test_it_can_be_taken_back_and_put_in_again(owner, walk, agreed):
    press(owner, walk, agreed)
    walk.refresh_from_db()
    jobs.undo(person=owner, job=walk, number=walk.number)
    walk.refresh_from_db()
    assert read(walk.text)[0].slabs[0].finish == "broom"
    assert took(walk).what.missing
    press(owner, walk, agreed)
    walk.refresh_from_db()
    assert not took(walk).what.missing
    assert Revision.objects.filter(job=walk).count() == 4


def test_two_who_press_at_once_make_one_revision(owner, walk, agreed):
    stale = type(walk).objects.get(pk=walk.pk)
    put_in(person=owner, job=walk)
    put_in(person=owner, job=stale)
    assert Audit.objects.filter(what="quote-into-notes").count() == 1
    assert Revision.objects.filter(job=walk).count() == 2


def test_a_notice_goes_while_the_notes_are_written(owner, walk, agreed):
    """By hand on the sheet: the last of it takes the notice away."""
    number = walk.number
    done = {"finish": "exposed", "thickness": "4 1/2 in", "steel": {"choice": "fiber"}}
    for key, value in done.items():
        assert took(walk).what.missing
        number = jobs.change(
            person=owner, job=walk, edits=[Edit("set", ("slabs", 0, key), value)], base=number
        ).number
        walk.refresh_from_db()
    assert took(walk).what.missing == ()


def test_the_sheet_brings_the_notice_anew(owner, walk, agreed):
    crew = signed_in(person("Tomas Ek", "crew"))
    edit = {"kind": "set", "path": ["slabs", 0, "finish"], "value": "exposed", "seen": "broom"}
    sent = {"edits": [edit], "base": walk.number, "client": "a1"}
    parts = crew.post(reverse("job-change", args=(walk.code,)), sent, content_type="application/json").json()[
        "parts"
    ]
    assert "also took: 1&quot; thicker; Fibre" in parts["took"]
    assert "<form" not in parts["took"]


def test_only_an_owner_puts_it_in(owner, walk, agreed):
    crew = person("Tomas Ek", "crew")
    assert press(crew, walk, agreed).status_code in (403, 404)
    walk.refresh_from_db()
    assert took(walk).what.missing


def test_without_options_nothing_is_told(owner):
    plain = job(owner)
    quote = draft(owner, plain)
    token = actions.send(person=owner, quote=quote)
    quote.refresh_from_db()
    Client().post(reverse("customer-accept", args=(token,)), signature(quote))
    quote.refresh_from_db()
    assert quote.state == "accepted"
    assert took(plain) is None


def test_while_the_notes_cannot_be_read_nothing_is_put_in(owner, walk, agreed):
    jobs.rewrite(person=owner, job=walk, text=walk.text.replace("finish: broom", "finish: gold"),
                 base=walk.number, kind="restore")  # fmt: skip
    walk.refresh_from_db()
    found = took(walk)
    assert found.what.missing
    assert found.what.edits == ()
