"""What tests of all folders share."""

import pytest
from unpictured import without_pictures
from xdist.scheduler import LoadFileScheduling

from cases.base.threads import one_thread

one_thread()

TOGETHER = {
    "tests/cases/report/": "whole",
    "tests/cases/search/": "found",
    "tests/verification/test_heat": "bundled",
    "tests/verification/test_identities": "bundled",
    "tests/verification/test_trends": "bundled",
}
"""Files by how they begin, and the fixture that takes long which they share in one process."""


class _ByFile(LoadFileScheduling):
    """File by file, but for those that stay together."""

    def _split_scope(self, nodeid):
        file = super()._split_scope(nodeid)
        return next((of for start, of in TOGETHER.items() if file.startswith(start)), file)


def pytest_xdist_make_scheduler(config, log):
    """In place of xdist's own."""
    return _ByFile(config, log) if config.getvalue("dist") == "loadfile" else None


@pytest.fixture(scope="session")
def case_of(tmp_path_factory):
    """Reads a case file that is put together from texts."""
    from cases import read_case

    def read(*texts):
        path = tmp_path_factory.mktemp("case") / "case.toml"
        path.write_text("".join(texts), encoding="utf-8")
        return read_case(path)

    return read


@pytest.fixture
def unpictured(monkeypatch):
    """As :mod:`unpictured` has it."""
    without_pictures(monkeypatch)
