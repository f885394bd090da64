"""The command at its doors: odd files and names, signals, memory, pipes, other systems."""

import ast
import os
import re
import signal
import subprocess
import sys
import tomllib
from functools import cache
from pathlib import Path

import pytest
from bench import FIT, TIES
from click.testing import CliRunner

import cases.run
from cases import RunError, read_case, solve_case
from cases.base.output import output_folder
from cases.cli import main

ROOT = Path(cases.run.__file__).parents[1]
PACKAGES = ("geometry", "fea", "cases")
COMMAND = "from cases.cli import main; main(prog_name='hoopclock')"
PATIENCE = 60.0  # for a command that must end [s]

ONE_BORE = """\
job = "one bore (invented)"
[block]
bore = "80 mm"
barrel_wall = "8 mm"
material = "A356-T6"
[gas]
peak_pressure = "120 bar"
pressurised_depth = "24 mm"
[section]
mesh = "coarse"
depth = "24 mm"
tolerance = "10 %"
[[design]]
name = "bare"
"""
JACKET = 'wall = "8 mm"\njacket = "10 mm"\nouter_wall = "9 mm"'
INSERT = """\
depth = "8 mm"
material = "6061-T6"
"""
JACKETED = ONE_BORE.replace('wall = "8 mm"', JACKET).replace("[gas]", f"{TIES}[gas]")
FITTED = f'{JACKETED}[[design]]\nname = "ring"\n{INSERT}{FIT}'
ODD_NAME = r"合金 $\\frac{ 1"
ODD = ONE_BORE.replace("one bore", "单孔 $x^ 😀").replace("A356-T6", ODD_NAME)
ODD += f"""\
[material."{ODD_NAME}"]
youngs_modulus = "72 GPa"
poisson = 0.33
source = "a handbook that costs 5 $"
cast = true
tensile_strength = "240 MPa"
yield_strength = "190 MPa"
fatigue_strength = "80 MPa"
fatigue_cycles = 1e8
[rating]
draws = 0
"""


@pytest.fixture(autouse=True)
def _in_an_empty_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def write(text, path="case.toml"):
    Path(path).write_text(text, encoding="utf-8")


def run(*arguments):
    return CliRunner().invoke(main, arguments)


def refusal(*arguments):
    """Message of a command that is refused before it makes anything."""
    before = sorted(Path.cwd().rglob("*"))
    done = run(*arguments)
    assert done.exit_code == 2, done.output
    assert done.stderr.count("Error: ") == 1
    assert "Traceback" not in done.output
    assert sorted(Path.cwd().rglob("*")) == before
    return done.stderr


def environment(*first, **more):
    paths = os.pathsep.join(map(str, (*first, ROOT)))
    return {**os.environ, "PYTHONPATH": paths, **more}


def process(*arguments, code=COMMAND, options=(), env=None, **more):
    return subprocess.Popen(
        [sys.executable, *options, "-c", code, *arguments],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, encoding="utf-8",
        env=env or environment(), **more,
    )  # fmt: skip


def finished(started):
    """Status, output and errors of a process; it has ended when all that it started have."""
    try:
        out, err = started.communicate(timeout=PATIENCE)
    except subprocess.TimeoutExpired:
        started.kill()
        raise
    return started.returncode, out, err


# files and names


@pytest.mark.parametrize("command", ["demo", "solve", "rate", "check"])
@pytest.mark.parametrize("out", ["", " "])
def test_an_empty_out(command, out):
    write(ONE_BORE)
    case = [] if command in ("demo", "check") else ["case.toml"]
    assert "It is empty. Name a folder" in refusal(command, *case, "--out", out)


def test_a_page_that_is_a_link_to_nowhere():
    try:
        Path("page.html").symlink_to("page.html")
    except OSError:
        pytest.skip("links can't be made here")
    assert "a link that leads nowhere" in refusal("check", "--out", "page.html")


def test_a_case_file_whose_name_is_no_text():
    message = refusal("solve", "b\udce4nk.toml")
    assert "not UTF-8" in message
    assert "b\\udce4nk.toml" in message


def test_a_case_file_in_its_own_out_folder_under_a_results_name():
    Path("out").mkdir()
    write(ONE_BORE, "out/results.json")
    assert "under a result's name" in refusal("solve", "out/results.json", "--out", "out")


@pytest.mark.parametrize(
    ("old", "new", "shown"),
    [
        ('"80 mm"', '"8 \\u001b[31m\\u009b mm"', '8 \\u001b[31m\\x9b mm"'),
        ('"80 mm"', f'"{"8" * 500_000} mm"', "88..."),
        ('"80 mm"', f'"{"x" * 500_000}"', "xx..."),
        ("bore =", f"{'x' * 500_000} = 1\nbore =", "There is no such key"),
        ('"80 mm"', '"8\\u202e mm"', "\\u202e"),
        ('"80 mm"', '"8 \x1b[31m mm"', "\\x1b[31m"),
    ],
    ids=["controls", "digits", "letters", "key", "direction", "controls as they are"],
)
def test_odd_and_long_values_are_escaped_and_clipped(old, new, shown):
    write(ONE_BORE.replace(old, new, 1))
    message = refusal("solve", "case.toml")
    assert shown in message
    assert len(message) < 2000
    assert message.replace("\n", "").isprintable()


PARTS = ".".join("a" * 20_000)
DOTTED = "x = " + "{a.a.a.a.a.a.a.a.a.a.a.a.a.a.a.a = " * 200 + "1" + "}" * 200
QUOTED = " . ".join(['"a"'] * 20_000)


@pytest.mark.parametrize(
    "text",
    [
        f"{PARTS} = 1",
        f"[{PARTS}]",
        f"x = {{ {PARTS} = 1 }}",
        f"x = 1\n{QUOTED} = 1",
    ],
    ids=["key", "heading", "inline", "quoted"],
)
def test_a_key_of_20000_parts_never_reaches_the_parser(monkeypatch, text):
    monkeypatch.setattr(tomllib, "loads", lambda _: pytest.fail("it would take minutes"))
    write(text)
    assert "names are joined by points" in refusal("solve", "case.toml")


@pytest.mark.parametrize(
    ("old", "key"),
    [("bore =", "block.bore"), ("job =", "job"), ("[gas]", "block.bores"), ("name =", "name")],
)
def test_a_number_of_endless_digits(old, key):
    new = f"{old} 0x{'F' * 100_000} #" if "=" in old else f"bores = 0x{'F' * 100_000}\n[gas]"
    write(ONE_BORE.replace(old, new, 1))
    message = refusal("solve", "case.toml")
    assert f"{key}\n      The number is too large" in message


@pytest.mark.parametrize("text", ["x = " + "[" * 50_000, "x = " + "{a = " * 50_000, DOTTED])
def test_what_is_nested_50000_deep(text):
    write(text)
    assert "nested too deep" in refusal("solve", "case.toml")


def test_a_text_with_many_points_is_no_key():
    write(ONE_BORE.replace("one bore", "and so on " + "." * 100 + " v1.2.3.4.5"))
    assert read_case("case.toml").name.startswith("and so on ...")


def test_the_demo_spares_a_case_that_is_changed_while_it_runs(monkeypatch):
    def change(*_, **__):
        write("mine", "out/case.toml")

    monkeypatch.setattr("cases.run.solve_case", change)
    monkeypatch.setattr("cases.report.results.write_outputs", lambda *_: None)
    monkeypatch.setattr("cases.report.terminal.print_result", lambda _: None)
    assert run("demo", "--section", "--out", "out").exit_code == 0
    assert Path("out/case.toml").read_text(encoding="utf-8") == "mine"


def test_letters_that_a_font_lacks_stand_as_codes(recwarn):
    from cases.base.figures import new_figure
    from cases.report.pictures import _spell_out

    figure = new_figure(4, 4)
    axes = figure.subplots()
    axes.plot([1, 1e5], [0, 1], label="合 $x^")
    axes.set_xscale("log")
    axes.set_yticks([0, 1], ["é", "环"])
    legend = axes.legend()
    assert _spell_out(figure)
    figure.savefig("figure.png")
    assert [label.get_text() for label in axes.get_yticklabels()] == ["é", "\\u73af"]
    assert legend.get_texts()[0].get_text() == "\\u5408 $x^"
    assert any(label.get_parse_math() for label in axes.get_xticklabels())
    assert not recwarn.list
    assert not _spell_out(new_figure(4, 4))


def test_a_line_without_an_end_is_cut_in_pictures():
    from cases.base.figures import new_figure
    from cases.report.pictures import LONGEST_LINE, _spell_out

    figure = new_figure(4, 4)
    title = figure.suptitle(f"name\n{'m' * 500_000}")
    _spell_out(figure)
    assert title.get_text() == f"name\n{'m' * LONGEST_LINE}..."


# one run at a time, and what ends it

STUCK = f"""\
import os, time
import cases.run
os.cpu_count = lambda: 2
def stuck(case, tell, executor, rate):
    executor.submit(print, "working", flush=True).result()
    executor.submit(time.sleep, 60).result()
cases.run.solve_case = stuck
{COMMAND}
"""


@pytest.fixture
def stuck():
    """A command whose worker is in the midst of its work."""
    write(FITTED)
    started = process("solve", "--section", "case.toml", "--out", "out", code=STUCK)
    assert started.stdout.readline() == "working\n"
    yield started
    started.kill()
    started.communicate(timeout=PATIENCE)


@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
def test_a_signal_to_end_leaves_nothing(stuck, name):
    if not hasattr(signal, name) or os.name != "posix":
        pytest.skip("there is no such signal here")
    stuck.send_signal(getattr(signal, name))
    status, _, err = finished(stuck)
    assert status == 128 + getattr(signal, name)
    assert "Traceback" not in err
    assert os.listdir() == ["case.toml"]


def test_a_killed_run_ends_its_workers_and_the_next_clears_what_it_left(stuck):
    assert "Another run is writing" in refusal("solve", "case.toml", "--out", "out")
    stuck.kill()
    finished(stuck)
    assert list(Path("out").glob(".hoopclock-*"))
    with output_folder("out") as folder:
        (folder / "results.json").write_text("{}", encoding="utf-8")
    assert os.listdir("out") == ["results.json"]


def test_a_reader_that_leaves_is_no_failure():
    talk = (
        "import cases.cli as c\nc._run = lambda *_, **__: [c.click.echo(k) for k in range(10**5)]\n"
    )
    started = process("solve", "--section", "case.toml", code=talk + COMMAND)
    assert started.stdout.readline() == "0\n"
    started.stdout.close()
    assert started.stderr.read() == ""
    started.stderr.close()
    started.wait(PATIENCE)


def test_a_broken_pipe_is_an_error_after_the_mesher_too():
    code = """if True:
        import os
        from cases import read_case, solve_case
        solve_case(read_case("case.toml"))
        end, pipe = os.pipe()
        os.close(end)
        try:
            os.write(pipe, b"x")
        except BrokenPipeError:
            print("heard")
    """
    write(ONE_BORE)
    assert finished(process(code=code)) == (0, "heard\n", "")


# memory, libraries


def but_progress(err):
    """Lines of it but those that say how far a run is."""
    how_far = re.compile(r" *\d+%  |reading case.toml$")
    return [line for line in err.splitlines() if line.strip() and not how_far.match(line)]


@pytest.mark.skipif(sys.platform != "linux", reason="limits of address space")
@pytest.mark.parametrize("megabytes", [350, 600])
def test_memory_that_runs_out_is_named(megabytes):
    import resource

    def limit():
        resource.setrlimit(resource.RLIMIT_AS, (megabytes * 10**6,) * 2)

    write(ONE_BORE)
    status, _, err = finished(process("solve", "--section", "case.toml", preexec_fn=limit))
    assert status == 1
    assert "Error: the run failed: memory ran out" in err
    assert "apt-get" not in err
    assert len(but_progress(err)) == 1
    assert os.listdir() == ["case.toml"]


def test_memory_that_runs_out_in_a_step_is_named(monkeypatch):
    def fail(*_, **__):
        raise MemoryError("Unable to allocate 7 GiB")

    write(ONE_BORE)
    monkeypatch.setattr("cases.stress.solve.SectionModel", fail)
    with pytest.raises(MemoryError):  # what an error came from is lost on the way from a worker
        solve_case(read_case("case.toml"))
    done = run("solve", "--section", "case.toml")
    assert done.exit_code == 1
    assert "the run failed: memory ran out" in done.stderr


def test_a_worker_that_dies_is_told(monkeypatch):
    def kill(case, tell, executor, *, rate):
        executor.submit(os._exit, 3).result()

    write(FITTED)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    monkeypatch.setattr("cases.run.solve_case", kill)
    done = run("solve", "--section", "case.toml")
    assert done.exit_code == 1
    assert "the run failed: one of its processes died" in done.stderr
    assert "memory" in done.stderr


class Blocked:
    """Lets the mesher's import fail as the loader of shared libraries would."""

    def __init__(self, message):
        self.message = message

    def find_spec(self, name, *_):
        if name == "gmsh":
            raise OSError(self.message)


@pytest.fixture
def blocked(monkeypatch):
    def block(message):
        monkeypatch.delitem(sys.modules, "geometry.mesh", raising=False)
        monkeypatch.delitem(sys.modules, "gmsh", raising=False)
        monkeypatch.setattr(sys, "meta_path", [Blocked(message), *sys.meta_path])

    return block


def test_libraries_that_do_not_fit_are_not_missing(blocked):
    blocked("libgmsh.so: failed to map segment from shared object")
    write(ONE_BORE)
    done = run("solve", "--section", "case.toml")
    assert "memory ran out" in done.stderr
    assert "apt-get" not in done.stderr


class Idle:
    """An executor that must not be asked."""

    def submit(self, *_):
        pytest.fail("a process was started")


def test_missing_libraries_are_told_before_any_process_starts(blocked):
    blocked("libGLU.so.1: cannot open shared object file")
    write(FITTED)
    with pytest.raises(RunError, match="libglu1-mesa"):
        solve_case(read_case("case.toml"), executor=Idle())


def test_missing_libraries_are_one_line():
    Path("fake").mkdir()
    write('raise OSError("libGLU.so.1: cannot open shared object file")', "fake/gmsh.py")
    write(FITTED)
    fake = environment(Path("fake").absolute())
    status, _, err = finished(process("solve", "--section", "case.toml", env=fake))
    assert status == 1
    assert "Traceback" not in err
    (line,) = but_progress(err)
    assert line.startswith("Error: the run failed: the mesher can't start: libGLU.so.1")
    assert " apt-get install " in line


# other systems

POSIX_MODULES = ("fcntl", "resource", "pwd", "grp", "termios", "tty", "pty", "syslog", "readline")
POSIX_OS = (
    "chown", "chroot", "fchmod", "fchown", "fork", "forkpty", "getegid", "geteuid", "getgid",
    "getgroups", "getloadavg", "getpgid", "getpgrp", "getpriority", "getresuid", "getsid",
    "getuid", "kill", "killpg", "lchown", "lockf", "mkfifo", "mknod", "nice", "openpty",
    "pathconf", "posix_spawn", "pread", "pwrite", "sched_getaffinity", "setpgid", "setsid",
    "setuid", "statvfs", "sync", "sysconf", "tcgetpgrp", "ttyname", "wait", "wait3",
    "wait4",
)  # fmt: skip
POSIX_SIGNALS = (
    "SIGALRM", "SIGCHLD", "SIGCONT", "SIGHUP", "SIGKILL", "SIGPIPE", "SIGQUIT", "SIGSTOP",
    "SIGTSTP", "SIGUSR1", "SIGUSR2", "SIGWINCH", "alarm", "pause", "pthread_kill",
    "pthread_sigmask", "setitimer", "sigwait",
)  # fmt: skip
HIDE = f"""\
import os, signal, sys
for name in {POSIX_MODULES}:
    sys.modules[name] = None
for module, names in ((os, {POSIX_OS}), (signal, {POSIX_SIGNALS})):
    for name in names:
        if hasattr(module, name):
            delattr(module, name)
"""


@pytest.fixture(scope="module")
def odd(tmp_path_factory):
    """Folder, status, output and errors of a run under everything that a system may lack at once.

    The case's names are in no font of the project; the terminal knows ASCII alone; modules that
    only POSIX has are hidden; the folder holds results that can't be read.
    """
    folder = tmp_path_factory.mktemp("odd")
    (folder / "hidden").mkdir()
    (folder / "out").mkdir()
    write(HIDE, folder / "hidden/sitecustomize.py")
    write(ODD, folder / "case.toml")
    write("[" * 200_000, folder / "out/results.json")
    started = process(
        "rate", "case.toml", "--section", "--out", "out", cwd=folder,
        env=environment(folder / "hidden", PYTHONIOENCODING="ascii", LC_ALL="C"),
        options=["-X", "warn_default_encoding", "-W", "ignore:only soft file lock is available"],
    )  # fmt: skip
    return folder, *finished(started)


def test_the_command_without_what_only_posix_has(odd):
    folder, status, _, err = odd
    assert status == 0, err
    assert (folder / "out/report.html").exists()
    assert not list((folder / "out").glob(".*"))


def test_every_file_is_opened_in_a_stated_encoding(odd):
    _, _, _, err = odd
    told = [line for line in err.splitlines() if ": EncodingWarning: " in line]
    assert told  # libraries', or nobody listens
    ours = tuple(str(ROOT / package) for package in PACKAGES)
    assert not [line for line in told if line.startswith(ours)]


@cache
def trees():
    """Syntax of every file of the project."""
    paths = [path for package in PACKAGES for path in (ROOT / package).rglob("*.py")]
    return {path: ast.parse(path.read_text(encoding="utf-8")) for path in paths}


def opens_text(node):
    """Whether a call opens a text file without naming its encoding."""
    if not isinstance(node, ast.Call):
        return False
    name = getattr(node.func, "attr", getattr(node.func, "id", ""))
    given = [*node.args, *(keyword.value for keyword in node.keywords)]
    binary = any(isinstance(arg, ast.Constant) and arg.value in ("rb", "wb") for arg in given)
    stated = any(keyword.arg == "encoding" for keyword in node.keywords)
    return name in ("open", "read_text", "write_text") and not binary and not stated


def test_no_file_is_opened_in_an_encoding_that_the_system_chooses():
    """On paths that the run above does not take, too."""
    for path, tree in trees().items():
        assert not [node.lineno for node in ast.walk(tree) if opens_text(node)], path


def test_names_that_font_and_terminal_lack(odd):
    folder, _, out, err = odd
    told = [line for line in but_progress(err) if "open(" not in line]
    assert all(": EncodingWarning: " in line for line in told), told
    assert out.isascii()
    assert "\\u5355\\u5b54 $x^ \\U0001f600" in out
    page = (folder / "out/report.html").read_text(encoding="utf-8")
    assert "单孔 $x^ 😀" in page


def test_results_that_cannot_be_read_are_replaced(odd):
    folder, *_ = odd
    assert (folder / "out/results.json").read_text(encoding="utf-8").startswith("{")


WORKING = """\
import os
from cases.base.workers import Workers, relayed
if __name__ == "__main__":
    with Workers(1) as pool:
        with relayed(print, pool) as tell:
            pool.submit(tell, "design", "stage").result()
        assert pool.submit(os.getpid).result() != os.getpid()
"""


def test_workers_without_what_only_posix_has():
    Path("hidden").mkdir()
    write(HIDE, "hidden/sitecustomize.py")
    hidden = environment(Path("hidden").absolute())
    assert finished(process(code=WORKING, env=hidden)) == (0, "design stage\n", "")


def names_of(tree):
    """Modules that a file imports, and attributes that it takes of modules."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            yield f"{node.value.id}.{node.attr}"


def test_no_call_that_only_posix_has():
    """On paths that no run above takes, too."""
    only = {*POSIX_MODULES, *(f"os.{name}" for name in POSIX_OS)}
    only |= {f"signal.{name}" for name in POSIX_SIGNALS}
    for path, tree in trees().items():
        assert not set(names_of(tree)) & only, path
