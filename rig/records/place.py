"""Where the records live on this machine."""

import os
from pathlib import Path

from platformdirs import user_data_path

ENV = "TUBRIG_DATA"
FILE_NAME = "records.sqlite3"


def data_folder(given: Path | None = None) -> Path:
    """Return the data folder: the one given, else TUBRIG_DATA, else the platform's own place.

    Nothing is made or checked here; `Store.open` does both.
    """
    named = given or os.environ.get(ENV)
    return Path(named).expanduser() if named else user_data_path("tubrig", appauthor=False)


def records_file(given: Path | None = None) -> Path:
    """Return the file of kept trials in the data folder, for `Store.open`."""
    return data_folder(given) / FILE_NAME
