"""One step of the slab's heat, in place, for a block of lanes. See kernel.py for the scheme."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.measure import HOUR
from slabwright.pourday.forcing import Air
from slabwright.pourday.model import Floats
from slabwright.pourday.moist import KELVIN, menzel_factor, saturation
from slabwright.pourday.tables import rule

Lanes = NDArray[np.int64]
Flags = NDArray[np.bool_]
SWEEP = 384  # lanes from which sweeping is faster than multiplying


@dataclass(slots=True)
class State:
    """Everything that a step changes, lanes last.

    `temperature`, `before` (n, m) [degC] now and one step ago; `flux` (m,) [W/m2] into the surface;
    `te` [h], `degree` [-] (live, m); `te_mean` [h]; `bled`, `film`, `film_before`, `lost` [kg/m2];
    `gained`, `gross` [J/m2] through the surface, with and without sign.
    """

    temperature: Floats
    before: Floats
    flux: Floats
    te: Floats
    degree: Floats
    te_mean: Floats
    bled: Floats
    film: Floats
    film_before: Floats
    gained: Floats
    gross: Floats
    lost: Floats

    def part(self, lanes: Lanes) -> State:
        """Return a copy of some lanes."""
        return State(*(getattr(self, name)[..., lanes] for name in self.__slots__))

    def put(self, lanes: Lanes, part: State) -> None:
        """Write some lanes back."""
        for name in self.__slots__:
            getattr(self, name)[..., lanes] = getattr(part, name)


@dataclass(frozen=True, slots=True)
class Matrix:
    """The step's matrix 2 C/dt + L, factored from the bottom up, and inverted for a few lanes.

    `carry` [-] passes a node's right side up and its answer down; `own` (n, 1) [m2 K/W] is one over the
    diagonal left; `inverse` (n, n), `first` (n, 1) its first column.
    """

    carry: tuple[float, ...]
    own: Floats
    inverse: Floats
    first: Floats

    def solve(self, right: Floats, level: Floats, slope: Floats) -> tuple[Floats, Floats]:
        """Return temperatures (n, m) [degC] and the surface's flux (m,) [W/m2]; uses `right` up.

        The surface takes in level - slope x (its temperature). Sweeping costs two passes a node, which is
        less than the product with the inverse where there are many lanes and more where there are few.
        """
        n, m = right.shape
        if m < SWEEP:
            y = self.inverse @ right
            flux = level - slope * ((y[0] + self.first[0] * level) / (1.0 + self.first[0] * slope))
            y += self.first * flux
            return y, flux
        part = np.empty(m)
        for i in range(n - 2, -1, -1):
            np.multiply(right[i + 1], self.carry[i], out=part)
            right[i] += part
        top = (right[0] + level) / (1.0 / self.own[0] + slope)
        right *= self.own
        right[0] = top
        for i in range(n - 1):
            np.multiply(right[i], self.carry[i], out=part)
            right[i + 1] += part
        return right, level - slope * top


def factored(capacity: Floats, conductance: Floats) -> Matrix:
    """Return the matrix diag(capacity) + conduction; both [W/(m2 K)], (n,) and (n - 1,)."""
    n = capacity.size
    between = np.zeros(n + 1)
    between[1:-1] = conductance
    whole = np.diag(capacity + between[:-1] + between[1:])
    k = np.arange(n - 1)
    whole[k, k + 1] = whole[k + 1, k] = -conductance
    left = np.diag(whole).copy()
    carry = np.zeros(n - 1)
    for i in range(n - 2, -1, -1):
        carry[i] = conductance[i] / left[i + 1]
        left[i] -= conductance[i] * carry[i]
    inverse: Floats = np.asarray(np.linalg.inv(whole), dtype=float)
    return Matrix(tuple(carry.tolist()), (1.0 / left)[:, None], inverse, inverse[:, :1].copy())


@dataclass(frozen=True, slots=True)
class Fixed:
    """What stays the same for a block of lanes.

    `capacity` (n, 1) [W/(m2 K)] is 2 C/dt; `matrix` the step's matrix; `owned` (live, 1) [m] of concrete by
    node; `mean` (live,) weights; the rest (m,) by lane.
    """

    capacity: Floats
    matrix: Matrix
    owned: Floats
    mean: Floats
    ultimate: Floats
    log_tau: Floats
    beta: Floats
    heat: Floats
    energy: Floats
    te_0: Floats
    bleed: Floats
    bleed_time: Floats
    drying: Floats

    def part(self, lanes: Lanes) -> Fixed:
        """Return some lanes of it."""
        shared = ("capacity", "matrix", "owned", "mean")
        return Fixed(*(getattr(self, n) if n in shared else getattr(self, n)[lanes] for n in self.__slots__))


@dataclass(frozen=True, slots=True)
class Skin:
    """The surface during a step: resistance [m2 K/W], share of evaporation [-], absorbed sun [-].

    `soaked` [-] is 1.0 under a cover that is kept wet: it evaporates its own water, however dry the concrete.
    """

    resistance: Floats
    wet: Floats
    absorbed: Floats
    soaked: Floats

    def part(self, lanes: Lanes) -> Skin:
        """Return some lanes of it."""
        return Skin(*(getattr(self, name)[lanes] for name in self.__slots__))

    def toward(self, share: Floats, other: tuple[float, float, float, float]) -> Skin:
        """Return the surface a share [-] of the way to another one, in the order of the fields."""
        now = (self.resistance, self.wet, self.absorbed, self.soaked)
        return Skin(*(a + share * (b - a) for a, b in zip(now, other, strict=True)))


def constant(key: str) -> float:
    """Return a rule as the steps take it, for their compiled twin to take the same."""
    return rule(key)


def degree_of(te: Floats, p: Fixed) -> Floats:
    """Return the degree of hydration [-] at equivalent ages [h], without the slow general power."""
    u = np.log(te)
    np.subtract(p.log_tau, u, out=u)
    u *= p.beta
    np.exp(u, out=u)
    np.negative(u, out=u)
    np.exp(u, out=u)
    u *= p.ultimate
    return u


def step(
    s: State, p: Fixed, air: Air, skin: Skin, dt: float, *, half: bool = False, tried: State | None = None
) -> None:
    """Take one midpoint step of `dt` [s] in place; `half`: a backward half step instead.

    `air` is that of the middle of the step, which for a backward half step is its end. `tried` is the state
    after a first try of the same half step: what is not solved for is then taken from it.
    """
    live = p.owned.shape[0]
    now, film = s.temperature, s.film
    length = 0.5 * dt if half else dt
    right = p.capacity * now
    bled = s.bled
    if tried is not None:
        guess = 0.5 * (now[:live] + tried.temperature[:live])
        top, film = tried.temperature[0], tried.film
    elif half:
        guess, top = now[:live].copy(), now[0]
    else:
        guess = now[: max(live, 1)] - s.before[: max(live, 1)]
        guess *= 0.5
        guess += now[: max(live, 1)]
        top = guess[0].copy()
        film = film + 0.5 * (film - s.film_before)
    if live:
        _hydrate(s, p, guess, length, right[:live])
        bled = p.bleed * -np.expm1((p.te_0 - s.te_mean) / p.bleed_time)
    level, slope, wet, drawn, outer = _surface(top, film, s.flux, p, air, skin)
    y, s.flux = p.matrix.solve(right, level, slope)
    water = (wet + drawn * (y[0] + skin.resistance * s.flux - outer)) * length
    s.before, s.film_before = now, s.film
    if not half:
        y *= 2.0
        y -= now
    s.temperature = y
    own = water * (1.0 - skin.soaked)
    s.film = s.film + (bled - s.bled) - own
    s.bled = bled
    gain = s.flux * length
    s.gained = s.gained + gain
    s.gross = s.gross + np.abs(gain)
    s.lost = s.lost + own


def _hydrate(s: State, p: Fixed, guess: Floats, length: float, right: Floats) -> None:
    """Age the concrete over `length` [s] at the guessed temperatures; add its heat [W/m2] to `right`.

    Uses `guess` up.
    """
    guess += KELVIN
    rate = np.divide(p.energy, guess, out=guess)
    np.subtract(p.energy * (1.0 / rule("reference")), rate, out=rate)
    np.exp(rate, out=rate)
    rate *= length / HOUR
    s.te = s.te + rate
    s.te_mean = p.mean @ s.te
    degree = degree_of(s.te, p)
    heat = degree - s.degree
    heat *= p.heat / length
    heat *= p.owned
    right += heat
    s.degree = degree


def _surface(
    top: Floats, film: Floats, flux: Floats, p: Fixed, air: Air, skin: Skin
) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Return the surface's heat as level - slope x (its temperature) [W/m2], and its water.

    Water leaves at `wet` + `drawn` x (outer temperature - `outer`) [kg/(m2 s)]; `outer` [degC] is where all
    is linearised. A massless cover stands between the outer and the concrete's surface.
    """
    outer = top + skin.resistance * flux
    kelvin = outer + KELVIN
    black = rule("emissivity") * rule("stefan") * kelvin**3
    pressure = saturation(outer)
    climb = pressure * (rule("es_a") * rule("es_b")) / (outer + rule("es_b")) ** 2
    lack = pressure - air.vapour
    # water that condenses is not held back by a dry surface
    open_ = np.where(lack < 0.0, 1.0, np.exp(np.minimum(film, 0.0) / p.drying))
    open_ = open_ + skin.soaked * (1.0 - open_)
    gate = menzel_factor(air.wind) * skin.wet * open_
    wet, drawn = gate * lack, gate * climb
    stir = rule("convection_still") + rule("convection_wind") * air.wind
    level = skin.absorbed * air.sun + rule("emissivity") * air.sky - black * kelvin
    level = level + stir * (air.temperature - outer) - rule("latent_heat") * wet
    slope = 4.0 * black + stir + rule("latent_heat") * drawn
    eased = 1.0 / (1.0 + slope * skin.resistance)
    return (level + slope * outer) * eased, slope * eased, wet, drawn, outer
