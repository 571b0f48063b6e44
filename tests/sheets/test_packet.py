from __future__ import annotations

import io
from datetime import date

import pypdf
import pypdfium2
import pytest
from PIL import Image

from slabwright.findings import Finding, Level
from slabwright.measure import Both, System
from slabwright.sheets import pages as pg
from slabwright.sheets.drawing import Drawing, Line, Polyline, Text, drawing, only
from slabwright.sheets.lettering import plain
from slabwright.sheets.packet import compose_pages, write_pdf, write_png
from slabwright.sheets.picture import overlaps
from slabwright.sheets.scale import papers
from slabwright.sheets.tables import Column, Table

FT = 0.3048
STRIP = pg.Strip("Juniper Court 7", date(2026, 5, 4), "A", "juniper.yaml", "")


def heights(rows: int = 10) -> Table:
    columns = (
        Column("stake", "Stake", "Estaca"),
        Column("along", "Along", "A lo largo", "fine_length"),
        Column("height", "From sill", "Desde el umbral", "height_difference"),
    )
    cells = tuple((f"S{n + 1}", n * FT, -(4.375 + 0.25 * n) * FT / 12.0) for n in range(rows))
    return Table("heights", Both("Heights at the stakes", "Alturas en las estacas"), columns, cells)


def three(walk: Drawing) -> list[pg.Page]:
    plan = only(walk, "house", "existing", "slab", "forms", "dimensions", "stakes", name="Plan")
    return [
        pg.Page("Plan and stakes", (pg.DrawingBlock(plan),)),
        pg.Page("Heights", (pg.SideBySide((pg.DrawingBlock(plan, 0.6),), (pg.TableBlock(heights()),)),)),
        pg.Page(
            "Order",
            (
                pg.FigureBlock((pg.Figure("Concrete to order", "1 1/4 yd3", "one load"),)),
                pg.TextBlock(("Call 811 before you dig.",), "Before you start", "checks"),
                pg.TextBlock(("Strike off.", "Float."), "Order of work", "steps"),
                pg.TextBlock(("Plain words.",)),
                pg.TextBlock(("One thing.",), style="list"),
                pg.FindingBlock(()),
                pg.TableBlock(heights(), big=True, columns=("stake", "height")),
            ),
            landscape=False,
        ),
    ]


def texts(data: bytes) -> list[str]:
    return [plain(page.extract_text()) for page in pypdf.PdfReader(io.BytesIO(data)).pages]


def test_pages_have_their_size_title_and_number(walk: Drawing) -> None:
    made = write_pdf(three(walk), STRIP)
    reader = pypdf.PdfReader(io.BytesIO(made))
    wide, high = (side / 25.4 * 72.0 for side in papers()["letter"])
    sizes = [(float(p.mediabox.width), float(p.mediabox.height)) for p in reader.pages]
    assert sizes == [pytest.approx((high, wide), abs=0.05)] * 2 + [pytest.approx((wide, high), abs=0.05)]
    for n, (text, title) in enumerate(
        zip(texts(made), ("Plan and stakes", "Heights", "Order"), strict=True), 1
    ):
        assert title in text
        assert f"{n} of 3" in text
        assert "Juniper Court 7" in text
        assert "2026-05-04" in text
        assert "Drawn from juniper.yaml" in text
        assert "Checked by" in text
    assert reader.metadata is not None
    assert reader.metadata.title == "Juniper Court 7"


def test_what_is_on_the_pages_can_be_read_out(walk: Drawing) -> None:
    first, second, third = texts(write_pdf(three(walk), STRIP))
    assert "32'-0\"" in first
    assert 'Scale 3/16" = 1\'-0"' in first
    assert '-4 3/8"' in second
    assert "1 1/4 yd3" in third
    assert "Nothing was noticed" in third


@pytest.mark.parametrize("name", papers())
@pytest.mark.parametrize("landscape", [True, False])
def test_every_paper_either_way(walk: Drawing, name: str, landscape: bool) -> None:
    system = System.METRIC if name.startswith("A") else System.IMPERIAL
    page = pg.Page("Plan", (pg.DrawingBlock(walk),), name, landscape)
    made = compose_pages([page], STRIP, system=system)
    assert overlaps(made.pictures[0]) == []
    data = write_pdf([page], STRIP, system=system)
    (only_page,) = pypdf.PdfReader(io.BytesIO(data)).pages
    wide, high = papers()[name]
    expected = (high, wide) if landscape else (wide, high)
    found = (float(only_page.mediabox.width) / 72.0 * 25.4, float(only_page.mediabox.height) / 72.0 * 25.4)
    assert found == pytest.approx(expected, abs=0.02)


def test_same_pages_same_bytes_and_the_date_is_all_that_differs(walk: Drawing) -> None:
    once = write_pdf(three(walk), STRIP)
    assert write_pdf(three(walk), STRIP) == once
    later = write_pdf(three(walk), pg.Strip("Juniper Court 7", date(2026, 5, 5), "A", "juniper.yaml"))
    assert later != once


def test_a_line_of_four_inches_is_four_inches_on_paper() -> None:
    """A wall of 16 ft at 1/4 in to the foot, found again as dark dots of the printed page."""
    wall = Line("house", (0.0, 0.0), (16.0 * FT, 0.0))
    frame = Polyline("notes", ((-2.0, -1.0), (7.0, -1.0), (7.0, 1.5), (-2.0, 1.5)), True, "thin")
    data = write_pdf([pg.Page("Plan", (pg.DrawingBlock(drawing("wall", [wall, frame])),))], STRIP)
    assert 'Scale 1/4" = 1\'-0"' in texts(data)[0]
    dots = 300.0
    image = pypdfium2.PdfDocument(data)[0].render(scale=dots / 72.0).to_pil().convert("L")
    strip_top = round((papers()["letter"][0] - pg.MARGIN_MM - pg.STRIP_HIGH_MM - 18.0) / 25.4 * dots)
    longest = 0
    for y in range(0, strip_top, 2):
        row = image.crop((0, y, image.width, y + 1)).tobytes()
        run = max(len(part) for part in bytes(1 if v < 110 else 0 for v in row).split(b"\x00"))
        # the frame's own level lines are 9 m long, 5.6 in
        if run < 5.0 * dots:
            longest = max(longest, run)
    assert longest / dots == pytest.approx(4.0, abs=0.02)


def test_a_long_table_goes_on_with_its_headings_and_says_so() -> None:
    page = pg.Page("Heights", (pg.TableBlock(heights(120)),))
    found = texts(write_pdf([page, pg.Page("Order", ())], STRIP))
    assert len(found) > 3
    total = len(found)
    assert "continued" not in found[0]
    for n, text in enumerate(found[1:-1], 2):
        assert "Heights (continued)" in text
        assert "From sill" in text
        assert f"{n} of {total}" in text
    assert "Order" in found[-1]
    assert "continued" not in found[-1]


HOSTILE = [
    '#panic("no") *bold* _it_ $x$ @ref <label> `raw` \\u{41} // gone',
    '"] #let x = 1 ["',
    "日本語 Ωμέγα Пример עברית عربي 🙂 👩‍🚒",
    "\x00\x01\ud800\u202e\ufffe",
    "x" * 6000,
    "word " * 300,
    "",
    "a\nb\r\nc\td",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_words_stay_words(text: str) -> None:
    table = Table("t", Both(text, text), (Column("a", text, text), Column("b", "B", "B")), ((text, "1"),))
    one = drawing(
        text or "x", [Text("notes", (0.0, 0.0), text[:300]), Line("house", (0.0, 0.0), (3.0, 1.0))], alt=text
    )
    page = pg.Page(
        text,
        (
            pg.DrawingBlock(one, 0.4, heading=text[:60]),
            pg.TextBlock((text,), text, "steps"),
            pg.FigureBlock((pg.Figure(text, text[:40], text),)),
            pg.TableBlock(table),
        ),
    )
    data = write_pdf([page], pg.Strip(text, None, text, text, text))
    found = texts(data)
    assert found
    if text.startswith("#panic"):
        assert "#panic" in found[0]
        assert "*bold*" in found[0]


def test_a_strip_with_endless_words_keeps_its_height(walk: Drawing) -> None:
    words = "endless job title " * 200
    page = pg.Page(words, (pg.DrawingBlock(walk),), landscape=False)
    data = write_pdf([page], pg.Strip(words, date(2026, 1, 1), words, words, words))
    assert len(pypdf.PdfReader(io.BytesIO(data)).pages) == 1


def test_findings_are_printed_gravest_first_with_all_that_they_say(monkeypatch: pytest.MonkeyPatch) -> None:
    import slabwright.findings as findings

    rows = {
        "steep": {
            "level": "stop",
            "source": "ada-403.3",
            "what": "Falls {n} times.",
            "why": "It is slick.",
            "do": "Lower it.",
        },
        "look": {
            "level": "note",
            "source": "common-practice",
            "what": "Look {n}.",
            "why": "",
            "do": "",
            "es": {"what": "Mire {n}.", "why": "", "do": ""},
        },
    }
    monkeypatch.setattr(findings, "entry", lambda room, code: rows[code])
    listed = (
        Finding("x", "look", Level.NOTE, "gate", {"n": 1}),
        Finding("x", "steep", Level.STOP, "panel 3", {"n": 2}, 14),
        Finding("x", "look", Level.CAUTION, "patio", {"n": 3}),
    )
    (text,) = texts(write_pdf([pg.Page("Look", (pg.FindingBlock(listed, "What was noticed"),))], STRIP))
    at = [text.index(word) for word in ("STOP", "CAUTION", "NOTE")]
    assert at == sorted(at)
    for wanted in (
        "panel 3",
        "Falls 2 times.",
        "Why: It is slick.",
        "Do this: Lower it.",
        "line 14 of the job file",
        "403.3",
    ):
        assert wanted in text
    (spanish,) = texts(write_pdf([pg.Page("Look", (pg.FindingBlock(listed),))], STRIP, lang="es"))
    for wanted in ("ALTO", "CUIDADO", "NOTA", "Mire 1.", "Hoja", "1 de 1"):
        assert wanted in spanish


def test_labels_without_a_place_are_listed_beside_the_drawing() -> None:
    crowd = [Text("notes", (0.0, 0.0), f"word {n} " + "long " * 12, rank=n) for n in range(90)]
    page = pg.Page("Crowd", (pg.DrawingBlock(drawing("crowd", crowd), 0.8),))
    made = compose_pages([page], STRIP)
    assert made.pictures[0].left_out
    assert len(made.pictures[0].left_out) + len(made.pictures[0].letters) == 90 + 6
    assert "No room on the drawing for" in " ".join(texts(write_pdf([page], STRIP)))


def test_a_short_list_of_labels_without_a_place_stays_on_the_page() -> None:
    crowd = [Text("notes", (0.0, 0.0), f"WORD {n}", size=30.0, weight=700, rank=n) for n in range(12)]
    page = pg.Page("Crowd", (pg.DrawingBlock(drawing("crowd", crowd)),))
    made = compose_pages([page], STRIP)
    assert made.pictures[0].left_out
    (text,) = texts(write_pdf([page], STRIP))
    assert "No room on the drawing for" in text
    for n in range(12):
        assert f"WORD {n}" in text


def test_blocks_side_by_side_do_not_lie_on_each_other(walk: Drawing) -> None:
    words = pypdfium2.PdfDocument(write_pdf([three(walk)[1]], STRIP))[0].get_textpage()
    first, count = words.search("Heights at the stakes").get_next()
    left = min(words.get_charbox(n)[0] for n in range(first, first + count))
    made = compose_pages([three(walk)[1]], STRIP)
    right_edge = (pg.MARGIN_MM + made.pictures[0].width) / 25.4 * 72.0
    assert right_edge < left < right_edge + 30.0


def test_pictures_of_pages_are_not_blank(walk: Drawing) -> None:
    made = write_png(three(walk), STRIP, dots_per_inch=50.0)
    assert len(made) == 3
    image = Image.open(io.BytesIO(made[0])).convert("L")
    assert image.size == (550, 425)
    dark = sum(1 for v in image.tobytes() if v < 128) / (550 * 425)
    assert 0.01 < dark < 0.3


def test_no_pages_and_no_such_paper_are_refused() -> None:
    with pytest.raises(ValueError, match="at least one page"):
        write_pdf([], STRIP)
    with pytest.raises(ValueError, match="take one of letter"):
        write_pdf([pg.Page("x", (), paper="foolscap")], STRIP)
    assert pg.Page("x", (), "a4").size() == pg.Page("x", (), "A4").size() == (297.0, 210.0)


def test_blocks_lie_flat_from_the_left(walk: Drawing) -> None:
    blocks = three(walk)[1].blocks
    assert [type(b).__name__ for b in pg.flat(blocks)] == ["DrawingBlock", "TableBlock"]
