"""Edits that no page sends: whatever they hold, they are refused in words or made, and never a fault."""

from __future__ import annotations

import pytest
from tests.kit.people import EXAMPLES, job, person, signed_in

from slabwright.office.actions.edits import Edit, EditError, edit_of, made, then
from slabwright.office.models import Job
from slabwright.office.pages.sheet_edits import sent_json
from slabwright.office.planning import tree_of

WALK = (EXAMPLES / "side-walk" / "job.yaml").read_text(encoding="utf-8")
# A bell, a control of an old code page, ends of lines and paragraphs, half a letter, no character at all.
ODD = ["\x07", "\x84", "\x85", "\u2028", "\u2029", "\ud83d", "\ufffe", "\ufeff", "\x7f", "\n", "\r", "\x00"]


@pytest.mark.parametrize("odd", ODD, ids=ascii)
@pytest.mark.parametrize(
    "sent",
    [
        {"path": ["title"], "value": "a{}b"},
        {"path": ["tape"], "kind": "append", "value": {"A-B{}": "4'"}},
        {"path": ["tape"], "kind": "append", "value": {"A-B": "4'{}"}},
        {"path": ["slabs", 0, "along"], "value": ["P1", "P2{}"]},
        {"path": ["heights", "N1{}"], "value": "1 ft"},
        {"path": ["heights", "N1{}"], "kind": "delete"},
    ],
    ids=lambda sent: str(sent["path"][0]) + str(sent.get("kind", "")),
)
def test_what_no_job_file_can_hold_is_refused(sent, odd):
    def filled(part):
        if isinstance(part, dict):
            return {filled(key): filled(value) for key, value in part.items()}
        if isinstance(part, list):
            return [filled(one) for one in part]
        return part.replace("{}", odd) if isinstance(part, str) else part

    with pytest.raises(EditError):
        edit_of(filled(sent))


def test_what_may_not_be_written_back_is_no_fault_either():
    """As a change kept by an older version may hold it."""
    edit = Edit("append", ("tape",), {"A-B": "4'\x84"})
    tree = tree_of(WALK)
    assert then(tree, edit) == tree
    text, wrong = made(WALK, [edit])
    assert text == WALK
    assert wrong


@pytest.mark.parametrize("base", ["Infinity", "-Infinity", "NaN", "1e999", '"x"', "null", "[]", "9" * 5000])
def test_a_base_that_is_no_number_of_a_revision_is_refused(base):
    with pytest.raises(EditError):
        sent_json(f'{{"edits": [{{"path": ["title"], "value": "x"}}], "base": {base}}}'.encode())


@pytest.mark.django_db
@pytest.mark.parametrize("text", ["hello\n", "- A-B: 4'\n", "", "[1, 2]", "? [a]\n: b\n", '"'])
def test_notes_that_are_no_notes_are_edited_without_a_fault(text):
    who = person()
    one = job(who)
    Job.objects.update(text=text)  # as an older version, or a hand at the database, may have left it
    client = signed_in(who)
    for edit in ({"kind": "delete", "path": ["tape", 0]}, {"path": ["slabs", 0, "width"], "value": "4'"}):
        sent = {"edits": [edit], "base": 1}
        answer = client.post(f"/jobs/{one.code}/change/", sent, content_type="application/json")
        assert answer.status_code < 500
    assert client.get(f"/jobs/{one.code}/").status_code < 500
    assert client.get(f"/jobs/{one.code}/notes/").status_code == 200


@pytest.mark.django_db
def test_a_page_gets_words_for_them_and_the_notes_stand():
    who = person()
    one = job(who)
    client = signed_in(who)
    for value, base in (("a\x84", 1), ({"\x84": "x"}, 1), ("4'", float("inf"))):
        sent = {"edits": [{"kind": "set", "path": ["title"], "value": value}], "base": base}
        answer = client.post(f"/jobs/{one.code}/change/", sent, content_type="application/json")
        assert answer.status_code in (400, 422)
    assert Job.objects.get().text == one.text
