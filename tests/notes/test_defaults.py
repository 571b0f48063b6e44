"""Defaults by use: what is taken, from which source, and that what is written stands."""

from __future__ import annotations

from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slabwright.measure import System
from slabwright.notes import Notes, specify
from slabwright.notes.defaults import joint_spacing, table
from slabwright.notes.models import Use
from slabwright.notes.spec import SlabSpec
from slabwright.sources import all_sources

IN, FT = 0.0254, 0.3048
USES = get_args(Use)
RIBBON = {"along": ["P1", "P2"], "width": "3'"}
RING = {"corners": ["P1", "P2", "P3"]}


def spec(
    use: str = "walk", shape: dict[str, Any] = RIBBON, top: dict[str, Any] | None = None, **slab: Any
) -> SlabSpec:
    """Return one slab as specified; `top` are keys beside it, `slab` keys of its own."""
    keys = {key.replace("_", "-"): value for key, value in slab.items()}
    slabs = [{"name": "s", "use": use, **shape, **keys}]
    return specify(Notes.model_validate({"title": "t", **(top or {}), "slabs": slabs}))[0]


def taken(made: SlabSpec) -> dict[str, str]:
    return {one.field: one.source for one in made.taken}


@pytest.mark.parametrize("use", USES)
@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_every_default_names_a_source_that_exists(use: str, units: str) -> None:
    made = spec(use, top={"units": units})
    assert made.taken
    assert {one.source for one in made.taken} <= set(all_sources())
    assert {"thickness", "base", "fall.across", "joints.most", "strength", "slump"} <= set(taken(made))


def test_every_source_in_the_table_exists() -> None:
    def keys(value: Any) -> set[str]:
        if isinstance(value, dict):
            return set().union(*(keys(v) for v in value.values())) if value else set()
        if isinstance(value, list) and len(value) == 3 and "-" in str(value[2]):
            return {value[2]}
        return set()

    joints = set(table()["joints"]["sources"].values())
    assert keys({k: v for k, v in table().items() if k != "joints"}) | joints <= set(all_sources())


@pytest.mark.parametrize(
    ("use", "inches", "source"),
    [
        ("walk", 4, "ufgs-walks"),
        ("patio", 4, "ufgs-walks"),
        ("driveway", 5, "tm-5-822-5"),
        ("apron", 6, "city-walk-drive"),
        ("pad", 4, "ufgs-walks"),
        ("landing", 4, "ufgs-walks"),
    ],
)
def test_thickness_by_use(use: str, inches: float, source: str) -> None:
    made = spec(use)
    assert made.thickness == pytest.approx(inches * IN)
    assert taken(made)["thickness"] == source


def test_a_plain_driveway_is_thicker_than_one_with_steel() -> None:
    assert spec("driveway", steel={"choice": "bars"}).thickness == pytest.approx(5 * IN)
    assert spec("driveway", steel={"choice": "mesh"}).thickness == pytest.approx(5 * IN)
    for choice in ("none", "fiber", "gfrp"):
        assert spec("driveway", steel={"choice": choice}).thickness == pytest.approx(6 * IN)


def test_metric_jobs_get_metric_sizes() -> None:
    made = spec(top={"units": System.METRIC})
    assert (made.thickness, made.base, made.slump, made.joints.depth) == (0.1, 0.1, 0.1, 0.025)
    assert made.joints.most == pytest.approx(3.0)  # 30 thicknesses: the slump is an ordinary one


def test_what_is_written_is_not_taken() -> None:
    made = spec(
        thickness="3 1/2", base="6", slump="5", aggregate="3/8", strength="5000 psi",
        fall={"across": "1%", "across-least": "1/2%", "across-most": "2%",
              "along-most": "8%", "from-house": "3%"},
        joints={"every": "4'", "most": "9'", "made": "sawn", "depth": "1 1/4"},
        steel={"choice": "bars", "bar": "5", "spacing": "12", "both-ways": "yes", "cover": "2"},
    )  # fmt: skip
    assert made.taken == ()
    assert made.thickness == pytest.approx(3.5 * IN)
    assert made.fall.across_given
    assert made.fall.along_most == pytest.approx(0.08)
    assert (made.joints.every, made.joints.most) == (pytest.approx(4 * FT), pytest.approx(9 * FT))
    assert made.joints.made == "sawn"
    assert (made.steel.bar, made.steel.both_ways) == ("5", True)
    assert made.steel.spacing == pytest.approx(12 * IN)


def test_the_cross_fall_limit_binds_in_public_and_is_recommended_elsewhere() -> None:
    public = spec(top={"place": {"public": "yes"}})
    private = spec(top={"place": {"public": "no"}})
    assert public.fall.across_most == private.fall.across_most == pytest.approx(1 / 48)
    assert taken(public)["fall.across-most"] == "ada-403.3"
    assert taken(private)["fall.across-most"] == "ada-403.3-private"
    assert "recommended" in all_sources()["ada-403.3-private"].where


def test_on_private_ground_the_accessible_limits_may_be_passed_up_to_a_buildable_one() -> None:
    private, public = spec(top={"place": {"public": "no"}}).fall, spec(top={"place": {"public": "yes"}}).fall
    assert (private.across_wide, private.along_wide) == pytest.approx((0.04, 1 / 12))
    assert (public.across_wide, public.along_wide, public.public) == (None, None, True)
    patio = spec("patio", RING, top={"place": {"public": "no"}}).fall
    assert (patio.across_wide, patio.along_wide) == (pytest.approx(0.04), None)
    written = spec(top={"place": {"public": "no"}}, fall={"across-most": "2%", "along-most": "6%"}).fall
    assert (written.across_wide, written.along_wide) == (None, None)
    assert spec("landing", RING, top={"place": {"public": "no"}}).fall.across_wide is None


def test_default_falls_of_a_walk() -> None:
    fall = spec().fall
    assert (fall.across, fall.from_house, fall.along_most) == pytest.approx((0.02, 0.02, 0.05))
    assert not fall.across_given


def test_a_default_never_forbids_what_was_written() -> None:
    gentle = spec(fall={"across": "1/2%"}).fall
    assert gentle.across_least == pytest.approx(0.005)
    held = spec(fall={"across-most": "1.5%"}).fall
    assert held.across == pytest.approx(0.015)
    wanted = spec(fall={"across-least": "2.05%"}).fall
    assert wanted.across == pytest.approx(0.0205)


def test_a_ring_of_a_driveway_has_no_long_way() -> None:
    assert spec("driveway", RING).fall.across_most == pytest.approx(0.15)
    assert spec("driveway").fall.across_most == pytest.approx(0.05)
    assert spec("apron", RING).fall.across_most == pytest.approx(0.10)


@pytest.mark.parametrize(("frost", "psi"), [("none", 3000), ("moderate", 4000), ("severe", 4500)])
def test_strength_by_frost_is_above_the_code_s_floor(frost: str, psi: float) -> None:
    made = spec(top={"place": {"frost": frost}})
    assert made.strength == pytest.approx(psi * 6894.757, rel=1e-6)
    floor = {"none": 2500, "moderate": 3000, "severe": 3500}[frost]
    assert psi >= floor


def test_joint_depth_is_a_quarter_and_never_under_an_inch() -> None:
    assert spec(thickness="3 1/2").joints.depth == pytest.approx(IN)
    assert taken(spec(thickness="3 1/2"))["joints.depth"] == "ufgs-walks"
    assert spec(thickness="4").joints.depth == pytest.approx(IN)
    assert spec(thickness="6").joints.depth == pytest.approx(1.5 * IN)
    assert taken(spec(thickness="6"))["joints.depth"] == "irmca-joints"


def test_joint_spacing_keeps_to_its_published_ceiling_and_rule_outside_the_table() -> None:
    assert joint_spacing(8 * IN, 0.75 * IN, 4 * IN) == (pytest.approx(18 * FT), "aci-302-spacing")
    assert joint_spacing(3 * IN, 0.75 * IN, 4 * IN) == (pytest.approx(30 * 3 * IN), "joint-table-rule")


def test_joint_spacing_on_the_edges_of_its_columns() -> None:
    four = 4 * IN
    assert joint_spacing(four, 0.75 * IN, four)[0] == pytest.approx(10 * FT)
    assert joint_spacing(four, 0.74 * IN, four)[0] == pytest.approx(8 * FT)
    assert joint_spacing(four, 0.019, four)[0] == pytest.approx(10 * FT)  # the metric trade's 19 mm
    assert joint_spacing(four, 0.75 * IN, 0.1)[0] == pytest.approx(10 * FT)
    assert joint_spacing(four, 0.75 * IN, 0.099)[0] == pytest.approx(12 * FT)


@given(
    st.floats(0.05, 0.3), st.floats(0.05, 0.3), st.sampled_from([0.01, 0.02]), st.sampled_from([0.08, 0.1])
)
def test_thicker_slabs_are_never_jointed_closer(a: float, b: float, stone: float, slump: float) -> None:
    thin, thick = sorted((a, b))
    assert joint_spacing(thin, stone, slump)[0] <= joint_spacing(thick, stone, slump)[0] + 1e-9


def test_names_become_vertices_and_the_line_is_kept() -> None:
    made = spec(shape={"corners": ["P1", {"point": "P2", "round": "1'"}, "P3"]})
    assert [v.point for v in made.corners] == ["P1", "P2", "P3"]
    assert made.corners[1].round == pytest.approx(FT)
    assert made.along == ()


def test_steel_without_bars_takes_no_bar_defaults() -> None:
    fields = set(taken(spec(steel={"choice": "mesh"})))
    assert not {f for f in fields if f.startswith("steel.")}
    assert {"steel.choice", "steel.bar", "steel.spacing", "steel.cover"} <= set(taken(spec()))
