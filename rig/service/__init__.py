"""A rig that runs: source, engine and records tied together, and told to whoever looks on."""

from rig.service.rig_service import RigService

__all__ = ["RigService"]
