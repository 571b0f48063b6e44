"""Photos: looked into, without place and device, shown only to those who work here, gone with their job."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image, ImageCms
from tests.kit.people import job, person, signed_in

from slabwright.office.actions import photos as actions
from slabwright.office.models import Audit, Photo

ORIENTATION, MAKE, GPS = 0x0112, 0x010F, 0x8825


@pytest.fixture(autouse=True)
def folder(tmp_path, settings):
    settings.MEDIA_ROOT = tmp_path / "photos"
    return settings.MEDIA_ROOT


def picture(size=(64, 32), mode="RGB", colour=None) -> Image.Image:
    """Return a picture whose upper left corner is red."""
    made = Image.new(mode, size, colour if colour is not None else ("white" if mode != "P" else 0))
    if mode == "RGB":
        made.paste("red", (0, 0, size[0] // 4, size[1] // 4))
    return made


def written(image: Image.Image, kind: str = "JPEG", **more) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **more)
    return out.getvalue()


def upload(content: bytes, name: str = "IMG_1.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content, content_type="image/jpeg")


def telling() -> Image.Exif:
    exif = Image.Exif()
    exif[ORIENTATION] = 6  # to be turned a quarter to the right
    exif[MAKE] = "Secret Camera"
    exif[GPS] = {1: "N", 2: (42.0, 1.0, 2.0), 3: "W", 4: (83.0, 4.0, 5.0)}
    return exif


def test_place_and_device_are_gone_and_the_photo_stands_upright():
    given = written(picture((64, 32)), exif=telling(), comment=b"Secret Words")
    assert b"Secret Camera" in given
    large, small, size = actions.cleaned(io.BytesIO(given))
    assert size == (32, 64)
    for made in (large, small):
        assert b"Secret" not in made
        assert b"Exif" not in made
        with Image.open(io.BytesIO(made)) as kept:
            assert not dict(kept.getexif())
            assert kept.size == (32, 64)
            red = kept.convert("RGB").getpixel((30, 2))  # from the upper left to the upper right
            assert red[0] > 200
            assert red[1] < 80


MODES = {
    "JPEG": ("RGB", "L", "1", "CMYK"),
    "PNG": ("RGB", "L", "1", "P", "RGBA", "LA", "I;16"),
    "WEBP": ("RGB", "RGBA"),
}


@pytest.mark.parametrize(("kind", "mode"), [(kind, mode) for kind in MODES for mode in MODES[kind]])
def test_every_kind_and_mode_becomes_a_plain_photo(kind, mode):
    image = Image.new("RGB", (40, 30), (200, 30, 30)).convert(mode if mode != "I;16" else "L")
    if mode == "I;16":
        image = image.convert("I").point(lambda v: v * 256).convert("I;16")
    given = written(image, kind)
    large, _, size = actions.cleaned(io.BytesIO(given))
    assert size == (40, 30)
    with Image.open(io.BytesIO(large)) as kept:
        assert (kept.format, kept.mode) == ("JPEG", "RGB")
        if mode in ("RGB", "RGBA", "CMYK", "P"):
            assert kept.getpixel((20, 15))[0] > 150


def test_what_is_transparent_becomes_white():
    large, _, _ = actions.cleaned(io.BytesIO(written(Image.new("RGBA", (8, 8), (0, 0, 0, 0)), "PNG")))
    with Image.open(io.BytesIO(large)) as kept:
        assert kept.getpixel((4, 4)) == (255, 255, 255)


def test_colours_of_a_camera_are_turned_and_its_profile_is_not_kept():
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB"))
    sound = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for icc in (profile.tobytes(), sound, b"nonsense"):
        large, _, _ = actions.cleaned(io.BytesIO(written(picture(), "PNG", icc_profile=icc)))
        with Image.open(io.BytesIO(large)) as kept:
            assert "icc_profile" not in kept.info


def test_a_large_photo_is_made_smaller_and_a_small_one_is_left():
    large, small, size = actions.cleaned(io.BytesIO(written(picture((4000, 1000)))))
    assert size == (2000, 500)
    assert Image.open(io.BytesIO(small)).size == (480, 120)
    assert Image.open(io.BytesIO(large)).size == size
    assert actions.cleaned(io.BytesIO(written(picture((30, 20)))))[2] == (30, 20)


def bomb(width: int, height: int) -> bytes:
    """Return a PNG of a few bytes that says it holds width x height points."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    pixels = chunk(b"IDAT", zlib.compress(b"\0" * 4096))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + pixels + chunk(b"IEND", b"")


@pytest.mark.parametrize("size", [(8000, 7501), (30_000, 30_000), (2_000_000_000, 2)])
def test_a_picture_that_would_fill_the_memory_is_refused(size):
    with pytest.raises(actions.PhotoError, match=r"photo-(pixels|kind)") as error:
        actions.cleaned(io.BytesIO(bomb(*size)))
    if size[0] < 100_000:
        assert error.value.key == "photo-pixels"


@pytest.mark.parametrize(("kind", "kept"), [("JPEG", True), ("PNG", False), ("WEBP", False)])
def test_only_what_is_decoded_smaller_may_have_as_many_pixels_as_a_camera_has(monkeypatch, kind, kept):
    """A JPEG is opened at a part of its size; the others take all their pixels at once."""
    monkeypatch.setattr(actions, "MOST_WHOLE", 5_000)
    file = io.BytesIO()
    Image.new("RGB", (100, 60)).save(file, kind)
    file.seek(0)
    if kept:
        assert actions.cleaned(file)[2] == (100, 60)
        return
    with pytest.raises(actions.PhotoError, match="photo-pixels"):
        actions.cleaned(file)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"hello",
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>",
        b"GIF89a" + b"\0" * 100,
        b"\xff\xd8\xff\xe0" + b"\0" * 50,
        b"\x89PNG\r\n\x1a\n" + b"\0" * 50,
        b"RIFF\x10\0\0\0WEBPVP8 ",
        b"%PDF-1.7",
    ],
)
def test_what_is_no_photo_is_refused(content):
    with pytest.raises(actions.PhotoError, match="photo-kind"):
        actions.cleaned(io.BytesIO(content))


@pytest.mark.parametrize("kind", actions.KINDS)
def test_half_a_photo_is_refused(kind):
    given = written(picture((400, 300)), kind)
    with pytest.raises(actions.PhotoError, match="photo-kind"):
        actions.cleaned(io.BytesIO(given[: len(given) // 2]))


def test_a_gif_by_another_name_is_refused():
    with pytest.raises(actions.PhotoError, match="photo-kind"):
        actions.cleaned(io.BytesIO(written(picture(), "GIF")))


@pytest.mark.django_db
def test_the_crew_adds_sees_and_takes_away(folder, django_capture_on_commit_callbacks):
    crew = person("Tomás Ruiz", "crew")
    made, client = job(crew), signed_in(crew)
    at = reverse("photos", args=(made.code,))
    two = [upload(written(picture(), exif=telling())), upload(written(picture(), "PNG"), "../../etc/x.png")]
    answer = client.post(at, {"photo": two, "words": "base compacted"})
    assert answer.status_code == 302
    photos = list(Photo.objects.all())
    assert len(photos) == 2
    for photo in photos:
        assert folder in Path(photo.file.path).resolve().parents
        assert "IMG" not in photo.file.name
        assert "x.png" not in photo.file.name
        for name in ("photo", "photo-small"):
            shown = client.get(reverse(name, args=(photo.pk,)))
            assert shown.headers["Content-Type"] == "image/jpeg"
            assert shown.headers["X-Content-Type-Options"] == "nosniff"
            assert shown.headers["Cache-Control"].startswith("private")
            assert b"Secret" not in b"".join(shown.streaming_content)
    page = client.get(at).content.decode()
    assert page.count('alt="base compacted"') == 2
    with django_capture_on_commit_callbacks(execute=True):
        assert client.post(reverse("photo-delete", args=(photos[0].pk,))).status_code == 302
    assert not Path(photos[0].file.path).exists()
    assert not actions.small_path(photos[0]).exists()
    assert Path(photos[1].file.path).exists()
    assert client.get(reverse("photo", args=(photos[0].pk,))).status_code == 404
    with django_capture_on_commit_callbacks(execute=True):
        made.delete()
    assert [p for p in folder.rglob("*") if p.is_file()] == []
    assert Audit.objects.filter(what="photo-deleted").count() == 1


@pytest.mark.django_db
def test_nobody_else_sees_a_photo():
    crew = person("Tomás Ruiz", "crew")
    photo = actions.add(person=crew, job=job(crew), file=io.BytesIO(written(picture())), size=10)
    away = signed_in(person("Ada Birk", "away"))
    for name in ("photo", "photo-small"):
        at = reverse(name, args=(photo.pk,))
        assert Client().get(at).status_code == 302
        assert away.get(at).status_code == 403
        assert Client().get(f"/static/{photo.file.name}").status_code == 404
        assert Client().get(f"/photos/{photo.file.name}").status_code == 404


@pytest.mark.django_db
def test_limits_are_told_in_plain_words(settings, monkeypatch):
    crew = person("Tomás Ruiz", "crew")
    made, client = job(crew), signed_in(crew)
    at = reverse("photos", args=(made.code,))
    page = client.post(at, {"words": "kept words"})
    assert page.status_code == 422
    assert "Choose a photo first" in page.content.decode()
    assert 'value="kept words"' in page.content.decode()
    page = client.post(at, {"photo": upload(b"hello", "notes.txt")})
    assert page.status_code == 422
    assert "notes.txt: This is no JPEG" in page.content.decode()
    good = written(picture())
    settings.PHOTO_MOST_BYTES = len(good) - 1
    page = client.post(at, {"photo": upload(good)})
    assert "larger than" in page.content.decode()
    settings.PHOTO_MOST_BYTES = len(good)
    monkeypatch.setattr(actions, "MOST_PHOTOS", 1)
    page = client.post(at, {"photo": [upload(good), upload(good, "second.jpg")]}, headers={"X-Part": "true"})
    assert page.status_code == 422
    assert "second.jpg: A job holds at most 1" in page.content.decode()
    assert Photo.objects.count() == 1


@pytest.mark.django_db
def test_no_file_is_left_where_the_row_could_not_be_saved(folder, monkeypatch):
    crew = person("Tomás Ruiz", "crew")
    made = job(crew)

    def fails(*_args, **_named):
        raise RuntimeError("the database is gone")

    monkeypatch.setattr(actions.audit, "note", fails)
    with pytest.raises(RuntimeError):
        actions.add(person=crew, job=made, file=io.BytesIO(written(picture())), size=10)
    assert [p for p in folder.rglob("*") if p.is_file()] == []
    assert not Photo.objects.exists()


@pytest.mark.django_db
def test_a_photo_whose_file_is_lost_is_no_fault():
    crew = person("Tomás Ruiz", "crew")
    photo = actions.add(person=crew, job=job(crew), file=io.BytesIO(written(picture())), size=10)
    Path(photo.file.path).unlink()
    assert signed_in(crew).get(reverse("photo", args=(photo.pk,))).status_code == 404


@pytest.mark.django_db
def test_far_too_much_is_refused_before_it_is_read(settings):
    crew = person("Tomás Ruiz", "crew")
    client, at = signed_in(crew), reverse("photos", args=(job(crew).code,))
    settings.UPLOAD_MOST_BYTES = 1000
    page = client.post(at, {"photo": upload(b"x" * 2000)})
    assert page.status_code == 413
    assert "Too much at once" in page.content.decode()
