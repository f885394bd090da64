"""The published suite: what it holds, what the command says, and that it can fail."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner

from cases.check import published
from cases.check import sections as problems
from cases.check.published import PROBLEMS, Outcome, Target, check_problem
from cases.cli import main
from fea.material import Material


def check(*arguments):
    return CliRunner().invoke(main, ["check", *map(str, arguments)])


@pytest.fixture(scope="module")
def checked(tmp_path_factory):
    """What the command prints for the whole suite, and its page."""
    path = tmp_path_factory.mktemp("check") / "check.html"
    done = check("--out", path)
    return done, path.read_text(encoding="utf-8")


@pytest.fixture
def two_rings(monkeypatch):
    monkeypatch.setattr(published, "PROBLEMS", PROBLEMS[:2])


@pytest.mark.verification
def test_every_problem_passes(checked):
    """Sources stand beside each value in cases/published.py, and are printed."""
    done, _ = checked
    assert done.exit_code == 0, done.output
    assert "FAIL" not in done.output
    assert f"All {len(PROBLEMS)} problems passed" in done.output


def test_suite_is_wide_and_says_where_from():
    assert len({problem.name for problem in PROBLEMS}) == len(PROBLEMS) >= 15
    for problem in PROBLEMS:
        assert problem.targets
        assert re.search(r"\d{4}|derived|Timoshenko|Pilkey|Incropera|as before", problem.source)
        loose = max(target.allowed for target in problem.targets) > 1e-3
        assert bool(problem.note) == loose
    assert sum("NAFEMS" in problem.source and "LE1:" in problem.source for problem in PROBLEMS) == 1


def test_every_value_is_printed_and_fits_a_terminal(checked):
    done, _ = checked
    lines = done.stdout.splitlines()
    assert max(map(len, lines[:-1])) < 80  # the last line has the page's path
    values = [target for problem in PROBLEMS for target in problem.targets]
    assert sum(line.endswith(" pass") for line in lines) == len(values)
    for target in values:
        assert any(
            line.startswith(f"  {target.quantity} ") and f" {target.published:.6g} " in line
            for line in lines
        )


def test_page_stands_alone_and_tells_all(checked):
    _, page = checked
    assert f"All {len(PROBLEMS)} problems passed" in page
    assert not re.search(r"(src|href)=|https?://", page)
    assert page.count("<td>pass</td>") == sum(len(problem.targets) for problem in PROBLEMS)
    assert page.count("Allowed more:") == sum(bool(problem.note) for problem in PROBLEMS)
    assert "NAFEMS" in page


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("lam", lambda m: m.youngs_modulus * m.poisson / ((1 + m.poisson) * (1 - 2 * m.poisson))),
        ("mu", lambda m: m.youngs_modulus / 2),
    ],
    ids=["plane strain", "shear modulus without nu"],
)
def test_wrong_moduli_fail(monkeypatch, tmp_path, two_rings, name, wrong):
    monkeypatch.setattr(Material, name, property(wrong))
    path = tmp_path / "check.html"
    done = check("--out", path)
    assert done.exit_code == 1
    assert re.search(r"growth of the bore .* FAIL\n", done.stdout)
    assert done.stderr.strip().startswith(
        "Error: 2 of 2 problems differ by more than is allowed: Thick"
    )
    assert "problems passed" not in done.stdout
    page = path.read_text(encoding="utf-8")
    assert "2 of 2 problems differ by more than is allowed" in page
    assert '<td class="fail">FAIL</td>' in page


def test_stress_half_a_percent_off_fails(monkeypatch):
    """Every recovered stress a little too high, with the displacement right."""
    right = problems.recover
    monkeypatch.setattr(
        problems,
        "recover",
        lambda solution: tuple(
            replace(layer, stress=1.005 * layer.stress) for layer in right(solution)
        ),
    )
    assert not any(check_problem(problem).passed for problem in PROBLEMS[:6])


def test_no_number_never_passes():
    target = Target("growth", 1.0, 0.1, lambda answer: 1.0)
    assert Outcome(target, 1.1 - 1e-9).passed
    assert not Outcome(target, float("nan")).passed


def test_furthest_of_several_places_counts():
    ring = PROBLEMS[0]
    target = Target("hoop stress", 20.0, 1.0, lambda answer: np.array([20.0, 17.0, 21.0]))
    assert check_problem(replace(ring, targets=(target,))).outcomes[0].ours == 17.0


def test_problem_that_breaks_is_named(monkeypatch, two_rings):
    def broken(*_):
        raise RuntimeError("it broke")

    monkeypatch.setattr(problems, "recover", broken)
    done = check()
    assert done.exit_code == 1
    assert done.stderr.strip() == (f'Error: the run failed: problem "{PROBLEMS[0].name}": it broke')


@pytest.mark.parametrize(
    ("place", "says"),
    [("there", "A folder has that name"), ("nowhere/check.html", "There is no folder")],
)
def test_page_without_a_place_is_refused_before_anything_is_solved(
    tmp_path, monkeypatch, place, says
):
    monkeypatch.setattr(problems, "solve_outline", None)
    (tmp_path / "there").mkdir()
    done = check("--out", tmp_path / place)
    assert done.exit_code == 2
    assert says in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["there"]


def test_page_that_cannot_be_written_is_told(monkeypatch, tmp_path, two_rings):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(published, "write_check_page", full)
    done = check("--out", tmp_path / "check.html")
    assert done.exit_code == 2
    assert "No space left on device" in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_parts_and_places_that_are_not_there_are_refused():
    ring = problems.lame_ring()
    with pytest.raises(ValueError, match=r"no node at \(1, 2\)"):
        ring.node_at(1, 2)
    with pytest.raises(ValueError, match="no insert"):
        ring.stress(ring.nodes("bore"), "insert")
