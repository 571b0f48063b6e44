"""The shop: who quotes, in which units and money; the crew's kit and board pile; boards that come back."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from slabwright.measure import LANGUAGES
from slabwright.measure.money import CURRENCIES
from slabwright.office.actions import shop as actions
from slabwright.office.asking import PersonRequest
from slabwright.office.models import Job, Shop
from slabwright.office.when import is_zone
from slabwright.office.words import word


class ShopForm(forms.Form):
    """Who quotes, and how."""

    name = forms.CharField(max_length=120)
    address = forms.CharField(max_length=240, required=False)
    phone = forms.CharField(max_length=40, required=False)
    licence = forms.CharField(max_length=60, required=False)
    language = forms.ChoiceField(choices=[(code, code) for code in LANGUAGES])
    units = forms.ChoiceField(choices=[("imperial", "imperial"), ("metric", "metric")])
    currency = forms.ChoiceField(choices=[(code, code) for code in sorted(CURRENCIES)])
    zone = forms.CharField(max_length=60, required=False)
    place = forms.RegexField(r"^[A-Z]{2}-[A-Z0-9]{1,3}$", max_length=12, required=False)

    def clean_zone(self) -> str:
        """Return a zone that is known."""
        zone = str(self.cleaned_data["zone"])
        if zone and not is_zone(zone):
            raise forms.ValidationError("zone")
        return zone


def _typed_kit(request: PersonRequest) -> tuple[dict[str, Any], list[str]]:
    """Return the kit as it was typed, and the lines of boards that are no board."""
    kit: dict[str, Any] = {
        key: " ".join(request.POST.get(f"kit-{key}", "").split())[:40] for key in actions.SINGLE
    }
    stock = request.POST.get("kit-stock", "").replace(";", ",").split(",")
    kit["stock"] = [one.strip() for one in stock if one.strip()][:50]
    boards, odd = [], []
    for line in request.POST.get("kit-boards", "").splitlines()[:200]:
        parts = [part.strip() for part in line.split(",")]
        if len(parts) in (2, 3) and all(parts):
            boards.append(dict(zip(("size", "length", "count"), parts, strict=False)))
        elif line.strip():
            odd.append(line.strip()[:60])
    kit["boards"] = boards
    return kit, odd


def _page(
    request: PersonRequest, form: ShopForm, kit: dict[str, Any], status: int = 200, **more: Any
) -> HttpResponse:
    boards = kit.get("boards") or []
    lines = [", ".join(str(one[k]) for k in ("size", "length", "count") if k in one) for one in boards]
    stock = kit.get("stock") or []
    shown = {
        "form": form,
        "kit": [(key, kit.get(key, "")) for key in actions.SINGLE],
        "stock": ", ".join(map(str, stock)) if isinstance(stock, list) else stock,
        "boards": "\n".join(lines),
        **more,
    }
    return render(request, "office/shop.html", shown, status=status)


def own(request: PersonRequest) -> HttpResponse:
    """Show the shop; keep it. What is wrong with the kit is said by the reader of job files."""
    shop = Shop.own()
    if request.method != "POST":
        form = ShopForm(initial={field: getattr(shop, field) for field in actions.FIELDS})
        return _page(request, form, actions.kit_of(shop))
    form = ShopForm(request.POST)
    kit, odd = _typed_kit(request)
    text = actions.kit_text(kit)
    mistakes = actions.kit_mistakes(text, request.POST.get("units", "imperial"))
    if not form.is_valid() or mistakes or odd:
        typed = request.POST.get("kit-boards", "")[:5000]
        return _page(request, form, kit, 422, mistakes=mistakes, odd=odd, boards=typed)
    actions.keep(person=request.user, values=form.cleaned_data, kit=text)
    messages.success(request, word("own-kept", request.lang))
    return redirect("shop")


def boards(request: PersonRequest, code: str) -> HttpResponse:
    """Show which boards come back when a job's forms are stripped; put them on the pile with one tap."""
    job = get_object_or_404(Job, code=code)
    if request.method == "POST":
        done = actions.put_back(person=request.user, job=job)
        key = "boards-back-done" if done else "boards-back-not"
        (messages.success if done else messages.error)(request, word(key, request.lang, title=job.title))
        return redirect("job-boards", code=code)
    made = actions.after_stripping(job)
    shown = {
        "job": job,
        "back": actions.boards_of(made[0]) if made else [],
        "took": actions.boards_of(made[1]) if made else [],
        "done": actions.came_back(job),
        "pile": actions.boards_of(actions.pile_of(actions.kit_of(Shop.own()))),
    }
    return render(request, "office/boards.html", shown)
