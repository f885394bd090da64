import pytest

from cases.record.entry import entry
from cases.store.file import opened


@pytest.fixture
def path(tmp_path):
    return tmp_path / "record.sqlite"


@pytest.fixture
def begun(path):
    """A store with job 118 and its block as line 1."""
    with opened(path, make=True) as record:
        record.new("118", entry("block", {"block": "B-0417"}, who="R"))
    return path
