"""Addresses of a job's price, of its quotes, and of the customer's link."""

from __future__ import annotations

from slabwright.office.access import May, way
from slabwright.office.pages import quotes, quotes_customer, quotes_price, quotes_taken

_OWN = "jobs/<code>/quotes/<int:pk>/"

WAYS = [
    way("jobs/<code>/price/", quotes_price.price, "job-price", may=May.OWNER, methods="GET POST"),
    way("jobs/<code>/price/demo-book/", quotes_price.demo_book, "price-demo", may=May.OWNER, methods="POST"),
    way("jobs/<code>/quotes/new/", quotes.new, "quote-new", may=May.OWNER, methods="POST"),
    way(_OWN, quotes.show, "quote", may=May.OWNER),
    way(f"{_OWN}quote.pdf", quotes.pdf, "quote-own-pdf", may=May.OWNER),
    way(f"{_OWN}agreed.pdf", quotes.agreed, "quote-own-agreed", may=May.OWNER),
    way(f"{_OWN}send/", quotes.send, "quote-send", may=May.OWNER, methods="POST"),
    way(f"{_OWN}withdraw/", quotes.withdraw, "quote-withdraw", may=May.OWNER, methods="POST"),
    way(f"{_OWN}into-notes/", quotes_taken.into_notes, "quote-into-notes", may=May.OWNER, methods="POST"),
    way(f"{_OWN}delete/", quotes.delete, "quote-delete", may=May.OWNER, methods="POST"),
    way("q/<token>/", quotes_customer.show, "customer", may=May.LINK),
    way("q/<token>/accept/", quotes_customer.accept, "customer-accept", may=May.LINK, methods="POST"),
    way("q/<token>/quote.pdf", quotes_customer.pdf, "customer-pdf", may=May.LINK),
    way("q/<token>/agreed.pdf", quotes_customer.agreed, "customer-agreed", may=May.LINK),
    way("q/<token>/care.pdf", quotes_customer.care, "customer-care", may=May.LINK),
]
