"""Published limits, each on its edge and a step past it, and what cannot be held."""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest
from tests.slab import heights_cases as c

from slabwright import sources
from slabwright.findings import Level
from slabwright.ground.model import DoorAt, Wall
from slabwright.slab.heights import limits

L = 8.0
FREE = ("free", None)
LOOSE = {"across_least": 0.0, "across_most": 0.2, "along_most": 0.3}
HAIR = 2e-5


def plane_walk(across: float, along: float, *, use: str = "walk"):
    """A walk that its two ends hold in one plane."""
    o, j = c.ribbon(L, 3 * c.FT, 4, ends=("old", "gate"), name=use)
    ends = [
        c.existing("old", (0, -1), (0, 1), -across, across),
        c.existing("gate", (L, -1), (L, 1), -along * L - across, -along * L + across),
    ]
    meets = (c.Meets(existing="old", lip="0 in"), c.Meets(existing="gate", lip="0 in"))
    spec = c.spec(use, use=use, meets=meets, fall=c.fall(across=max(across, 0.0), **LOOSE))
    plan = c.plan_exactly([(spec, o, j)], {}, {}, c.ground(slabs=ends))[0]
    assert plan.feasible
    return {f.code: f for f in plan.findings}


@pytest.mark.parametrize(
    ("across", "code"),
    [(0.75 / 36, None), (0.75 / 36 + HAIR, "cross-fall-steep"), (0.8125 / 36, "cross-fall-steep")],
)
def test_three_quarters_of_an_inch_on_three_feet_passes_and_more_does_not(across, code):
    found = plane_walk(across, 0.01)
    assert set(found) == ({code} if code else set())
    if code:
        assert found[code].level is Level.STOP
        assert found[code].values["fall"].si == pytest.approx(across)


@pytest.mark.parametrize(
    ("along", "codes"),
    [
        (1 / 20, set()),
        (1 / 20 + HAIR, {"running-steep"}),
        (1 / 12, {"running-steep"}),
        (1 / 12 + HAIR, {"running-over-ramp"}),
    ],
)
def test_a_run_becomes_a_ramp_past_1_in_20_and_too_steep_past_1_in_12(along, codes):
    assert set(plane_walk(0.02, along)) == codes
    assert set(plane_walk(0.02, -along)) == codes


@pytest.mark.parametrize(("across", "codes"), [(0.125 / 12, set()), (0.125 / 12 - HAIR, {"holds-water"})])
def test_less_than_an_eighth_in_a_foot_holds_water(across, codes):
    assert set(plane_walk(across, 0.0)) == codes


@pytest.mark.parametrize(
    ("across", "codes"), [(1 / 48, set()), (1 / 48 + HAIR, {"cross-fall-steep", "landing-steep"})]
)
def test_a_landing_may_fall_a_quarter_inch_in_a_foot(across, codes):
    assert set(plane_walk(across, 0.0, use="landing")) == codes


def test_a_driveway_may_fall_more_than_a_walk():
    assert plane_walk(0.05, 0.10, use="driveway") == {}


@pytest.mark.parametrize(
    ("change", "codes"), [(0.03, set()), (0.03 + HAIR, {"drive-break"}), (0.0599, {"drive-break"})]
)
def test_a_change_of_fall_at_a_joint_that_suits_most_cars(change, codes):
    o, j = c.ribbon(8.0, 3.0, 2, name="drive")
    points = {"P": (0.0, 0.0), "Q": (4.0, 0.0), "R": (8.0, 0.0)}
    drops = (0.0, 0.02 * 4, 0.02 * 4 + (0.02 + change) * 4)
    fixes = tuple(c.Fix(at=k, below="bench", by=f"{d:.9f} m") for k, d in zip("PQR", drops, strict=True))
    spec = c.spec("drive", use="driveway", heights=fixes, fall=c.fall(**LOOSE, across=0.02))
    plan = c.plan_exactly([(spec, o, j)], points, {"bench": 0.0}, c.ground())[0]
    assert plan.feasible
    assert {f.code for f in plan.findings} == codes


def patio_at(
    wall_top: float, fall: float, *, sill: float = 0.5, meets=(), use: str = "patio", siding=None, nx=2
):
    o, j = c.pad(4, 3, nx, nx, at=(0, -3), kinds=(FREE, FREE, ("wall", "A-B"), FREE))
    g = c.ground(
        walls=[Wall("A-B", (0, 0), (4, 0))],
        doors=[DoorAt("back", "A-B", (1, 0), (2, 0), sill, "sill")],
        siding="stucco" if siding is not None else "none",
        siding_bottom=siding,
    )
    points = {"W": (0.0, 0.0), "X": (4.0, 0.0), "O": (0.0, -3.0), "R": (4.0, -3.0)}
    heights = {"W": wall_top, "X": wall_top, "O": wall_top - 3 * fall, "R": wall_top - 3 * fall}
    fixes = tuple(c.Fix(at=k) for k in points)
    spec = c.spec(
        "patio", use=use, heights=fixes, meets=meets,
        fall=c.fall(toward=None, across=max(fall, 0), from_house=0.0, **{**LOOSE, "across_least": -0.2}),
    )  # fmt: skip
    return c.plan_exactly([(spec, o, j)], points, heights, g)[0]


@pytest.mark.parametrize(
    ("fall", "codes"),
    [
        (0.02, set()),
        (0.02 - HAIR, {"house-fall-small"}),
        (0.0, {"house-fall-level", "holds-water-level"}),
        (-0.015, {"house-fall-back"}),
    ],
)
def test_paving_falls_two_percent_away_from_the_house(fall, codes):
    plan = patio_at(0.5 - 1.5 * c.INCH, fall)
    assert {f.code for f in plan.findings} == codes
    for f in plan.findings:
        if f.code.startswith("house"):
            assert f.level is Level.STOP
            assert f.values["wall"] == "A-B"


def test_past_ten_feet_from_the_house_nothing_is_asked():
    o, j = c.pad(4, 2, 1, 1, at=(0, -3.05 - 2))
    g = c.ground(walls=[Wall("A-B", (0, 0), (4, 0))])
    fixes = tuple(c.Fix(at=k) for k in "WXO")
    points = {"W": (0.0, -3.05), "X": (4.0, -3.05), "O": (0.0, -5.05)}
    shot = {"W": 0.0, "X": 0.0, "O": 0.03}
    spec = c.spec("pad", use="pad", heights=fixes, fall=c.fall(toward="right", across=0.0, **LOOSE))
    plan = c.plan_exactly([(spec, o, j)], points, shot, g)[0]
    assert {f.code for f in plan.findings} == set()
    moved = {k: (x, y + 0.03) for k, (x, y) in points.items()}
    near = c.plan_exactly([(spec, *c.pad(4, 2, 1, 1, at=(0, -3.02 - 2)))], moved, shot, g)[0]
    assert not near.feasible
    assert "conflict-house" in {f.code for f in near.findings}


@pytest.mark.parametrize(
    ("down_in", "codes"),
    [
        (1.4, {"sill-close"}),
        (1.5, set()),
        (1.6, {"sill-drop-most"}),
        (7.75, {"sill-drop-most"}),
        (7.8, {"sill-far"}),
    ],
)
def test_a_slab_below_a_sill(down_in, codes):
    spec_meets = (c.Meets(door="back", down=f"{down_in} in"),)
    plan = patio_at(0.5 - down_in * c.INCH, 0.02, meets=spec_meets)
    assert plan.feasible
    assert {f.code for f in plan.findings} == codes


def test_a_sill_that_the_slab_only_passes_is_kept_clear():
    plan = patio_at(0.5 - 1.0 * c.INCH, 0.02, nx=1)
    assert not plan.feasible
    assert {"conflict-sill", "sill-close"} <= {f.code for f in plan.findings}


def test_an_apron_may_stand_near_a_garage_sill_but_not_over_it():
    assert patio_at(0.5 - 0.25 * c.INCH, 0.02, use="apron").findings == ()
    over = patio_at(0.5 + 0.25 * c.INCH, 0.02, use="apron")
    assert [f.code for f in over.findings] == ["sill-below"]
    assert over.findings[0].values["down"].si == pytest.approx(0.25 * c.INCH)


@pytest.mark.parametrize(("clear_in", "feasible"), [(2.0, True), (1.99, False)])
def test_the_siding_stands_two_inches_clear(clear_in, feasible):
    plan = patio_at(0.0, 0.02, siding=clear_in * c.INCH)
    assert plan.feasible is feasible
    assert ("conflict-siding" in {f.code for f in plan.findings}) is not feasible


@pytest.mark.parametrize(
    ("step_in", "codes"),
    [
        (0.25, set()),
        (0.26, {"lip-bevel"}),
        (-0.26, {"lip-bevel"}),
        (0.5, {"lip-bevel"}),
        (0.51, {"lip-step"}),
        (-3.0, {"lip-step"}),
    ],
)
def test_a_level_change_at_a_slab_that_stays(step_in, codes):
    o, j = c.ribbon(L, 3 * c.FT, 4, ends=("old", None), name="walk")
    up = step_in * c.INCH
    g = c.ground(slabs=[c.existing("old", (0, -1), (0, 1), -up - 0.02, -up + 0.02)])
    fixes = tuple(c.Fix(at=k) for k in "PQR")
    points = {"P": (0.0, -0.4572), "Q": (0.0, 0.4572), "R": (L, -0.4572)}
    shot = {"P": -0.02 * 0.4572, "Q": 0.02 * 0.4572, "R": -0.1}
    plan = c.plan_exactly([(c.spec(heights=fixes), o, j)], points, shot, g)[0]
    assert plan.feasible
    assert {f.code for f in plan.findings} == codes


def codes_of(spec, o, j, g, points=None, heights=None):
    plan = c.plan_exactly([(spec, o, j)], points or {}, heights or {}, g)[0]
    return {f.code for f in plan.findings}


def test_what_cannot_be_held_is_said_and_the_rest_is_still_planned():
    o, j = c.ribbon(4.0, 1.0, 2)
    level = c.ground(surface=c.plane_surface(0, 0, 0))
    far = c.ground(
        slabs=[c.existing("far", (20, 0), (20, 1), 0, 0)],
        doors=[
            DoorAt("side", "A-B", (0, 50), (1, 50), 0.2, "s"),
            DoorAt("blind", "A-B", (0, 0), (1, 0), None, None),
        ],
        surface=c.plane_surface(0, 0, 0),
    )
    assert "heights-existing-unknown" in codes_of(c.spec(meets=(c.Meets(existing="nowhere"),)), o, j, level)
    assert "heights-not-touching" in codes_of(c.spec(meets=(c.Meets(existing="far"),)), o, j, far)
    assert "heights-not-touching" in codes_of(c.spec(meets=(c.Meets(door="side"),)), o, j, far)
    assert "heights-sill-unknown" in codes_of(c.spec(meets=(c.Meets(door="blind"),)), o, j, far)
    assert "heights-fix-off-slab" in codes_of(
        c.spec(heights=(c.Fix(at="X"),)), o, j, level, {"X": (30.0, 0.0)}, {"X": 1.0}
    )
    assert "heights-fix-unshot" in codes_of(
        c.spec(heights=(c.Fix(at="X", below="Y"),)), o, j, level, {"X": (0.0, 0.0)}
    )
    assert "heights-nothing-fixes" in codes_of(c.spec(), o, j, c.ground())
    assert "heights-toward-unknown" in codes_of(c.spec(fall=c.fall(toward="lawn")), o, j, level)
    assert "heights-way-guessed" in codes_of(c.spec(fall=c.fall(toward=None)), o, j, level)


def test_a_slab_that_nothing_fixes_stands_at_the_shot_of_its_own_corner():
    o, j = c.pad(4, 3, 2, 1)
    from dataclasses import replace

    named = replace(o, edges=(replace(o.edges[0], names=("P1", None)), *o.edges[1:]))
    plan = c.plan_exactly([(c.spec("patio", use="patio"), named, j)], {}, {"P1": 3.2}, c.ground())[0]
    assert next(n for n in plan.nodes if n.label == "P1").z == pytest.approx(3.2)


@pytest.mark.parametrize(("toward", "sign"), [("left", 1), ("right", -1), ("L", 1), ("R", -1)])
def test_water_goes_where_the_job_says(toward, sign):
    o, j = c.ribbon(6.0, 1.0, 3)
    points = {"L": (2.0, 5.0), "R": (2.0, -5.0)}
    spec = c.spec(fall=c.fall(toward=toward, across=0.02))
    plan = c.plan_exactly([(spec, o, j)], points, {}, c.ground(surface=c.plane_surface(0, 0, 0)))[0]
    z = {(round(n.x, 6), n.y): n.z for n in plan.nodes}
    assert (z[2.0, -0.5] - z[2.0, 0.5]) * sign == pytest.approx(0.02, abs=1e-9)


def test_a_walk_along_a_house_falls_away_from_it_and_else_as_the_ground_does():
    o, j = c.ribbon(6.0, 1.0, 3)
    south = Wall("A-B", (6.0, -2.0), (0.0, -2.0))  # the yard lies north of it
    up = c.plane_surface(0, 0.05, 0)
    spec = c.spec(fall=c.fall(toward=None, across=0.02))
    for walls, sign in (([south], 1), ([], -1)):
        plan = c.plan_exactly([(spec, o, j)], {}, {}, c.ground(walls=walls, surface=up))[0]
        z = {(round(n.x, 6), n.y): n.z for n in plan.nodes}
        assert (z[2.0, -0.5] - z[2.0, 0.5]) * sign > 0.0199


def crowned(middle_joint: bool):
    o, _ = c.ribbon(6.0, 3.0, 2, name="drive")
    halves = ((-1.5, 0.0), (0.0, 1.5)) if middle_joint else ((-1.5, 1.5),)
    rings = [[(a, lo), (a + 3, lo), (a + 3, hi), (a, hi)] for a in (0.0, 3.0) for lo, hi in halves]
    from slabwright.slab.model import JointPlan

    j = JointPlan((), tuple(c.panel(str(k), r) for k, r in enumerate(rings)), 0, 0, True, ())
    spec = c.spec("drive", use="driveway", fall=c.fall(crown=True, across=0.02, along_most=0.1))
    return c.plan_exactly([(spec, o, j)], {}, {}, c.ground(surface=c.plane_surface(0, 0, 0)))[0]


def test_a_crown_folds_at_the_joint_along_the_middle():
    plan = crowned(True)
    assert plan.feasible
    assert "crown-no-joint" not in {f.code for f in plan.findings}
    z = {(n.x, n.y): n.z for n in plan.nodes}
    for x in (0, 3, 6):
        assert z[x, 0.0] - z[x, 1.5] == pytest.approx(0.03, abs=1e-9)
        assert z[x, 0.0] - z[x, -1.5] == pytest.approx(0.03, abs=1e-9)


def test_without_such_a_joint_there_is_no_crown_and_it_is_said():
    plan = crowned(False)
    assert "crown-no-joint" in {f.code for f in plan.findings}
    z = {(n.x, n.y): n.z for n in plan.nodes}
    assert abs(z[3, 1.5] - z[3, -1.5]) == pytest.approx(0.06, abs=1e-9)


def own_texts() -> dict[str, dict]:
    raw = files("slabwright").joinpath("slab", "findings.toml").read_text(encoding="utf-8")
    own = raw[raw.index("# --- finished heights") + 5 :]
    return tomllib.loads("# " + own[: own.find("\n# ---") if "\n# ---" in own else None])


def test_every_code_that_is_used_has_a_text_and_every_text_is_used():
    folder = Path(limits.__file__).parent
    code = "\n".join(p.read_text(encoding="utf-8") for p in sorted(folder.glob("*.py")))
    used = set(re.findall(r'"([a-z]+(?:-[a-z]+)+)"', code))
    kinds = re.findall(r'"([a-z-]+)"', re.search(r"Kind = Literal\[(.*?)\]", code, re.S).group(1))
    slopes = {"house", "across-least", "across-most", "across-given", "along-most", "total-most", "break"}
    used |= {f"{p}-{k}" for p in ("over", "conflict") for k in kinds} | {f"price-{k}" for k in slopes}
    used |= {f"way-{k}" for k in (slopes | {"twist"}) - {"house"}}
    steep = ("across-most", "along-most", "total-most")
    used |= {f"{p}-{k}-private" for p in ("over", "conflict", "way") for k in steep}
    used |= {f"price-{e}{w}" for e in ("", "edge-") for w in ("lower", "higher")}
    texts = set(own_texts())
    assert texts <= used
    used -= {row.name for row in limits.TABLE} | {"heights-conflict"}
    starts = ("heights", "over", "conflict", "way", "lip", "sill")
    assert {u for u in used if u.split("-")[0] in starts} <= texts


def test_constants_have_a_source_each_and_a_name_of_their_own():
    names = [row.name for row in limits.TABLE]
    assert len(names) == len(set(names))
    for row in limits.TABLE:
        assert row.source in sources.all_sources()
        assert row.unit.startswith("[")
        assert row.value > 0
