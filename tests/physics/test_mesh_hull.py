"""Meshes against trimesh's own slicing, 1e-6 relative (they agree to rounding)."""

from math import pi

import numpy as np
import pytest
import trimesh
from trimesh.intersections import mesh_plane, slice_faces_plane

from rig.errors import OutOfRange
from rig.physics.hulls import Box, Mesh, Surface
from rig.physics.hulls.shape import waterplane_of


def cylinder_hull() -> trimesh.Trimesh:
    return trimesh.creation.cylinder(radius=40, height=60, sections=48)


def torn(body: trimesh.Trimesh) -> trimesh.Trimesh:
    """No face, no two corners at one height: as drawing programs leave them."""
    body.apply_transform(trimesh.transformations.rotation_matrix(0.3, [1, 2, 0.5]))
    body.apply_transform(np.diag([1.4, 0.8, 0.7, 1.0]))
    return body


BODIES = {
    "sphere": trimesh.creation.icosphere(subdivisions=3, radius=50),
    "tin": cylinder_hull(),
    "leaning egg": torn(trimesh.creation.icosphere(subdivisions=2, radius=60)),
    "leaning box": torn(trimesh.creation.box([120, 60, 40])),
    "ring": trimesh.creation.torus(major_radius=60, minor_radius=18),  # its waterplane has a hole
    "twin": trimesh.util.concatenate(
        [
            trimesh.creation.box(
                [150, 30, 40], trimesh.transformations.translation_matrix([0, y, 0])
            )
            for y in (-45, 45)
        ]
    ),
}
bodies = pytest.mark.parametrize("name", [n for n in BODIES if n != "ring"])
tilts = pytest.mark.parametrize("tilt", [(0, 0), (8, 0), (0, -6), (25, 11), (-60, 3)])


def hull_of(name: str) -> Mesh:
    return Mesh(np.array(BODIES[name].triangles), name)


def under(body: trimesh.Trimesh, hull: Mesh, surface: Surface) -> trimesh.Trimesh:
    """What trimesh cuts off below the surface, upright and with the surface at height 0.

    There the lid that is missing adds nothing to its volume integrals.
    """
    moved = body.copy()
    moved.apply_translation([0, 0, -body.bounds[0][2]])
    level = Surface((0.0, 0.0, 1.0), hull.depth_mm)
    whole = moved.center_mass
    assert hull.below(level).x_mm == pytest.approx(0, abs=1e-9)
    moved.apply_translation([-whole[0], -whole[1], 0])  # our origin: below the volume's centroid
    up = np.array(surface.up)
    points, faces, _ = slice_faces_plane(moved.vertices, moved.faces, -up, up * surface.height_mm)
    if not len(faces):
        points, faces = np.zeros((3, 3)), np.array([[0, 1, 2]])  # trimesh warns of empty ones
    cut = trimesh.Trimesh(points, faces, process=False)
    turn = trimesh.geometry.align_vectors(surface.up, [0, 0, 1])
    cut.apply_transform(turn)
    cut.apply_translation([0, 0, -surface.height_mm])
    return cut


@bodies
@tilts
@pytest.mark.parametrize("part", [0.08, 0.5, 0.83])
def test_what_lies_under_a_tilted_surface_is_what_trimesh_cuts_off(name, tilt, part):
    hull = hull_of(name)
    surface = Surface.tilted(part * hull.depth_mm, *tilt)
    cut = under(BODIES[name], hull, surface)
    found = hull.below(surface)
    if len(cut.faces) == 1:  # all of it stands above that surface
        assert found.volume_ml == 0
        return
    assert 1000 * found.volume_ml == pytest.approx(cut.volume, rel=1e-6)
    turn = trimesh.geometry.align_vectors(surface.up, [0, 0, 1])[:3, :3]
    ours = turn @ np.array([found.x_mm, found.y_mm, found.z_mm])
    ours[2] -= surface.height_mm
    assert ours == pytest.approx(cut.center_mass, abs=1e-5)


@bodies
@pytest.mark.parametrize("part", [0.11, 0.52, 0.91])
def test_waterplanes_are_those_of_trimeshs_cut(name, part):
    hull, body = hull_of(name), BODIES[name]
    z = part * hull.depth_mm
    sides = mesh_plane(body, [0, 0, 1], [0, 0, body.bounds[0][2] + z])
    middle = body.center_mass
    a, b = sides[:, 0, :2] - middle[:2], sides[:, 1, :2] - middle[:2]
    # Green's theorem on trimesh's own segments, each turned to run round its convex loop
    # (all these bodies are convex, or two of them): anticlockwise about the loop's middle.
    near = np.zeros_like(a) + a.mean(axis=0)
    if name == "twin":
        near[:, 1] = np.where(a[:, 1] > 0, 45, -45)
    turns = (a - near)[:, 0] * (b - near)[:, 1] - (b - near)[:, 0] * (a - near)[:, 1]
    flip = turns < 0
    a[flip], b[flip] = b[flip].copy(), a[flip].copy()
    cross = a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1]
    area = cross.sum() / 2
    mid_y = (cross * (a[:, 1] + b[:, 1])).sum() / 6 / area
    yy = (cross * (a[:, 1] ** 2 + a[:, 1] * b[:, 1] + b[:, 1] ** 2)).sum() / 12
    plane, outline = hull.waterplane(z), waterplane_of(hull.outline(z))
    for found in (plane, outline):
        assert found.area_mm2 == pytest.approx(area, rel=1e-6)
        assert found.across_mm4 == pytest.approx(yy - area * mid_y**2, rel=1e-6)
        assert found.y_mm == pytest.approx(mid_y, abs=1e-6)


def test_a_sphere_of_many_triangles_is_nearly_archimedes_sphere():
    hull = Mesh(np.array(trimesh.creation.icosphere(subdivisions=5, radius=50).triangles))
    # half of 4/3 pi r^3; the triangles lie inside, by 1 part in 1000
    assert hull.volume_ml(50) == pytest.approx(2 / 3 * pi * 125, rel=1.5e-3)


# --- boats with a hollow --------------------------------------------------------------------


def test_water_is_not_let_into_the_hollow(hollow_box):
    boat, box = hollow_box(), Box(160, 90, 40)
    assert boat.depth_mm == 40
    assert boat.solid_ml == pytest.approx((160 * 90 * 40 - 154 * 84 * 37) / 1000)  # what is printed
    for part in (0.05, 0.5, 1.0):
        z = part * 40
        assert boat.volume_ml(z) == pytest.approx(box.volume_ml(z), rel=1e-9)
        assert boat.waterplane(z).across_mm4 == pytest.approx(
            box.waterplane(z).across_mm4, rel=1e-6
        )
    for tilt in ((12, 3), (-20, 0)):
        ours, theirs = (h.below(Surface.tilted(20, *tilt)) for h in (boat, box))
        assert ours.volume_ml == pytest.approx(theirs.volume_ml, rel=1e-9)
        assert ours.y_mm == pytest.approx(theirs.y_mm, rel=1e-9)


def test_the_rim_is_at_the_lowest_notch(hollow_box):
    notched = hollow_box(notch=6)
    assert notched.depth_mm == 34
    assert notched.volume_ml(34) == pytest.approx(160 * 90 * 34 / 1000, rel=1e-9)
    with pytest.raises(OutOfRange, match="outside this hull"):
        notched.volume_ml(35)


def test_a_cup_of_many_rings_opens_at_its_top_ring():
    # Two hundred rings up outside, two hundred down inside, 61 mm high: more than are looked at.
    up = np.linspace(0, 61, 201)
    outer = np.column_stack([20 + 10 * up / 61, up])
    inner = np.column_stack([18 + 10 * up / 61, np.maximum(up, 2)])[::-1]
    profile = np.vstack([[[0, 0]], outer, inner[:-7], [[0, 2]]])
    cup = trimesh.creation.revolve(profile, sections=16)
    hull = Mesh(np.array(cup.triangles))
    assert hull.depth_mm == pytest.approx(61)
    many = 16 / 2 * np.sin(2 * pi / 16)  # area of a 16-gon in a circle of radius 1
    frustum = many * 61 * (20**2 + 20 * 30 + 30**2) / 3000
    assert hull.volume_ml(hull.depth_mm) == pytest.approx(frustum, rel=1e-6)


def test_a_printed_boats_centre_is_that_of_its_material(hollow_box):
    # outer block less inner block: first moments, by hand
    outer, inner = 160 * 90 * 40, 154 * 84 * 37
    known = (outer * 20 - inner * 21.5) / (outer - inner)
    assert hollow_box().own_centre_mm() == pytest.approx(known, rel=1e-12)


def test_a_solid_drawing_is_taken_for_a_skin():
    body = trimesh.creation.box([160, 90, 40])
    # no lid: the top face is the opening; bottom and four walls
    walls = 2 * (160 + 90) * 40
    known = walls * 20 / (walls + 160 * 90)
    assert Mesh(np.array(body.triangles)).own_centre_mm() == pytest.approx(known, rel=1e-9)


def test_a_void_under_a_roof_is_no_hollow():
    outer = trimesh.creation.box([100, 60, 40])
    inner = trimesh.creation.box([80, 40, 20])
    inner.invert()
    closed = trimesh.util.concatenate([outer, inner])
    hull = Mesh(np.array(closed.triangles))
    assert hull.depth_mm == 40
    assert hull.volume_ml(40) == pytest.approx(240)


def test_a_ring_floats_on_its_skin_alone():
    # Its hole is open below, so water stands in it: but at each height the outermost loop
    # counts, and a boat in the shape of a ring with a floor is what children build.
    ring = Mesh(np.array(BODIES["ring"].triangles))
    z = ring.depth_mm / 2
    (outline,) = ring.outline(z)
    assert max(abs(x) for x, _ in outline) == pytest.approx(78, rel=0.01)


def test_stretching_stretches_everything(hollow_box):
    boat = hollow_box()
    longer = boat.remeasured({"length_mm": 176, "beam_mm": 81, "depth_mm": 44})
    box = Box(176, 81, 44)
    assert longer.measured() == pytest.approx(box.measured())
    for z in (10.0, 44.0):
        assert longer.volume_ml(z) == pytest.approx(box.volume_ml(z), rel=1e-9)
        assert longer.waterplane(z).across_mm4 == pytest.approx(
            box.waterplane(z).across_mm4, rel=1e-6
        )
        assert longer.waterplane(z).along_mm4 == pytest.approx(
            box.waterplane(z).along_mm4, rel=1e-6
        )
    ours, theirs = (h.below(Surface.tilted(20, 14, -5)) for h in (longer, box))
    assert (ours.volume_ml, ours.x_mm, ours.y_mm, ours.z_mm) == pytest.approx(
        (theirs.volume_ml, theirs.x_mm, theirs.y_mm, theirs.z_mm), rel=1e-9
    )


# --- what is refused ------------------------------------------------------------------------


def test_a_mesh_with_a_hole_is_refused():
    with pytest.raises(OutOfRange, match="not closed"):
        Mesh(np.array(BODIES["sphere"].triangles[1:]))


def test_a_mesh_with_one_face_turned_is_refused():
    triangles = np.array(BODIES["tin"].triangles)
    triangles[5] = triangles[5][::-1]
    with pytest.raises(OutOfRange, match="not closed"):
        Mesh(triangles)


def test_a_mesh_inside_out_is_refused():
    with pytest.raises(OutOfRange, match="inside out"):
        Mesh(np.array(BODIES["tin"].triangles)[:, ::-1])


@pytest.mark.parametrize("triangles", [np.zeros((0, 3, 3)), np.zeros((4, 3)), np.zeros((2, 3, 3))])
def test_what_is_no_mesh_is_refused(triangles):
    with pytest.raises(OutOfRange):
        Mesh(triangles)


def test_corners_that_are_no_numbers_are_refused():
    triangles = np.array(BODIES["tin"].triangles)
    triangles[0, 0, 0] = np.nan
    with pytest.raises(OutOfRange, match="no numbers"):
        Mesh(triangles)


def test_two_meshes_are_equal_by_their_triangles():
    assert hull_of("tin") == hull_of("tin")
    assert hash(hull_of("tin")) == hash(hull_of("tin"))
    assert hull_of("tin") != hull_of("sphere")
    assert hull_of("tin") != Box(1, 1, 1)
