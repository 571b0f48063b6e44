"""Forms: runs, boards from pile and yard, stakes, braces, nails and release agent."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from slabwright.build.boards import Boards, cut_boards
from slabwright.build.form_tables import (
    JUST,
    board_sizes,
    kerfs,
    rule,
    stake_length,
    stake_spacing,
    tube_form,
)
from slabwright.build.model import CutBoard, Forms, StakePlace
from slabwright.build.runs import Run, face_height, form_runs
from slabwright.build.stakes import place_stakes
from slabwright.findings import Finding, find
from slabwright.ground import ground_height
from slabwright.ground.model import Ground
from slabwright.measure import Quantity, System
from slabwright.notes.models import Kit
from slabwright.slab.model import Shaped
from slabwright.slab.thick_edges import edge_depth


def plan_forms(shaped: Shaped, ground: Ground, kit: Kit, *, system: System = System.IMPERIAL) -> Forms:
    """Return the forms of a job.

    shaped: the slabs; ground: for the soil and for braces; kit: the pile, and the lengths that the
    yard sells; system: whose usual lengths are taken where the kit does not say.

    Every free side is formed from corner to corner; boards come from the crew's own pile first, then
    from the lengths that the yard sells; the bound is proved for the pieces as split. A slab against
    walls all round gives no runs. Sources: ps-20, form-stakes, form-braces, release-coverage.
    """
    runs = form_runs(shaped)
    thickness = {slab.spec.name: edge_depth(slab) for slab in shaped.slabs}
    boards = cut_boards(runs, kit, system)
    places = place_stakes(runs, boards.pieces, [thickness[run.form.slab] for run in runs])
    braces = _braces(runs, places, ground)
    butts = sum(len(pieces) - 1 for pieces in boards.pieces)
    tallest = max((face_height(run) for run in runs), default=0.0)
    length = stake_length(tallest, ground.soil) if runs else 0.0
    face = math.fsum(run.form.length * face_height(run) for run in runs)
    nails = (
        rule("nails_a_stake") * len(places) + rule("nails_a_butt") * butts + rule("nails_a_brace") * braces
    )
    return Forms(
        runs=tuple(run.form for run in runs),
        boards=boards.cut,
        bound=boards.bound,
        proved=boards.proved,
        stakes=len(places),
        stake_length=length,
        stake_spacing=min((stake_spacing(thickness[run.form.slab]) for run in runs), default=0.0),
        nails=round(nails),
        release=face / rule("release_coverage"),
        cost=boards.cost,
        butts=butts,
        braces=braces,
        stake_places=places,
        returns=_returns(boards.cut),
        findings=_findings(runs, boards, braces, ground),
    )


def _braces(runs: Sequence[Run], places: Sequence[StakePlace], ground: Ground) -> int:
    """Count a brace at every second stake where the form's foot stands too far clear of the ground."""
    if ground.surface is None or not places:
        return 0
    heights = ground_height(ground.surface, [(place.x, place.y) for place in places])
    clear = 0
    for place, soil in zip(places, heights, strict=True):
        run = runs[place.run]
        top = run.height(place.station)
        if top is not None and top - face_height(run) - float(soil) > rule("brace_clear"):
            clear += 1
    return math.ceil(clear / 2)


def _returns(boards: Sequence[CutBoard]) -> tuple[tuple[str, float, int], ...]:
    """Boards that go back on the pile after stripping: pieces and offcuts worth keeping."""
    named = {board.name for board in board_sizes()}
    back: Counter[tuple[str, float]] = Counter()
    for board in boards:
        if board.size not in named:
            continue  # strips of sheet that were bent do not come back straight
        for length in (*board.pieces, board.left):
            if length >= rule("keep") - JUST:
                back[board.size, round(length, 4)] += 1
    return tuple((size, length, n) for (size, length), n in sorted(back.items()))


def _findings(runs: Sequence[Run], boards: Boards, braces: int, ground: Ground) -> tuple[Finding, ...]:
    found: list[Finding] = []
    gaps: dict[str, Run] = {}
    for run in runs:
        if run.gap > JUST and (run.form.slab not in gaps or run.gap > gaps[run.form.slab].gap):
            gaps[run.form.slab] = run
    for slab, run in gaps.items():
        code = "form-gap" if run.gap <= rule("gap") + JUST else "form-low"
        found.append(
            find(
                "build",
                code,
                where=slab,
                board=run.form.board,
                height=Quantity("inches", face_height(run)),
                gap=Quantity("inches", run.gap),
            )
        )
    # The two halves of a round opening are one thing to say.
    curves = {(run.form.slab, run.form.a, run.form.b, _middle(run)): run for run in runs if run.form.radius}
    found += [_curve_finding(run) for run in curves.values()]
    had, used = boards.pile
    if had and not used:
        found.append(find("build", "pile-unused", boards=had))
    found += [
        find("build", "board-too-long", size=size, length=Quantity("length", length), count=number)
        for size, length, number in boards.uncut
    ]
    longest = max((board.stock for board in boards.cut), default=math.inf)
    butts = sum(len(pieces) - 1 for pieces in boards.pieces)
    if butts and longest < rule("short_board") - JUST:
        found.append(
            find(
                "build",
                "boards-short",
                longest=Quantity("length", longest),
                butts=butts,
                run=Quantity("length", math.fsum(run.form.length for run in runs)),
                least=Quantity("length", rule("short_board")),
            )
        )
    if runs and not boards.proved and not boards.uncut:
        found.append(
            find(
                "build",
                "boards-not-proved",
                cost=Quantity("length", boards.cost),
                bound=Quantity("length", boards.bound),
            )
        )
    if braces:
        found.append(
            find("build", "form-braces", braces=braces, clear=Quantity("inches", rule("brace_clear")))
        )
    if runs and ground.soil == "rock":
        found.append(find("build", "stakes-in-rock"))
    if runs:
        found.append(find("build", "form-release", coverage=Quantity("coverage", rule("release_coverage"))))
    return tuple(found)


def _middle(run: Run) -> tuple[float, float]:
    (x0, y0), (x1, y1) = run.form.p, run.form.q
    return round((x0 + x1) / 2, 4), round((y0 + y1) / 2, 4)


def _curve_finding(run: Run) -> Finding:
    ends = f", {run.form.a} to {run.form.b}" if run.form.a and run.form.b else ""
    place = f"{run.form.slab}{ends}"
    radius = run.form.radius or 0.0
    if run.curve is not None and run.curve.cut == "tube":
        if run.curve.material != tube_form()[0].material:
            return find("build", "form-sleeve", where=place, radius=Quantity("inches", radius))
        return find("build", "form-tube", where=place, across=Quantity("inches", 2 * radius))
    if run.curve is not None and run.curve.least == 0.0:
        step, cuts = kerfs(radius, run.turn, run.curve.thickness, web=rule("kerf_web"), kerf=rule("kerf"))
        return find(
            "build",
            "form-kerfs",
            where=place,
            radius=Quantity("length", radius),
            cuts=cuts,
            step=Quantity("inches", step),
            web=Quantity("inches", rule("kerf_web")),
        )
    return find(
        "build",
        "form-curve",
        where=place,
        radius=Quantity("length", radius),
        material=run.form.material,
        length=Quantity("length", run.form.length),
    )
