"""The packet of every example job, in both languages and on all papers: readable, complete, to scale."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from functools import cache
from pathlib import Path

import openpyxl
import pypdf
import pytest

from slabwright.measure import Quantity, System, read, write
from slabwright.notes.reader import read_notes
from slabwright.plan import make
from slabwright.result import Plan
from slabwright.sheets.files import packet_files
from slabwright.sheets.job_blocks import falls
from slabwright.sheets.job_drawings import job_drawings
from slabwright.sheets.job_pages import job_pages
from slabwright.sheets.job_tables import all_tables
from slabwright.sheets.lettering import plain
from slabwright.sheets.packet import Composed, compose_pages
from slabwright.sheets.pages import Strip
from slabwright.sheets.picture import Stroke, overlaps
from slabwright.sheets.scene import height_text
from slabwright.sheets.words import word, words

EXAMPLES = Path(__file__).parents[2] / "examples"
JOBS = sorted(p.name for p in EXAMPLES.iterdir() if p.is_dir())
PAPERS = ("letter", "tabloid", "a4", "a3")
LANGS = ("en", "es")
# The demo is a small walk: a packet that takes more pages than this is not read.
DEMO_PAGES = 10


@cache
def planned(job: str) -> Plan:
    return make(read_notes(EXAMPLES / job / "job.yaml"), name=job)


@cache
def composed(job: str, lang: str, paper: str) -> Composed:
    plan = planned(job)
    pages = job_pages(plan, paper=paper, lang=lang)
    return compose_pages(pages, Strip(plan.notes.title), system=plan.notes.units, lang=lang)


@cache
def files(job: str, lang: str = "en") -> dict[str, bytes]:
    return dict(packet_files(planned(job), lang=lang, date="2026-05-04"))


def squeezed(text: str) -> str:
    """Text without spaces and line ends, as typed: a PDF breaks lines where the page does.

    Spanish says a hyphen again where a line breaks at it.
    """
    return re.sub("-+", "-", re.sub(r"\s+", "", plain(text)))


@cache
def printed(job: str, lang: str) -> str:
    reader = pypdf.PdfReader(io.BytesIO(files(job, lang)["packet.pdf"]))
    return squeezed("".join(page.extract_text() for page in reader.pages))


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("job", JOBS)
def test_no_label_stands_on_another_and_none_is_left_out(job: str, lang: str, paper: str) -> None:
    made = composed(job, lang, paper)
    assert made.pictures
    assert [(p.name, overlaps(p)) for p in made.pictures if overlaps(p)] == []
    assert [(p.name, p.left_out) for p in made.pictures if p.left_out] == []


@pytest.mark.parametrize("job", JOBS)
def test_letters_that_hold_a_fraction_are_large_enough(job: str) -> None:
    eleven_points = 11 * 25.4 / 72
    small = [
        one.text
        for paper in composed(job, "en", "letter").pictures
        for one in paper.letters
        if "\u2044" in one.text and one.size < eleven_points
    ]
    assert small == []


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_demo_is_a_packet_not_a_book(paper: str, lang: str) -> None:
    made = dict(packet_files(planned("side-walk"), lang=lang, paper=paper))
    assert len(pypdf.PdfReader(io.BytesIO(made["packet.pdf"])).pages) <= DEMO_PAGES


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("job", JOBS)
def test_every_table_is_in_csv_and_xlsx(job: str, lang: str) -> None:
    made = files(job, lang)
    book = openpyxl.load_workbook(io.BytesIO(made["tables.xlsx"]))
    tables = all_tables(planned(job), lang)
    assert len(book.sheetnames) == len(tables)
    for table in tables:
        rows = list(csv.reader(io.StringIO(made[f"tables/{table.key}.csv"].decode("utf-8-sig"))))
        assert len(rows) == 1 + len(table.all_rows())


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("job", JOBS)
def test_what_the_crew_needs_is_printed(job: str, lang: str) -> None:
    plan, text = planned(job), printed(job, lang)
    system = plan.notes.units
    for slab in plan.shaped.slabs:
        for node in slab.height_plan.nodes:
            assert node.shape_only or squeezed(height_text(plan, node.z)) in text
        for panel in slab.joint_plan.panels:
            assert squeezed(write(Quantity("length", panel.long), system=system)) in text
    for stake in plan.built.set_out.stakes:
        if stake.kind == "corner" and stake.tie_a is not None and stake.tie_b is None:
            assert squeezed(word("mark-at", lang, anchor=stake.tie_a[0])) in text
        elif stake.kind == "corner":
            assert stake.tie_a is not None
            assert squeezed(write(Quantity("fine_length", stake.tie_a[1]), system=system)) in text
            assert stake.rod is not None
            assert squeezed(write(Quantity("length", stake.rod[1]), system=system)) in text
    for *_, diagonal in plan.built.set_out.diagonals:
        assert squeezed(write(Quantity("fine_length", diagonal), system=system)) in text
    for line in falls(plan, lang):
        assert squeezed(line) in text
    assert squeezed(write(Quantity("volume", plan.built.order.order), system=system)) in text


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("job", JOBS)
def test_every_finding_is_printed_with_its_source(job: str, lang: str) -> None:
    plan, text = planned(job), printed(job, lang)
    for finding in plan.findings:
        said = finding.text(system=plan.notes.units, lang=lang)
        for part in (said.where, said.what, said.why, said.do, said.source):
            assert squeezed(part) in text, (finding.code, part)


def test_pages_in_spanish_carry_no_english_words_of_ours() -> None:
    ours = words()
    text = printed("side-walk", "es")
    # words that differ and are long enough not to stand inside a name by chance
    shown = (
        "page-plan",
        "page-heights",
        "page-dig",
        "page-findings-basis",
        "before-forms",
        "check-set-out-2",
    )
    for key in shown:
        english = ours[key]["en"].split("{")[0]
        spanish = ours[key]["es"].split("{")[0]
        assert squeezed(spanish) in text
        if len(english) > 8:
            assert squeezed(english) not in text


@pytest.mark.parametrize("job", JOBS)
def test_a_known_length_has_its_length_on_paper(job: str) -> None:
    """The longest straight side of the slab, as its line is drawn, is true to the stated scale."""
    plan = planned(job)
    longest = max(math.dist(e.p, e.q) for s in plan.shaped.slabs for e in s.outline.edges if not e.bulge)
    for paper in composed(job, "en", "letter").pictures:
        if "net" in paper.name:
            continue
        runs = [
            math.dist(one.points[0], one.points[-1])
            for one in paper.strokes
            if isinstance(one, Stroke) and one.layer == "slab" and len(one.points) == 2
        ]
        site = [run * paper.view.scale.of / 1000 for run in runs]
        assert max(site) == pytest.approx(longest, abs=1e-6), paper.name


def test_the_stated_scale_is_the_one_that_is_drawn() -> None:
    """The svg of the demo's plan: the 32 ft side between its dimension's ends, by the scale it states."""
    text = files("side-walk")["drawings/plan.svg"].decode()
    stated = plain(re.search(r">(?:Scale|Escala) ([^<]+)<", text)[1])  # type: ignore[index]
    paper_inch, foot = (read("length", part.replace('"', " in")) for part in (stated.split("=")[0], "1 ft"))
    side = read("length", "32 ft") * paper_inch / foot * 1000  # mm on paper
    lines = re.findall(r"M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)", text)
    runs = [math.dist((float(a), float(b)), (float(c), float(d))) for a, b, c, d in lines]
    # 32 ft and the hair that the survey found over it
    assert any(abs(run - side) < 0.15 for run in runs), (stated, side)


@pytest.mark.parametrize("job", JOBS)
def test_svg_files_hold_their_texts_to_length(job: str) -> None:
    for name, content in files(job).items():
        if name.endswith(".svg"):
            assert content.count(b"<text ") == content.count(b"textLength=") > 0


def test_every_drawing_has_words_for_those_who_cannot_see_it() -> None:
    for lang in LANGS:
        for one in job_drawings(planned("side-walk"), lang).values():
            assert len(one.alt) > 20


def test_files_are_named_and_complete() -> None:
    made = files("side-walk")
    assert {"packet.pdf", "plan.json", "tables.xlsx"} <= set(made)
    for key in job_drawings(planned("side-walk")):
        assert {f"drawings/{key}.svg", f"drawings/{key}.dxf"} <= set(made)
    assert json.loads(made["plan.json"])


def test_a_job_in_the_other_units_is_planned_too() -> None:
    assert {planned(job).notes.units for job in JOBS} == set(System)
