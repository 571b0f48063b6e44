"""One rod reading, followed from the job file to every place where its height is read off again.

The reading is changed by one mark of the rod. Nothing else is known of the house side of the patio's edge,
so the corner of the new walk that lies on it goes down by that mark, on every sheet, page and file alike.
"""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from html import unescape

import ezdxf
import pytest
from django.test import Client
from pypdf import PdfReader
from tests.kit.people import person, signed_in

from slabwright.measure import INCH
from slabwright.notes import parse_notes
from slabwright.office.actions import jobs, keys
from slabwright.plan import make
from slabwright.sheets.files import packet_files
from slabwright.sheets.lettering import plain

JOB = """\
title: One rod
house:
  walls: [A, B]
  doors: [{{name: back door, on: A-B, from: 1', width: 3', sill: sill}}]
tape:
  - A-B: 40'
square-off:
  - Q1: {{wall: A-B, along: 8', out: 4' 6}}
  - Q2: {{wall: A-B, along: 8', out: 7' 6}}
  - P1: {{wall: A-B, along: 8', out: 6'}}
  - P2: {{wall: A-B, along: 20', out: 6'}}
levels:
  - set-up: S1
    rod: {{sill: 4' 1, Q1: {read}, Q2: 4' 9 1/8}}
existing:
  - {{name: old patio, edge: [Q1, Q2], keeps: height}}
slabs:
  - name: walk
    use: walk
    along: [P1, P2]
    width: 3'
    meets: [{{existing: old patio}}]
"""
# What was read at Q1, and by hand what that makes of it: the sill's reading less its own.
READ = {"4' 8 3/8": ('-7 3/8"', -7.375), "4' 8 1/2": ('-7 1/2"', -7.5)}


@pytest.fixture(scope="module", params=READ)
def case(request):
    """Return the notes, the height as written and in inches, and the files of the packet."""
    text = JOB.format(read=request.param)
    written, inches = READ[request.param]
    plan = make(parse_notes(text), name="one-rod")
    return text, written, inches, dict(packet_files(plan))


def corner(document: dict) -> dict:
    """Return the node of plan.json that lies on the reading's point."""
    (slab,) = document["slabs"]
    at = document["survey"]["points"]["Q1"]
    near = [
        node
        for node in slab["height_plan"]["nodes"]
        if abs(node["x_m"] - at["x_m"]) + abs(node["y_m"] - at["y_m"]) < 0.01
    ]
    assert len(near) == 1
    return near[0]


def holds(document: dict, inches: float) -> str:
    """Hold plan.json to the height; return the corner's mark."""
    here = corner(document)
    sill = document["survey"]["heights"]["sill"]["height_m"]
    assert here["z_m"] - sill == pytest.approx(inches * INCH, abs=1e-6)
    return here["label"]


def test_the_packet_shows_it_in_every_file(case):
    _, written, inches, made = case
    mark = holds(json.loads(made["plan.json"]), inches)

    rows = list(csv.reader(io.StringIO(made["tables/grades.csv"].decode("utf-8-sig"))))
    head, row = rows[0], next(row for row in rows[1:] if row[1] == mark)
    assert float(row[head.index("Finished top [in]")]) == pytest.approx(inches, abs=1e-6)
    assert row[head.index("Finished top (as written)")].lstrip("'") == written

    # Every mark of the table is lettered once on the drawing, and nothing else is lettered as a height.
    heights = sorted(row[head.index("Finished top (as written)")].lstrip("'") for row in rows[1:])
    letters = re.findall(r"<text[^>]*>([^<]*)</text>", made["drawings/heights.svg"].decode())
    drawn = sorted(
        text for text in map(plain, map(unescape, letters)) if re.fullmatch(r'[+-]\d[\d /]*"', text)
    )
    assert drawn == heights
    assert written in drawn

    drawing = ezdxf.read(io.StringIO(made["drawings/heights.dxf"].decode()))
    told = {plain(one.dxf.text) for one in drawing.modelspace().query("TEXT")}
    told |= {plain(one.plain_text()) for one in drawing.modelspace().query("MTEXT")}
    assert written in told

    with zipfile.ZipFile(io.BytesIO(made["tables.xlsx"])) as book:
        cells = "".join(book.read(name).decode() for name in book.namelist() if name.endswith(".xml"))
    assert written in unescape(cells)

    pages = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(made["packet.pdf"])).pages)
    assert written in plain(pages)


@pytest.mark.django_db
def test_the_office_shows_it_on_its_pages_and_by_its_api(case):
    text, written, inches, made = case
    crew = person("Tomas Ruiz", "crew")
    walk = jobs.bring_in(person=crew, text=text)
    mark = corner(json.loads(made["plan.json"]))["label"]

    sheet = signed_in(crew).get(f"/jobs/{walk.code}/").content.decode()
    grades = re.search(r'<table id="table-grades">(.*?)</table>', sheet, re.S)[1]
    assert ["walk", mark, written] in [cells(row)[:3] for row in re.findall(r"<tr>(.*?)</tr>", grades, re.S)]

    facts = signed_in(crew).get(f"/jobs/{walk.code}/picture/").content.decode()
    told = json.loads(
        re.search(r'<script id="picture-facts" type="application/json">(.*?)</script>', facts)[1]
    )
    assert written in json.dumps(told[f"mark:walk:{mark}"], ensure_ascii=False).replace('\\"', '"')

    _, token = keys.make(person=crew, name="planner", writes=False, days=9)
    api = Client(headers={"Authorization": f"Bearer {token}"})
    assert holds(api.get(f"/api/v1/jobs/{walk.code}/plan").json(), inches) == mark
    assert api.get(f"/api/v1/jobs/{walk.code}/files/grades.csv").content == made["tables/grades.csv"]


def cells(row: str) -> list[str]:
    return [
        unescape(re.sub(r"<[^>]*>", "", cell)).strip() for cell in re.findall(r"<t[hd].*?</t[hd]>", row, re.S)
    ]
