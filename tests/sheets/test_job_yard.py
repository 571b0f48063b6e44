"""Sheets of a lawn walk and a thick drive: map of the dig, sprinklers, mesh, ties, the truck's ways."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from slabwright.build.model_yard import Coverage
from slabwright.measure import Quantity, write
from slabwright.notes.reader import read_notes
from slabwright.plan import make
from slabwright.result import Plan
from slabwright.sheets import job_tables, key
from slabwright.sheets import job_tables_build as build
from slabwright.sheets import job_tables_steel as steel
from slabwright.sheets import job_tables_yard as yard
from slabwright.sheets.drawing import Area, Drawing, Line, Marker, Polyline, Text, only
from slabwright.sheets.job_drawings import job_drawings
from slabwright.sheets.job_pages import job_pages, quiet_water, sound_readings
from slabwright.sheets.lettering import typeset
from slabwright.sheets.packet import Composed, compose_pages
from slabwright.sheets.pages import Strip
from slabwright.sheets.picture import overlaps
from slabwright.sheets.scene_dig import HATCHES, band_hatches
from slabwright.sheets.scene_yard import DRY, LOW, MUCH, SOME, cover_items
from slabwright.sheets.styles import hatch
from slabwright.sheets.words import word

HERE = Path(__file__).parent
WALK = HERE.parents[1] / "examples" / "side-walk" / "job.yaml"
FT = 0.3048


@cache
def lawn() -> Plan:
    return make(read_notes(HERE / "lawn-walk.yaml"), name="lawn-walk")


@cache
def walk() -> Plan:
    return make(read_notes(WALK), name="side-walk")


@cache
def drawings(lang: str = "en") -> dict[str, Drawing]:
    return job_drawings(lawn(), lang)


@cache
def composed(lang: str, paper: str) -> Composed:
    pages = job_pages(lawn(), paper=paper, lang=lang)
    return compose_pages(pages, Strip(lawn().notes.title), system=lawn().notes.units, lang=lang)


def ink(name: str) -> float:
    """The part of the paper that a hatch blackens."""
    return sum(f.width / f.spacing * (f.dash[0] / sum(f.dash) if f.dash else 1.0) for f in hatch(name))


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("lang", ["en", "es"])
def test_no_label_stands_on_another_and_none_is_left_out(lang: str, paper: str) -> None:
    made = composed(lang, paper)
    assert [(p.name, overlaps(p)) for p in made.pictures if overlaps(p)] == []
    assert [(p.name, p.left_out) for p in made.pictures if p.left_out] == []


def test_every_drawing_has_its_words_in_both_languages() -> None:
    for one, other in zip(drawings("en").values(), drawings("es").values(), strict=True):
        assert one.alt != other.alt
        assert lawn().notes.title in one.alt
        assert lawn().notes.title in other.alt


def test_bands_of_depth_grow_darker_so_that_a_copy_shows_them() -> None:
    shades = [ink(f"depth-{n}") for n in range(1, HATCHES + 1)]
    assert shades == sorted(shades)
    assert all(b > 1.2 * a for a, b in pairwise(shades))


@pytest.mark.parametrize("count", [0, 1, 4, 5, 8])
def test_each_band_has_its_own_hatch(count: int) -> None:
    taken = band_hatches(count)
    assert len(set(taken)) == len(taken) == count
    shades = [ink(name) for name in taken]
    assert shades == sorted(shades)


def test_the_map_of_the_dig_covers_it_and_its_key_says_the_depths() -> None:
    plan = lawn()
    assert plan.built.dig is not None
    assert plan.built.dig.map is not None
    bands = plan.built.dig.map.bands
    drawn = [i for i in drawings()["dig"].items if isinstance(i, Area) and i.hatch.startswith("depth-")]
    assert [i.rings for i in drawn] == [band.rings for band in bands]
    said = [one.text for one in key.lay_out(drawings()["dig"], width=1000.0, lang="en")]
    for band in bands:
        shown = [write(Quantity("inches", v), system=plan.notes.units) for v in (band.shallow, band.deep)]
        assert typeset(" - ".join(shown)) in said
    table = build.dig_bands(plan)
    assert math.fsum(float(str(row[2])) for row in table.rows) == pytest.approx(
        math.fsum(band.area for band in bands)
    )


def test_without_a_map_the_dig_is_one_hatch() -> None:
    plan = lawn()
    assert plan.built.dig is not None
    bare = replace(plan, built=replace(plan.built, dig=replace(plan.built.dig, map=None)))
    hatches = {i.hatch for i in job_drawings(bare)["dig"].items if isinstance(i, Area) and i.layer == "dig"}
    assert hatches == {"earth"}


def test_thick_edges_are_drawn_with_depth_and_width() -> None:
    (slab,) = [s for s in lawn().shaped.slabs if s.thick]
    assert slab.thick is not None
    for name in ("dig", "joints"):
        rings = [i.points for i in drawings()[name].items if isinstance(i, Polyline) and i.style == "thicker"]
        assert rings == list(slab.thick.rings)
        texts = [i.text for i in drawings()[name].items if isinstance(i, Text)]
        assert 'edge 10" deep, 8" wide at the bottom' in texts


def test_bars_across_a_joint_lie_square_to_it() -> None:
    (row,) = [row for s in lawn().shaped.slabs for row in s.steel.dowels]
    across = [i for i in drawings()["steel"].items if isinstance(i, Line) and i.style == "dowel"]
    assert len(across) == len(row.at)
    ux, uy = row.at[1][0] - row.at[0][0], row.at[1][1] - row.at[0][1]
    for bar, at in zip(across, row.at, strict=True):
        assert math.dist(bar.a, bar.b) == pytest.approx(row.length)
        assert ((bar.a[0] + bar.b[0]) / 2, (bar.a[1] + bar.b[1]) / 2) == pytest.approx(at)
        assert (bar.b[0] - bar.a[0]) * ux + (bar.b[1] - bar.a[1]) * uy == pytest.approx(0.0, abs=1e-9)
    assert steel.dowels(lawn()).rows[0][3] == len(row.at)


def test_every_sheet_of_mesh_is_drawn_and_counted() -> None:
    sheets = [sheet for s in lawn().shaped.slabs for sheet in s.steel.sheets]
    rings = [i.points for i in drawings()["steel"].items if isinstance(i, Polyline) and i.style == "mesh"]
    assert rings == [sheet.ring for sheet in sheets]
    assert sum(int(str(row[2])) for row in steel.mesh_sheets(lawn()).rows) == len(sheets)


def test_heads_are_drawn_as_they_are_and_as_they_will_be() -> None:
    work = lawn().built.sprinklers
    assert work is not None
    heads = {
        name: {
            i.text: i for i in drawings()[name].items if isinstance(i, Marker) and i.kind.startswith("head")
        }
        for name in ("sprinklers-before", "sprinklers-after")
    }
    assert set(heads["sprinklers-before"]) == {head.name for head in work.found}
    assert {i.kind for i in heads["sprinklers-before"].values()} == {"head"}
    later = heads["sprinklers-after"]
    assert set(later) == {head.name for head in (*work.heads, *work.removed)}
    for head in work.heads:
        assert later[head.name].kind == ("head" if head.change == "stays" else f"head-{head.change}")
        assert later[head.name].at == (head.x, head.y)


@pytest.mark.parametrize("paper", ["letter", "a4", "tabloid"])
@pytest.mark.parametrize("lang", ["en", "es"])
def test_before_and_after_are_drawn_at_one_scale(lang: str, paper: str) -> None:
    before, after = (p for p in composed(lang, paper).pictures if "sprinklers-" in p.name)
    assert before.view.scale == after.view.scale


def test_the_throw_of_a_head_is_drawn_on_the_side_that_it_faces() -> None:
    """H12 stands in the middle of the lawn's upper edge and waters half a circle into the yard."""
    work = lawn().built.sprinklers
    assert work is not None
    (head,) = [h for h in work.found if h.name == "H12"]
    lines = [
        i.points
        for i in drawings()["sprinklers-before"].items
        if isinstance(i, Polyline) and i.style == "spray" and (head.x, head.y) in i.points
    ]
    reach = [p for line in lines for p in line if math.dist(p, (head.x, head.y)) > 0.9 * head.throw]
    assert reach
    assert all(y <= head.y + 1e-6 for _, y in reach)
    assert min(y for _, y in reach) == pytest.approx(head.y - head.throw)


def grid(*rates: float | None) -> Coverage:
    return Coverage((0.5, 0.5), 1.0, len(rates), rates, 1.0, 1.0, 1.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("part", "shown"),
    [
        (0.0, DRY),
        (0.01, "rain-low"),
        (LOW - 1e-9, "rain-low"),
        (LOW, "rain-some"),
        (SOME - 1e-9, "rain-some"),
        (SOME, ""),
        (1.0, ""),
        (MUCH - 1e-9, ""),
        (MUCH, "rain-much"),
        (9.0, "rain-much"),
    ],
)
def test_rain_is_hatched_by_its_part_of_the_mean(part: float, shown: str) -> None:
    areas = [i for i in cover_items(grid(part * 2.0), 2.0) if isinstance(i, Area)]
    assert [i.hatch for i in areas] == ([shown] if shown else [])


def test_cells_of_one_class_are_one_area_and_off_the_lawn_is_blank() -> None:
    (area,) = cover_items(grid(0.1, 0.1, None, 1.0), 1.0)
    assert isinstance(area, Area)
    (ring,) = area.rings
    assert {(round(x), round(y)) for x, y in ring} >= {(0, 0), (2, 0), (2, 1), (0, 1)}


def test_tables_say_what_the_drawings_show() -> None:
    plan = lawn()
    work = plan.built.sprinklers
    assert work is not None
    heads = {str(row[0]): row for row in yard.heads(plan).rows}
    assert set(heads) == {head.name for head in (*work.heads, *work.removed)}
    assert heads["H22"][1] == word("head-moved")
    now, later = yard.watering(plan).rows
    assert (now[3], later[3]) == (work.before.du, work.after.du)
    assert len(yard.parts(plan).rows) == len(work.parts)
    assert [row[1] for row in yard.hauls(plan).rows] == [haul.slab for haul in plan.built.access.hauls]
    assert sum(int(str(row[8])) for row in yard.hauls(plan).rows) == plan.built.access.trips


def test_points_in_the_yard_lie_out_from_the_house() -> None:
    table = job_tables.points(walk())
    at = [column.key for column in table.columns].index("out")
    cells = {row[0]: row[at] for row in table.rows}
    assert cells["P1"] == pytest.approx(5 * FT, abs=0.02)
    assert math.copysign(1.0, float(str(cells["A"]))) == 1.0  # the corner itself: no minus nought


def test_a_truck_that_nobody_placed_is_not_a_way_that_is_missing() -> None:
    plan = walk()
    unsaid = replace(
        plan.built.access, stand=None, hauls=tuple(replace(h, way="none") for h in plan.built.access.hauls)
    )
    plan = replace(plan, built=replace(plan.built, access=unsaid))
    for lang, said in (("en", "truck's stop not said"), ("es", "falta dónde para")):
        assert {row[3] for row in yard.hauls(plan, lang).rows} == {said}
        assert {row[3] for row in yard.haul_runs(plan, lang).rows} == {said}
    blocked = replace(plan, built=replace(plan.built, access=replace(unsaid, stand=(0.0, -20.0))))
    assert {row[3] for row in yard.hauls(blocked).rows} == {"no way in"}


def test_the_truck_and_the_order_of_placing_are_drawn() -> None:
    work = lawn().built.access
    items = drawings()["access"].items
    (truck,) = [i for i in items if isinstance(i, Marker) and i.kind == "truck"]
    assert (truck.at, truck.text) == (work.stand, work.stand_name)
    ways = [i for i in items if isinstance(i, Line) and i.style == "way"]
    ends = {way.b for way in ways} | {way.a for way in ways}
    assert all(haul.path[-1] in ends for haul in work.hauls if haul.path)
    numbers = [i.text for i in items if isinstance(i, Text) and i.layer == "order"]
    assert numbers == [f"{n} ({haul.panel})" for n, haul in enumerate(work.hauls, 1)]


def test_panels_that_are_filled_alike_share_a_row() -> None:
    plan = walk()
    rows = yard.haul_runs(plan).rows
    assert len(rows) < len(plan.built.access.hauls)
    assert rows[0][0] == "1 - 8"
    assert rows[0][6] == plan.built.access.hauls[0].trips


def test_solid_and_dashed_arrows_are_both_in_the_key_of_the_water() -> None:
    one = drawings()["water"]
    said = {entry.name for entry in key.entries(only(one, "water")) if entry.kind == "arrow"}
    assert said == {"edge", "water"}


def titles(plan: Plan, lang: str = "en") -> set[str]:
    return {page.title for page in job_pages(plan, paper="letter", lang=lang)}


def test_a_page_comes_only_when_the_job_has_it() -> None:
    full, small = titles(lawn()), titles(walk())
    for title in ("page-sprinklers", "page-sprinkler-work", "page-water", "page-net", "page-basis"):
        assert word(title) in full
        assert word(title) not in small
    assert "sprinklers-after" not in job_drawings(walk())
    assert {"water", "net"} <= set(job_drawings(walk()))


def test_readings_that_do_not_agree_bring_their_sheets_back() -> None:
    plan = walk()
    assert sound_readings(plan)
    assert plan.survey.levels is not None
    failed = replace(plan, survey=replace(plan.survey, levels=replace(plan.survey.levels, statistic=1e6)))
    assert not sound_readings(failed)
    aside = [replace(plan.survey.readings[0], used=False), *plan.survey.readings[1:]]
    assert not sound_readings(replace(plan, survey=replace(plan.survey, readings=tuple(aside))))
    assert {word("page-net"), word("page-basis"), word("page-findings")} <= titles(failed)


def test_water_that_stands_brings_its_sheet_back() -> None:
    assert quiet_water(walk())
    assert lawn().water.ponds
    wet = replace(walk(), water=replace(walk().water, ponds=lawn().water.ponds[:1]))
    assert not quiet_water(wet)
    assert not quiet_water(lawn())
