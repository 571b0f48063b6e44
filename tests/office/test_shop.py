"""Price books, days on record, and what they teach."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from tests.kit.people import job, person, signed_in

from slabwright.money.book_files import book_xlsx
from slabwright.office.actions import prices
from slabwright.office.models import Audit, Book, DayRecord, LoadRecord
from slabwright.priced import demo_book

GOOD = b"group,code,condition,unit,value\nmaterial,concrete,,yd3,165\nlabour,finisher,,h,38\n"
DAY = {"kind": "day", "date": "2026-05-04", "what": "forms|straight|ft", "amount": "120", "hours": "4"}
LOAD = {"kind": "load", "date": "2026-05-04", "unit": "yd3", "drawn": "4.6", "delivered": "5", "left": "0.25"}


def sent(client, content: bytes, name: str = "mine.csv", at: str = "/books/"):
    return client.post(at, {"file": SimpleUploadedFile(name, content), "kind": "file"})


@pytest.fixture
def owner(db):
    return signed_in(person())


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_book_comes_in_and_is_used(owner, kind):
    prices.use_demo_book(person=person("Ada Birk"))
    content = GOOD if kind == "csv" else book_xlsx(demo_book())
    answer = sent(owner, content, f"spring.{kind}")
    assert answer.status_code in (200, 302)
    book = Book.objects.get(used=True)
    assert book.name == "spring"
    assert book.lines == (2 if kind == "csv" else len(demo_book().lines))
    page = owner.get(reverse("book", args=(book.pk,)), {"q": "CONCRETE"}).content.decode()
    assert ">concrete</th>" in page
    assert ">finisher</th>" not in page
    again = owner.get(reverse("book-file", args=(book.pk,)))
    assert again.content.decode().splitlines()[0].startswith("group,code,condition,unit,value")


def test_mistakes_stand_by_row_and_column_and_nothing_is_kept(owner):
    answer = sent(owner, GOOD + b"material,base,,yd3,-4\n")
    assert answer.status_code == 422
    assert "mine.csv:4, value" in answer.content.decode()
    assert not Book.objects.exists()


@pytest.mark.parametrize("content", [b"", b"\x89PNG\r\n\xff", b"a,b\n1,2\n", b"PK\x03\x04broken"])
def test_what_is_no_book_says_so(owner, content):
    answer = sent(owner, content)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.content.decode()
    assert not Book.objects.exists()


def test_an_older_book_is_used_again(owner):
    sent(owner, GOOD, "one.csv")
    sent(owner, GOOD, "two.csv")
    first = Book.objects.get(name="one")
    owner.post(reverse("book-use", args=(first.pk,)))
    assert list(Book.objects.filter(used=True)) == [first]
    assert Audit.objects.filter(what="book-used").count() == 1


def test_a_day_and_a_load_are_kept_and_taught(owner):
    prices.use_demo_book(person=person("Ada Birk"))
    assert "No days on record" in owner.get(reverse("learned")).content.decode()
    walk = job()
    crew = signed_in(person("Tomás Ruiz", "crew"))
    at = reverse("records", args=(walk.code,))
    assert crew.post(at, DAY).headers["Location"] == at
    assert crew.post(at, LOAD).headers["Location"] == at
    row = DayRecord.objects.get()
    assert (row.step, row.condition, row.unit, row.amount, row.hours) == (
        "forms",
        "straight",
        "ft",
        "120",
        "4",
    )
    assert LoadRecord.objects.get().left == "0.25"
    page = owner.get(reverse("learned")).content.decode()
    assert "<table" in page
    assert 'class="number">1<' in page  # one job stands behind it
    assert crew.get(reverse("learned")).status_code == 403
    crew.post(reverse("record-gone", args=(walk.code, "day", row.pk)))
    assert not DayRecord.objects.exists()


@pytest.mark.parametrize(
    ("form", "field", "value"),
    [
        (DAY, "hours", "0"),
        (DAY, "amount", "-3"),
        (DAY, "date", "soon"),
        (LOAD, "left", "9"),
        (DAY, "hours", ""),
    ],
)
def test_what_cannot_be_is_not_kept_and_stays_typed(owner, form, field, value):
    walk = job()
    answer = owner.post(reverse("records", args=(walk.code,)), {**form, field: value})
    assert answer.status_code == 422
    assert not DayRecord.objects.exists()
    assert not LoadRecord.objects.exists()
    kept = "drawn" if form is LOAD else "amount"
    if field != kept:
        assert (
            f'name="{kept}" inputmode="decimal" maxlength="24" value="{form[kept]}"'
            in answer.content.decode()
        )


def test_a_file_of_days_comes_in_whole_or_not_at_all(owner):
    walk = job()
    at = reverse("records", args=(walk.code,))
    head = b"date,job,step,condition,unit,amount,hours\n"
    here = walk.code.encode()
    good = head + b"2026-05-04,%s,forms,straight,ft,100,3\n2026-05-05,%s,place,barrow,yd3,4,6\n" % (
        here,
        here,
    )
    bad = b"2026-05-06,%s,finish,,ft2,0,2\n" % here
    assert sent(owner, good + bad, "days.csv", at).status_code == 422
    assert not DayRecord.objects.exists()
    assert sent(owner, good, "days.csv", at).status_code == 302
    assert DayRecord.objects.count() == 2


def test_a_row_goes_to_the_job_that_it_names(owner):
    walk, other = job(), job()
    for one, title in ((walk, "Alder Lane 22 - patio"), (other, "Birch Way 3")):
        one.title = title
        one.save()
    at = reverse("records", args=(walk.code,))
    head = "date,job,step,condition,unit,amount,hours\n"
    row = "2026-05-0{n},{job},forms,straight,ft,100,3\n"
    named = [walk.code, "alder lane 22 -  Patio", "alder-lane-22-patio", "birch way 3", other.code.upper()]
    rows = [row.format(n=n, job=name) for n, name in enumerate(named, 1)]
    assert sent(owner, (head + "".join(rows)).encode(), "days.csv", at).status_code == 302
    assert (walk.days.count(), other.days.count()) == (3, 2)
    # A job that nobody knows, or two of one title, keep nothing.
    job_twice = job()
    job_twice.title = "Birch Way 3"
    job_twice.save()
    for name in ("Cedar Court 9", "Birch Way 3"):
        answer = sent(owner, (head + rows[0] + row.format(n=6, job=name)).encode(), "days.csv", at)
        assert answer.status_code == 422
        assert "days.csv:3, job" in answer.content.decode()
        assert name in answer.content.decode()
    assert DayRecord.objects.count() == 5
