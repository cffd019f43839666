"""Mesh: a hull from a drawing program, triangle by triangle."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import hypot
from typing import ClassVar

import numpy as np

from rig.errors import OutOfRange
from rig.physics.hulls.hull import Measure, Waterplane, require_draft, require_positive
from rig.physics.hulls.mesh_surface import (
    Floats,
    Ints,
    Rim,
    find_rim,
    loops_at,
    outer_faces,
    outermost,
)
from rig.physics.hulls.outline import Outline, moments
from rig.physics.hulls.shape import Shape
from rig.physics.hulls.stretched import EXTENTS, Stretched
from rig.physics.hulls.surface import Displaced, Surface


@dataclass(frozen=True, eq=False)
class Mesh(Shape):
    """The outside of a closed triangle mesh, z up, as it stands on the table. Millimetres.

    Either a solid as deep as the rim, or the boat itself with its hollow; the rim is then where
    the hollow opens, at its lowest notch.

    Volumes are sums over clipped triangles (Gauss's theorem with a field along a line that lies
    level both in the boat and in the water: bottoms, deck and water surface then add nothing),
    exact but for rounding. Origin: below the centroid of the volume.
    """

    family: ClassVar[str] = "mesh"
    measures: ClassVar[tuple[Measure, ...]] = EXTENTS

    triangles: Floats = field(repr=False)  # (n, 3, 3) as drawn, in mm
    name: str = "mesh"

    def __post_init__(self) -> None:
        if (
            self.triangles.ndim != 3
            or self.triangles.shape[1:] != (3, 3)
            or not len(self.triangles)
        ):
            raise OutOfRange("The mesh holds no triangles.", "Export it again as STL.")
        if not np.isfinite(self.triangles).all():
            raise OutOfRange("The mesh holds corners that are no numbers.", "Export it again.")
        _require_closed(self._faces)
        if self.solid_ml <= 0:
            raise OutOfRange("The mesh is inside out.", "Turn its normals outward.")
        require_positive(self.family, **self.measured())

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Mesh) and np.array_equal(self.triangles, other.triangles)

    def __hash__(self) -> int:
        return hash(self.triangles.tobytes())

    @cached_property
    def _indexed(self) -> tuple[Floats, Ints]:
        """Corners once each, keel at 0, and faces by their numbers."""
        flat = self.triangles.reshape(-1, 3).astype(np.float64)
        points, index = np.unique(flat, axis=0, return_inverse=True)
        faces = index.reshape(-1, 3)
        full = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2])
        full &= faces[:, 2] != faces[:, 0]
        points[:, 2] -= points[:, 2].min()
        return points, faces[full].astype(np.int64)

    @property
    def _faces(self) -> Ints:
        return self._indexed[1]

    @cached_property
    def solid_ml(self) -> float:
        """Volume of the mesh as a solid body [ml]."""
        a, b, c = np.moveaxis(self._indexed[0][self._faces], 1, 0)
        return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6000

    @cached_property
    def _rim(self) -> Rim:
        return find_rim(*self._indexed)

    @property
    def depth_mm(self) -> float:
        """Height of the lowest rim point [mm]."""
        return self._rim.height

    @cached_property
    def _outer(self) -> Ints:
        points, faces = self._indexed
        return faces[outer_faces(points, faces, self._rim)]

    @cached_property
    def _middle(self) -> tuple[float, float]:
        """Of the volume up to the rim, in the drawing's own axes."""
        found = _below(self._skin_drawn, Surface((0.0, 0.0, 1.0), self.depth_mm))
        return found.x_mm, found.y_mm

    @cached_property
    def _skin_drawn(self) -> Floats:
        corners = self._indexed[0][self._outer]
        return _clipped(corners, corners[:, :, 2] - self.depth_mm)

    @cached_property
    def _skin(self) -> Floats:
        skin: Floats = self._skin_drawn - np.array([*self._middle, 0.0])
        return skin

    def outline(self, height_mm: float) -> Outline:
        """The outermost loops of the cut."""
        points = self._indexed[0]
        height = height_mm
        for _ in range(8):  # off the corners, by less than any drawing means
            if not (points[:, 2] == height).any():
                break
            height += 1e-9 * self.depth_mm * (1 if height_mm < self.depth_mm / 2 else -1)
        x, y = self._middle
        loops = outermost(loops_at(points, self._faces, height))
        return tuple(tuple((px - x, py - y) for px, py in loop.polygon) for loop in loops)

    def rim_mm2(self) -> float:
        """Area within the outermost loops at the rim [mm2]."""
        return self._rim_mm2

    @cached_property
    def _rim_mm2(self) -> float:
        return moments(self.rim()).area

    def kinks_mm(self) -> tuple[float, ...]:
        """Every corner's height."""
        return tuple(np.unique(self._indexed[0][:, 2]).tolist())

    def waterplane(self, draft_mm: float) -> Waterplane:
        """Sums over the sides of the cut; no need to string them into loops."""
        require_draft(draft_mm, self.depth_mm)
        a, b = _cut(self._skin, min(draft_mm, self.depth_mm * (1 - 1e-9)))  # not along the rim
        cross = a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1]
        area = float(cross.sum()) / 2
        if area <= 0:
            return Waterplane(0.0, 0.0, 0.0)
        x, y = (float((cross * (a[:, k] + b[:, k])).sum()) / 6 / area for k in (0, 1))
        xx, yy = (
            float((cross * (a[:, k] ** 2 + a[:, k] * b[:, k] + b[:, k] ** 2)).sum()) / 12
            for k in (0, 1)
        )
        return Waterplane(area, yy - area * y * y, xx - area * x * x, x, y)

    def volume_ml(self, draft_mm: float) -> float:
        """Below a level surface [ml]."""
        require_draft(draft_mm, self.depth_mm)
        return self.below(Surface((0.0, 0.0, 1.0), draft_mm)).volume_ml

    def volumes_ml(self, shares: Sequence[float]) -> list[float]:
        """Worked out once for the same shares [ml]."""
        key = tuple(shares)
        if key not in self._kept:
            self._kept[key] = [self.volume_ml(share * self.depth_mm) for share in key]
        return self._kept[key]

    @cached_property
    def _kept(self) -> dict[tuple[float, ...], list[float]]:
        return {}

    def centroid_mm(self, draft_mm: float) -> float:
        """Of what lies below a level surface [mm]."""
        require_draft(draft_mm, self.depth_mm)
        return self.below(Surface((0.0, 0.0, 1.0), draft_mm)).z_mm

    def below(self, surface: Surface) -> Displaced:
        """Exact, by clipped triangles."""
        return _below(self._skin, surface)

    def profile_mm(self) -> list[tuple[float, float]]:
        """Foremost and aftmost points at a few heights [mm]."""
        return self._coarse().profile_mm()

    def ends_mm(self) -> list[list[tuple[float, float]]]:
        """Outermost points at a few heights [mm]."""
        return self._coarse().ends_mm()

    def _coarse(self) -> "_Coarse":
        return _Coarse(self)

    def measured(self) -> dict[str, float]:
        """How far the outside reaches below the rim."""
        size = np.ptp(self._skin_drawn.reshape(-1, 3), axis=0)
        return {
            "length_mm": float(size[0]),
            "beam_mm": float(size[1]),
            "depth_mm": self.depth_mm,
        }

    def remeasured(self, values: Mapping[str, float]) -> Stretched:
        """The drawing stretched to other extents. Raises OutOfRange."""
        return Stretched.to(self, values)

    def own_centre_mm(self) -> float:
        """Of the solid drawn, if it has a hollow; else of a skin of even thickness [mm]."""
        corners = self._indexed[0][self._faces]
        if self._rim.hollow:
            a, b, c = np.moveaxis(corners, 1, 0)
            parts = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6
            return float((parts * (a + b + c)[:, 2] / 4).sum() / parts.sum())
        skin = corners[(corners[:, :, 2] < self.depth_mm * (1 - 1e-9)).any(axis=1)]
        areas = np.linalg.norm(np.cross(skin[:, 1] - skin[:, 0], skin[:, 2] - skin[:, 0]), axis=1)
        return float((areas * skin[:, :, 2].mean(axis=1)).sum() / areas.sum())


class _Coarse(Shape):
    """A mesh for drawing: a few of its heights only."""

    family: ClassVar[str] = "mesh"
    measures: ClassVar[tuple[Measure, ...]] = EXTENTS

    def __init__(self, mesh: Mesh) -> None:
        self._mesh, self.depth_mm = mesh, mesh.depth_mm

    def outline(self, height_mm: float) -> Outline:
        return self._mesh.outline(height_mm)


def _require_closed(faces: Ints) -> None:
    """Raise OutOfRange unless each side of a face is the other way round in just one other."""
    sides = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    many = int(faces.max()) + 1 if len(faces) else 1
    there, back = sides[:, 0] * many + sides[:, 1], sides[:, 1] * many + sides[:, 0]
    if not len(faces) or not np.array_equal(np.sort(there), np.sort(back)):
        raise OutOfRange(
            "The mesh is not closed: it has a hole in its skin, or faces turned inside out.",
            "Repair it in your drawing program and export it again.",
        )


def _clipped(corners: Floats, above: Floats) -> Floats:
    """Return the parts of triangles where `above` (one value a corner) is 0 or less."""
    under = above <= 0
    count = under.sum(axis=1)
    whole = corners[count == 3]
    one, two = count == 1, count == 2
    tips = _turned(corners[one], above[one], under[one].argmax(axis=1))
    caps = _turned(corners[two], above[two], (~under[two]).argmax(axis=1))
    (p, q, r), (a, b, c) = tips
    tip = np.stack([p, _toward(p, q, a, b), _toward(p, r, a, c)], axis=1)
    (p, q, r), (a, b, c) = caps  # p is above
    near_q, near_r = _toward(p, q, a, b), _toward(p, r, a, c)
    first, second = np.stack([near_q, q, r], axis=1), np.stack([near_q, r, near_r], axis=1)
    return np.concatenate([whole, tip, first, second])


def _turned(
    corners: Floats, above: Floats, first: Ints
) -> tuple[tuple[Floats, Floats, Floats], tuple[Floats, Floats, Floats]]:
    """Begin each triangle with its corner of that number."""
    row = np.arange(len(corners))
    order = [(first + k) % 3 for k in range(3)]
    return (
        (corners[row, order[0]], corners[row, order[1]], corners[row, order[2]]),
        (above[row, order[0]], above[row, order[1]], above[row, order[2]]),
    )


def _toward(p: Floats, q: Floats, a: Floats, b: Floats) -> Floats:
    """Where the value that is a at p and b at q is 0."""
    moved: Floats = p + (a / (a - b))[:, None] * (q - p)
    return moved


def _cut(skin: Floats, height: float) -> tuple[Floats, Floats]:
    """Return the sides of a level cut, from and to, solid on the left."""
    over = skin[:, :, 2] > height
    count = over.sum(axis=1)
    one, two = count == 1, count == 2
    level = skin[:, :, 2] - height
    (p, q, r), (a, b, c) = _turned(skin[one], level[one], over[one].argmax(axis=1))
    from_one, to_one = _toward(p, q, a, b), _toward(p, r, a, c)
    (p, q, r), (a, b, c) = _turned(skin[two], level[two], (~over[two]).argmax(axis=1))
    from_two, to_two = _toward(p, r, a, c), _toward(p, q, a, b)
    return np.concatenate([from_one, from_two]), np.concatenate([to_one, to_two])


def _below(skin: Floats, surface: Surface) -> Displaced:
    ux, uy, uz = surface.up
    size = hypot(ux, uy)
    along = np.array([-uy / size, ux / size, 0.0]) if size > 1e-12 else np.array([1.0, 0.0, 0.0])
    aside = np.array([-along[1], along[0], 0.0])
    wet = _clipped(skin, skin @ np.array([ux, uy, uz]) - surface.height_mm)
    a, b, c = np.moveaxis(wet, 1, 0)
    facing = np.cross(b - a, c - a) @ along / 2  # area x the normal's part along that line
    u = wet @ along
    volume = float((facing * u.sum(axis=1)).sum()) / 3
    if volume <= 0:
        return Displaced(0.0)

    def mixed(v: Floats) -> float:
        """Integral of u v over the faces, each weighted by `facing`."""
        products = (u * v).sum(axis=1) + u.sum(axis=1) * v.sum(axis=1)
        return float((facing * products).sum()) / 12

    place = (mixed(u) / 2 * along + mixed(wet @ aside) * aside) / volume
    return Displaced(volume / 1000, float(place[0]), float(place[1]), mixed(wet[:, :, 2]) / volume)
