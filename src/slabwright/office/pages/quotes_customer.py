"""The customer's page behind the link: plan, price, what is in it, options to tick, and the signature."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from slabwright.measure import LANGUAGES, System, write_money
from slabwright.office.actions import prices
from slabwright.office.actions import quotes as actions
from slabwright.office.agreed import agreed_file
from slabwright.office.models import Quote, Shop
from slabwright.office.offer import OfferError, system_of
from slabwright.office.pages.links import held_back, missed, private
from slabwright.office.pages.quotes import offer_context, paper_answer, pdf_answer
from slabwright.office.peer import origin
from slabwright.office.when import day_text, today
from slabwright.office.words import word
from slabwright.sheets.money_quote import care_pages
from slabwright.sheets.packet import write_pdf
from slabwright.sheets.pages import Strip

READ = ("open", "accepted")  # standings in which the offer can be read


class AcceptForm(forms.Form):
    """The customer's name, and that it is meant."""

    name = forms.CharField(min_length=2, max_length=actions.LONGEST_NAME)
    agree = forms.BooleanField()


def _held(request: HttpRequest, token: str) -> Quote | HttpResponse:
    """Return the quote of the link, or what somebody without one gets."""
    refused = held_back(request)
    if refused is not None:
        return refused
    quote = actions.quote_of(token)
    return _unknown(request) if quote is None else quote


def _unknown(request: HttpRequest) -> HttpResponse:
    """Say to a customer whose link is none of ours what to do: nobody out there has a list of jobs."""
    response = missed(request)
    lang = _asked_lang(request) or str(getattr(request, "lang", "en"))
    shown = {"lang": lang, "languages": LANGUAGES, "shop": Shop.own()}
    response.content = render(request, "office/quotes/unknown.html", shown).content
    response.headers["Content-Language"] = lang
    return response


def _asked_lang(request: HttpRequest) -> str:
    asked = request.POST.get("lang") or request.GET.get("lang") or ""
    return asked if asked in LANGUAGES else ""


def _lang(request: HttpRequest, quote: Quote) -> str:
    return _asked_lang(request) or quote.language


def show(request: HttpRequest, token: str) -> HttpResponse:
    """Show the offer, or plainly that it holds no more, or what was accepted."""
    quote = _held(request, token)
    if isinstance(quote, HttpResponse):
        return quote
    works_here = request.user.is_authenticated and getattr(request.user, "works_here", False)
    if request.method == "GET" and not works_here:
        actions.opened(quote)
    keys = request.GET.getlist("take")
    part = request.headers.get("X-Part") == "sum"
    return _page(request, quote, token, keys, part=part)


def _page(
    request: HttpRequest, quote: Quote, token: str, keys: list[str], *, status: int = 200, **more: Any
) -> HttpResponse:
    lang, standing, part = _lang(request, quote), actions.standing(quote), more.pop("part", False)
    shown: dict[str, Any] = {
        "quote": quote,
        "token": token,
        "lang": lang,
        "standing": standing,
        "languages": LANGUAGES,
        "shop": Shop.own(),
        "ends": day_text(quote.ends, lang),
        "today": day_text(today(), lang),
        **more,
    }
    if standing not in READ:
        response = render(request, "office/quotes/closed.html", shown, status=410)
        response.headers["Content-Language"] = lang
        return private(response)
    if standing == "accepted":
        keys = quote.chosen
        shown["agreed"] = write_money(quote.agreed or quote.total, quote.currency)
        shown["accepted_on"] = day_text(quote.accepted or quote.made, lang)
    try:
        shown |= offer_context(quote, lang, keys)
    except OfferError as error:
        status = 422
        shown |= {**offer_context(quote, lang, []), "wrong": word(str(error), lang)}
        for option in shown["options"]:
            option["taken"] = option["key"] in keys
    template = "office/quotes/sum.html" if part else "office/quotes/customer.html"
    response = render(request, template, shown, status=status)
    response.headers["Content-Language"] = lang
    return private(response)


def accept(request: HttpRequest, token: str) -> HttpResponse:
    """Accept the offer by the name typed, with the options ticked and the total that was seen."""
    quote = _held(request, token)
    if isinstance(quote, HttpResponse):
        return quote
    lang, keys = _lang(request, quote), request.POST.getlist("take")
    if actions.standing(quote) != "open":
        return _to(token, lang)
    form = AcceptForm(request.POST)
    typed: dict[str, Any] = {
        "typed": request.POST.get("name", "")[: actions.LONGEST_NAME],
        "agree": "agree" in request.POST,
    }
    try:
        total = offer_context(quote, lang, keys)["chosen"].total
    except OfferError:
        return _page(request, quote, token, keys, status=422, **typed)
    if "sum" in request.POST:  # without a script: only the total is asked for
        return _page(request, quote, token, keys, **typed)
    if request.POST.get("total") != str(total):
        return _page(request, quote, token, keys, status=422, total_moved=True, **typed)
    if not form.is_valid():
        return _page(request, quote, token, keys, status=422, form=form, **typed)
    try:
        actions.accept(quote=quote, name=form.cleaned_data["name"], keys=keys, origin=origin(request))
    except prices.QuoteError:
        quote.refresh_from_db()
    return _to(token, lang)


def _to(token: str, lang: str) -> HttpResponse:
    return private(redirect(f"{reverse('customer', args=(token,))}?lang={lang}"))


def pdf(request: HttpRequest, token: str) -> HttpResponse:
    """Hand out the quote as it was sent."""
    quote = _held(request, token)
    if isinstance(quote, HttpResponse):
        return quote
    if actions.standing(quote) not in READ:
        return _page(request, quote, token, [])
    return pdf_answer(quote)


def agreed(request: HttpRequest, token: str) -> HttpResponse:
    """Hand out what was agreed: the options taken, the total, the signature."""
    quote = _held(request, token)
    if isinstance(quote, HttpResponse):
        return quote
    if actions.standing(quote) != "accepted":
        return _to(token, _lang(request, quote))
    return paper_answer(agreed_file(quote, _lang(request, quote)), "agreed")


def care(request: HttpRequest, token: str) -> HttpResponse:
    """Hand out what to do for the new concrete."""
    quote = _held(request, token)
    if isinstance(quote, HttpResponse):
        return quote
    if actions.standing(quote) not in READ:
        return _page(request, quote, token, [])
    shown = quote.shown
    made = care_pdf(
        shown["title"],
        date.fromisoformat(shown["dated"]),
        system_of(shown),
        shown["paper"],
        _lang(request, quote),
    )
    return paper_answer(made, "care")


@lru_cache(maxsize=8)
def care_pdf(title: str, dated: date, system: System, paper: str, lang: str) -> bytes:
    """Return the care sheet of a job as PDF."""
    pages = care_pages(title, system=system, paper=paper, lang=lang)
    return write_pdf(pages, Strip(job=title, date=dated), system=system, lang=lang)
