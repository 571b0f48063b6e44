"""What the office keeps."""

from slabwright.office.models.jobs import Job, Photo, Revision, State
from slabwright.office.models.money import Book, Quote, QuoteState, Terms
from slabwright.office.models.people import Link, LinkKind, Misses, Person, Role, Token
from slabwright.office.models.records import Audit, DayRecord, LoadRecord
from slabwright.office.models.shop import Shop
from slabwright.office.models.weather import WeatherTable

__all__ = [
    "Audit",
    "Book",
    "DayRecord",
    "Job",
    "Link",
    "LinkKind",
    "LoadRecord",
    "Misses",
    "Person",
    "Photo",
    "Quote",
    "QuoteState",
    "Revision",
    "Role",
    "Shop",
    "State",
    "Terms",
    "Token",
    "WeatherTable",
]
