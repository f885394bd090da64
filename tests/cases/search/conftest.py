"""One search that several files look at."""

import pytest
from search_stubs import TEXT, Here, searched


@pytest.fixture(scope="session")
def case_file(tmp_path_factory):
    """A case with a search."""
    path = tmp_path_factory.mktemp("case") / "case.toml"
    path.write_text(TEXT)
    return path


@pytest.fixture(scope="session")
def found(case_file, tmp_path_factory):
    """What was found in this process, and its store."""
    store = tmp_path_factory.mktemp("store") / "search.sqlite"
    return searched(case_file, store, Here()), store
