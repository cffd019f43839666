from pathlib import Path

from platformdirs import user_data_path

from rig.records import data_folder, records_file


def test_the_folder_given_wins_over_the_environment(monkeypatch):
    monkeypatch.setenv("TUBRIG_DATA", "/elsewhere")
    assert data_folder(Path("/given")) == Path("/given")
    assert data_folder() == Path("/elsewhere")


def test_without_a_word_the_platform_decides(monkeypatch):
    monkeypatch.delenv("TUBRIG_DATA", raising=False)
    # XDG Base Directory Specification 0.8: user data lie in $XDG_DATA_HOME.
    monkeypatch.setenv("XDG_DATA_HOME", "/home/someone/data")
    assert data_folder() == user_data_path("tubrig") == Path("/home/someone/data/tubrig")
    monkeypatch.setenv("TUBRIG_DATA", "")
    assert data_folder() == Path("/home/someone/data/tubrig")


def test_a_tilde_is_the_home_folder(monkeypatch):
    monkeypatch.setenv("HOME", "/home/someone")
    assert records_file(Path("~/tub")).parent == Path("/home/someone/tub")
