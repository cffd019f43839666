import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from io import StringIO
from sqlite3 import connect

import pytest
from alembic import op
from alembic.autogenerate import compare_metadata
from alembic.operations import Operations
from alembic.runtime.migration import MigrationContext
from sqlalchemy import Column, Integer, create_engine
from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateTable

from rig.errors import RecordsUnusable
from rig.records import Store, migrate
from rig.records.schema import metadata


def dump(path):
    with closing(connect(path)) as connection:
        return list(connection.iterdump())


def differences(path, to):
    engine = create_engine(f"sqlite:///{path}")
    try:
        with engine.connect() as connection:
            context = MigrationContext.configure(connection, opts={"compare_type": True})
            return compare_metadata(context, to)
    finally:
        engine.dispose()


def test_the_steps_lead_from_nothing_to_the_tables_of_the_program(path):
    Store.open(path).close()
    assert differences(path, metadata) == []


def test_the_comparison_above_sees_a_forgotten_step(path):
    Store.open(path).close()
    grown = type(metadata)(naming_convention=metadata.naming_convention)
    for table in metadata.tables.values():
        table.to_metadata(grown)
    grown.tables["trial"].append_column(Column("forgotten", Integer))
    assert [change[0] for change in differences(path, grown)] == ["add_column"]


def test_opening_again_changes_nothing(bench, path):
    trial = bench.begin(bench.store.begin_run("Tub 1"), b"start\n")
    before = dump(path)
    with Store.open(path) as again:
        assert again.trial(trial.id) == trial
    assert dump(path) == before
    assert sum("alembic_version" in line for line in before) == 2  # the table and its one row


def test_a_step_that_fails_half_way_leaves_no_trace(path, monkeypatch):
    def pulled_plug(*_args, **_named):
        raise KeyboardInterrupt  # two tables have been made by now

    with monkeypatch.context() as patch:
        patch.setattr(op, "create_index", pulled_plug)
        with pytest.raises(KeyboardInterrupt):
            Store.open(path)
    assert dump(path) == ["BEGIN TRANSACTION;", "COMMIT;"]
    Store.open(path).close()
    assert differences(path, metadata) == []


def test_programs_that_open_an_empty_folder_at_once_all_succeed(path):
    def open_and_use(name):
        with Store.open(path) as store:
            return store.begin_run(name)

    with ThreadPoolExecutor(4) as pool:
        assert len(set(pool.map(open_and_use, "ABCD"))) == 4


def test_different_folders_can_be_opened_at_once(tmp_path):
    # Alembic keeps its context in module globals; without a lock the steps of one go to another.
    paths = [tmp_path / name / "records.sqlite3" for name in "ABCDEFGH"]
    with ThreadPoolExecutor(len(paths)) as pool:
        for store in pool.map(Store.open, paths):
            store.close()
    assert [differences(path, metadata) for path in paths] == [[]] * len(paths)


def test_the_tables_of_a_newer_program_are_left_alone(path):
    Store.open(path).close()
    with closing(connect(path)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    before = dump(path)
    with pytest.raises(RecordsUnusable, match=r"newer tubrig \(tables 9999\)\. Install the newest"):
        Store.open(path)
    assert dump(path) == before


def test_the_database_of_another_program_is_left_alone(path):
    path.parent.mkdir()
    with closing(connect(path)) as connection, connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")
    before = dump(path)
    with pytest.raises(RecordsUnusable, match="belongs to another program"):
        Store.open(path)
    assert dump(path) == before


def test_opening_says_nothing(path):
    code = (
        "import sys, pathlib; from rig.records import Store; Store.open(pathlib.Path(sys.argv[1]))"
    )
    run = subprocess.run(
        [sys.executable, "-W", "error", "-c", code, path], capture_output=True, text=True
    )
    assert (run.returncode, run.stdout, run.stderr) == (0, "", "")


def test_the_same_steps_make_the_same_columns_on_postgresql():
    told = StringIO()
    context = MigrationContext.configure(
        dialect_name="postgresql", opts={"as_sql": True, "output_buffer": told}
    )
    with Operations.context(context):
        for step in reversed(list(migrate._steps().walk_revisions())):
            step.module.upgrade()
    steps = told.getvalue()
    for table in metadata.sorted_tables:
        made = str(CreateTable(table).compile(dialect=postgresql.dialect()))
        columns = [line.strip(" ,\t") for line in made.splitlines() if line.startswith("\t")]
        assert len(columns) > len(table.columns)  # the keys are lines too
        for column in columns:
            assert column.partition(" REFERENCES")[0] in steps
    # PostgreSQL 15 manual, chapter 8: counts by itself, any bytes, a moment, 15 digits and more.
    for kind in ("BIGSERIAL", "BYTEA", "TIMESTAMP WITH TIME ZONE", "FLOAT(53)"):
        assert kind in steps
