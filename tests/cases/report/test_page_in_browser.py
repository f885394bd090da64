"""The page in a browser: nothing runs over, links and keys open folds, words can be read, paper.

Contrast of text is that of WCAG 2.1, 1.4.3: 4.5 to 1 at least, by relative luminance.
"""

from __future__ import annotations

import re

import pytest
from browsers import BROWSER, launched

from cases.report.page import write_report
from cases.report.pictures import write_pictures
from cases.subjects import SUBJECTS

pytestmark = pytest.mark.skipif(BROWSER is None, reason="needs a browser")
LEAST_CONTRAST = 4.5

CONTRASTS = """() => {
  const light = (colour) => {
    const parts = colour.match(/[\\d.]+/g).slice(0, 3).map((one) => one / 255);
    const [r, g, b] = parts.map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const shown = [...document.querySelectorAll("p, li, td, th, a, summary, caption, figcaption")];
  return shown.map((one) => {
    const style = getComputedStyle(one);
    return [one.className || one.tagName, 1.05 / (light(style.color) + 0.05)];
  });
}"""


@pytest.fixture(scope="module")
def path(told_result, tmp_path_factory):
    folder = tmp_path_factory.mktemp("browsed")
    write_pictures(told_result, folder)
    return write_report(told_result, folder)


@pytest.fixture(scope="module")
def browser():
    with launched() as found:
        yield found


def opened(browser, path, width):
    page = browser.new_page(viewport={"width": width, "height": 900})
    page.set_default_timeout(120_000)  # a loaded machine is slow; nothing is timed here [ms]
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(path.as_uri())
    return page, asked


@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_runs_over_the_edge_and_nothing_is_loaded(browser, path, width):
    page, asked = opened(browser, path, width)
    across = "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    wide, room = page.evaluate(across)
    assert wide <= room
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true })")
    wide, room = page.evaluate(across)
    assert wide <= room
    clipped = """[...document.querySelectorAll("table.cards")].filter((one) =>
      one.scrollWidth > one.parentElement.clientWidth + 1).length"""
    assert page.evaluate(clipped) == 0
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    page.close()


def test_rows_of_tables_are_cards_on_a_narrow_screen(browser, path):
    """Each cell stands on a line of its own, behind its heading."""
    page, _ = opened(browser, path, 390)
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true })")
    cells = page.evaluate("""[...document.querySelectorAll("table:has(thead) td")].map((one) => [
      getComputedStyle(one).display, one.dataset.name,
      getComputedStyle(one, "::before").content, one.textContent.trim()])""")
    assert len(cells) > 200
    for display, name, before, told in cells:
        assert name
        assert before == f'"{name}: "' if '"' not in name else name in before
        assert display == ("block" if told else "none") or not told
    assert page.locator("thead:visible").count() == 0
    page.close()


LEAST_LETTERS = 9.0  # [px]
SMALLEST = 7.5  # of the letters of a picture as it is drawn [pt]


def test_no_picture_has_smaller_letters(told_result):
    from matplotlib.text import Text

    drawn = 0
    for subject in SUBJECTS:
        for hook in ("maps", "figures"):
            for name, figure in getattr(subject, hook)(told_result):
                told = [one for one in figure.findobj(Text) if one.get_text().strip()]
                for one in told:
                    assert one.get_fontsize() >= SMALLEST, (name, one.get_text())
                drawn += len(told)
    assert drawn > 500


def test_letters_of_pictures_can_be_read_on_a_narrow_screen(browser, path):
    """A picture, or each panel of it, is nearly as wide there as it was drawn, and fits."""
    page, _ = opened(browser, path, 390)
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true })")
    sizes = page.evaluate("""[...document.querySelectorAll("figure img")].map((one) => [
      one.getBoundingClientRect().width, parseFloat(one.style.getPropertyValue("--own")),
      one.closest("figure").clientWidth])""")
    assert len(sizes) > 40
    for shown, drawn, _ in sizes:
        assert SMALLEST * 96 / 72 * shown / drawn >= LEAST_LETTERS
    assert [sizes for shown, _, room in sizes if shown > room + 1] == []
    page.close()


@pytest.mark.parametrize(("width", "abreast"), [(1280, 2), (390, 1)])
def test_panels_stand_side_by_side_or_one_below_another(browser, path, width, abreast):
    page, _ = opened(browser, path, width)
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true })")
    rows = page.evaluate("""[...document.querySelectorAll("figure .row")].map((row) =>
      [...row.querySelectorAll("img")].map((one) => one.getBoundingClientRect())
        .map((box) => [box.left, box.top, box.width]))""")
    several = [row for row in rows if len(row) > 1 and min(wide for *_, wide in row) > 200]
    assert len(several) > 8
    for row in several:
        lines = {round(top) for _, top, _ in row}
        assert len(lines) == (1 if abreast > 1 else len(row))
    page.close()


def test_every_link_lands_on_what_it_names_and_opens_its_fold(browser, path):
    page, _ = opened(browser, path, 1280)
    links = page.eval_on_selector_all("a[href^='#']", "of => of.map((one) => one.hash)")
    assert {"#rating", "#fit", "#limits"} <= set(links)
    assert page.locator("details[open]").count() == 0
    for link in dict.fromkeys(links):
        page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = false })")
        assert page.locator(f"details:has({link})").get_attribute("open") is None
        if not page.locator(f"a[href='{link}']:visible").count():  # a word, explained in a fold
            around = f"details:not(:has({link})):has(a[href='{link}'])"
            page.locator(around).first.locator("summary").first.click()
        page.locator(f"a[href='{link}']:visible").first.click()
        place = page.locator(link)
        assert place.is_visible(), link
        assert -900 < place.bounding_box()["y"] < 900, link
    page.close()


def test_folds_open_by_the_keyboard(browser, path):
    page, _ = opened(browser, path, 1280)
    fold = page.locator("details:has(#rating)")
    fold.locator("summary").first.focus()
    page.keyboard.press("Enter")
    assert fold.get_attribute("open") is not None
    page.close()


def test_the_first_screen_tells_what_to_make(browser, path):
    """Line 1 and the row of each design, without scrolling, on a screen of 1280 by 900."""
    page, _ = opened(browser, path, 1280)
    line, table = page.locator(".line1"), page.locator("table.cards").first
    for place in (line, table):
        box = place.bounding_box()
        assert box["y"] + box["height"] <= 900
    unfolded = page.evaluate("document.body.innerText.split(/\\s+/).length")
    assert unfolded <= 1200
    page.close()


def test_all_words_stand_out_from_the_paper(browser, path):
    page, _ = opened(browser, path, 1280)
    found = page.evaluate(CONTRASTS)
    assert len(found) > 100
    assert [one for one in found if one[1] < LEAST_CONTRAST] == []
    page.close()


PAPERS = {"A4": (210, 297), "Letter": (215.9, 279.4)}
"""Widths and heights, ISO 216 and ANSI/ASME Y14.1. [mm]."""
PX = 96 / 25.4  # CSS pixels in a mm
MOST_SHEETS = 12


def sheets(page, paper):
    """How many a page prints to."""
    printed = page.pdf(format=paper)
    return len(re.findall(rb"/Type\s*/Page\b", printed))


@pytest.mark.parametrize("paper", PAPERS)
def test_paper_gets_few_sheets_and_the_cautions_on_the_first(browser, path, paper):
    page, _ = opened(browser, path, 1280)
    folded = sheets(page, paper)
    assert folded <= MOST_SHEETS
    wide, high = PAPERS[paper]
    page.emulate_media(media="print")
    page.set_viewport_size({"width": int((wide - 28) * PX), "height": int((high - 26) * PX)})
    cautions = page.locator(".paper").bounding_box()
    assert cautions["y"] + cautions["height"] < (high - 26) * PX
    assert page.locator(".paper li").count() == page.locator("#cautions + ul li").count() > 3
    assert not page.locator("nav").is_visible()
    page.close()


def test_paper_gets_the_finding_of_what_is_folded_and_all_of_what_is_open(browser, path):
    page, _ = opened(browser, path, 1280)
    page.emulate_media(media="print")
    for fold in page.locator("details:not(.reference):not(.screen)").all():
        told = fold.locator(".finding, .key").first
        assert told.bounding_box()["height"] > 0, fold.inner_text()
        assert fold.locator("table, figure").evaluate_all(
            "of => of.every((one) => one.getBoundingClientRect().height === 0)"
        )
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true })")
    heads = page.locator("thead")
    assert heads.count() > 10
    shown = heads.evaluate_all("of => of.map((one) => getComputedStyle(one).display)")
    assert set(shown) == {"table-header-group"}  # which is repeated on each sheet
    assert page.locator("details table").first.bounding_box()["height"] > 0
    page.close()


def test_sheets_are_numbered(browser, path):
    page, _ = opened(browser, path, 1280)
    rules = page.evaluate(
        "[...document.styleSheets].flatMap((one) => [...one.cssRules].map((of) => of.cssText))"
    )
    (sheet,) = [rule for rule in rules if rule.startswith("@page")]
    assert re.search(r"@bottom-right \{[^}]*counter\(page\)", sheet)
    page.close()
