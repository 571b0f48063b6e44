"""The docs' pictures, made by the program itself: sheets of the demo job, and the office on phone and desk.

    make pictures

The office is a real one in a folder of its own: opened, the demo job brought in, priced with the demo book,
quoted and looked at as its owner, crew and customer do. Nothing is drawn by hand; letters are kept sharp and
files small by few colours.
"""

from __future__ import annotations

import contextlib
import io
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from tests.kit.browser import FLAGS, SIZES  # noqa: E402

PICTURES = ROOT / "docs" / "pictures"
JOB = ROOT / "examples" / "side-walk" / "job.yaml"
# A mild day's figures, as they are typed in under the day of the pour.
DAY = "\nweather: {low: 52 F, high: 71 F, humidity: 45 %, wind: 6 mph, sky: clear, day: 2026-05-05}\n"
SHEETS = {"sheet-1": "the plan", "sheet-2": "heights", "sheet-3": "set-out"}
COLOURS = 48
MOST = 150_000  # [bytes] of a picture: a page of docs opens on a phone in the yard
PORT = 8217
PASSWORD = "wet grass at half past six"


def small(png: bytes) -> bytes:
    """Return a picture in few colours, so that it is small and its letters stay sharp."""
    from PIL import Image

    with Image.open(io.BytesIO(png)) as picture:
        few = picture.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
        out = io.BytesIO()
        few.save(out, "PNG", optimize=True)
    return out.getvalue()


def keep(name: str, png: bytes) -> None:
    """Write a picture among the docs; ends where it would be too heavy."""
    made = small(png)
    if len(made) > MOST:
        sys.exit(f"docs/pictures/{name}.png would have {len(made):,} bytes; {MOST:,} is the most")
    (PICTURES / f"{name}.png").write_bytes(made)
    print(f"wrote docs/pictures/{name}.png ({len(made) / 1000:.0f} kB)")


def sheets(folder: Path) -> None:
    """Make the pictures of the demo job's sheets."""
    call = [sys.executable, "-m", "slabwright", "plan", str(JOB), "--out", str(folder), "--quiet"]
    subprocess.run([*call, "--picture", str(folder)], check=True, stdout=subprocess.DEVNULL)
    for name in SHEETS:
        keep(name, (folder / f"{name}.png").read_bytes())


@contextlib.contextmanager
def office(home: Path) -> Iterator[str]:
    """Open an office with the demo job in it; give its address."""
    job = home / "job.yaml"
    job.write_text(JOB.read_text(encoding="utf-8") + DAY, encoding="utf-8")
    call = [sys.executable, "-m", "slabwright", "office", "--home", str(home), "--port", str(PORT)]
    with (home / "log.txt").open("wb") as log:
        running = subprocess.Popen([*call, "--workers", "1", "--load", str(job)], stdout=log, stderr=log)
    url = f"http://127.0.0.1:{PORT}"
    try:
        for _ in range(400):
            with contextlib.suppress(urllib.error.URLError, OSError):
                urllib.request.urlopen(f"{url}/health/", timeout=5).close()
                break
            time.sleep(0.1)
        yield url
    finally:
        running.terminate()
        running.wait(20)


class Walk:
    """The office, walked by owner, crew and customer, with a picture of what each sees."""

    def __init__(self, browser: Any, url: str) -> None:
        self.browser, self.url = browser, url
        self.desk = self.page(SIZES["desktop"])

    def page(self, size: dict[str, Any], state: Any = None) -> Any:
        """Return a page in a session of its own, or with the session of another."""
        context = self.browser.new_context(
            **size, base_url=self.url, locale="en-US", timezone_id="UTC", storage_state=state
        )
        context.set_default_timeout(60_000)
        return context.new_page()

    def take(self, page: Any, name: str, at: Any = None) -> None:
        """Keep what is on the screen, scrolled so that `at` stands near the top."""
        if at is not None:
            at.evaluate("e => window.scrollTo(0, e.getBoundingClientRect().top + window.scrollY - 70)")
        page.wait_for_load_state("networkidle")
        page.wait_for_timeout(400)
        keep(name, page.screenshot(animations="disabled"))

    def opens(self) -> None:
        """Make the owner's account, and say who the shop is."""
        page = self.desk
        page.goto("/")
        for label, value in (
            ("Name of the business", "Kestrel Flatwork"),
            ("Your name", "Lena Ohm"),
            ("E-mail", "lena@shop.example"),
            ("Password", PASSWORD),
        ):
            page.get_by_role("main").get_by_label(label).fill(value)
        page.get_by_role("button", name="Open the office").click()
        page.get_by_role("heading", name="Jobs", exact=True).wait_for()
        page.goto("/shop/")
        page.get_by_label("Address").fill("12 Mill Lane, Alder")
        page.get_by_label("Phone").fill("555 0142")
        page.get_by_role("button", name="Save").click()

    def reads(self) -> None:
        """Look at the job on a desk and on a phone."""
        page = self.desk
        page.goto("/")
        page.get_by_role("link", name="Juniper Court 7 - side walk").first.click()
        page.get_by_role("application").first.wait_for()
        self.take(page, "office-desk")
        self.job = re.search(r"/jobs/[^/]+/", page.url)[0]  # type: ignore[index]
        phone = self.page(SIZES["phone"], page.context.storage_state())
        phone.goto(self.job)
        part = phone.get_by_text("Tape pulls", exact=True).first
        box = phone.get_by_label("Tape reads").first
        if not box.is_visible():
            part.click()
            box.wait_for()
        self.take(phone, "office-phone-tape", part)

    def quotes(self) -> str:
        """Price the job with the demo book, quote it, and return the customer's link."""
        page = self.desk
        price = page.get_by_role("region", name="Price", exact=True).first
        price.get_by_role("button", name="Try the demo book").click()
        price.get_by_text(re.compile(r"\$\s*\d")).first.wait_for()
        page.wait_for_load_state("networkidle")
        self.take(page, "office-price", price)
        price.get_by_role("button", name="Make the quote").click()
        page.get_by_text("draft", exact=True).wait_for()
        page.get_by_role("button", name="Make the customer's link").click()
        link: str = page.get_by_label("Copy it and send it yourself").input_value()
        return link

    def accepts(self, link: str) -> None:
        """Look at the quote as the customer."""
        phone = self.page(SIZES["phone"])
        phone.goto(link)
        self.take(phone, "office-phone-quote")

    def pours(self) -> None:
        """Look at the day of the pour on the phone, once it has been worked out."""
        phone = self.page(SIZES["phone"], self.desk.context.storage_state())
        phone.goto(f"{self.job}hours/")
        slider = phone.get_by_role("slider").first
        slider.wait_for()
        self.take(phone, "office-phone-hours")


def pages(home: Path) -> None:
    """Make the pictures of the office."""
    from playwright.sync_api import sync_playwright

    program = shutil.which("chromium") or sys.exit("make pictures needs Chromium: bash tests/setup-debian.sh")
    with office(home) as url, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=FLAGS)
        walk = Walk(browser, url)
        walk.opens()
        walk.reads()
        walk.accepts(walk.quotes())
        walk.pours()
        browser.close()


def main() -> None:
    """Make all pictures anew."""
    with tempfile.TemporaryDirectory() as folder:
        sheets(Path(folder))
    with tempfile.TemporaryDirectory() as home:
        pages(Path(home))


if __name__ == "__main__":
    main()
