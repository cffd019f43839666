"""What is kept: every byte the wire said, and the trials cut out of it. Raw first."""

from rig.records.place import data_folder, records_file
from rig.records.raw_writer import RawWriter
from rig.records.rows import FIRST_YEAR, Block, TrialRow
from rig.records.sessions import SessionRow
from rig.records.store import Store

__all__ = [
    "FIRST_YEAR",
    "Block",
    "RawWriter",
    "SessionRow",
    "Store",
    "TrialRow",
    "data_folder",
    "records_file",
]
