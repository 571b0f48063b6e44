"""Readings and points from and to open formats."""

from __future__ import annotations

import csv
import io
import json

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.ground.csv_readings import readings_from_csv
from slabwright.ground.dxf_points import points_from_dxf, points_to_dxf
from slabwright.ground.exchange import ExchangeError, NamedPoint
from slabwright.ground.export import points_to_csv, points_to_geojson
from slabwright.ground.landxml import points_from_landxml
from slabwright.notes.mistakes import NotesError

FT = 0.3048
ROWS = " Write for example point,reading,remark / P1,4' 9 1/4,by the gate"
ENCODING = "the file is not UTF-8 text; save it as CSV UTF-8."
TYPES = "document types and entities are not read; save without them."


def said(reader, data, **more):
    with pytest.raises(ExchangeError) as caught:
        reader(data, **more)
    assert isinstance(caught.value, NotesError)
    return str(caught.value).splitlines()


class TestReadings:
    def test_headings_in_any_order_and_language(self):
        rows = readings_from_csv("Nota;Lectura (m);Punto\nrincón;1,25 m;P1\n;0.5;P2\n")
        assert [(r.point, r.reading, r.remark, r.set_up, r.line) for r in rows] == [
            ("P1", 1.25, "rincón", None, 2),
            ("P2", 0.5, "", None, 3),
        ]

    def test_without_headings(self):
        rows = readings_from_csv("back sill,4' 1 3/8\"\nP1,4' 9,soft spot\n")
        assert [r.point for r in rows] == ["back sill", "P1"]
        assert rows[0].reading == pytest.approx((4 + 1.375 / 12) * FT)
        assert rows[1].remark == "soft spot"
        assert rows[0].written == "4' 1 3/8\""

    def test_quoted_as_a_spreadsheet_does(self):
        (row,) = readings_from_csv('point,reading,remark\r\n"P1, north","4\' 9 1/4""","a ""soft"" spot"\r\n')
        assert row.point == "P1, north"
        assert row.reading == pytest.approx((4 + 9.25 / 12) * FT)
        assert row.remark == 'a "soft" spot'

    def test_an_empty_set_up_is_the_one_above(self):
        text = "set-up\tpoint\treading\nS1\tP1\t4.1\n\tP2\t4.2\nS2\tP1\t3.9\n\n# talk\n\tP2\t4.0\n"
        rows = readings_from_csv(text, unit="ft")
        assert [(r.set_up, r.point) for r in rows] == [("S1", "P1"), ("S1", "P2"), ("S2", "P1"), ("S2", "P2")]
        assert rows[-1].line == 7
        assert rows[0].reading == pytest.approx(4.1 * FT)

    def test_the_heading_s_unit_wins(self):
        (row,) = readings_from_csv("point,rod [mm]\nP1,1250\n", unit="ft")
        assert row.reading == pytest.approx(1.25)

    @pytest.mark.parametrize("code", ["utf-8", "utf-8-sig", "utf-16"])
    def test_encodings(self, code):
        (row,) = readings_from_csv("point,reading\nPeña,1 m\n".encode(code))
        assert row.point == "Peña"

    def test_every_mistake_in_one_pass(self):
        text = (
            "point,reading,remark\nP1,4' 9,fine\n,4' 9,nameless\nP2,,unread\nP3,4 foots,odd\n"
            "P1,4' 8,again\nP4,4' 8,a,b,c\nP5,4.75,unitless\n"
        )
        assert said(readings_from_csv, text, name="day1.csv") == [
            "day1.csv:3: point: the point has no name. Write for example P1",
            "day1.csv:4: reading: there is no reading. Write for example 4' 9 1/4\"",
            'day1.csv:5: reading: "4 foots" ' + self.reason("4 foots"),
            'day1.csv:6: point: "P1" this point was already read on line 2 of this set-up.',
            'day1.csv:7: "P4,4\' 8,a,b,c" this row has more columns than the first. ' + ROWS[1:],
            'day1.csv:8: reading: "4.75" ' + self.reason("4.75"),
        ]

    def reason(self, written):
        from slabwright.measure import MeasureError, read

        with pytest.raises(MeasureError) as caught:
            read("length", written)
        return f"{caught.value.reason}. Write for example {caught.value.example}"

    @pytest.mark.parametrize(
        ("data", "message"),
        [
            (b"", "readings.csv: the file is empty."),
            (b" \n\n", "readings.csv: the file is empty."),
            (b"point,reading\nP\xf1,1 m\n", f"readings.csv:2: {ENCODING}"),
            (b"point,reading\nP1,1\0 m\n", "readings.csv:2: the file is not a text file."),
            (b"# only talk\n", f"readings.csv: there are no rows.{ROWS}"),
            (b"point,height\nP1,4\n", f"readings.csv:1: reading: no column is headed 'reading'.{ROWS}"),
            (b"x" * 6_000_000, "readings.csv: the file is larger than 5 MB; bring in only the job's points."),
        ],
    )  # fmt: skip
    def test_files_that_cannot_be_used(self, data, message):
        assert said(readings_from_csv, data) == [message]

    @settings(max_examples=60, deadline=None)
    @given(st.binary(max_size=200))
    def test_any_bytes_are_read_or_refused_by_name(self, data):
        try:
            rows = readings_from_csv(data)
        except ExchangeError as bad:
            rows = bad.mistakes
        assert rows


def xml(points, units='<Units><Imperial linearUnit="foot"/></Units>', head=""):
    return (
        f'<?xml version="1.0"?>{head}<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" '
        f'version="1.2">\n{units}\n<CgPoints>\n{points}\n</CgPoints></LandXML>'
    )


class TestLandXML:
    def test_northing_comes_first(self):
        points = points_from_landxml(
            xml('<CgPoint name="P1" desc="gate">120.5 64.25 99.8</CgPoint><CgPoint name="2">1 2</CgPoint>')
        )
        assert points == (
            NamedPoint(
                "P1", pytest.approx(64.25 * FT), pytest.approx(120.5 * FT), pytest.approx(99.8 * FT), "gate"
            ),
            NamedPoint("2", pytest.approx(2 * FT), pytest.approx(1 * FT), None, ""),
        )

    @pytest.mark.parametrize(
        ("units", "metres"),
        [
            ('<Metric linearUnit="meter"/>', 1.0),
            ('<Metric linearUnit="millimeter"/>', 0.001),
            ('<Imperial linearUnit="USSurveyFoot"/>', 1200 / 3937),
            ('<Imperial linearUnit="inch"/>', 0.0254),
        ],
    )
    def test_units(self, units, metres):
        (p,) = points_from_landxml(xml('<CgPoint name="P1">5 7 3</CgPoint>', f"<Units>{units}</Units>"))
        assert (p.x, p.y, p.height) == pytest.approx((7 * metres, 5 * metres, 3 * metres))

    def test_a_file_without_units_takes_the_caller_s(self):
        (p,) = points_from_landxml(xml('<CgPoint name="P1">5 7</CgPoint>', ""), unit="ft")
        assert p.x == pytest.approx(7 * FT)
        assert said(points_from_landxml, xml('<CgPoint name="P1">5 7</CgPoint>', "")) == [
            "points.xml: Units: the file states no unit of length. "
            'Write for example <Imperial linearUnit="foot"/>'
        ]

    def test_references_to_points_are_passed_over(self):
        (p,) = points_from_landxml(xml('<CgPoint name="P1">5 7</CgPoint><CgPoint pntRef="P1"/>'))
        assert p.name == "P1"

    def test_every_mistake_in_one_pass(self):
        rows = [
            '<CgPoint name="P1">5 7</CgPoint>',
            '<CgPoint name="P1">5 8</CgPoint>',
            '<CgPoint name="P2">5</CgPoint>',
            "<CgPoint>5 7</CgPoint>",
            '<CgPoint name="P3">5 seven</CgPoint>',
            '<CgPoint name="P4">5 nan</CgPoint>',
            '<CgPoint name="P5">5 9e99</CgPoint>',
        ]
        example = ' Write for example <CgPoint name="P1">120.50 64.25 99.80</CgPoint>'
        want = "northing, easting and, if known, height are wanted."
        assert said(points_from_landxml, xml("\n".join(rows))) == [
            'points.xml:5: CgPoint: "P1" this name is used twice. Write for example P1b',
            f'points.xml:6: CgPoint P2: "5" {want}{example}',
            f"points.xml:7: CgPoint.name: the point has no name.{example}",
            f'points.xml:8: CgPoint P3: "5 seven" {want}{example}',
            f'points.xml:9: CgPoint P4: "5 nan" {want}{example}',
            'points.xml:10: CgPoint: "P5" this point is more than 10,000 km away; check the unit.',
        ]

    LAUGHS = (
        "<!DOCTYPE l [<!ENTITY a 'ha'><!ENTITY b '&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;'>"
        "<!ENTITY c '&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;'>]>"
    )

    @pytest.mark.parametrize(
        ("data", "message"),
        [
            ("", "the file is empty."),
            ("<LandXML", "this is not well-formed XML (unclosed token)."),
            ("<html/>", 'html: this is not a LandXML file. Write for example <LandXML version="1.2">'),
            (xml("<CgPoint>&c;</CgPoint>", head=LAUGHS), TYPES),
            (xml("", head='<!DOCTYPE x SYSTEM "file:///etc/passwd">'), TYPES),
            ("<LandXML>" + "<a>" * 200, "a: elements are nested more than 100 deep."),
            (xml("<CgPoint>" + "1 " * 5000 + "</CgPoint>"), "this point holds more than its coordinates."),
            (xml(""), "CgPoints: the file holds no points."),
            (
                xml("", '<Units><Imperial linearUnit="cubit"/></Units>'),
                'linearUnit: "cubit" this unit of length is not known. Write for example foot',
            ),
            ("x" * 21_000_000, "the file is larger than 20 MB; bring in only the job's points."),
        ],
    )  # fmt: skip
    def test_files_that_cannot_be_used(self, data, message):
        (line,) = said(points_from_landxml, data)
        assert message in line

    @settings(max_examples=60, deadline=None)
    @given(st.binary(max_size=200))
    def test_any_bytes_are_refused_by_name(self, data):
        with pytest.raises(ExchangeError):
            points_from_landxml(data)


def drawing(units=2, points=(), texts=()):
    doc = ezdxf.new("R2010", units=units)
    space = doc.modelspace()
    for at in points:
        space.add_point(at)
    for at, words in texts:
        space.add_text(words).set_placement(at)
    out = io.StringIO()
    doc.write(out)
    return out.getvalue().encode()


class TestDXF:
    def test_points_with_names_beside_them(self):
        data = drawing(
            2,
            [(10, 20, 5), (11, 20, 6), (40, 40, 0)],
            [((10.2, 20.2), "P1"), ((11.2, 20.2), "P2"), ((60, 60), "far off")],
        )
        points = points_from_dxf(data)
        assert [p.name for p in points] == ["P1", "P2", "DXF 3"]
        assert (points[0].x, points[0].y, points[0].height) == pytest.approx((10 * FT, 20 * FT, 5 * FT))

    def test_a_flat_drawing_has_no_heights(self):
        assert [p.height for p in points_from_dxf(drawing(6, [(1, 2), (3, 4)]))] == [None, None]

    @pytest.mark.parametrize(
        ("code", "metres"), [(1, 0.0254), (2, FT), (4, 0.001), (6, 1.0), (21, 1200 / 3937)]
    )
    def test_units(self, code, metres):
        (p,) = points_from_dxf(drawing(code, [(5, 7, 3)]))
        assert (p.x, p.y, p.height) == pytest.approx((5 * metres, 7 * metres, 3 * metres))

    def test_there_and_back(self):
        points = (NamedPoint("P1", 1.25, -2.5, 0.125), NamedPoint("back sill", 3.0, 0.0, 0.3))
        back = points_from_dxf(points_to_dxf(points).encode())
        assert [(p.name, p.x, p.y, p.height) for p in back] == [(p.name, p.x, p.y, p.height) for p in points]

    def test_same_points_same_bytes(self):
        points = (NamedPoint("P1", 1.25, -2.5, 0.125), NamedPoint("ñ 2", 0, 0))
        assert points_to_dxf(points) == points_to_dxf(points)

    @pytest.mark.parametrize(
        ("data", "message"),
        [
            (b"", "points.dxf: the file is empty."),
            (b"not a drawing\nat all\n", "points.dxf: this cannot be read as a DXF drawing."),
            (
                drawing(0, [(1, 2)]),
                "points.dxf: $INSUNITS: the drawing states no unit that is known. "
                "Write for example unit 'ft'",
            ),
            (drawing(6), "points.dxf: POINT: the drawing holds no POINT entities."),
        ],
    )  # fmt: skip
    def test_files_that_cannot_be_used(self, data, message):
        assert said(points_from_dxf, data) == [message]

    def test_points_and_texts_heaped_on_one_place_are_refused_before_they_fill_the_memory(self):
        heap = [(1, 2)] * 500
        data = drawing(6, heap, [(at, f"A{n}") for n, at in enumerate(heap)])
        assert said(points_from_dxf, data) == [
            "points.dxf: TEXT: too many points and texts stand on one place."
        ]

    def test_one_name_on_two_points(self):
        data = drawing(6, [(1, 2), (9, 9)], [((1, 2), "P1"), ((9, 9), "P1")])
        (line,) = said(points_from_dxf, data)
        assert '"P1" this name is used twice. Write for example P1b' in line


POINTS = (NamedPoint("P1", 1.23456, -0.00001, 0.3), NamedPoint("=SUM(A1)", 2, 3, None, "@home"))


def test_csv_out():
    rows = list(csv.reader(io.StringIO(points_to_csv(POINTS), newline="")))
    assert rows == [
        ["point", "x (m)", "y (m)", "height (m)", "remark"],
        ["P1", "1.2346", "0.0000", "0.3000", ""],
        ["'=SUM(A1)", "2.0000", "3.0000", "", "'@home"],
    ]


def test_geojson_out():
    whole = json.loads(points_to_geojson(POINTS))
    assert whole["type"] == "FeatureCollection"
    assert "local metres" in whole["coordinates-are"]
    assert [f["geometry"]["coordinates"] for f in whole["features"]] == [[1.2346, 0.0, 0.3], [2, 3]]
    assert whole["features"][1]["properties"] == {"name": "=SUM(A1)", "remark": "@home"}
    assert points_to_geojson(POINTS) == points_to_geojson(POINTS)
