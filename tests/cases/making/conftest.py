"""A case file of two pieces, read."""

import pytest
from made import CASE

from cases import read_case


@pytest.fixture
def case(tmp_path):
    path = tmp_path / "two.toml"

    def of(text=CASE):
        path.write_text(text)
        return read_case(path)

    return of
