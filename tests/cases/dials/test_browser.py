"""The page in a browser: dials by mouse and keys, pictures, faults, two pages, a killed server.

The server is the command itself; the block is small, and its verdict is not waited for.
"""

import json
import os
import random
import re
import signal
import subprocess
import sys
from contextlib import contextmanager

import psutil
import pytest
from bench import BARE, HEAT
from browsers import BROWSER, launched

from cases.base.toml import load_toml
from cases.dials.state import read_state

pytestmark = pytest.mark.skipif(BROWSER is None, reason="needs a browser")
MAIN = "from cases.cli import main; main()"
PATIENCE = 180_000  # a loaded machine is slow; nothing is timed here [ms]
MOST_GROWTH = 100e6
"""Of the server's memory over a hundred moves. [bytes]."""
DEPTH = "Depth of the insert, mm"
FIFTY, NONE = "draws = 50", "draws = 0"


@contextmanager
def serving(path):
    """The command at work on a case, and the address that it printed."""
    process = subprocess.Popen(
        [sys.executable, "-c", MAIN, "page", str(path), "--no-browser"],
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=path.parent,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([os.getcwd(), *filter(None, sys.path)])},
    )  # fmt: skip
    try:
        yield process, re.search(r"http://\S+", process.stdout.readline())[0]
    finally:
        process.send_signal(signal.SIGINT)
        process.said = process.communicate(timeout=60)[0]


@pytest.fixture(scope="module")
def browser():
    with launched() as found:
        yield found


def opened(browser, address, width=1280):
    """A page, what went wrong on it, and what it asked of whom."""
    page = browser.new_context(viewport={"width": width, "height": 900}).new_page()
    page.set_default_timeout(PATIENCE)
    wrong, asked = [], []
    page.on("console", lambda of: wrong.append(of.text) if of.type in ("error", "warning") else 0)
    page.on("pageerror", lambda of: wrong.append(str(of)))
    page.on("request", lambda of: asked.append(of.url))
    page.goto(address)
    page.get_by_role("slider", name=DEPTH).wait_for()
    page.get_by_text("Worst pull").wait_for()
    return page, wrong, asked


def plan(page):
    return page.get_by_role("img", name=re.compile("plan of the block")).inner_html()


def until(page, was):
    """Wait for the plan to be another."""
    for _ in range(PATIENCE // 100):
        if plan(page) != was:
            return
        page.wait_for_timeout(100)
    raise AssertionError("the plan stays as it was")


def stands_at(page, name, value):
    page.wait_for_function(
        "([name, value]) => document.querySelector(`input[aria-label='${name}']`).value == value",
        arg=[name, value],
    )


def test_dials_move_by_mouse_and_keys_and_nothing_is_lost(browser, small):
    before = small.read_text()
    with serving(small) as (process, address):
        page, wrong, asked = opened(browser, address)
        other, wrong_there, _ = opened(browser, address, width=390)
        for of in page.get_by_role("slider").all():
            assert of.get_attribute("aria-label")

        across, down = page.get_by_role("img", name=re.compile("plan of the block")).evaluate(
            "of => { const m = of.querySelector('g svg').getScreenCTM(); return [m.a, m.d]; }"
        )
        assert across == pytest.approx(down, rel=0.02)  # round bores are round
        was = plan(page)
        slider = page.get_by_role("slider", name=DEPTH)
        slider.focus()
        page.keyboard.press("ArrowRight")
        until(page, was)
        stands_at(page, f"{DEPTH}, typed", "6.1")
        stands_at(other, f"{DEPTH}, typed", "6.1")
        assert page.locator(".verdict.old").count() == 1

        box = slider.bounding_box()
        page.mouse.click(box["x"] + 0.9 * box["width"], box["y"] + box["height"] / 2)
        page.wait_for_function(
            "name => document.querySelector(`input[aria-label='${name}']`).value > 7.5",
            arg=f"{DEPTH}, typed",
        )

        load = page.get_by_label("Wanted load: peak gas pressure, bar, typed")
        load.fill("9 t")
        load.press("Enter")
        page.get_by_text("Allowed units").wait_for()
        load.fill("1900 psi")
        load.press("Enter")
        stands_at(page, "Wanted load: peak gas pressure, bar, typed", "131")
        assert page.get_by_text("Allowed units").count() == 0

        press = page.get_by_label("Interference on the diameter, um, typed")
        press.fill("3000")
        press.press("Tab")
        page.get_by_text("outside 0 to 2000 um").wait_for()
        assert page.get_by_role("button", name="Save").is_disabled()
        page.get_by_role("button", name="Undo").click()
        stands_at(page, "Interference on the diameter, um, typed", "20")
        page.get_by_text("outside 0 to 2000 um").wait_for(state="hidden")

        page.get_by_role("button", name="Undo").click()
        stands_at(page, "Wanted load: peak gas pressure, bar, typed", "120")
        stands_at(page, "Wanted load: peak gas pressure, bar", "120")
        load.fill("131")
        load.press("Enter")
        stands_at(page, "Wanted load: peak gas pressure, bar", "131")

        page.get_by_label("Keep this as").fill("<b>deep</b>")
        page.get_by_role("button", name="Keep").click()
        page.get_by_text("<b>deep</b>").first.wait_for()
        assert page.locator("b").count() == 0

        page.get_by_role("slider", name="clock position that is looked at").focus()
        was = plan(page)
        page.keyboard.press("ArrowRight")
        until(page, was)

        found = page.locator(".first")
        found.get_by_text("First answer, at the wanted load").wait_for()
        assert found.evaluate("of => getComputedStyle(of).borderTopStyle") == "dashed"
        assert page.locator(".verdict.old").count() == 1

        assert asked
        assert all(url.startswith((address.split("?")[0], "data:", "ws:", "blob:"))
                   for url in asked)  # fmt: skip
        for one in (page, other):
            wide, room = one.evaluate(
                "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
            )
            assert wide <= room
        assert (wrong, wrong_there) == ([], [])
        stood = page.locator(f"input[aria-label='{DEPTH}, typed']").input_value()
        process.kill()
    assert "Traceback" not in process.said
    assert small.read_text() == before
    assert read_state(small).now.values["depth"] == float(stood)

    with serving(small) as (process, address):
        page, wrong, _ = opened(browser, address)
        stands_at(page, f"{DEPTH}, typed", stood)
        page.get_by_role("button", name="Save").click()
        page.get_by_text("moved since it was saved").wait_for(state="hidden")
        assert wrong == []
        children = psutil.Process(process.pid).children(recursive=True)
    assert "Traceback" not in process.said
    psutil.wait_procs(children, timeout=30)
    assert not [of for of in children if of.is_running()]
    now = load_toml(small)
    assert now["design"][1]["depth"] == f"{stood} mm"
    assert 'peak_pressure = "131 bar"  # as measured' in small.read_text()
    assert "# as it is now" in small.read_text()


def test_a_wrong_file_opens_with_its_message(browser, small):
    small.write_text(small.read_text().replace("barrel_wall", "barel_wall"))
    with serving(small) as (_, address):
        page = browser.new_page()
        page.set_default_timeout(PATIENCE)
        page.goto(address)
        page.get_by_text("barel_wall").first.wait_for()
        assert page.get_by_role("slider", name=DEPTH).count() == 0
        assert page.get_by_role("button", name="Save").is_disabled()
        page.close()


@pytest.mark.slow  # some minutes of moves, each of which begins a solve and ends another
def test_a_hundred_moves_leave_no_error_and_no_memory(browser, small):
    chosen = random.Random(1)
    with serving(small) as (process, address):
        page, wrong, _ = opened(browser, address)
        server = psutil.Process(process.pid)
        sliders = page.locator(".dial input[type=range]")
        before = 0.0
        for move in range(110):
            if move == 10:
                before = server.memory_info().rss
            slider = sliders.nth(chosen.randrange(sliders.count()))
            slider.focus()
            for _ in range(chosen.randrange(1, 6)):
                page.keyboard.press(chosen.choice(["ArrowRight", "ArrowLeft", "PageUp", "Home"]))
            page.wait_for_timeout(chosen.choice([20, 100, 300, 1500]))
        assert server.memory_info().rss - before < MOST_GROWTH
        assert len(server.children(recursive=True)) < 8
        for _ in range(5):
            page.get_by_role("button", name="Undo").click()
        page.get_by_text("Worst pull").wait_for()
        assert wrong == []
    assert process.said.splitlines()[1:] == []


@pytest.mark.slow  # a fine rating of one small insert, and its drawings: some minutes of processor
def test_report_and_make_run_to_their_end(browser, small):
    """Their pages open from the page's own address, all that they link to is there."""
    small.write_text(small.read_text().replace(HEAT, "").replace(BARE, "").replace(FIFTY, NONE))
    with serving(small) as (process, address):
        page, wrong, _ = opened(browser, address)
        page.get_by_role("button", name="Stop").click()
        link = page.get_by_role("link", name="Open it")
        for button, verb, ends, title in (
            ("Report", "rate", "/results/report.html", "what to make"),
            ("Make", "make", "/results/make-uniform/making.html", "making uniform"),
        ):
            page.get_by_role("button", name=button).click()
            page.get_by_text(re.compile(f"^hoopclock {verb} .*: ")).wait_for()
            page.get_by_text(re.compile(f"^hoopclock {verb} .*: (done|it failed)")).wait_for(
                timeout=10 * PATIENCE
            )
            with page.context.expect_page() as opening:
                link.click()
            written = opening.value
            written.on("pageerror", lambda of: wrong.append(str(of)))
            written.wait_for_load_state()
            assert written.url.endswith(ends)
            assert title in written.title()
            folder = written.url.rsplit("/", 1)[0]
            for of in {of.get_attribute("href") for of in written.locator("a[href]").all()}:
                if not of.startswith("#"):
                    assert page.request.get(f"{folder}/{of}").ok, of
            written.close()
        assert wrong == []
    assert process.said.splitlines()[1:] == []
    told = json.loads((small.with_suffix("") / "results.json").read_text())
    assert [of["design"] for of in told["designs"]] == ["uniform"]
