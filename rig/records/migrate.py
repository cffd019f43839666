"""Bring a database's tables to the form this program knows, whatever form they have now."""

import threading

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, inspect

from rig.errors import RecordsUnusable
from rig.records.schema import metadata

_one_at_a_time = threading.Lock()  # Alembic keeps its context in module globals


def is_current(connection: Connection) -> bool:
    """Whether there is nothing to do; only reads."""
    return _version(connection) == _steps().get_current_head()


def migrate(connection: Connection, where: str) -> None:
    """Run the steps that are missing, inside the connection's own transaction.

    Call it with a transaction that already locks out other writers; tables and version note
    are then committed together by the caller, or not at all.

    Args:
        where: what to call the database in a message.

    Raises:
        RecordsUnusable: the tables are another program's, or a newer tubrig's.
    """
    version = _version(connection)
    if version is None and inspect(connection).get_table_names():
        raise RecordsUnusable(
            f"{where} belongs to another program.",
            "Choose another data folder, or move that file away.",
        )
    if version is not None and version not in {step.revision for step in _steps().walk_revisions()}:
        raise RecordsUnusable(
            f"{where} was written by a newer tubrig (tables {version}).",
            "Install the newest tubrig on this machine, or choose another data folder.",
        )
    config = _config()
    config.attributes["connection"] = connection
    config.attributes["metadata"] = metadata
    with _one_at_a_time:
        command.upgrade(config, "head")


def _version(connection: Connection) -> str | None:
    return MigrationContext.configure(connection).get_current_revision()


def _config() -> Config:
    config = Config()  # no ini file: the steps travel inside the package
    config.set_main_option("script_location", "rig.records:migrations")
    return config


def _steps() -> ScriptDirectory:
    return ScriptDirectory.from_config(_config())
