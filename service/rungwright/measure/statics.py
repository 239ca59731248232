"""Textbook statics of thin sticks, tubes and sheets.

Units throughout: N, mm, MPa (N/mm2), N mm, radians only where said. Arguments are numbers or arrays that broadcast.
Every function raises ValueError when a size, stiffness or strength that must be above 0 is not.

Sources
[1] efunda.com, columns: Euler's formula and the K of the ends.
[2] A. G. Greenhill (1881), self-buckling; as given in encyclopedia articles.
[3] anaStruct, tests/test_analytical.py: beam formulas.
[4] section-properties, rectangle test: bending stress of a rectangle.
[5] shellbuckling.com: thin tube under axial compression.
[6] NASA SP-8007, knockdown of thin tubes; second hand.
[7] Derived from equilibrium or geometry; worked values in the tests.
[8] engineersedge.com: plate rigidity.
"""

from __future__ import annotations

from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "END_FACTORS",
    "a_frame_friction_needed",
    "a_frame_ridge_load_at_slip",
    "a_frame_thrust",
    "above_zero",
    "beam_centre_load",
    "beam_even_load",
    "beam_patch_moment",
    "bending_stress",
    "cantilever_even_load",
    "cantilever_tip_load",
    "euler_load",
    "fixed_beam_even_load",
    "folded_plate_inertia",
    "leaning_poles",
    "plate_rigidity",
    "rectangle_inertia",
    "rectangle_modulus",
    "self_buckling_length",
    "tube_inertia",
    "wrinkling_knockdown",
    "wrinkling_stress",
]

END_FACTORS = MappingProxyType({"pin_pin": 1.0, "fix_fix": 0.5, "fix_free": 2.0, "fix_pin": 0.699})
"""K by how the two ends are held [1]; fix_pin solves tan u = u, u = 4.4934."""

Array = NDArray[np.float64]


def above_zero(**values: ArrayLike) -> None:
    """Raises ValueError that names the first value that is not above 0 throughout."""
    for name, value in values.items():
        if not np.all(np.asarray(value) > 0):
            raise ValueError(f"{name} must be above 0, not {value!r}")


def _leaning(angle_deg: ArrayLike) -> Array:
    """An angle from the horizontal in radians; ValueError outside 0..90 exclusive."""
    a = np.asarray(angle_deg, float)
    if not np.all((a > 0) & (a < 90)):
        raise ValueError(f"angle_deg must lie between 0 and 90, not {angle_deg!r}")
    return np.radians(a)


def euler_load(*, e: ArrayLike, inertia: ArrayLike, length: ArrayLike, k: ArrayLike = 1.0) -> Array:
    """Load at which a straight column buckles [N]: pi^2 E I / (K L)^2 [1]. E [MPa], I [mm4], L [mm]."""
    above_zero(e=e, inertia=inertia, length=length, k=k)
    return np.pi**2 * np.asarray(e) * inertia / (np.asarray(k) * length) ** 2


def self_buckling_length(*, e: ArrayLike, inertia: ArrayLike, weight_per_length: ArrayLike) -> Array:
    """Height at which an upright pole fixed at its foot buckles under itself [mm]: (7.8373 E I / w)^(1/3) [2].

    E [MPa], I [mm4], weight per length w = rho g A [N/mm].
    """
    above_zero(e=e, inertia=inertia, weight_per_length=weight_per_length)
    return np.cbrt(7.8373 * np.asarray(e) * inertia / weight_per_length)


def beam_centre_load(*, load: ArrayLike, span: ArrayLike, e: ArrayLike, inertia: ArrayLike) -> tuple[Array, Array]:
    """Largest moment P L / 4 [N mm] and sag P L^3 / 48 E I [mm], ends simply supported [3]."""
    above_zero(span=span, e=e, inertia=inertia)
    p, length = np.asarray(load, float), np.asarray(span, float)
    return p * length / 4, p * length**3 / (48 * np.asarray(e) * inertia)


def beam_even_load(
    *, load_per_length: ArrayLike, span: ArrayLike, e: ArrayLike, inertia: ArrayLike
) -> tuple[Array, Array]:
    """Largest moment w L^2 / 8 [N mm] and sag 5 w L^4 / 384 E I [mm], ends simply supported [3]. w [N/mm]."""
    above_zero(span=span, e=e, inertia=inertia)
    w, length = np.asarray(load_per_length, float), np.asarray(span, float)
    return w * length**2 / 8, 5 * w * length**4 / (384 * np.asarray(e) * inertia)


def beam_patch_moment(*, load: ArrayLike, span: ArrayLike, patch: ArrayLike) -> Array:
    """Largest moment [N mm] of a load spread over a patch at the middle of the span: P (L/4 - a/8) [7].

    `patch` a [mm] from 0 (a point, P L / 4) to the span (even load, P L / 8); ValueError outside.
    """
    above_zero(span=span)
    a, length = np.asarray(patch, float), np.asarray(span, float)
    if not np.all((a >= 0) & (a <= length)):
        raise ValueError(f"patch must lie between 0 and the span, not {patch!r}")
    return np.asarray(load) * (length / 4 - a / 8)


def fixed_beam_even_load(
    *, load_per_length: ArrayLike, span: ArrayLike, e: ArrayLike, inertia: ArrayLike
) -> tuple[Array, Array]:
    """Moment w L^2 / 12 at the ends [N mm] and sag w L^4 / 384 E I [mm], both ends held fast [3]. w [N/mm]."""
    above_zero(span=span, e=e, inertia=inertia)
    w, length = np.asarray(load_per_length, float), np.asarray(span, float)
    return w * length**2 / 12, w * length**4 / (384 * np.asarray(e) * inertia)


def cantilever_tip_load(*, load: ArrayLike, length: ArrayLike, e: ArrayLike, inertia: ArrayLike) -> tuple[Array, Array]:
    """Moment P L at the root [N mm] and sag P L^3 / 3 E I at the tip [mm] [3]."""
    above_zero(length=length, e=e, inertia=inertia)
    p, span = np.asarray(load, float), np.asarray(length, float)
    return p * span, p * span**3 / (3 * np.asarray(e) * inertia)


def cantilever_even_load(
    *, load_per_length: ArrayLike, length: ArrayLike, e: ArrayLike, inertia: ArrayLike
) -> tuple[Array, Array]:
    """Moment w L^2 / 2 at the root [N mm] and sag w L^4 / 8 E I at the tip [mm] [3]. w [N/mm]."""
    above_zero(length=length, e=e, inertia=inertia)
    w, span = np.asarray(load_per_length, float), np.asarray(length, float)
    return w * span**2 / 2, w * span**4 / (8 * np.asarray(e) * inertia)


def rectangle_inertia(*, width: ArrayLike, thickness: ArrayLike) -> Array:
    """Second moment of area b t^3 / 12 [mm4], bent across the thickness."""
    above_zero(width=width, thickness=thickness)
    return np.asarray(width) * np.asarray(thickness, float) ** 3 / 12


def rectangle_modulus(*, width: ArrayLike, thickness: ArrayLike) -> Array:
    """Section modulus b t^2 / 6 [mm3], so that bending stress is 6 M / (b t^2) [4]."""
    above_zero(width=width, thickness=thickness)
    return np.asarray(width) * np.asarray(thickness, float) ** 2 / 6


def bending_stress(*, moment: ArrayLike, modulus: ArrayLike) -> Array:
    """Stress at the outer fibre M / Z [MPa]; modulus Z = I / c [mm3]."""
    above_zero(modulus=modulus)
    return np.asarray(moment) / np.asarray(modulus)


def tube_inertia(*, outer_diameter: ArrayLike, wall: ArrayLike) -> Array:
    """Second moment of area of a tube, pi (D^4 - d^4) / 64 [mm4], exact; the wall is at most the radius."""
    above_zero(outer_diameter=outer_diameter, wall=wall)
    outer = np.asarray(outer_diameter, float)
    inner = outer - 2 * np.asarray(wall, float)
    if not np.all(inner >= 0):
        raise ValueError("wall must be at most half the outer diameter")
    return np.pi * (outer**4 - inner**4) / 64


def wrinkling_stress(*, e: ArrayLike, wall: ArrayLike, radius: ArrayLike) -> Array:
    """Stress at which a perfect thin tube wrinkles, 0.605 E t / R [MPa], Poisson's ratio 0.3 [5]."""
    above_zero(e=e, wall=wall, radius=radius)
    return 0.605 * np.asarray(e) * wall / np.asarray(radius)


def wrinkling_knockdown(*, wall: ArrayLike, radius: ArrayLike) -> Array:
    """What real tubes reach of it, 1 - 0.901 (1 - exp(-sqrt(R/t) / 16)) [6]; for R/t up to 1500, ValueError above."""
    above_zero(wall=wall, radius=radius)
    slender = np.asarray(radius) / np.asarray(wall)
    if not np.all(slender <= 1500):
        raise ValueError("radius over wall must be at most 1500")
    return 1 - 0.901 * (1 - np.exp(-np.sqrt(slender) / 16))


def folded_plate_inertia(*, pitch: ArrayLike, depth: ArrayLike, thickness: ArrayLike, facets: ArrayLike) -> Array:
    """Second moment of area of a zigzag sheet [mm4]: facets times t l h^2 / 12, l = sqrt((p/2)^2 + h^2) [7].

    `pitch` p is one fold and back (two facets), `depth` h from crest to trough, all mm. Thin sheets: t well below h.
    """
    above_zero(pitch=pitch, depth=depth, thickness=thickness, facets=facets)
    slope = np.hypot(np.asarray(pitch, float) / 2, depth)
    return np.asarray(facets) * np.asarray(thickness) * slope * np.asarray(depth, float) ** 2 / 12


def plate_rigidity(*, e: ArrayLike, thickness: ArrayLike, poisson: ArrayLike = 0.3) -> Array:
    """D = E t^3 / (12 (1 - nu^2)) [N mm] [8]; Poisson's ratio from 0 to below 1."""
    above_zero(e=e, thickness=thickness)
    nu = np.asarray(poisson, float)
    if not np.all((nu >= 0) & (nu < 1)):
        raise ValueError("poisson must lie from 0 to below 1")
    return np.asarray(e) * np.asarray(thickness, float) ** 3 / (12 * (1 - nu**2))


def a_frame_thrust(*, ridge_load: ArrayLike, panel_weight: ArrayLike, angle_deg: ArrayLike) -> tuple[Array, Array]:
    """Outward thrust H = (W + P) / (2 tan t) and upright reaction V = W + P/2 at each foot [N] [7].

    Two panels of weight W each lean at t degrees from the horizontal with a load P on the ridge.
    """
    tan = np.tan(_leaning(angle_deg))
    w, p = np.asarray(panel_weight, float), np.asarray(ridge_load, float)
    return (w + p) / (2 * tan), w + p / 2


def a_frame_friction_needed(*, ridge_load: ArrayLike, panel_weight: ArrayLike, angle_deg: ArrayLike) -> Array:
    """Friction coefficient at which the feet just stay, H / V [7]; ValueError when nothing weighs."""
    thrust, upright = a_frame_thrust(ridge_load=ridge_load, panel_weight=panel_weight, angle_deg=angle_deg)
    above_zero(weight=upright)
    return thrust / upright


def a_frame_ridge_load_at_slip(*, panel_weight: ArrayLike, angle_deg: ArrayLike, friction: ArrayLike) -> Array:
    """Ridge load at which untied feet slide [N] [7]: 0 where they slide by themselves, infinite where they never do."""
    above_zero(panel_weight=panel_weight)
    half_cot = 1 / (2 * np.tan(_leaning(angle_deg)))
    mu, w = np.asarray(friction, float), np.asarray(panel_weight, float)
    spare = half_cot - mu / 2
    held = spare > 0
    load = w * (mu - half_cot) / np.where(held, spare, 1.0)
    return np.where(held, np.maximum(load, 0.0), np.inf)


def leaning_poles(
    *, load: ArrayLike, height: ArrayLike, foot_radius: ArrayLike, poles: ArrayLike
) -> tuple[Array, Array, Array]:
    """Poles that meet at a top: force along each, outward thrust of each foot [N], and friction needed r / h [7]."""
    above_zero(height=height, foot_radius=foot_radius, poles=poles)
    w, h, r = np.asarray(load, float), np.asarray(height, float), np.asarray(foot_radius, float)
    each = w / np.asarray(poles)
    return each * np.hypot(h, r) / h, each * r / h, r / h
