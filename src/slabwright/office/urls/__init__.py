"""Every address of the office, each with who may open it; one module a family of pages."""

from __future__ import annotations

from slabwright.office.urls import api, people, photos, picture, quotes, sheet, shop

handler400 = "slabwright.office.pages.errors.bad_request"
handler403 = "slabwright.office.pages.errors.forbidden"
handler404 = "slabwright.office.pages.errors.not_found"
handler500 = "slabwright.office.pages.errors.fault"

urlpatterns = [*people.WAYS, *shop.WAYS, *sheet.WAYS, *quotes.WAYS, *photos.WAYS, *picture.WAYS, *api.WAYS]
