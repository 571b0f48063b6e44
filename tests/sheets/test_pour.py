"""The pour's sheets: both languages, hot, cold and mild; readable, honest about being a forecast."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.measure import DAY, HOUR, System
from slabwright.notes.reader import read_notes
from slabwright.plan import make, pour, pour_site
from slabwright.pourday.model import Band
from slabwright.pourday.tables import source_keys
from slabwright.pourday.weather import DayFigures, from_days
from slabwright.result import Plan
from slabwright.sheets import pour_tables as tables
from slabwright.sheets.boxes import inside_length
from slabwright.sheets.files import packet_files, pour_files
from slabwright.sheets.lettering import plain
from slabwright.sheets.packet import Composed, compose_pages
from slabwright.sheets.pages import FigureBlock, Strip
from slabwright.sheets.picture import Picture, Stroke, overlaps
from slabwright.sheets.pour_chart import hours_chart
from slabwright.sheets.pour_clock import clock_text
from slabwright.sheets.pour_pages import figures, least, pour_pages, warnings, who
from slabwright.sheets.pour_text import card_lines
from slabwright.sheets.words import words
from slabwright.sources import all_sources

EXAMPLES = Path(__file__).parents[2] / "examples"
LANGS = ("en", "es")
PAPERS = ("letter", "tabloid", "a4")
CASES = {
    "hot": ("side-walk", DayFigures(15, 33, relative=0.4, wind_speed=4.5, cloud_share=0.1), (2026, 7, 15)),
    "cold": ("quay-apron", DayFigures(-3, 7, relative=0.6, wind_speed=2.5, cloud_share=0.1), (2026, 11, 10)),
    "mild": (
        "corner-patio",
        DayFigures(11, 22, relative=0.6, wind_speed=2.0, cloud_share=0.5, rain_chance=0.6),
        (2026, 5, 12),
    ),
}


@cache
def poured(case: str) -> Plan:
    job, figures_, on = CASES[case]
    plan = make(read_notes(EXAMPLES / job / "job.yaml"), name=job)
    day = date(*on)
    weather, told = from_days(day - timedelta(days=2), (figures_,) * 6, pour_site(plan.notes))
    return pour(plan, weather, day=day, told=told)


@cache
def composed(case: str, lang: str, paper: str) -> Composed:
    plan = poured(case)
    pages = pour_pages(plan, paper=paper, lang=lang)
    return compose_pages(pages, Strip(plan.notes.title), system=plan.notes.units, lang=lang)


@cache
def files(case: str, lang: str) -> dict[str, bytes]:
    return dict(pour_files(poured(case), lang=lang, date="2026-05-04"))


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", plain(text))


@cache
def page_texts(case: str, lang: str) -> tuple[str, ...]:
    reader = pypdf.PdfReader(io.BytesIO(files(case, lang)["pour.pdf"]))
    return tuple(squeezed(page.extract_text()) for page in reader.pages)


def inside(paper: Picture) -> bool:
    boxes = [one.box.bounds() for one in paper.letters]
    return all(x0 >= 0 and y0 >= 0 and x1 <= paper.width and y1 <= paper.height for x0, y0, x1, y1 in boxes)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("case", CASES)
def test_no_label_of_the_chart_stands_on_another_or_off_the_paper(case: str, lang: str, paper: str) -> None:
    (chart,) = composed(case, lang, paper).pictures
    assert overlaps(chart) == []
    assert inside(chart)
    assert len(chart.alt) > 20


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("case", CASES)
def test_every_sheet_says_that_it_forecasts_and_who_decides(case: str, lang: str) -> None:
    says = {"en": ("forecast", "Localrulescomefirst|localrulescomefirst"),
            "es": ("pronóstico", "[Ll]asreglasdellugarvanprimero")}[lang]  # fmt: skip
    texts = page_texts(case, lang)
    assert len(texts) >= 6
    for text in texts:
        assert says[0] in text
        assert re.search(says[1], text), text[:200]


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("case", CASES)
def test_what_the_crew_reads_is_printed(case: str, lang: str) -> None:
    plan, text = poured(case), "".join(page_texts(case, lang))
    for one in figures(plan, lang):
        assert squeezed(one.value) in text
        assert squeezed(one.below) in text
    for line in (*who(plan, lang), *warnings(plan, lang)):
        assert squeezed(line) in text
    for table in tables.pour_tables(plan, lang):
        if table.key in ("pour-trucks", "pour-days"):
            continue  # one truck stands in the figures; days are set as figures
        for row in table.rows:
            assert all(squeezed(cell) in text for cell in row if isinstance(cell, str)), (table.key, row)


@pytest.mark.parametrize("case", CASES)
def test_no_line_strikes_a_label_of_the_chart_through(case: str) -> None:
    (chart,) = composed(case, "en", "letter").pictures
    for one in chart.letters:
        for stroke in chart.strokes:
            assert isinstance(stroke, Stroke)
            if stroke.style.name == "hidden" and len(stroke.points) == 2:
                assert inside_length(one.box, *stroke.points) == 0.0, one.text


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("case", CASES)
def test_each_page_stays_one_page_on_the_examples(case: str, lang: str) -> None:
    titles = len(pour_pages(poured(case), paper="letter", lang=lang))
    findings = [text for text in page_texts(case, lang) if squeezed(words()["page-findings"][lang]) in text]
    assert len(page_texts(case, lang)) - len(findings) == titles


def test_warnings_are_the_gravest_and_stand_on_the_card() -> None:
    cold = poured("cold")
    assert any(f.code == "frost-likely" for f in cold.findings)
    assert any("freeze" in line for line in warnings(cold, "en"))
    first = page_texts("cold", "en")[0]
    assert all(squeezed(line) in first for line in warnings(cold, "en"))


def test_the_worst_weather_gets_ways_out_and_the_plan_stands_first() -> None:
    for case, helps in (("hot", "film"), ("cold", "blankets")):
        _, run = tables.told(poured(case))
        keys = [w.key for w in run.ways]
        assert keys[0] == "as-planned"
        assert helps in keys
        chosen = run.ways[keys.index(helps)]
        chance = "shrink_chance" if case == "hot" else "frost_chance"
        assert getattr(chosen, chance) < getattr(run.ways[0], chance)


@pytest.mark.parametrize("case", CASES)
def test_the_same_pour_gives_the_same_bytes(case: str) -> None:
    again = dict(pour_files(poured(case), lang="es", date="2026-05-04"))
    assert again == files(case, "es")


def test_pages_in_spanish_carry_no_english_of_ours() -> None:
    text = "".join(page_texts("hot", "es"))
    ours = {
        key: row
        for key, row in words().items()
        if key.startswith(("pour-", "care-", "way-", "reason-", "page-pour"))
    }
    for key, row in ours.items():
        for part in re.split(r"\{\w+\}", row["en"]):
            whole = squeezed(part)
            if len(whole) > 12 and whole not in squeezed(row["es"]):
                assert whole not in text, key


@pytest.mark.parametrize("lang", LANGS)
@pytest.mark.parametrize("case", CASES)
def test_the_customer_s_card_is_late_on_purpose_and_speaks_of_no_money(case: str, lang: str) -> None:
    plan = poured(case)
    run, _ = tables.told(plan)
    page = pour_pages(plan, paper="letter", lang=lang)[-1]
    shown = [f for b in page.blocks if isinstance(b, FigureBlock) for f in b.figures]
    text = squeezed(page_texts(case, lang)[-2])
    assert all(squeezed(f.value) in text for f in shown)
    assert not re.search(r"[$€£]|USD|pric|precio", text)
    last = max(w.placed_at for w in run.windows)
    for name, one in (("walk", shown[0]), ("strip", shown[-1])):
        lates = [getattr(w, name).late for w in run.windows]
        if None in lates:
            continue
        wanted = max(last + least(name), *lates)
        assert one.value == clock_text(
            wanted, run.date, system=plan.notes.units, lang=lang, to=HOUR, how="up", dated=True
        )


def test_custom_is_not_promised_in_the_cold() -> None:
    plan = poured("cold")
    assert plan.pour is not None
    assert plan.pour.cold.needed
    assert all(w.drive.late is None for w in plan.pour.windows)
    assert squeezed(words()["care-ask"]["en"]) in page_texts("cold", "en")[-2]


def test_many_panels_are_said_not_squeezed() -> None:
    plan = poured("hot")
    assert plan.pour is not None
    one = plan.pour.windows[0]
    many = tuple(replace(one, panel=str(n)) for n in range(1, 41))
    wide = replace(plan, pour=replace(plan.pour, windows=many, hours=plan.pour.hours))
    for high in (90.0, 120.0, 160.0):
        chart = hours_chart(wide, "en")(260.0, high)
        assert overlaps(chart) == []
        assert inside(chart)
        assert chart.height <= high + 1e-6
        assert any("of 40 panels are drawn" in letters.text for letters in chart.letters)


def test_hours_that_are_not_known_are_dashes_and_nothing_breaks() -> None:
    plan = poured("hot")
    assert plan.pour is not None
    never = Band(None, None, None, 0.0)
    part = Band(9.0 * HOUR, None, None, 0.4)
    windows = tuple(
        replace(w, broom=part, broom_end=never, cure_on=never, saw=never, walk=never, drive=never)
        for w in plan.pour.windows
    )
    short = replace(plan, pour=replace(plan.pour, windows=windows))
    row = tables.card(short, "en").rows[0]
    assert row[5:7] == ("–", "–")
    assert "9:00 am – –" in tables.bands(short, "en").rows[0]
    pages = pour_pages(short, paper="letter", lang="en")
    made = compose_pages(pages, Strip("x"), system=short.notes.units)
    assert all(inside(p) and overlaps(p) == [] for p in made.pictures)


def test_a_plan_without_weather_has_no_pour() -> None:
    plan = replace(poured("hot"), pour=None, pour_run=None)
    assert pour_pages(plan, paper="letter") == ()
    assert tables.pour_tables(plan, "en") == ()
    with pytest.raises(ValueError, match="no weather"):
        card_lines(plan)
    assert not any("pour" in name for name, _ in packet_files(plan))


def test_the_packet_holds_the_pour() -> None:
    made = dict(packet_files(poured("hot"), lang="en"))
    assert {"drawings/pour-hours.svg", "tables/pour-panels.csv", "tables/pour-ways.csv"} <= set(made)
    reader = pypdf.PdfReader(io.BytesIO(made["packet.pdf"]))
    text = "".join(squeezed(page.extract_text()) for page in reader.pages)
    assert "tailgatecard" in text


@settings(max_examples=60, deadline=None)
@given(clock=st.floats(-2 * DAY, 12 * DAY), to=st.sampled_from([300.0, 1800.0, HOUR]))
def test_rounding_is_on_the_safe_side(clock: float, to: float) -> None:
    low, high = (
        clock_text(clock, "2026-07-15", system=System.METRIC, lang="en", to=to, how=how, dated=True)
        for how in ("down", "up")
    )
    exact = clock_text(clock, "2026-07-15", system=System.METRIC, lang="en", to=60.0, how="down", dated=True)
    assert _minutes(low) <= _minutes(exact) <= _minutes(high)


def _minutes(text: str) -> float:
    """Minutes of 'Wed 15 Jul 7:05' after the first of July."""
    _, day, month, clock = text.split()
    hour, minute = clock.split(":")
    days = int(day) + {"Jul": 0, "Aug": 31}[month]
    return days * 1440 + int(hour) * 60 + int(minute)


def test_another_day_is_named() -> None:
    def said(clock: float, lang: str = "en") -> str:
        return clock_text(clock, "2026-07-15", system=System.IMPERIAL, lang=lang)

    assert said(7 * HOUR) == "7:00 am"
    assert said(31 * HOUR) == "Thu 7:00 am"
    assert said(31 * HOUR, "es") == "jue 7:00 am"
    assert said(8 * DAY) == "Thu 23 Jul 12:00 am"
    assert said(24 * HOUR - 60.0) == "Thu 12:00 am"


def test_customs_have_sources() -> None:
    import tomllib
    from importlib.resources import files as resource

    text = resource("slabwright").joinpath("sheets", "pour.toml").read_text(encoding="utf-8")
    assert {row["source"] for row in tomllib.loads(text)["care"].values()} <= set(all_sources())
    assert source_keys("rules") <= set(all_sources())


def test_the_saws_hours_stand_there_only_where_joints_are_sawn() -> None:
    plan = poured("hot")
    assert {j.made for s in plan.shaped.slabs for j in s.joint_plan.joints} & {"tooled", "sawn"} == {"tooled"}
    keys = {c.key for c in tables.bands(plan, "en").columns}
    assert not keys & {"saw", "saw-early"}
    (one,) = plan.shaped.slabs
    joints = tuple(replace(j, made="sawn") for j in one.joint_plan.joints)
    sawn = replace(one, joint_plan=replace(one.joint_plan, joints=joints))
    other = replace(plan, shaped=replace(plan.shaped, slabs=(sawn,)))
    got = tables.bands(other, "en")
    assert {c.key for c in got.columns} - keys == {"saw", "saw-early"}
    assert all(len(row) == len(got.columns) for row in got.rows)


@pytest.mark.parametrize("lang", LANGS)
def test_chances_say_how_sure_they_are(lang: str) -> None:
    """Plan.json and sheets alike: a standard error, and of how many days."""
    plan = poured("hot")
    run = plan.pour_run
    assert run is not None
    assert run.crew.samples == 1024
    for row in (*run.starts, run.crew.best):
        spread = max(row.late_chance * (1 - row.late_chance), 1 / 1024)
        assert row.error == pytest.approx((spread / 1024) ** 0.5)
    text = "".join(page_texts("hot", lang))
    assert squeezed(tables.error(run.crew.error)) in text
    assert "1024" in text


def test_a_job_from_bags_waits_for_no_truck() -> None:
    made = poured("mild")
    bags = (("60 lb", 62), ("80 lb", 47))
    order = replace(made.built.order, bags=bags)
    small = replace(made, built=replace(made.built, order=order))
    for plan, first, come in ((made, "First truck", "truck"), (small, "First batch", "47 bags of 80 lb")):
        said = figures(plan, "en")
        assert said[0].label == first
        assert come in said[1].below
        assert ("truck" in f"{said[0].label} {said[1].below}") is (plan is made)
