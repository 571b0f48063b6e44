"""The slab's heat in compiled code: the twin of step.py, for those who installed the extra `fast`.

The same scheme on the same numbers, agreeing with step.py to rounding (a test holds it). A block of lanes
goes through all its steps at once, so that its state stays near the processor. Everything of a block lies in
one flat array, and loops are long ones over nodes x lanes, the nodes' numbers repeated for each lane; the
sweeps alone go node by node. The compiler turns that into vector instructions, which it does not where an
index might be negative, hence the unsigned ones; views and tuples of arrays would be counted at every use.
Exponential and logarithm are polynomials without branches; the mathematical library's own would be called
lane by lane.

Nothing here is imported unless numba is installed. Threads are Python's own, one a core: numba's would not
live with a server that forks.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from slabwright.pourday.model import Floats

F = TypeVar("F", bound=Callable[..., Any])
Bits = NDArray[np.int64]
U = np.uint64
At = Any  # an unsigned place in the flat array
WIDTH = 16  # lanes of a block: wide enough for vectors, small enough for the first cache
W, NONE, ONE = U(WIDTH), U(0), U(1)

MAGIC = 6755399441055744.0  # 1.5 x 2^52: adding it leaves the nearest whole number in the low bits
MAGIC_BITS = 0x4338000000000000
LOG2E, LN2_HIGH, LN2_LOW = 1.4426950408889634, 6.93147180369123816490e-01, 1.90821492927058770002e-10
MANTISSA, ONE_BITS = 0x000FFFFFFFFFFFFF, 0x3FF0000000000000
# the model's constants
EPS, SIGMA, ES0, ESA, ESB, M_STILL, M_WIND, H_STILL, H_WIND, LATENT, REFERENCE = range(11)
SKY0, SKY1, SKY2, SKY_CLOUD, SUN_C, SUN_N, DIFFUSE = range(11, 18)
# columns of the weather at a half step
W_AIR, W_DEW, W_WIND, W_CLOUD, W_CLEAR, W_SHARE, W_DIRECT, W_HOUR = range(8)
# where rows of one number a lane begin: its own numbers, its surface, scratch, and its state
OWN_ROWS, LANE_ROWS = 13, 39
(
    ULTIMATE, LOG_TAU, BETA, HEAT, ENERGY, TE0, BLEED, BLEED_TIME, DRYING, V_AIR, V_DEW, V_WIND, V_CLOUD,
    RESIST, PASS, ABSORB, SOAKED, FRESH, TOP, THERE, AIR, WIND, SKY, CLOUD, SUN, WATER, WET, DRAWN, LEVEL,
    SLOPE, FLUX, MEAN_AGE, BLED, FILM, FILM_BEFORE, GAINED, GROSS, LOST, NODES,
) = (U(WIDTH * row) for row in range(LANE_ROWS))  # fmt: skip
# then arrays of all nodes x WIDTH: the column's numbers and the temperatures
CAPACITY, DIAGONAL, CARRY, CARRY_UP, STORE, NOW, BEFORE, TRIED, RIGHT = (U(row) for row in range(9))
NODE_ARRAYS, COLUMN_ROWS = U(9), 5
# then arrays of live nodes x WIDTH: the column's numbers, the lanes' own, ages, and room of three rows more
MEAN, TOP_INCH, TILT, OWNED, L_ULT, L_TAU, L_BETA, L_HEAT, L_ENERGY, AGE, DEGREE = (
    U(row) for row in range(11)
)
LIVE_ARRAYS, ROOMS = U(11), U(4)
ARGS, MADE, PART, SUM = (U(row) for row in range(4))
# ways to take a step
WHOLE, TRY, AGAIN = 0, 1, 2


def _compiled(function: F) -> F:
    numba = import_module("numba")
    return cast(F, numba.njit(nogil=True, cache=True, fastmath={"contract"}, error_model="numpy")(function))


@_compiled
def _node(which: At, n: At) -> At:
    """Return where an array of all nodes begins."""
    return NODES + which * n


@_compiled
def _live(which: At, n: At, live: At) -> At:
    """Return where an array of live nodes begins."""
    return NODES + NODE_ARRAYS * n + which * live


@_compiled
def _room(which: At, n: At, live: At) -> At:
    """Return where a room of the live nodes and three rows more begins."""
    return NODES + NODE_ARRAYS * n + LIVE_ARRAYS * live + which * (live + U(3) * W)


@_compiled
def exponential(m: Floats, bits: Bits, x: At, out: At, part: At, size: At) -> None:
    """Write e^x, all of `size` and beginning at places of the flat array; held to what a double can say."""
    for q in range(size):
        v = min(max(m[x + q], -700.0), 700.0)
        t = v * LOG2E + MAGIC
        m[part + q] = t
        k = t - MAGIC
        r = v - k * LN2_HIGH - k * LN2_LOW
        p = 1.6059043836821613e-10
        p = p * r + 2.08767569878681e-09
        p = p * r + 2.505210838544172e-08
        p = p * r + 2.755731922398589e-07
        p = p * r + 2.7557319223985893e-06
        p = p * r + 2.48015873015873e-05
        p = p * r + 0.0001984126984126984
        p = p * r + 0.001388888888888889
        p = p * r + 0.008333333333333333
        p = p * r + 0.041666666666666664
        p = p * r + 0.16666666666666666
        p = p * r + 0.5
        p = p * r + 1.0
        m[out + q] = p * r + 1.0
    for q in range(size):
        bits[out + q] += bits[part + q] << 52


@_compiled
def logarithm(m: Floats, bits: Bits, x: At, out: At, part: At, size: At) -> None:
    """Write ln x, all of `size` and beginning at places of the flat array; x above 0 and not tiny."""
    for q in range(size):
        bits[out + q] = (bits[x + q] & MANTISSA) | ONE_BITS
        bits[part + q] = (bits[x + q] >> 52) - 1023 + MAGIC_BITS
    for q in range(size):
        h, e = m[out + q], m[part + q] - MAGIC
        high = h > 1.4142135623730951
        h = 0.5 * h if high else h
        e = e + 1.0 if high else e
        s = (h - 1.0) / (h + 1.0)
        z = s * s
        p = 1.0 / 23.0
        p = p * z + 1.0 / 21.0
        p = p * z + 1.0 / 19.0
        p = p * z + 1.0 / 17.0
        p = p * z + 1.0 / 15.0
        p = p * z + 1.0 / 13.0
        p = p * z + 1.0 / 11.0
        p = p * z + 1.0 / 9.0
        p = p * z + 1.0 / 7.0
        p = p * z + 0.2
        p = p * z + 1.0 / 3.0
        m[out + q] = e * LN2_HIGH + (2.0 * s * (p * z + 1.0) + e * LN2_LOW)


@_compiled
def _meet_air(m: Floats, row: Floats, c: Floats) -> None:
    """Write the lanes' air: AIR, WIND, SKY, CLOUD, and the dew point to WATER."""
    air, dew, wind, cloud, hour = row[W_AIR], row[W_DEW], row[W_WIND], row[W_CLOUD], row[W_HOUR]
    sky0, sky1, sky2, part, sigma = c[SKY0], c[SKY1], c[SKY2], c[SKY_CLOUD], c[SIGMA]
    for j in range(W):
        warm = air + m[V_AIR + j]
        wet = min(dew + m[V_DEW + j], warm)
        over = min(max(cloud + m[V_CLOUD + j], 0.0), 1.0)
        td = wet / 100.0
        clear = sky0 + sky1 * td + sky2 * td * td + hour
        kelvin = warm + 273.15
        m[AIR + j] = warm
        m[WIND + j] = wind * m[V_WIND + j]
        m[CLOUD + j] = over
        m[WATER + j] = wet
        m[SKY + j] = (clear + (1.0 - clear) * part * over) * sigma * ((kelvin * kelvin) * (kelvin * kelvin))


@_compiled
def _hydrate(m: Floats, bits: Bits, n: At, live: At, length: float, row: Floats, c: Floats) -> None:
    """Age the concrete by the rates in MADE; its heat [W/m2] to ARGS, bled water to WET, the sun to SUN."""
    args, made, part = _room(ARGS, n, live), _room(MADE, n, live), _room(PART, n, live)
    total, age, degree = _room(SUM, n, live), _live(AGE, n, live), _live(DEGREE, n, live)
    mean, ultimate, owned = _live(MEAN, n, live), _live(L_ULT, n, live), _live(OWNED, n, live)
    beta, tau, heat = _live(L_BETA, n, live), _live(L_TAU, n, live), _live(L_HEAT, n, live)
    hours = length / 3600.0
    for q in range(live):
        te = m[age + q] + m[made + q] * hours
        m[age + q] = te
        m[args + q] = te
    for j in range(W):
        m[total + j] = 0.0
        m[args + live + j] = max(m[CLOUD + j], 1e-60)
        m[args + live + W + j] = 1.0
        m[args + live + W + W + j] = 1.0
    for q in range(live):
        m[total + W + q] = m[total + q] + m[mean + q] * m[age + q]
    logarithm(m, bits, args, made, part, live + W)
    power = c[SUN_N]
    for q in range(live):
        m[args + q] = m[beta + q] * (m[tau + q] - m[made + q])
    for j in range(W):
        m[MEAN_AGE + j] = m[total + live + j] if live > NONE else m[TE0 + j]
        m[args + live + j] = power * m[made + live + j]
        m[args + live + W + j] = (m[TE0 + j] - m[MEAN_AGE + j]) / m[BLEED_TIME + j]
    exponential(m, bits, args, made, part, live + W + W)
    clear = row[W_CLEAR]
    taken, given, direct, diffuse = c[SUN_C], row[W_SHARE], row[W_DIRECT], c[DIFFUSE]
    for j in range(W):
        passed = given if given >= 0.0 else 1.0 - taken * m[made + live + j]
        kept = diffuse + (1.0 - diffuse) * m[CLOUD + j]
        m[SUN + j] = clear * passed * (direct + (1.0 - direct) * kept)
        m[WET + j] = m[BLEED + j] * (1.0 - m[made + live + W + j]) if live > NONE else m[BLED + j]
    for q in range(live):
        m[args + q] = -m[made + q]
    exponential(m, bits, args, made, part, live)
    for q in range(live):
        new = m[ultimate + q] * m[made + q]
        m[args + q] = (new - m[degree + q]) * (m[heat + q] / length) * m[owned + q]
        m[degree + q] = new


@_compiled
def _balance(m: Floats, c: Floats) -> None:
    """Write the surface's heat as LEVEL - SLOPE x (its temperature); the water's WET and DRAWN, bled to SUN.

    Reads TOP, the linearisation's temperature; SLOPE, the vapour pressure there; WATER, that of the air;
    THERE, what a dry surface still lets pass.
    """
    eps, sigma, esa, esb, latent = c[EPS], c[SIGMA], c[ESA], c[ESB], c[LATENT]
    m_still, m_wind, h_still, h_wind = c[M_STILL], c[M_WIND], c[H_STILL], c[H_WIND]
    for j in range(W):
        outer, pressure = m[TOP + j], m[SLOPE + j]
        bled = m[WET + j]
        kelvin = outer + 273.15
        black = eps * sigma * (kelvin * kelvin * kelvin)
        climb = pressure * (esa * esb) / ((outer + esb) * (outer + esb))
        lack = pressure - m[WATER + j]
        gate = 1.0 if lack < 0.0 else m[THERE + j]
        gate = gate + m[SOAKED + j] * (1.0 - gate)
        gate = (m_still + m_wind * m[WIND + j]) * m[PASS + j] * gate
        wet, drawn = gate * lack, gate * climb
        stir = h_still + h_wind * m[WIND + j]
        gain = m[ABSORB + j] * m[SUN + j] + eps * m[SKY + j] - black * kelvin
        gain = gain + stir * (m[AIR + j] - outer) - latent * wet
        down = 4.0 * black + stir + latent * drawn
        eased = 1.0 / (1.0 + down * m[RESIST + j])
        m[WET + j] = wet
        m[DRAWN + j] = drawn
        m[SUN + j] = bled
        m[LEVEL + j] = (gain + down * outer) * eased
        m[SLOPE + j] = down * eased


@_compiled
def _sweep(m: Floats, n: At, live: At, length: float, how: int) -> None:
    """Solve the column and write the new state; ARGS holds the live nodes' heat."""
    now, before, right = _node(NOW, n), _node(BEFORE, n), _node(RIGHT, n)
    capacity, own = _node(CAPACITY, n), _node(DIAGONAL, n)
    carry, up, args = _node(CARRY, n), _node(CARRY_UP, n), _room(ARGS, n, live)
    for q in range(live):
        m[right + q] = m[capacity + q] * m[now + q] + m[args + q]
    for q in range(live, n):
        m[right + q] = m[capacity + q] * m[now + q]
    for r in range(n // W - ONE):
        row = right + n - W - W - r * W
        part = m[up + r * W]
        for j in range(W):
            m[row + j] += part * m[row + W + j]
    for j in range(W):
        level, slope = m[LEVEL + j], m[SLOPE + j]
        warm = (m[right + j] + level) / (1.0 / m[own + j] + slope)
        flux = level - slope * warm
        gain = flux * length
        water = (m[WET + j] + m[DRAWN + j] * (warm + m[RESIST + j] * flux - m[TOP + j])) * length
        kept = water * (1.0 - m[SOAKED + j])
        film, bled = m[FILM + j], m[SUN + j]
        m[LEVEL + j] = warm
        m[FLUX + j] = flux
        m[FILM_BEFORE + j] = film
        m[FILM + j] = film + (bled - m[BLED + j]) - kept
        m[BLED + j] = bled
        m[GAINED + j] += gain
        m[GROSS + j] += abs(gain)
        m[LOST + j] += kept
    for j in range(W):
        m[right + j] = m[LEVEL + j]
    for r in range(n // W - ONE):
        row = right + W + r * W
        alone, part = m[own + W + r * W], m[carry + r * W]
        for j in range(W):
            m[row + j] = alone * m[row + j] + part * m[row - W + j]
    one, two = (2.0, -1.0) if how == WHOLE else (1.0, 0.0)
    for q in range(n):
        old = m[now + q]
        m[now + q] = one * m[right + q] + two * old
        m[before + q] = old


@_compiled
def advance(m: Floats, bits: Bits, n: At, live: At, how: int, dt: float, row: Floats, c: Floats) -> None:
    """Take one step of a block in place, as step.step does.

    `m`: the flat array, `bits` the same memory; `n`, `live` nodes x WIDTH. `how`: WHOLE for a midpoint step
    of `dt` [s]; TRY, AGAIN for a backward half step, the latter with TOP, THERE and TRIED from a first try.
    `row` (8,) is the weather, `c` the constants.
    """
    args, made, part = _room(ARGS, n, live), _room(MADE, n, live), _room(PART, n, live)
    now, before, energy = _node(NOW, n), _node(BEFORE, n), _live(L_ENERGY, n, live)
    length = dt if how == WHOLE else 0.5 * dt
    share = 0.5 if how == WHOLE else 0.0
    _meet_air(m, row, c)
    if how != AGAIN:
        for j in range(W):
            m[TOP + j] = m[now + j] + share * (m[now + j] - m[before + j])
        for j in range(W):
            m[THERE + j] = m[FILM + j] + share * (m[FILM + j] - m[FILM_BEFORE + j])
    esa, esb = c[ESA], c[ESB]
    for j in range(W):
        outer = m[TOP + j] + m[RESIST + j] * m[FLUX + j]
        m[TOP + j] = outer
        m[args + live + j] = esa * outer / (outer + esb)
        m[args + live + W + j] = min(m[THERE + j], 0.0) / m[DRYING + j]
        m[args + live + W + W + j] = esa * m[WATER + j] / (m[WATER + j] + esb)
    reference = 1.0 / c[REFERENCE]
    one, two = (0.5, 0.5) if how == AGAIN else (1.0 + share, -share)
    other = _node(TRIED, n) if how == AGAIN else before
    for q in range(live):
        kelvin = one * m[now + q] + two * m[other + q] + 273.15
        m[args + q] = m[energy + q] * (reference - 1.0 / kelvin)
    exponential(m, bits, args, made, part, live + W + W + W)
    es0 = c[ES0]
    for j in range(W):
        m[SLOPE + j] = es0 * m[made + live + j]
        m[THERE + j] = m[made + live + W + j]
        m[WATER + j] = es0 * m[made + live + W + W + j]
    _hydrate(m, bits, n, live, length, row, c)
    _balance(m, c)
    _sweep(m, n, live, length, how)


@_compiled
def _skin_at(m: Floats, k: int, dt: float, base: Floats, at: Floats, to: Floats, damped: int) -> int:
    """Write the surface of step k, and 1.0 to FRESH where it has just changed; returns how many have."""
    for j in range(W):
        m[RESIST + j], m[PASS + j], m[ABSORB + j], m[SOAKED + j] = base[0], base[1], base[2], base[3]
        m[FRESH + j] = 1.0 if k < damped else 0.0
    for n in range(at.shape[0]):
        for j in range(W):
            begun = (k + 1) * dt - at[n, j]
            part = min(max(begun / dt, 0.0), 1.0)
            m[RESIST + j] += part * (to[n, 0] - m[RESIST + j])
            m[PASS + j] += part * (to[n, 1] - m[PASS + j])
            m[ABSORB + j] += part * (to[n, 2] - m[ABSORB + j])
            m[SOAKED + j] += part * (to[n, 3] - m[SOAKED + j])
            if begun > 0.0 and begun <= damped * dt:
                m[FRESH + j] = 1.0
    count = 0
    for j in range(W):
        count += int(m[FRESH + j])
    return count


@_compiled
def _damped(
    m: Floats, bits: Bits, n: At, live: At, step: int, dt: float, weather: Floats, c: Floats, count: int
) -> None:
    """Take a step in which `count` lanes change: those as two backward half steps, each tried once before."""
    tried, now, before = _node(TRIED, n), _node(NOW, n), _node(BEFORE, n)
    begun = m.copy()
    for half in range(2):
        row = weather[2 * step + 1 + half]
        then = m.copy()
        advance(m, bits, n, live, TRY, dt, row, c)
        for q in range(n):
            then[tried + q] = m[now + q]
        for j in range(W):
            then[TOP + j], then[THERE + j] = m[now + j], m[FILM + j]
        m[:] = then
        advance(m, bits, n, live, AGAIN, dt, row, c)
    for q in range(n):
        m[before + q] = begun[now + q]
    for j in range(W):
        m[FILM_BEFORE + j] = begun[FILM + j]
    if count == WIDTH:
        return
    # the lanes that did not change take a whole step; every row of the array is of WIDTH lanes
    ended = m.copy()
    m[:] = begun
    advance(m, bits, n, live, WHOLE, dt, weather[2 * step + 1], c)
    for q in range(U(m.size)):
        if ended[FRESH + q % W] > 0.0:
            m[q] = ended[q]


@_compiled
def _weighed(m: Floats, weights: At, values: At, size: At, total: At) -> At:
    """Return where the lanes' sums of weights x values begin."""
    for j in range(W):
        m[total + j] = 0.0
    for q in range(size):
        m[total + W + q] = m[total + q] + m[weights + q] * m[values + q]
    return total + size


@_compiled
def _held(m: Floats, n: At, live: At, heat: Floats, done: Floats) -> None:
    """Write the heat that each lane holds [J/m2] and its degree of hydration times depth [m]."""
    store, now = _node(STORE, n), _node(NOW, n)
    for j in range(W):
        heat[j] = 0.0
    for q in range(n):
        heat[q % W] += m[store + q] * m[now + q]
    at = _weighed(m, _live(OWNED, n, live), _live(DEGREE, n, live), live, _room(SUM, n, live))
    for j in range(W):
        done[j] = m[at + j]


@_compiled
def _kept(m: Floats, n: At, live: At, step: int, rows: Floats) -> None:
    """Write a row of the trace."""
    now, total, part = _node(NOW, n), _room(SUM, n, live), _room(PART, n, live)
    top = _weighed(m, _live(TOP_INCH, n, live), _live(AGE, n, live), live, total)
    for j in range(W):
        rows[0, step, j] = m[top + j]
    mean = _weighed(m, _live(MEAN, n, live), now, live, total)
    line = _weighed(m, _live(TILT, n, live), now, live, part)
    for j in range(W):
        rows[1, step, j] = m[MEAN_AGE + j]
        rows[2, step, j] = m[now + j]
        rows[3, step, j] = m[mean + j]
        rows[4, step, j] = m[line + j]
        rows[5, step, j] = m[FILM + j]
        rows[6, step, j] = m[BLED + j]


@_compiled
def _laid_out(own: Floats, begin: Floats, column: Floats, lived: Floats, n: At, live: At) -> Floats:
    """Return the flat array at placing."""
    m = np.ones(int(_room(ROOMS, n, live)))
    for r in range(OWN_ROWS):
        for j in range(W):
            m[U(r) * W + j] = own[r, j]
    for q in range(n):
        i, lane = q // W, q % W
        for r in range(COLUMN_ROWS):
            m[_node(U(r), n) + q] = column[r, i]
        m[_node(NOW, n) + q] = m[_node(BEFORE, n) + q] = begin[i, lane]
    for q in range(live):
        i, lane = q // W, q % W
        for r in range(4):
            m[_live(U(r), n, live) + q] = lived[r, i]
        for r in range(5):
            m[_live(L_ULT + U(r), n, live) + q] = own[r, lane]
        te = m[TE0 + lane]
        m[_live(AGE, n, live) + q] = te
        power = np.exp(m[BETA + lane] * (m[LOG_TAU + lane] - np.log(te)))
        m[_live(DEGREE, n, live) + q] = m[ULTIMATE + lane] * np.exp(-power)
    for q in range(FLUX, NODES):
        m[q] = 0.0
    for j in range(W):
        m[MEAN_AGE + j] = m[TE0 + j]
    return m


@_compiled
def block(
    weather: Floats,
    own: Floats,
    begin: Floats,
    base: Floats,
    at: Floats,
    to: Floats,
    c: Floats,
    column: Floats,
    lived: Floats,
    dt: float,
    damped: int,
    rows: Floats,
    totals: Floats,
    profile: Floats,
) -> None:
    """Run a block of WIDTH lanes of one panel from placing to the end.

    :param weather: (2 steps + 1, 8) at half steps; `own` (13, WIDTH); `begin` (n, WIDTH) [degC].
    :param base: (4,) of the first surface; `at` (switches, WIDTH) [s]; `to` (switches, 4).
    :param column: (5, n) in the order of CAPACITY and so on; `lived` (4, live) in that of MEAN and so on.
    :param damped: steps taken as backward half steps after a change.

    Writes rows (7, steps + 1, WIDTH), totals (5, WIDTH) and profile (rows, n, WIDTH); see kernel.Trace.
    """
    n, live = U(begin.shape[0]) * W, U(lived.shape[1]) * W
    steps = (weather.shape[0] - 1) // 2
    m = _laid_out(own, begin, column, lived, n, live)
    bits = m.view(np.int64)
    now = _node(NOW, n)
    _held(m, n, live, totals[0], totals[2])
    for step in range(steps + 1):
        _kept(m, n, live, step, rows)
        if profile.shape[0] > 1 or step == steps:
            for i in range(begin.shape[0]):
                for j in range(W):
                    profile[step if profile.shape[0] > 1 else 0, i, j] = m[now + U(i) * W + j]
        if step == steps:
            break
        count = _skin_at(m, step, dt, base, at, to, damped)
        if count == 0:
            advance(m, bits, n, live, WHOLE, dt, weather[2 * step + 1], c)
        else:
            _damped(m, bits, n, live, step, dt, weather, c, count)
    held, done = np.empty(WIDTH), np.empty(WIDTH)
    _held(m, n, live, held, done)
    for j in range(W):
        totals[0, j] = held[j] - totals[0, j]
        totals[1, j] = m[GAINED + j]
        totals[2, j] = m[HEAT + j] * (done[j] - totals[2, j])
        totals[3, j] = m[LOST + j]
        totals[4, j] = m[GROSS + j]
