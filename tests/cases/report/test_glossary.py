"""Words that a page explains are links where they stand first."""

import re

import pytest

from cases.report.glossary import GLOSSARY, Word, with_links

TIE, CUT = Word("tie", "A bridge."), Word("relief cut", "A pocket.")


@pytest.mark.parametrize(
    ("page", "linked"),
    [
        ("<p>Two ties.</p><p>A tie.</p>", "<p>Two [ties].</p><p>A tie.</p>"),
        ("<h3>Ties</h3><p>A Tie</p>", "<h3>Ties</h3><p>A [Tie]</p>"),
        ('<a href="#x">tie</a> tie', '<a href="#x">tie</a> [tie]'),
        ("<code>tie</code> untied, tie", "<code>tie</code> untied, [tie]"),
        ('<img alt="a tie"> a tie', '<img alt="a tie"> a [tie]'),
        ("A relief cut by a tie.", "A [relief cut] by a [tie]."),
        ("A relief <b>cut</b>.", "A relief <b>cut</b>."),
    ],
)
def test_a_word_is_a_link_where_it_stands_first(page, linked):
    told = with_links(page, (TIE, CUT))
    assert re.sub(r'<a class="word" href="#word-[a-z-]+">(.*?)</a>', r"[\1]", told) == linked


def test_of_two_that_overlap_neither_is_broken():
    told = with_links("relief cut", (CUT, Word("cut", "A groove.")))
    assert told.count("<a") == told.count("</a>") <= 1


def test_every_word_is_told_once_and_in_order():
    words = [word.word for word in GLOSSARY]
    assert words == sorted(set(words))
    assert len({word.key for word in GLOSSARY}) == len(words)
    for word in GLOSSARY:
        assert word.meaning.endswith("."), word.word
        used = f"a deck {word.word} of 100 % open, order 2"
        assert re.search(rf"\b(?:{word.pattern})\b", used), word.word
