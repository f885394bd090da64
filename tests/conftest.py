"""What tests of all folders share."""

import pytest

from cases.base.threads import one_thread

one_thread()


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
    """Reports without their pictures, for tests that look at neither."""
    monkeypatch.setattr("cases.report.results.write_pictures", lambda *_: ())
    monkeypatch.setattr("cases.report.page._data_address", str)
