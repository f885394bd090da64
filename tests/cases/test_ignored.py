"""What a verb doesn't look at is said in the terminal."""

import pytest
from bench import BARE, BLOCK
from click.testing import CliRunner

from cases.cli import main

DEPTH = '[depth]\nfloor = "90 mm"\n'
CRACK = '[crack]\nflaw = "0.5 mm"\ngas_in_crack = false\nspeed = "6000 rpm"\n'


@pytest.mark.parametrize(
    ("verb", "texts", "said"),
    [
        pytest.param("solve", (DEPTH, CRACK), ["[depth]", "[crack]"], id="both"),
        pytest.param("solve", (CRACK,), ["[crack]"], id="crack"),
        pytest.param("solve", (), [], id="none"),
        pytest.param("rate", (DEPTH, CRACK), [], id="rated"),
    ],
)
def test_what_is_ignored_is_said(tmp_path, monkeypatch, verb, texts, said):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "case.toml").write_text("".join((BLOCK, BARE, *texts)), encoding="utf-8")
    for of in ("run.solve_case", "report.results.write_outputs", "report.terminal.print_result"):
        monkeypatch.setattr(f"cases.{of}", lambda *_, **__: None)
    done = CliRunner().invoke(main, [verb, "case.toml"])
    assert done.exit_code == 0, done.output
    told = [f"{table} is looked at by hoopclock rate only." for table in said]
    assert [line for line in done.output.splitlines() if "rate only" in line] == told
