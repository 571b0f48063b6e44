"""The owner's price books, and what the crew's record teaches against the one in use."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from slabwright.findings import Finding
from slabwright.measure import System
from slabwright.money.model import BookLine
from slabwright.money.tables_in import MOST_BYTES
from slabwright.office import pricing
from slabwright.office.actions import books as actions
from slabwright.office.actions import prices
from slabwright.office.asking import PersonRequest
from slabwright.office.html_tables import html_table
from slabwright.office.models import Book, Shop
from slabwright.office.pages.jobs import folded
from slabwright.office.words import word
from slabwright.priced import NotUsableError, learn_from, read_records
from slabwright.sheets import money_tables

A_PAGE = 100
MOST_TOLD = 100


def rows_told(found: tuple[Finding, ...], lang: str) -> list[tuple[str, str, str]]:
    """Return findings of a file as place, what is wrong, and what to do."""
    system = System(Shop.own().units)
    texts = ((one.where, one.text(system=system, lang=lang)) for one in found[:MOST_TOLD])
    return [(where, text.what, text.do) for where, text in texts]


def _page(request: PersonRequest, status: int = 200, **more: Any) -> HttpResponse:
    rows = Book.objects.defer("csv").select_related("person").order_by("-used", "-when", "-pk")
    return render(request, "office/books.html", {"books": rows, **more}, status=status)


def listed(request: PersonRequest) -> HttpResponse:
    """Show the books; bring one in, its mistakes by row and column."""
    if request.method != "POST":
        return _page(request)
    file = request.FILES.get("file")
    if file is None:
        return _page(request, 422, wrong=word("book-choose", request.lang))
    if (file.size or 0) > MOST_BYTES:
        return _page(request, 422, wrong=word("book-too-big", request.lang))
    try:
        book, found = actions.bring_in(person=request.user, name=file.name or "book.csv", content=file.read())
    except actions.BookError as error:
        told = rows_told(error.findings, request.lang)
        wrong = word("book-wrong", request.lang, n=len(error.findings))
        return _page(request, 422, wrong=wrong, told=told)
    if found:
        note = word("book-noticed", request.lang, n=len(found))
        return _page(request, noticed=note, told=rows_told(found, request.lang))
    messages.success(request, word("book-kept", request.lang, name=book.name, n=book.lines))
    return redirect("books")


def demo(request: PersonRequest) -> HttpResponse:
    """Use the book that comes with the program."""
    prices.use_demo_book(person=request.user)
    return redirect("books")


def use(request: PersonRequest, pk: int) -> HttpResponse:
    """Price from this book from now on."""
    book = get_object_or_404(Book.objects.defer("csv"), pk=pk)
    actions.use(person=request.user, book=book)
    messages.success(request, word("book-used", request.lang, name=book.name))
    return redirect("books")


def show(request: PersonRequest, pk: int) -> HttpResponse:
    """Show a book's lines; `q` searches them."""
    book = get_object_or_404(Book, pk=pk)
    typed = " ".join(request.GET.get("q", "").split())[:100]
    words = folded(typed).split()
    lines = [one for one in actions.lines_of(book).lines.values() if _holds(one, words)]
    page = Paginator(lines, A_PAGE).get_page(request.GET.get("page"))
    return render(request, "office/book.html", {"book": book, "page": page, "typed": typed})


def _holds(line: BookLine, words: list[str]) -> bool:
    text = folded(" ".join((line.group, line.code, line.condition, line.name, line.name_es, line.supplier)))
    return all(one in text for one in words)


def file(_request: PersonRequest, pk: int) -> HttpResponse:
    """Hand a book out as CSV."""
    book = get_object_or_404(Book, pk=pk)
    answer = HttpResponse(book.csv, content_type="text/csv; charset=utf-8")
    answer.headers["Content-Disposition"] = f'attachment; filename="prices-{book.pk}.csv"'
    return answer


def learned(request: PersonRequest) -> HttpResponse:
    """Show what this crew really does, with its band and how many jobs stand behind it."""
    book = Book.objects.filter(used=True).order_by("-when", "-pk").first()
    records = pricing.records_of()
    shown: dict[str, Any] = {"book": book, "any": bool(records)}
    if book is not None and records:
        try:
            made = learn_from(actions.lines_of(book), read_records(records))
        except (NotUsableError, ValueError) as error:
            shown["wrong"] = str(error)
        else:
            table = money_tables.learned_table(made, request.lang)
            system = System(Shop.own().units)
            shown["table"] = html_table(table, system=system, lang=request.lang) if made.rates else None
            shown["lines"] = money_tables.learned_lines(made, request.lang)
            shown["told"] = rows_told(made.findings, request.lang)
    return render(request, "office/learned.html", shown)
