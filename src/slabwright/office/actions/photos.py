"""Photos of a job: looked into, turned the right way up, written anew so that no place or device is left."""

from __future__ import annotations

import io
import secrets
import warnings
from pathlib import Path
from typing import IO

from django.conf import settings
from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models.signals import post_delete
from django.dispatch import receiver
from django.utils import timezone
from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from slabwright.office.actions import audit
from slabwright.office.models import Job, Person, Photo

KINDS = ("JPEG", "PNG", "WEBP")
LONGEST = 2000  # [px] of the longer side, as kept
SMALL = 480  # [px] of the longer side of the one in lists
MOST_PIXELS = 60_000_000  # before it is decoded: a small file can hold a picture that fills the memory
MOST_WHOLE = 30_000_000  # of one that is decoded at its full size, as all but JPEG are
MOST_PHOTOS = 60  # of a job
QUALITY = 85
SMALL_END = "-small.jpg"


class PhotoError(Exception):
    """A file that is not kept: the key of the word that says why, and its values."""

    def __init__(self, key: str, **values: str) -> None:
        super().__init__(key)
        self.key, self.values = key, values


def cleaned(file: IO[bytes]) -> tuple[bytes, bytes, tuple[int, int]]:
    """Return a photo as JPEG without anything but its pixels, a small one, and its size [px].

    PhotoError for what is no JPEG, PNG or WebP, is broken, or has too many pixels.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(file, formats=KINDS) as opened:
                most = MOST_PIXELS if opened.format == "JPEG" else MOST_WHOLE
                if opened.width * opened.height > most:
                    raise PhotoError("photo-pixels", most=str(most // 1_000_000))
                # A camera's JPEG is decoded no larger than what is kept of it.
                opened.draft("RGB", (LONGEST, LONGEST))
                upright = _plain(ImageOps.exif_transpose(opened))
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise PhotoError("photo-pixels", most=str(MOST_PIXELS // 1_000_000)) from error
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError, OverflowError) as error:
        raise PhotoError("photo-kind") from error
    upright.thumbnail((LONGEST, LONGEST), Image.Resampling.LANCZOS)
    small = upright.copy()
    small.thumbnail((SMALL, SMALL), Image.Resampling.LANCZOS)
    return _jpeg(upright), _jpeg(small), upright.size


def _plain(given: Image.Image) -> Image.Image:
    """Return the pixels alone, in the colours of a screen, on white where they were transparent."""
    profile = given.info.get("icc_profile")
    image = given
    if profile and image.mode in ("RGB", "CMYK", "L"):
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            turned = ImageCms.profileToProfile(
                image, source, ImageCms.createProfile("sRGB"), outputMode="RGB"
            )
            image = turned if turned is not None else image
        except (ImageCms.PyCMSError, OSError, ValueError):
            image = given  # a broken profile: the colours are a little off, the photo is kept
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        top = image.convert("RGBA")
        image = Image.new("RGBA", top.size, "white")
        image.alpha_composite(top)
    image = image.convert("RGB")
    bare = Image.new("RGB", image.size)
    bare.paste(image)
    return bare


def _jpeg(image: Image.Image) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=QUALITY, optimize=True, progressive=True)
    return out.getvalue()


def add(*, person: Person, job: Job, file: IO[bytes], size: int, words: str = "") -> Photo:
    """Return a new photo on a job. PhotoError for a file that is too large, no picture, or one too many."""
    if size > settings.PHOTO_MOST_BYTES:
        raise PhotoError("photo-size", most=str(settings.PHOTO_MOST_BYTES // 1_000_000))
    if Photo.objects.filter(job=job).count() >= MOST_PHOTOS:
        raise PhotoError("photo-count", most=str(MOST_PHOTOS))
    large, small, (width, height) = cleaned(file)
    photo = Photo(job=job, width=width, height=height, words=words.strip()[:200], person=person)
    photo.when = timezone.now()
    # The name is made here and of ours alone; what the file was called is not kept.
    photo.file.save(f"{secrets.token_hex(16)}.jpg", ContentFile(large), save=False)
    written = [Path(photo.file.path), small_path(photo)]
    try:
        written[1].write_bytes(small)
        with transaction.atomic():
            # Counted again with the job locked, so that two at once do not pass the limit together.
            Job.objects.select_for_update().only("pk").get(pk=job.pk)
            if Photo.objects.filter(job=job).count() >= MOST_PHOTOS:
                raise PhotoError("photo-count", most=str(MOST_PHOTOS))
            photo.save()
            audit.note("photo-added", person=person, about=job.title, job=job.code, photo=photo.pk)
    except BaseException:
        for path in written:
            path.unlink(missing_ok=True)
        raise
    return photo


def small_path(photo: Photo) -> Path:
    """Return where the small one lies."""
    path = Path(photo.file.path)
    return path.with_name(path.stem + SMALL_END)


@transaction.atomic
def take_away(*, person: Person, photo: Photo) -> None:
    """Delete a photo and its files."""
    audit.note("photo-deleted", person=person, about=photo.job.title, job=photo.job.code, photo=photo.pk)
    photo.delete()


@receiver(post_delete, sender=Photo, dispatch_uid="photo-files")
def _files_go(sender: type[Photo], instance: Photo, **_more: object) -> None:  # noqa: ARG001 - Django's names
    """Delete the files once the row is gone for good, also where its whole job was deleted."""
    paths = (Path(instance.file.path), small_path(instance))

    def go() -> None:
        for path in paths:
            path.unlink(missing_ok=True)

    transaction.on_commit(go)
