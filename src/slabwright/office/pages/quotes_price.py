"""The owner's section of a job's price: what it hangs on, the way to it, the band, options, quotes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, cast

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from slabwright.findings import Finding, Level, Text
from slabwright.measure import LANGUAGES, System
from slabwright.money.model import Book as Lines
from slabwright.money.phrases import called, signed
from slabwright.money.wanted import WantedError, option_of, options_of, usual
from slabwright.office import pricing
from slabwright.office.actions import prices as actions
from slabwright.office.actions.quotes import MOST_DAYS, standing
from slabwright.office.html_tables import html_table
from slabwright.office.models import Job, Person, Quote, Shop, Terms
from slabwright.office.when import today
from slabwright.office.words import word
from slabwright.priced import NotUsableError, read_books
from slabwright.sheets import money_owner
from slabwright.sheets import money_tables as tables
from slabwright.sheets.tables import Table

KEPT = ("options", "distance", "drive", "trips", "permits", "asked")  # fields of the terms


class TermsForm(forms.Form):
    """What a price hangs on; sizes, times and money are read as the trade writes them."""

    offer = forms.MultipleChoiceField(required=False)  # usual options of this job, ticked
    options = forms.CharField(required=False, max_length=2000, widget=forms.Textarea)
    distance = forms.CharField(required=False, max_length=24)
    drive = forms.CharField(required=False, max_length=24)
    trips = forms.IntegerField(required=False, min_value=0, max_value=365)
    permits = forms.MultipleChoiceField(required=False)
    asked = forms.CharField(required=False, max_length=24)

    def __init__(self, permits: Sequence[str], usual: Sequence[str], *args: Any, **named: Any) -> None:
        """Offer the permits of the book, and the usual options of the job."""
        super().__init__(*args, **named)
        for name, codes in (("permits", permits), ("offer", usual)):
            field = cast(forms.MultipleChoiceField, self.fields[name])
            field.choices = [(code, code) for code in codes]

    def clean_options(self) -> list[str]:
        """Return the options ticked, then one a line; each once."""
        lines = [line.strip() for line in self.cleaned_data["options"].splitlines() if line.strip()]
        return list(dict.fromkeys((*self.cleaned_data.get("offer", ()), *lines)))


class QuoteForm(forms.Form):
    """What a new quote is made of."""

    language = forms.ChoiceField(choices=[(code, code) for code in LANGUAGES])
    valid_days = forms.IntegerField(min_value=1, max_value=MOST_DAYS, initial=30)
    customer = forms.CharField(required=False, max_length=300)
    take = forms.MultipleChoiceField(required=False)  # options that the customer may tick
    revision = forms.IntegerField(min_value=1)  # whose price stood on the page

    def __init__(self, options: Sequence[str], *args: Any, **named: Any) -> None:
        """Offer the options of the job's terms."""
        super().__init__(*args, **named)
        field = cast(forms.MultipleChoiceField, self.fields["take"])
        field.choices = [(one, one) for one in options]


def price(request: HttpRequest, code: str) -> HttpResponse:
    """Show what a job costs and what to ask; keep what it hangs on."""
    job = get_object_or_404(Job, code=code)
    terms = actions.terms_of(job)
    if request.method != "POST":
        return page(request, job, terms)
    form = kept_terms(request, job, terms)
    more: dict[str, Any] = {"quote_form": typed_quote(request, terms)} if "language" in request.POST else {}
    if form.errors:
        return page(request, job, actions.terms_of(job), form=form, status=422, **more)
    return page(request, job, terms, **more) if is_part(request) else redirect("job-price", code=job.code)


def kept_terms(request: HttpRequest, job: Job, terms: Terms) -> TermsForm:
    """Keep what was typed of what the price hangs on, in `terms` too; the form says what cannot be read."""
    book = actions.book_of(terms)
    permits = permits_of(book.csv if book else "", book.name if book else "")
    form = TermsForm(permits, usual_of(job), request.POST)
    if form.is_valid():
        for field in KEPT:
            setattr(terms, field, form.cleaned_data[field])
        try:
            _readable(job, terms)
        except pricing.TermsError as error:
            form.add_error(error.field, error.said(getattr(request, "lang", "en")))
    if not form.errors:
        actions.keep_terms(person=cast(Person, request.user), job=job, terms=terms)
    return form


def typed_quote(request: HttpRequest, terms: Terms) -> QuoteForm:
    """Return the fields of a new quote as they were typed, for a page that keeps them."""
    typed = {field: request.POST.get(field, "") for field in ("language", "valid_days", "customer")}
    return QuoteForm(terms.options, initial={**typed, "take": taken(request, terms)})


def taken(request: HttpRequest, terms: Terms) -> list[str]:
    """Return the options that the customer may tick: those ticked, and those new to the page."""
    ticked, known = request.POST.getlist("take"), request.POST.getlist("known")
    return [one for one in terms.options if one in ticked or one not in known]


def usual_of(job: Job) -> tuple[str, ...]:
    """Return the options that a job may usually be offered with; none where its notes cannot be read."""
    notes = actions.notes_of(job)
    return () if notes is None else usual(notes)


def _readable(job: Job, terms: Terms) -> None:
    """Read every field of the terms; pricing.TermsError for one that cannot be."""
    book = actions.book_of(terms)
    currency = Shop.own().currency
    pricing.amount_of(terms.asked, currency)
    if book is not None:
        units = actions.units_of(job)
        pricing.asked_of(terms, book, currency=currency, dated=today(), system=units)


def demo_book(request: HttpRequest, code: str) -> HttpResponse:
    """Take the price book that comes with the program, invented as its prices are."""
    job = get_object_or_404(Job, code=code)
    actions.use_demo_book(person=cast(Person, request.user))
    return page(request, job, actions.terms_of(job)) if is_part(request) else redirect("job-price", code=code)


def is_part(request: HttpRequest) -> bool:
    """Return whether the page's script asks for the section alone."""
    return bool(request.headers.get("X-Part"))


def permits_of(csv: str, name: str) -> tuple[str, ...]:
    """Return the codes of permits in a book; none where it cannot be read."""
    if not csv:
        return ()
    try:
        book: Lines = read_books([(f"{name}.csv", csv.encode())], currency=Shop.own().currency)
    except (NotUsableError, ValueError):
        return ()
    return tuple(line.code for line in book.group("permit"))


def page(request: HttpRequest, job: Job, terms: Terms, *, status: int = 200, **more: Any) -> HttpResponse:
    """Return the section, as a page of its own or as a part of the sheet."""
    lang = getattr(request, "lang", "en")
    book = actions.book_of(terms)
    text, revision = actions.text_of(job)
    permits = permits_of(book.csv, book.name) if book else ()
    units, ticks = actions.units_of(job), usual_of(job)
    ticked, lines = _apart(terms, ticks, units)
    initial = {**{f: getattr(terms, f) for f in KEPT}, "offer": ticked, "options": "\n".join(lines)}
    first = {"language": job_language(job), "take": terms.options, "valid_days": 30}
    shown: dict[str, Any] = {
        "job": job,
        "book": book,
        "demo": book is not None and book.csv == actions.demo_csv(),
        "revision": revision,
        "old": revision != job.number,
        "permits": permits,
        "form": TermsForm(permits, ticks, initial=initial),
        "known": terms.options,
        "usual": [(one, _name(one, units, lang)) for one in ticks],
        "quote_form": QuoteForm(terms.options, initial=first),
        "quotes": [
            (quote, standing(quote))
            for quote in Quote.objects.filter(job=job).defer("pdf", "picture", "shown").order_by("-made")
        ],
        "part": is_part(request),
        **(_priced(job, terms, text, lang) if book is not None and revision else {}),
        **more,
    }
    template = "office/quotes/price.html" if is_part(request) else "office/quotes/price_page.html"
    return render(request, template, shown, status=status)


def _name(written: str, units: System, lang: str) -> str:
    made = option_of(written, units)
    return called(made.en, made.es, lang)


def _apart(terms: Terms, ticks: Sequence[str], units: System) -> tuple[list[str], list[str]]:
    """Return a job's options that have a tick of their own, and those that are written in a line."""
    ticked, lines = [], []
    for written in terms.options:
        try:
            made = option_of(written, units)
        except WantedError:
            lines.append(written)
            continue
        if made.key in ticks and not made.on_top_of:
            ticked.append(made.key)
        else:
            lines.append(written)
    return ticked, lines


def job_language(job: Job) -> str:
    """Return the language of the job's newest quote, else the shop's."""
    last = Quote.objects.filter(job=job).order_by("-made").values_list("language", flat=True).first()
    return last or Shop.own().language


def _priced(job: Job, terms: Terms, text: str, lang: str) -> dict[str, Any]:
    """Return what the section shows of the price, or what stands in its way."""
    units = actions.units_of(job)
    try:
        at = pricing.amount_of(terms.asked, Shop.own().currency)
        priced, owner = actions.priced_for_owner(job, text=text, at=at, lang=lang)
    except pricing.TermsError as error:
        return {"problem": f"{word('price-terms-bad', lang)} {error.said(lang)}"}
    except actions.QuoteError as error:
        return {
            "problem": word(error.key, lang, **error.values),
            "findings": told(error.findings, units, lang),
        }
    found = [f for f in (*priced.findings, *owner.risk.findings) if f.level is not Level.NOTE]
    lines = tables.lines_on_paper(owner.made, lang, owner.names)
    return {
        "figures": money_owner.figures(owner, lang),
        "risk_lines": money_owner.risk_lines(owner, lang),
        "tables": [html_table(table, system=units, lang=lang) for table in _tables(owner, lang)],
        "lines": html_table(lines, system=units, lang=lang),
        "findings": told([f for f in found if f.level is Level.STOP], units, lang),
        "cautions": told([f for f in found if f.level is not Level.STOP], units, lang),
        "learned": owner.learned,
        "offered": list(_offered(owner, dict(zip(_keys(terms, units), terms.options, strict=True)), lang)),
    }


def told(found: Iterable[Finding], units: System, lang: str) -> list[Text]:
    """Return findings in words, each once."""
    texts = [finding.text(system=units, lang=lang) for finding in found]
    return [text for n, text in enumerate(texts) if text not in texts[:n]]


def _keys(terms: Terms, units: System) -> list[str]:
    """Return the key of each option of the terms."""
    return [option.key for option in options_of(terms.options, units)]


def _offered(
    owner: money_owner.Priced, written: Mapping[str, str], lang: str
) -> Iterator[tuple[str, str, str]]:
    """Yield each option that has a price: as it is written in the terms, its name, what it changes."""
    for one in owner.options:
        if one.difference is not None:
            yield written[one.key], called(one.en, one.es, lang), signed(one.difference, owner.made.currency)


def _tables(owner: money_owner.Priced, lang: str) -> Iterator[Table]:
    made, currency = owner.made, owner.made.currency
    yield tables.build_up_on_paper(made, lang)
    yield tables.on_paper(tables.band(owner.risk, lang), currency)
    yield tables.drivers(owner.risk, lang)
    if len(made.by_slab) > 1:
        yield tables.on_paper(tables.slabs(made), currency)
    if owner.options:
        yield tables.on_paper(tables.option_table(owner.options, lang), currency)
