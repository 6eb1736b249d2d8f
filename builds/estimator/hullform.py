"""The parametric hull: what it displaces up to a trimmed waterline, for several forms of one hull at once.

Half-breadth y(x, z) = (B/2) f(x) g(z) for 0 <= z <= D, with f = 1 - |2(x - L/2)/L|^n and g = 1 - (1 - z/D)^p; n is the
waterplane exponent, p the section exponent. n = p = 2 is the Wigley form seen from the keel; n and p without bound, the
box.

Inside, everything is a share: s = 2(x - L/2)/L from -1 at the bow to 1 at the stern, u = z/D from 0 at the keel to 1 at
the gunwale, volumes as shares of B L D, and the waterline u_w(s) = level + slope * s. So one solver serves every size.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

STRIPS = 400

Array = NDArray[np.float64]


def strips() -> tuple[Array, Array]:
    """Return the middles s of the strips and their widths as shares of the length, both of shape (400,).

    The strips narrow towards the ends (edges at the sine of even steps), where a full form falls to nothing within a
    few millimetres; mid-point rule on each.
    """
    edges = np.sin(np.linspace(-np.pi / 2, np.pi / 2, STRIPS + 1))
    return (edges[1:] + edges[:-1]) / 2, np.diff(edges) / 2


ALONG, WIDTH = strips()
POWERS = np.stack([np.ones(STRIPS), ALONG, ALONG * ALONG], axis=1)
"""1, s and s^2 on every strip: one product with it sums a figure and its two moments along the hull."""


def sections(u: Array, p: Array) -> tuple[Array, Array, Array]:
    """Return area, first moment about the keel, and breadth of the unit section up to the level u.

    Parameters: u, levels as shares of the depth, 0 to 1; p, section exponents, >= 1, of a shape that fits u.

    area = u - (1 - (1-u)^(p+1))/(p+1)                                       [B f D]
    moment = u^2/2 - (1 - (1-u)^(p+1))/(p+1) + (1 - (1-u)^(p+2))/(p+2)       [B f D^2]
    breadth = 1 - (1-u)^p                                                    [B f]

    References: integrals of the hull family in closed form, derived; the Wigley and box closed forms are the checks.
    """
    above = 1 - u
    with np.errstate(divide="ignore"):
        fallen = np.expm1(p * np.log1p(-u))  # (1-u)^p - 1, exact for the thinnest film of water
    area = (p * u + fallen * above) / (p + 1)
    once = fallen * above - u  # (1-u)^(p+1) - 1
    moment = u * u / 2 + once / (p + 1) - (once * above - u) / (p + 2)
    return area, moment, -fallen


@dataclass(frozen=True)
class Hydrostatics:
    """Figures of each form at its waterline, each of shape (forms,).

    Displaced volume [m3]; its centre, x aft of the bow tip and z above the keel [m]; waterplane area [m2]; second
    moment of the waterplane about the centreline [m4].
    """

    volume_m3: Array
    centre_x_m: Array
    centre_z_m: Array
    waterplane_m2: Array
    inertia_m4: Array


@dataclass(frozen=True)
class Forms:
    """Forms of one hull: length, beam and depth [m]; the exponents n and p, one pair a form, of shape (forms,)."""

    length_m: float
    beam_m: float
    depth_m: float
    n: Array
    p: Array

    @cached_property
    def fullness(self) -> Array:
        """f at every strip, of shape (forms, strips)."""
        first, place = np.unique(self.n, return_inverse=True)
        full: Array = 1 - np.abs(ALONG) ** first[:, None]
        return full[place.ravel()]

    @cached_property
    def share(self) -> Array:
        """f times the strip's width, of shape (forms, strips)."""
        return self.fullness * WIDTH

    @cached_property
    def waterplane(self) -> Array:
        """Waterplane coefficient at the gunwale: the mean of f, n/(n+1), by the strips; of shape (forms,)."""
        total: Array = self.share.sum(axis=1)
        return total

    @property
    def block_m3(self) -> float:
        """B L D [m3]."""
        return self.beam_m * self.length_m * self.depth_m

    def only(self, which: Array | list[int]) -> "Forms":
        """Return some of the forms, by their indices."""
        return Forms(self.length_m, self.beam_m, self.depth_m, self.n[which], self.p[which])

    def full_share(self) -> Array:
        """Return the volume up to the gunwale as a share of B L D, of shape (forms,)."""
        full: Array = self.waterplane * self.p / (self.p + 1)
        return full

    def hydrostatics(self, draft_mid_m: Array, tan_trim: Array) -> Hydrostatics:
        """Return the figures at the waterlines z_w(x) = T + (x - L/2) tan(theta), clipped to 0..D.

        Parameters: draft_mid_m, T of shape (forms,) [m]; tan_trim, tan(theta) of shape (forms,), stern-down positive.

        V = sum of A dx; I = sum of (2/3) y_w^3 dx; at least 400 strips, mid-point.

        References: hydrostatics, general physics; closed sections as in `sections`.
        """
        level = draft_mid_m / self.depth_m
        slope = tan_trim * self.length_m / (2 * self.depth_m)
        u = np.clip(level[:, None] + ALONG * slope[:, None], 0, 1)
        area, moment, breadth = sections(u, self.p[:, None])
        areas = (self.share * area) @ POWERS[:, :2]
        volume = areas[:, 0] * self.block_m3
        wide = self.beam_m * self.fullness * breadth
        return Hydrostatics(
            volume_m3=volume,
            centre_x_m=self.length_m / 2 * (1 + ratio(areas[:, 1], areas[:, 0])),
            centre_z_m=self.depth_m * ratio((self.share * moment).sum(axis=1), areas[:, 0]),
            waterplane_m2=self.length_m * (wide @ WIDTH),
            inertia_m4=self.length_m * (wide**3 @ WIDTH) / 12,
        )


def ratio(a: Array, b: Array) -> Array:
    """Return a / b, 0 where there is nothing to divide by."""
    return np.divide(a, b, out=np.zeros_like(a), where=b > 0)


def gunwale_m(length_m: float, beam_m: float, n: float, x_m: float) -> float:
    """Return the half-breadth at the gunwale, (B/2) f(x) [m]; 0 outside the hull."""
    s = abs(2 * x_m / length_m - 1)
    return beam_m / 2 * (1 - s**n) if s < 1 else 0.0
