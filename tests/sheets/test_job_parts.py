"""Parts of a job's packet on their own, and packets of jobs unlike the examples."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from slabwright.findings import Finding, Level
from slabwright.measure import Both, System
from slabwright.notes.reader import parse_notes, read_notes
from slabwright.plan import make
from slabwright.result import Plan
from slabwright.sheets.drawing import Marker
from slabwright.sheets.finding_blocks import together
from slabwright.sheets.job_blocks import panel_sizes, steel_lines
from slabwright.sheets.job_pages import job_pages
from slabwright.sheets.job_tables_build import corners, strings
from slabwright.sheets.packet import compose_pages
from slabwright.sheets.pages import Strip, TableBlock
from slabwright.sheets.picture import overlaps
from slabwright.sheets.scene import outward, work_window
from slabwright.sheets.scene_build import set_out_items
from slabwright.sheets.scene_dig import to_step
from slabwright.sheets.scene_net import net_exaggeration, net_items, net_points
from slabwright.sheets.strings import off_strings, string_lines
from slabwright.sheets.table_blocks import grouped, row_height, table_block, table_size
from slabwright.sheets.tables import Column, Table, page_rows
from slabwright.survey.result import ellipse

EXAMPLES = Path(__file__).parents[2] / "examples"
WALK = (EXAMPLES / "side-walk" / "job.yaml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def walk() -> Plan:
    return make(read_notes(EXAMPLES / "side-walk" / "job.yaml"), name="side-walk")


def check(plan: Plan, lang: str = "en") -> None:
    """Compose the packet and hold its drawings to what every drawing must have."""
    pages = job_pages(plan, paper="letter", lang=lang)
    made = compose_pages(pages, Strip(plan.notes.title), system=plan.notes.units, lang=lang)
    assert [(p.name, overlaps(p)) for p in made.pictures if overlaps(p)] == []
    assert [(p.name, p.left_out) for p in made.pictures if p.left_out] == []


def test_rows_in_groups_are_read_down_and_none_is_lost() -> None:
    rows = [[str(n)] for n in range(7)]
    made = grouped(rows, 3)
    assert made == [
        ["0", None, "3", None, "6"],
        ["1", None, "4", None, None],
        ["2", None, "5", None, None],
    ]
    assert grouped([], 3) == []


@pytest.mark.parametrize(("wide", "groups"), [(45.0, 1), (75.0, 2), (400.0, 4)])
def test_a_narrow_table_runs_on_beside_itself(wide: float, groups: int) -> None:
    columns = (Column("mark", "Mark", "Marca"), Column("top", "Top", "Arriba", "height_difference"))
    table = Table("t", Both("T", "T"), columns, tuple((str(n), 0.01 * n) for n in range(20)))
    made = table_block(TableBlock(table, groups=4), wide=wide, high=150.0, system=System.IMPERIAL, lang="en")
    # two columns a group and a gap between each two
    assert len(made["heads"]) == 3 * groups - 1
    cells = [cell for part in made["parts"] for row in part["rows"] for cell in row if cell]
    assert len(cells) == 40
    assert sum(w for w in made["widths"] if isinstance(w, float)) <= wide


def test_a_part_of_groups_is_never_higher_than_the_page() -> None:
    columns = (Column("mark", "Mark", "Marca"),)
    table = Table("t", Both("T", "T"), columns, tuple((str(n),) for n in range(300)))
    made = table_block(TableBlock(table, groups=3), wide=250.0, high=120.0, system=System.IMPERIAL, lang="en")
    assert len(made["parts"]) > 1
    assert all(part["keep"] and len(part["rows"]) * 5.0 < 120.0 for part in made["parts"])


def test_findings_of_one_kind_stand_together_in_order() -> None:
    a, b, c = (
        Finding("build", code, Level.NOTE, where) for code, where in (("x", "1"), ("y", ""), ("x", "2"))
    )
    assert together([a, b, c]) == [[a, c], [b]]


def test_strings_and_two_tapes_share_all_marks(walk: Plan) -> None:
    on = [s.label for line in string_lines(walk) for s, _ in line.marks]
    off = [s.label for s in off_strings(walk)]
    assert sorted(on + off) == sorted(s.label for s in walk.built.set_out.stakes)
    for line in string_lines(walk):
        for mark, along in line.marks:
            assert math.dist(line.p, (mark.x, mark.y)) == pytest.approx(along, abs=1e-4)
            assert 0.0 < along < line.length
        assert [along for _, along in line.marks] == sorted(along for _, along in line.marks)
    assert len(strings(walk).rows) == len(on)


def test_outward_is_out_of_the_ring() -> None:
    square = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
    assert outward(square, (0.5, 0.0)) == pytest.approx(-math.pi / 2)
    assert outward(square, (1.0, 1.0)) == pytest.approx(math.pi / 4)
    assert outward(square, (0.5, 0.5)) is None


def test_a_depth_to_dig_is_said_to_the_step_of_a_rule() -> None:
    inch = 0.0254
    assert to_step(6.6 * inch, System.IMPERIAL) == pytest.approx(6.5 * inch)
    assert to_step(0.2068, System.METRIC) == pytest.approx(0.205)


def test_panels_of_one_size_share_a_row(walk: Plan) -> None:
    (row,) = panel_sizes(walk).rows
    assert row[1] == "1 - 8"


def test_the_net_is_drawn_with_ovals_of_the_stated_size(walk: Plan) -> None:
    times = net_exaggeration(walk)
    rings = [i.points for i in net_items(walk) if getattr(i, "style", "") == "ellipse"]
    longest = max(ellipse(p).a for p in net_points(walk).values())
    drawn = max(math.dist(p, q) for ring in rings for p in ring for q in ring)
    assert drawn == pytest.approx(2 * times * longest, rel=1e-3)


def test_a_reading_that_was_set_aside_is_drawn_heavy(walk: Plan) -> None:
    first = next(r for r in walk.survey.readings if r.part == "pull")
    others = tuple(r for r in walk.survey.readings if r is not first)
    survey = replace(walk.survey, readings=(replace(first, used=False), *others))
    styles = [getattr(i, "style", "") for i in net_items(replace(walk, survey=survey))]
    assert styles.count("stop") == 1
    assert "stop" not in [getattr(i, "style", "") for i in net_items(walk)]


@pytest.mark.parametrize("choice", ["gfrp", "mesh", "fiber", "none"])
def test_other_steel_has_its_sheet(choice: str) -> None:
    text = WALK.replace("steel: {choice: bars, bar: 3}", f"steel: {{choice: {choice}}}")
    assert text != WALK
    plan = make(parse_notes(text), name="walk")
    assert steel_lines(plan, "es")
    check(plan)


def test_a_job_without_ground_shots_still_makes_a_packet(walk: Plan) -> None:
    built = replace(walk.built, dig=None)
    check(replace(walk, built=built))


def test_a_table_with_broken_cells_counts_as_higher() -> None:
    columns = (Column("a", "Shop", "Tienda"), Column("b", "What", "Qué"))
    rows = (("yard", "a curing compound for the whole area of the top"), ("yard", "chairs"))
    block = TableBlock(Table("t", Both("T", "T"), columns, rows))
    free, tight = (table_size(block, wide=w, system=System.IMPERIAL, lang="en")[1] for w in (200.0, 60.0))
    # one cell in two or three lines, the other in one; a line more is less than a row
    assert 0.5 * row_height("plain") < tight - free < 3.0 * row_height("plain")


def test_a_height_is_rounded_the_same_on_every_sheet(walk: Plan) -> None:
    top = -0.5596 * 0.0254  # nearer to 1/2 in than to 5/8, nearer to 9/16 than to 1/2
    stakes = walk.built.set_out.stakes
    moved = (replace(stakes[0], down=("side sill", -top)), *stakes[1:])
    plan = replace(walk, built=replace(walk.built, set_out=replace(walk.built.set_out, stakes=moved)))
    table = corners(plan)
    keys = [c.key for c in table.columns]
    written = page_rows(table, system=System.IMPERIAL, lang="en")[0]
    assert written[keys.index("down")].replace("\u2212", "-") == '-1/2"'


def test_an_anchor_that_is_a_mark_is_named_once(walk: Plan) -> None:
    stake = next(s for s in walk.built.set_out.stakes if s.kind == "corner" and s.tie_a)
    name = stake.tie_a[0] if stake.tie_a else ""
    point = walk.survey.points[name]
    same = replace(stake, label=name, x=point.x, y=point.y)
    stakes = tuple(same if s is stake else s for s in walk.built.set_out.stakes)
    plan = replace(walk, built=replace(walk.built, set_out=replace(walk.built.set_out, stakes=stakes)))
    named = [m for m in set_out_items(plan, work_window(plan, anchors=True)) if isinstance(m, Marker)]
    assert [m.kind for m in named if m.text == name] == ["nail"]
