"""Photos of a job: shown to those who work on it, added from a phone, taken away."""

from __future__ import annotations

from pathlib import Path
from typing import Any, cast

from django.core.files.uploadedfile import UploadedFile
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import etag

from slabwright.office.actions import photos as actions
from slabwright.office.models import Job, Person, Photo
from slabwright.office.words import word

A_DAY = 24 * 3600


def _page(request: HttpRequest, job: Job, status: int = 200, **more: Any) -> HttpResponse:
    shown = {
        "job": job,
        "photos": Photo.objects.filter(job=job).select_related("person").order_by("-pk"),
        "most": actions.MOST_PHOTOS,
        **more,
    }
    part = bool(request.headers.get("X-Part"))
    template = "office/photos/photos.html" if part else "office/photos/photos_page.html"
    return render(request, template, shown, status=status)


def listed(request: HttpRequest, code: str) -> HttpResponse:
    """Show the photos of a job; add some."""
    job = get_object_or_404(Job.objects.defer("text"), code=code)
    if request.method != "POST":
        return _page(request, job)
    lang = getattr(request, "lang", "en")
    words = request.POST.get("words", "")
    files = cast("list[UploadedFile[Any]]", request.FILES.getlist("photo"))
    if not files:
        return _page(request, job, 422, wrong=[word("photo-none", lang)], words=words)
    wrong = []
    for file in files:
        try:
            size = int(file.size or 0)
            actions.add(person=cast(Person, request.user), job=job, file=file, size=size, words=words)
        except actions.PhotoError as error:
            said = word(error.key, lang, **error.values)
            wrong.append(f"{Path(file.name or '').name[:60]}: {said}")
    if wrong:
        return _page(request, job, 422, wrong=wrong, words=words)
    return _page(request, job) if request.headers.get("X-Part") else redirect("photos", code=code)


def _tag(_request: HttpRequest, pk: int) -> str:
    return f'"{pk}"'


@etag(_tag)
def show(_request: HttpRequest, pk: int) -> HttpResponseBase:
    """Hand out a photo."""
    photo = get_object_or_404(Photo, pk=pk)
    return _file(Path(photo.file.path))


@etag(_tag)
def small(_request: HttpRequest, pk: int) -> HttpResponseBase:
    """Hand out the small one."""
    return _file(actions.small_path(get_object_or_404(Photo, pk=pk)))


def _file(path: Path) -> HttpResponseBase:
    try:
        handle = path.open("rb")
    except FileNotFoundError as error:
        raise Http404 from error
    response = FileResponse(handle, content_type="image/jpeg")
    # In the phone's own store alone: a shared one must not keep what a person has to sign in for.
    response.headers["Cache-Control"] = f"private, max-age={A_DAY}"
    response.headers["Content-Disposition"] = 'inline; filename="photo.jpg"'
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response


def delete(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a photo away."""
    photo = get_object_or_404(Photo.objects.select_related("job"), pk=pk)
    job = photo.job
    actions.take_away(person=cast(Person, request.user), photo=photo)
    return _page(request, job) if request.headers.get("X-Part") else redirect("photos", code=job.code)
