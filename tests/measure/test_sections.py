"""Second moments of area against a general section-analysis library, sectionproperties (finite-element mesh)."""

import numpy as np
import pytest

from rungwright.measure import statics
from rungwright.measure.spans import box_section

pytest.importorskip("sectionproperties")
from sectionproperties.analysis import Section
from sectionproperties.pre import Geometry
from sectionproperties.pre.library import circular_hollow_section, rectangular_section
from shapely import LineString


def meshed(geometry) -> float:
    """Second moment of area about the level axis through the centroid."""
    geometry.create_mesh(mesh_sizes=[0.5])
    section = Section(geometry)
    section.calculate_geometric_properties()
    return section.get_ic()[0]


def test_rectangle_and_tube():
    assert statics.rectangle_inertia(width=10, thickness=2) == pytest.approx(meshed(rectangular_section(d=2, b=10)))
    tube = circular_hollow_section(d=40, t=2, n=256)
    assert statics.tube_inertia(outer_diameter=40, wall=2) == pytest.approx(meshed(tube), rel=1e-3)


def test_box_of_four_sticks():
    flat, edge = rectangular_section(d=2, b=10), rectangular_section(d=10, b=2)
    box = flat.shift_section(y_offset=-2) + flat.shift_section(y_offset=10) + edge + edge.shift_section(x_offset=8)
    inertia, modulus, first_moment = box_section(np.array(10.0), np.array(2.0))
    assert inertia == pytest.approx(meshed(box))
    assert modulus == pytest.approx(inertia / 7)
    assert first_moment == pytest.approx(10 * 2 * 6)


@pytest.mark.parametrize(
    ("pitch", "depth", "thickness", "facets"), [(20, 8, 0.2, 8), (20, 10, 0.1, 8), (30, 6, 0.3, 4)]
)
def test_folded_sheet(pitch, depth, thickness, facets):
    points = [(i * pitch / 2, depth * (i % 2)) for i in range(facets + 1)]
    sheet = LineString(points).buffer(thickness / 2, cap_style="flat", join_style="mitre")
    inertia = statics.folded_plate_inertia(pitch=pitch, depth=depth, thickness=thickness, facets=facets)
    # The formula takes facets as thin lines: it leaves out the corners and t^2 beside h^2.
    assert inertia == pytest.approx(meshed(Geometry(sheet)), rel=0.02)
