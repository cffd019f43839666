"""Meshes on disk (STL) and in the records (text)."""

import base64
import binascii
import zlib
from pathlib import Path

import numpy as np

from rig.errors import OutOfRange, SetupInvalid
from rig.physics.hulls import Mesh
from rig.setup.plainwords import one_line

MOST_TRIANGLES = 50_000
_BYTES = 9 * 8


def read_mesh(path: Path, mm_per_unit: float = 1.0) -> Mesh:
    """Return the hull in a mesh file, z up. Raises SetupInvalid, or OutOfRange for a bad mesh.

    trimesh is imported here only: a rig that reads no mesh does not need it.
    """
    name = one_line(path.name)
    try:
        import trimesh
    except ImportError as err:
        raise SetupInvalid(
            "Reading a mesh file needs the package trimesh.",
            "Install it: pip install 'tubrig[mesh]'; or write the boat as sections.",
        ) from err
    if path.suffix.lower() != ".stl":
        raise SetupInvalid(f"{name} is not an STL file.", "Export the drawing as STL.")
    try:
        with path.open("rb") as file:
            drawn = trimesh.load_mesh(file, file_type="stl", process=False)
        triangles = np.asarray(drawn.triangles, dtype=np.float64) * mm_per_unit
    except OSError as err:
        raise SetupInvalid(
            f"Cannot read {name}: {err.strerror}.", "Put it beside the boats file."
        ) from err
    except Exception as err:  # whatever a reader of foreign files may stumble over
        raise SetupInvalid(
            f"{name} cannot be read as STL.", "Export it again, binary STL."
        ) from err
    return _mesh(triangles, name)


def mesh_text(mesh: Mesh) -> str:
    """Return a mesh's triangles as text, to the last bit."""
    raw = np.ascontiguousarray(mesh.triangles, dtype="<f8").tobytes()
    return base64.b64encode(zlib.compress(raw, 9)).decode()


def mesh_from_text(text: str, name: str) -> Mesh:
    """Return the mesh of `mesh_text`. Raises OutOfRange for anything else."""
    try:
        unpack = zlib.decompressobj()
        raw = unpack.decompress(base64.b64decode(text, validate=True), MOST_TRIANGLES * _BYTES + 1)
    except (binascii.Error, ValueError, zlib.error) as err:
        raise OutOfRange("mesh_data is not a mesh.", "Read the STL file again.") from err
    if not raw or len(raw) % _BYTES:
        raise OutOfRange("mesh_data is not a whole mesh.", "Read the STL file again.")
    return _mesh(np.frombuffer(raw, dtype="<f8").reshape(-1, 3, 3).astype(np.float64), name)


def _mesh(triangles: "np.typing.NDArray[np.float64]", name: str) -> Mesh:
    if len(triangles) > MOST_TRIANGLES:
        raise OutOfRange(
            f"The mesh has {len(triangles)} triangles, more than {MOST_TRIANGLES}.",
            "Simplify it in your drawing program.",
        )
    return Mesh(triangles, name)
