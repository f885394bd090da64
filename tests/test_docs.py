"""README.md and DEVELOPERS.md say what is so: every block in them is run, every name exists."""

import importlib.util
import re
import shlex
from pathlib import Path

import pytest

from cases import read_case, solve_case
from cases.cli import DEMO, main
from cases.rating.words import of_hundred
from cases.report.results import results_dict
from cases.report.terminal import at_a_glance
from cases.solid.given import with_solid
from cases.verdict.read import verdict_of
from fea import bore_growth, hot_spots, recover
from geometry.outline import draw_section

ROOT = Path(__file__).parent.parent
DOCS = {name: (ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "DEVELOPERS.md")}
README = DOCS["README.md"]
BLOCK = re.compile(r"^```(\w*)[^\n]*\n(.*?)^```$", re.M | re.S)
QUICK = '\n[section]\nmesh = "coarse"\ntolerance = "20 %"\n'


def blocks(language, *names):
    """Every block of a language, with where it stands."""
    return [
        pytest.param(text, id=f"{name}-{text.split()[0]}-{number}")
        for name in names or DOCS
        for number, (kind, text) in enumerate(BLOCK.findall(DOCS[name]), 1)
        if kind == language
    ]


TOML = blocks("toml")
WHOLE = TOML[0].values[0]


def pasted(text):
    """A block as a case: as it stands, or at the end of the whole one."""
    return text if text.startswith("job =") else WHOLE + text


def test_blocks_are_of_kinds_that_are_run():
    kinds = {kind for text in DOCS.values() for kind, _ in BLOCK.findall(text)}
    assert kinds == {"toml", "python", "sh"}
    assert len(TOML) >= 2
    assert all(text.count("```") == 2 * len(BLOCK.findall(text)) for text in DOCS.values())


@pytest.mark.parametrize("text", TOML)
def test_every_case_reads_and_draws(case_of, text):
    case = case_of(pasted(text))
    assert [design.name for design in case.designs] == ["bare", "local"]
    assert case.block.bores == 1
    for design in case.designs:
        draw_section(case.section(design))


RATED = [block for block in TOML if "[rating]" in block.values[0]]


@pytest.mark.parametrize("text", RATED)
def test_every_case_that_rates_is_rated(case_of, text):
    """Without what takes longest: the depth section, the crack, and draws."""
    text = re.sub(r"^\[(?:depth|crack)\]\n(?:.+\n)*", "", text, flags=re.M)
    text = re.sub(r"^draws = \d+", "draws = 0", text, flags=re.M)
    result = solve_case(case_of(pasted(text), QUICK), rate=True)
    for design in results_dict(result)["designs"]:
        assert design["rating"]["limit"]


@pytest.mark.slow
@pytest.mark.parametrize("text", RATED)
def test_every_case_that_rates_is_rated_as_it_stands(case_of, text):
    for design in results_dict(solve_case(case_of(pasted(text)), rate=True))["designs"]:
        assert design["rating"]["band"]
        assert design["depth"]
        assert design["crack"]


@pytest.mark.parametrize("text", blocks("python"))
def test_every_python_block_runs(text, tmp_path, monkeypatch, capsys):
    """In a folder where the demo's has a small case of the README's own in it."""
    folder = tmp_path / "hillclimb_four"
    folder.mkdir()
    (folder / "case.toml").write_text(WHOLE + QUICK, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    names = {"__name__": "README"}
    exec(compile(text, "README.md", "exec"), names)
    printed = capsys.readouterr().out
    assert printed
    if "solution" in names:
        growth, hoop = map(float, printed.split())
        stated = [float(number) for number in re.findall(r"# ([\d.]+)(?:,|$)", text, re.M)]
        assert [growth, hoop] == pytest.approx(stated, rel=3e-3)
        solution = names["solution"]
        assert growth == bore_growth(solution).mean_growth_um
        assert hoop == hot_spots(solution, recover(solution))[0].hoop_mpa


def commands():
    """Every command of the blocks that is one of an environment: program and arguments."""
    for block in blocks("sh"):
        for line in block.values[0].splitlines():
            for words in _commands(shlex.split(line, comments=True)):
                if words[0].startswith(".venv/bin/"):
                    yield words[0].removeprefix(".venv/bin/"), words[1:]


def _commands(words):
    """The commands of a line, which "&&" joins."""
    while "&&" in words:
        yield words[: words.index("&&")]
        words = words[words.index("&&") + 1 :]
    if words:
        yield words


@pytest.mark.parametrize(("program", "arguments"), list(commands()))
def test_every_command_exists(program, arguments):
    if program == "hoopclock":
        verb = main.commands[arguments[0]]
        verb.make_context(arguments[0], arguments[1:], resilient_parsing=False)
        return
    module = {"lint-imports": "importlinter"}.get(program, program)
    assert importlib.util.find_spec(module) is not None
    for word in arguments:
        if re.match(r"(?:tests|notebooks)/", word):
            assert (ROOT / word).exists()


@pytest.mark.parametrize("name", DOCS)
def test_every_verb_and_file_that_is_named_exists(name):
    text = DOCS[name]
    for verb in re.findall(r"hoopclock (\w+)[ `]", " ".join(re.findall(r"`[^`\n]+`", text))):
        assert verb in main.commands
    for path in re.findall(r"\]\(([^)#]+)\)", text):
        assert (ROOT / path).exists(), path
    for path in re.findall(r"`((?:geometry|fea|cases|tests|notebooks)/[\w./]*)`", text):
        assert (ROOT / path).exists(), path
    for module in re.findall(r"`((?:cases|fea|geometry)(?:\.\w+)+)`", text):
        assert importlib.util.find_spec(module) is not None, module


def test_the_readme_opens_with_the_job_in_five_sentences():
    title, job, heading = README.split("\n\n")[:3]
    assert title == "# hoopclock"
    assert len(re.findall(r"\.(?=\s|$)", job)) <= 5
    assert heading == "## What the demo answers"


@pytest.mark.slow
def test_the_demo_comes_to_the_verdict_of_the_readme():
    """Rows by coarse solids as the demo has them, and the design to make with its fit."""
    case = with_solid(read_case(DEMO), "coarse", lived=True)
    verdict = verdict_of(solve_case(case, rate=True))
    told = [
        f"| {row.design} | {row.status}, {of_hundred(row.share, verdict.reliability)} of 100 draws "
        f"| {row.limit_bar:.0f} "
        f"({row.limit_low_bar:.0f} to {row.limit_high_bar:.0f}) | {row.places[0].part} "
        f"{row.places[0].clock}"
        for row in verdict.rows
    ]
    for line in told:
        assert line in README
    make = next(row for row in verdict.rows if row.design == verdict.choice.design)
    assert f"{make.fit.low_um:.1f} to {make.fit.high_um:.1f} um per\n  side" in README


@pytest.mark.slow
def test_the_demo_answers_what_the_readme_says(tmp_path):
    """Table and picture, beside a run of the bundled case."""
    from matplotlib.image import imread

    from cases.report.pictures import write_pictures

    result = solve_case(read_case(DEMO))
    told = {
        name: {line for cell in cells for line in cell.splitlines()}
        for name, *cells in at_a_glance(result).rows
    }
    table = re.findall(
        r"^\| (\w+) \| (barrel[^|]*?) \| (\d+) \| ([\d.]+) \| (\d+) \|$", README, re.M
    )
    assert [name for name, *_ in table] == list(told)
    for name, *cells in table:
        assert set(cells) <= told[name]
    write_pictures(result, tmp_path)
    stored, made = (imread(f / "stress-bare.png") for f in (ROOT / ".pictures", tmp_path))
    assert stored.shape == made.shape
    assert abs(stored - made).mean() < 0.004
