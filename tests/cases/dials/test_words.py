"""Rows of the page: what differs from the start is marked, in words too; texts are escaped."""

from html.parser import HTMLParser

import pytest

from cases.base.spoken import METRIC, Spoken
from cases.dials.answer import Fit, Judged
from cases.dials.plan import Shade
from cases.dials.words import fit_told, rows_html, scale_html, share_words


def judged(bar, grams=50.0):
    return Judged(
        setting="coarse", status="holds", share=0.9, limit_bar=bar, limit_factor=1.0, sentence="",
        cells={"verdict": "holds", "carries": f"{bar:g} bar", "insert": f"{grams:g} g"},
        numbers={"carries": bar, "insert": grams}, marks=(), flags=(), around={}, clock=0.0,
        place=None, down=None, bore=1, ranked=False, fit=None,
    )  # fmt: skip


class Text(HTMLParser):
    def __init__(self, html):
        super().__init__()
        self.rows = []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        if tag == "tr":
            self.rows.append("")
        if tag in ("td", "th", "br"):
            self.rows[-1] += "|"

    def handle_data(self, data):
        self.rows[-1] += data


def test_what_differs_is_marked_by_arrow_and_word():
    rows = [("now", judged(94.0, 60.0), False), ("as it started", judged(90.0), False)]
    head, now, start = Text(rows_html(rows, METRIC)).rows
    assert head == "|design|verdict|carries|insert"
    assert now == "|now|holds|94 bar|\u25b2 +4 bar better|60 g|\u25b2 +10 g worse"
    assert start == "|as it started|holds|90 bar|50 g"


def test_what_is_old_or_not_judged_yet_is_told_and_not_compared():
    rows = [("now", judged(94.0), True), ("as it started", judged(90.0), False), ("a", None, False)]
    _, now, _, kept = Text(rows_html(rows, METRIC)).rows
    assert now == "|now (before the last move)|holds|94 bar|50 g"
    assert kept == "|a (not judged yet)|||"
    assert 'class="old"' in rows_html(rows, METRIC)


def test_names_are_escaped():
    rows = [("<img src=x>", judged(94.0), False), ("as it started", judged(90.0), False)]
    assert "<img" not in rows_html(rows, METRIC)


def test_a_difference_is_told_in_the_units_of_the_case():
    rows = [("now", judged(94.0), False), ("as it started", judged(90.0), False)]
    assert "+58 psi" in rows_html(rows, Spoken(pressure="psi"))


def test_nothing_is_told_before_anything_is_judged():
    assert rows_html([("now", None, False), ("as it started", None, False)], METRIC) == ""


@pytest.mark.parametrize(("share", "words"), [(0.0, ""), (0.424, ", about 42 % done")])
def test_how_much_is_done(share, words):
    assert share_words(share) == words


def test_the_scale_names_its_ends():
    told = scale_html(Shade("data:,", 0.0, 25.0, "MPa", "judged, largest pull"), METRIC)
    assert "judged, largest pull: 0 MPa" in told
    assert "25 MPa" in told
    assert scale_html(None, METRIC) == ""


def test_the_fit_to_make_is_told_or_looked_for():
    fit = Fit(words="4.1 to 9.3 um per side, nominal 6.7 um", outside="Limit of 20 um.", picture="")
    assert fit_told(fit, False) == (
        "Fit to make: 4.1 to 9.3 um per side, nominal 6.7 um. Limit of 20 um."
    )
    assert fit_told(None, True) == "Fit to make: being looked for."
    assert fit_told(None, False) == ""
