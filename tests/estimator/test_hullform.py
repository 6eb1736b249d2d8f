"""The hull's volume, centre and waterplane against closed forms, published examples and a meshed hull."""

import numpy as np
import pytest
import trimesh

from builds.estimator.hullform import ALONG, STRIPS, WIDTH, Forms, gunwale_m, sections
from tests.estimator.electrics import reference_rows

BOX = 1e6


def forms(length_m, beam_m, depth_m, *exponents):
    n, p = zip(*exponents, strict=True)
    return Forms(length_m, beam_m, depth_m, np.array(n, float), np.array(p, float))


def afloat(length_m, beam_m, depth_m, n, p, draft_m, tan_trim=0.0):
    return forms(length_m, beam_m, depth_m, (n, p)).hydrostatics(np.array([draft_m]), np.array([tan_trim]))


# Closed forms of the Wigley hull: wigley_hull_closed_form.csv (derived there; block and waterplane coefficient also
# known from memory of the standard hull), numbers for L 4.0 m, B 0.60 m, T 0.12 m.
WIGLEY = {row["quantity"]: row["value_for_L4_B0p6_T0p12"] for row in reference_rows("wigley_hull_closed_form")}


@pytest.mark.parametrize(
    ("quantity", "figure"),
    [
        ("volume", lambda h: h.volume_m3),
        ("waterplane area", lambda h: h.waterplane_m2),
        ("KB above keel", lambda h: h.centre_z_m),
        ("transverse second moment", lambda h: h.inertia_m4),
        ("BM transverse", lambda h: h.inertia_m4 / h.volume_m3),
        ("mass in fresh water 1000 kg/m3", lambda h: 1000 * h.volume_m3),
        ("mass in sea water 1025 kg/m3", lambda h: 1025 * h.volume_m3),
        ("block coefficient", lambda h: h.volume_m3 / (4.0 * 0.6 * 0.12)),
        ("waterplane coefficient", lambda h: h.waterplane_m2 / (4.0 * 0.6)),
    ],
)
def test_both_exponents_two_are_the_wigley_hull_within_a_thousandth(quantity, figure):
    at = afloat(4.0, 0.60, 0.12, 2, 2, draft_m=0.12)
    assert figure(at)[0] == pytest.approx(float(WIGLEY[quantity]), rel=1e-3)


# Boxes: hydrostatics_examples.csv, rows h2, h3, h7 (published on marinegyaan.com), tonnes and metres.
@pytest.mark.parametrize(
    ("row", "length_m", "beam_m", "draft_m", "density"),
    [("h2", 120, 15, 5, 1.005), ("h3", 120, 15, 4, 1.025), ("h7", 100, 14, 8.5, 1.025)],
)
def test_great_exponents_are_the_published_boxes_within_a_thousandth(row, length_m, beam_m, draft_m, density):
    published = {
        one["id"]: float(one["published"]) for one in reference_rows("hydrostatics_examples") if one["published"]
    }
    at = afloat(length_m, beam_m, 12.0, BOX, BOX, draft_m)
    assert density * at.volume_m3[0] == pytest.approx(float(published[row]), rel=1e-3)
    assert at.waterplane_m2[0] == pytest.approx(length_m * beam_m, rel=1e-3)
    assert at.centre_z_m[0] == pytest.approx(draft_m / 2, rel=1e-3)
    # BM of a box is B^2 / (12 T): every handbook.
    assert at.inertia_m4[0] / at.volume_m3[0] == pytest.approx(beam_m**2 / (12 * draft_m), rel=1e-3)


def test_reserve_buoyancy_of_the_published_box():
    # hydrostatics_examples.csv h8: L 50, B 10, depth 7, 2000 t in fresh water leaves 42.857 % above the water.
    hull = forms(50, 10, 7, (BOX, BOX))
    assert 1 - 2000 / (hull.full_share()[0] * hull.block_m3) == pytest.approx(0.42857, rel=1e-3)


@pytest.mark.parametrize("exponent", [1, 1.05, 1.5, 2.6, 8, 40, 300, 5_000, BOX])
def test_the_strips_hold_the_waterplane_at_every_exponent_within_a_thousandth(exponent):
    # Closed form: the mean of 1 - |s|^n is n / (n + 1); its mean cube is 1 - 3/(n+1) + 3/(2n+1) - 1/(3n+1).
    n = exponent
    hull = forms(3.7, 0.84, 0.36, (n, 4))
    assert hull.waterplane[0] == pytest.approx(n / (n + 1), rel=1e-3)
    cubed = (hull.fullness[0] ** 3) @ WIDTH
    assert cubed == pytest.approx(1 - 3 / (n + 1) + 3 / (2 * n + 1) - 1 / (3 * n + 1), rel=1e-3)
    assert (hull.fullness[0] * ALONG**2) @ WIDTH == pytest.approx(1 / 3 - 1 / (n + 3), rel=1e-3)


def test_there_are_at_least_four_hundred_strips_and_they_make_up_the_length():
    assert STRIPS >= 400
    assert WIDTH.sum() == pytest.approx(1, rel=1e-12)


@pytest.mark.parametrize("p", [1, 1.3, 2, 4.2, 30, 500])
@pytest.mark.parametrize("u", [1e-6, 0.01, 0.3, 0.7, 1.0])
def test_section_area_and_moment_are_the_integrals_of_the_breadth(p, u):
    # Gauss-Legendre over the breadth, in pieces that are short where the section is blunt.
    nodes, weights = np.polynomial.legendre.leggauss(40)
    edges = u * np.linspace(0, 1, 41) ** 3
    z = (edges[1:, None] + edges[:-1, None]) / 2 + nodes * (edges[1:, None] - edges[:-1, None]) / 2
    dz = weights * (edges[1:, None] - edges[:-1, None]) / 2
    breadth = -np.expm1(p * np.log1p(-z))
    area, moment, top = sections(np.array([u]), np.array([float(p)]))
    assert area[0] == pytest.approx((breadth * dz).sum(), rel=1e-9)
    assert moment[0] == pytest.approx((breadth * z * dz).sum(), rel=1e-6, abs=1e-16)
    assert top[0] == pytest.approx(1 - (1 - u) ** p, rel=1e-9)


def meshed(length_m, beam_m, depth_m, n, p):
    """The hull as a closed mesh: sides, a flat deck at the gunwale; close points where it turns most."""
    s = np.sin(np.linspace(-np.pi / 2, np.pi / 2, 241))
    u = np.linspace(0, 1, 81) ** 2
    half = beam_m / 2 * np.outer(1 - np.abs(s) ** n, 1 - (1 - u) ** p)
    x, z = np.meshgrid((s + 1) * length_m / 2, u * depth_m, indexing="ij")
    points = np.concatenate([np.stack([x, side * half, z], axis=-1).reshape(-1, 3) for side in (-1, 1)])
    place = np.arange(len(points)).reshape(2, *x.shape)
    quads = [sheet(place[0]), sheet(place[1])[:, ::-1], sheet(np.stack([place[0, :, -1], place[1, :, -1]], axis=1))]
    corners = np.concatenate(quads)
    mesh = trimesh.Trimesh(points, np.concatenate([corners[:, [0, 1, 2]], corners[:, [0, 2, 3]]]))
    mesh.merge_vertices()
    mesh.update_faces(mesh.nondegenerate_faces())
    mesh.fix_normals()
    assert mesh.is_watertight
    return mesh


def sheet(place):
    """The corners of the squares of a grid of points."""
    return np.stack([place[:-1, :-1], place[1:, :-1], place[1:, 1:], place[:-1, 1:]], axis=-1).reshape(-1, 4)


def below(mesh, origin, up):
    """The closed part of a mesh below a plane, and the outline in which the plane cuts it."""
    outline = max(mesh.section(plane_origin=origin, plane_normal=up).discrete, key=len)
    wet = trimesh.Trimesh(*trimesh.intersections.slice_faces_plane(mesh.vertices, mesh.faces, -up, origin)[:2])
    # The cut is star-shaped about its middle: a fan closes it.
    fan = np.concatenate([outline[:-1], outline.mean(axis=0)[None]])
    k = len(outline) - 1
    lid = trimesh.Trimesh(fan, [[i, (i + 1) % k, k] for i in range(k)], process=False)
    if lid.face_normals[0] @ up < 0:
        lid.invert()
    return trimesh.util.concatenate([wet, lid]), lid


@pytest.mark.parametrize(
    ("n", "p", "draft_m", "tan_trim"),
    [
        (2.6, 4.0, 0.12, 0.0),
        (2.6, 4.0, 0.12, 0.02),
        (2.1, 4.8, 0.09, -0.015),
        (1.4, 1.6, 0.2, 0.04),
        (3.4, 6, 0.15, 0.1),
    ],
)
def test_a_meshed_hull_agrees_within_three_thousandths(n, p, draft_m, tan_trim):
    # trimesh, a general-purpose mesh library, cuts the meshed hull at the inclined waterline.
    length_m, beam_m, depth_m = 3.7, 0.84, 0.36
    at = afloat(length_m, beam_m, depth_m, n, p, draft_m, tan_trim)
    up = np.array([-tan_trim, 0, 1]) / np.hypot(1, tan_trim)
    wet, lid = below(meshed(length_m, beam_m, depth_m, n, p), [length_m / 2, 0, draft_m], up)
    assert at.volume_m3[0] == pytest.approx(wet.volume, rel=3e-3)
    assert at.centre_x_m[0] == pytest.approx(wet.center_mass[0], rel=3e-3)
    assert at.centre_z_m[0] == pytest.approx(wet.center_mass[2], rel=3e-3)
    # The method's waterplane is seen from above.
    assert at.waterplane_m2[0] == pytest.approx(lid.area * up[2], rel=3e-3)


def test_the_gunwale_runs_from_nothing_at_the_ends_to_half_the_beam_amidships():
    assert gunwale_m(4.0, 0.8, 2, 2.0) == pytest.approx(0.4)
    assert gunwale_m(4.0, 0.8, 2, 1.0) == pytest.approx(0.3)  # 0.4 (1 - 0.5^2)
    assert gunwale_m(4.0, 0.8, 2, 0.0) == gunwale_m(4.0, 0.8, 2, 4.0) == 0.0
    assert gunwale_m(4.0, 0.8, 2, -1.0) == gunwale_m(4.0, 0.8, 2, 5.0) == 0.0
