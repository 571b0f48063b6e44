"""The owner's pages of quotes: made from a revision, looked at, sent by a link, taken back."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from slabwright.measure import write_money
from slabwright.money.phrases import signed
from slabwright.office import pricing
from slabwright.office.actions import before_sending, prices
from slabwright.office.actions import quotes as actions
from slabwright.office.agreed import agreed_file
from slabwright.office.asking import PersonRequest
from slabwright.office.models import Job, Person, Quote
from slabwright.office.offer import Apart, chosen_of
from slabwright.office.pages.links import private
from slabwright.office.pages.quotes_price import QuoteForm, kept_terms, page, taken, told, typed_quote
from slabwright.office.pages.quotes_taken import told_took
from slabwright.office.words import word


def _lang(request: HttpRequest) -> str:
    return getattr(request, "lang", "en")


def new(request: HttpRequest, code: str) -> HttpResponse:
    """Freeze a quote from the job's newest plan; what cannot be quoted is said beside what was typed.

    What the price hangs on comes along as it stands on the page: it is kept first, and what was written just
    now is offered too, so that no quote goes out without what its owner typed above the button.
    """
    job = get_object_or_404(Job, code=code)
    terms = prices.terms_of(job)
    lang, data = _lang(request), request.POST.copy()
    if "terms" in data:
        kept = kept_terms(request, job, terms)
        if kept.errors:
            terms = prices.terms_of(job)
            typed = typed_quote(request, terms)
            return page(request, job, terms, status=422, form=kept, quote_form=typed)
        data.setlist("take", taken(request, terms))
    form = QuoteForm(terms.options, data)
    _, revision = prices.text_of(job)
    if not form.is_valid():
        return page(request, job, terms, status=422, quote_form=form)
    made_of = dict(form.cleaned_data)
    if made_of["revision"] != revision:
        # Somebody wrote meanwhile: nobody sends a price that they have not seen.
        return page(
            request, job, terms, status=422, quote_form=form, quote_wrong=word("quote-notes-moved", lang)
        )
    made_of["options"] = made_of.pop("take")
    try:
        made, pairs = actions.make(person=cast(Person, request.user), job=job, **made_of)
    except (prices.QuoteError, pricing.TermsError) as error:
        if isinstance(error, prices.QuoteError):
            said, found = word(error.key, lang, **error.values), error.findings
        else:
            said, found = f"{word('price-terms-bad', lang)} {error.said(lang)}", ()
        units = prices.units_of(job)
        more: dict[str, Any] = {"quote_form": form, "quote_wrong": said}
        return page(request, job, terms, status=422, quote_findings=told(found, units, lang), **more)
    for line in apart_lines(pairs, made, lang):
        messages.warning(request, line)
    return redirect("quote", code=job.code, pk=made.pk)


def apart_lines(pairs: tuple[Apart, ...], made: Quote, lang: str) -> list[str]:
    """Return in words which options do not go together, or not for the sum of their prices."""
    names = {option["key"]: option[lang] for option in made.shown["options"]}
    lines = []
    for pair in pairs:
        one, other = (names.get(key, key) for key in pair.keys)
        if pair.together is None:
            lines.append(word("quote-never-together", lang, one=one, other=other))
            continue
        together, summed = (signed(amount, made.currency) for amount in (pair.together, pair.summed))
        lines.append(word("quote-apart", lang, one=one, other=other, together=together, summed=summed))
    return lines


def _found(code: str, pk: int) -> Quote:
    return get_object_or_404(Quote.objects.select_related("job").defer("job__text"), pk=pk, job__code=code)


def show(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Show a quote as its customer sees it, and what became of it."""
    return _shown(request, _found(code, pk))


def _shown(request: HttpRequest, quote: Quote, status: int = 200, **more: Any) -> HttpResponse:
    standing = actions.standing(quote)
    body = offer_context(quote, quote.language, quote.chosen)
    shown = {"quote": quote, "job": quote.job, "standing": standing, **body, **more}
    lang = _lang(request)
    took = told_took(cast(PersonRequest, request), quote.job) if standing == "accepted" else None
    shown["took"] = took if took and took["pk"] == quote.pk else None  # of two, the one accepted last
    shown["before"] = [word(key, lang, **values) for key, values in before_sending.cautions(quote)]
    shown["agreed"] = None if quote.agreed is None else write_money(quote.agreed, quote.currency)
    return render(request, "office/quotes/own.html", {**shown, "lang": lang}, status=status)


def offer_context(quote: Quote, lang: str, keys: list[str]) -> dict[str, Any]:
    """Return what the offer's template shows: frozen words of one language, and a choice of options."""
    shown: Mapping[str, Any] = quote.shown
    chosen = chosen_of(shown, keys, lang)
    options = [
        {
            "key": option["key"],
            "name": option[lang],
            "amount": signed(Decimal(option["difference"]), quote.currency),
            "under": [other[lang] for other in shown["options"] if other["key"] in option["under"]],
            "taken": option["key"] in chosen.keys,
        }
        for option in shown["options"]
    ]
    return {
        "offer": shown[lang],
        "offer_lang": lang,
        "offer_total": word("offer-total", lang),
        "chosen": chosen,
        "options": options,
    }


def pdf(_request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Hand out the quote as it was frozen."""
    return pdf_answer(_found(code, pk))


def pdf_answer(quote: Quote) -> HttpResponse:
    """Return a quote's PDF, kept out of stores and lists."""
    return paper_answer(bytes(quote.pdf), "quote")


def paper_answer(made: bytes, name: str) -> HttpResponse:
    """Return a PDF of a quote, kept out of stores and lists."""
    response = HttpResponse(made, content_type="application/pdf")
    response.headers["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return private(response)


def agreed(_request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Hand out what was agreed, with who signed it; the quote's page where nobody did."""
    quote = _found(code, pk)
    if actions.standing(quote) != "accepted":
        return redirect("quote", code=code, pk=pk)
    return paper_answer(agreed_file(quote, quote.language), "agreed")


def _refused(request: HttpRequest, quote: Quote, error: prices.QuoteError) -> HttpResponse:
    quote.refresh_from_db()
    return _shown(request, quote, 422, wrong=word(error.key, _lang(request), **error.values))


def send(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Make the customer's link and show it this once."""
    quote = _found(code, pk)
    try:
        token = actions.send(person=cast(Person, request.user), quote=quote)
    except prices.QuoteError as error:
        return _refused(request, quote, error)
    quote.refresh_from_db()
    address = request.build_absolute_uri(reverse("customer", args=(token,)))
    return private(_shown(request, quote, address=address))


def withdraw(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Take a sent quote back."""
    quote = _found(code, pk)
    try:
        actions.withdraw(person=cast(Person, request.user), quote=quote)
    except prices.QuoteError as error:
        return _refused(request, quote, error)
    return redirect("quote", code=code, pk=pk)


def delete(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Throw a draft away."""
    quote = _found(code, pk)
    try:
        actions.throw_away(person=cast(Person, request.user), quote=quote)
    except prices.QuoteError as error:
        return _refused(request, quote, error)
    return redirect("job-price", code=code)
