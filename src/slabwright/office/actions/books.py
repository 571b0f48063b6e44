"""Price books: brought in with every mistake by row and column, kept as new ones, one of them in use."""

from __future__ import annotations

from django.db import transaction

from slabwright.findings import Finding, Level
from slabwright.money import load_book
from slabwright.money.book_files import book_csv
from slabwright.money.model import Book as Lines
from slabwright.money.tables_in import MOST_BYTES
from slabwright.office.actions import audit
from slabwright.office.models import Book, Person, Shop


class BookError(ValueError):
    """A file that is not kept as a book; `findings` name every row, or are empty where it is far too big."""

    def __init__(self, findings: tuple[Finding, ...] = ()) -> None:
        super().__init__("; ".join(one.code for one in findings[:10]))
        self.findings = findings


def lines_of(book: Book) -> Lines:
    """Return the lines of a kept book, those that cannot be used left out and told of in its findings."""
    return load_book(book.csv, name=f"{book.name}.csv", currency=Shop.own().currency)


def bring_in(*, person: Person, name: str, content: bytes) -> tuple[Book, tuple[Finding, ...]]:
    """Keep a CSV or XLSX as a book, and use it; return it with what was noticed. BookError by row."""
    if len(content) > MOST_BYTES:
        raise BookError()
    read = load_book(content, name=name, currency=Shop.own().currency)
    if any(one.level is Level.STOP for one in read.findings) or not read.lines:
        raise BookError(read.findings)
    with transaction.atomic():
        Book.objects.filter(used=True).update(used=False)
        made = Book.objects.create(
            name=name.rpartition(".")[0][:120] or name[:120],
            csv=book_csv(read),
            lines=len(read.lines),
            used=True,
            person=person,
        )
        audit.note("book-brought", person=person, about=made.name, lines=made.lines)
    return made, read.findings


@transaction.atomic
def use(*, person: Person, book: Book) -> None:
    """Price new estimates from this book."""
    Book.objects.filter(used=True).update(used=False)
    Book.objects.filter(pk=book.pk).update(used=True)
    audit.note("book-used", person=person, about=book.name)
