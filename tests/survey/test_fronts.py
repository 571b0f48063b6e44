"""The elimination tree against dense algebra, on chains, grids, stars and separate parts."""

from __future__ import annotations

import numpy as np
import pytest

from slabwright.survey.fronts import Fronts


def chain(n):
    return [(i, i + 1) for i in range(n - 1)] + [(0, -1), (n - 1, -1)]


def grid(k):
    at = {(i, j): i * k + j for i in range(k) for j in range(k)}
    rows = [(at[i, j], at[i + 1, j]) for i in range(k - 1) for j in range(k)]
    rows += [(at[i, j], at[i, j + 1]) for i in range(k) for j in range(k - 1)]
    return [*rows, (0, -1), (k * k - 1, -1)]


def star(n):
    return [(0, i) for i in range(1, n)] + [(0, -1)]


def apart(parts, n):
    return [(p * n + a, p * n + b if b >= 0 else -1) for p in range(parts) for a, b in chain(n)]


NETS = {
    "chain": (chain(300), 300),
    "grid": (grid(17), 289),
    "star": (star(200), 200),
    "apart": (apart(40, 9), 360),
    "small": (chain(5), 5),
    "one": ([(0, -1)], 1),
}


@pytest.fixture(params=list(NETS))
def net(request):
    rows, n = NETS[request.param]
    cols = np.array(rows, dtype=np.int64)
    rng = np.random.default_rng(7)
    coef = rng.uniform(0.5, 2.0, cols.shape) * np.array([-1.0, 1.0]) * (cols >= 0)
    dense = np.zeros((len(cols), n + 1))
    for row, (at, by) in enumerate(zip(cols, coef, strict=True)):
        np.add.at(dense[row], at, by)
    return cols, coef, dense[:, :n], n


@pytest.mark.parametrize("leaf", [8, 40, 1000])
def test_against_dense_inverse(net, leaf):
    cols, coef, dense, n = net
    fronts = Fronts(cols, n, leaf=leaf)
    fronts.factor(coef)
    fronts.invert()
    inverse = np.linalg.inv(dense.T @ dense)
    rhs = np.random.default_rng(1).normal(size=n)
    scale = np.abs(inverse).max()
    assert fronts.solve(rhs) == pytest.approx(inverse @ rhs, abs=1e-9 * scale * n)
    variance = np.einsum("ij,jk,ik->i", dense, inverse, dense)
    assert fronts.row_variance(coef) == pytest.approx(variance, abs=1e-9)
    pairs = np.array([(a, b) for a, b in cols.tolist() if b >= 0] + [(k, k) for k in range(n)])
    assert fronts.pair_covariance(pairs) == pytest.approx(inverse[pairs[:, 0], pairs[:, 1]], abs=1e-9 * scale)


@pytest.mark.parametrize("leaf", [8, 1000])
def test_open_unknowns_are_refused(leaf):
    """A chain that hangs on nothing, and an unknown without any reading."""
    cols = np.array(chain(100)[:-2], dtype=np.int64)
    fronts = Fronts(cols, 100, leaf=leaf)
    with pytest.raises(np.linalg.LinAlgError):
        fronts.factor(np.tile([-1.0, 1.0], (len(cols), 1)))
    fronts = Fronts(np.array([[0, -1]]), 2)
    with pytest.raises(np.linalg.LinAlgError):
        fronts.factor(np.array([[1.0, 0.0]]))


def test_a_large_net_is_split_small():
    """No front of a long chain is larger than its leaf and its two ends."""
    fronts = Fronts(np.array(chain(2000), dtype=np.int64), 2000, leaf=50)
    assert max(len(f.own) + len(f.edge) for f in fronts.fronts) <= 52
    assert sum(len(f.own) for f in fronts.fronts) == 2000


def test_a_house_job_needs_no_sparse_library():
    """Below the leaf's size scipy is not imported."""
    import subprocess
    import sys

    code = (
        "import sys; from slabwright.survey import adjust; from slabwright.survey.net import Net, Pull;"
        "s = adjust(Net(frame=('A', 'B'), pulls=(Pull('A', 'B', 5.0), Pull('A', 'P', 4.0),"
        " Pull('B', 'P', 3.0))));"
        "assert 'P' in s.points; print(any(m.split('.')[0] == 'scipy' for m in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_the_package_alone_imports_no_numerics():
    import subprocess
    import sys

    code = "import sys; import slabwright.survey; print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
