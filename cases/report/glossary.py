"""Words that a page explains: each is a link to its meaning where a chapter uses it first."""

from __future__ import annotations

import re
from dataclasses import dataclass

from markupsafe import Markup

from cases.report.in_units import TAG


@dataclass(frozen=True, slots=True)
class Word:
    """A word as it stands on the page, and what it means there."""

    word: str
    meaning: str
    forms: str = ""  # pattern of what is taken for it; the word itself, or its plural, where empty

    @property
    def key(self) -> str:
        """Of its place on the page."""
        return "word-" + re.sub(r"\W+", "-", self.word)

    @property
    def pattern(self) -> str:
        """What it is known by in a text, for a regular expression."""
        return self.forms or re.escape(self.word) + "s?"


GLOSSARY = (
    Word("compound", "What is wet in the joint at the press and cures there."),
    Word(
        "critical distance",
        "Length over which stress that falls steeply is averaged before it is judged.",
    ),
    Word(
        "draws",
        "Blocks made up by chance of what castings, strengths, walls and gas are known to scatter "
        "by; what the wanted share of them carry is the limit.",
        "draws",
    ),
    Word("film", "How well a wall gives heat to what flows along it, and how warm that is."),
    Word("growth", "How far the wall of the bore moves outward."),
    Word(
        "hold", "Push-out force: what a piece bears before it slides out.", "hold(?= is| of| over)"
    ),
    Word("hoop", "Pull around the bore."),
    Word(
        "interference",
        "By how much the insert is larger than its pocket, as that is measured with its liner in.",
    ),
    Word(
        "margin",
        "Margin on the wanted load: the limit over it, told as times the gas load; 1 just carries "
        "it.",
        "margin|times (?:the|what is|as) (?:asked|wanted|gas load)|times the asked gas load",
    ),
    Word("one piece", "As if insert and block were one casting: no joint, no fit."),
    Word(
        "open",
        "Share of the joint that stands apart (its gap share): nothing is pressed on there.",
        "(?<=% )open|open(?= share)",
    ),
    Word(
        "order",
        "Part of the bore's shape that repeats so many times around it: 2 is oval, 3 three-lobed, "
        "4 four-lobed.",
        "orders?(?= of| [2-9]| add| together)",
    ),
    Word(
        "out of round",
        "Bore distortion: largest less smallest growth, the shift of the whole bore taken out.",
    ),
    Word("principal", "The largest pull in any direction; cracks open across it."),
    Word("reach", "How deep below the deck the gas presses: down to the top ring."),
    Word(
        "relief cut",
        "Bolt clearance pocket: a round pocket about a bolt, from the deck, for bolt and tool "
        "(relief_cut in a case).",
    ),
    Word(
        "section",
        "The top of the block by its plan alone, stress a mean over the depth.",
        "deck section",
    ),
    Word("sharp", "A corner with no radius, where stress has no finite value and judges nothing."),
    Word(
        "solid",
        "The block in depth: what is worst, where and how deep stands on it.",
        "(?:fine |coarse )?solid",
    ),
    Word("steep", "A place where stress falls within its critical distance."),
    Word("stress intensity", "How hard a crack's tip is pulled open; it grows by it."),
    Word("tie", "Deck bridge: metal of the block across the water jacket at the deck."),
    Word("window", "Fits between which the insert does nearly as well as at its best."),
)
"""In the order of the alphabet."""

_UNLINKED = {
    "a",
    "aside",
    "h1",
    "h2",
    "h3",
    "code",
    "summary",
    "caption",
    "thead",
    "title",
    "style",
}


def with_links(page: str, words: tuple[Word, ...] = GLOSSARY) -> Markup:
    """A piece of a page whose words are links where they stand first.

    Headings, links, code, the heads of tables and what stands aside are left as they are.

    Parameters
    ----------
    page : str
        HTML, each element closed.
    words : tuple of Word

    Examples
    --------
    >>> print(with_links("<p>A tie, two ties.</p>", (Word("tie", "A deck bridge."),)))
    <p>A <a class="word" href="#word-tie">tie</a>, two ties.</p>
    """
    left = {word.key: re.compile(rf"\b(?:{word.pattern})\b", re.IGNORECASE) for word in words}
    inside: list[str] = []
    told = []
    for piece in TAG.split(page):
        if piece.startswith("<"):
            name = re.match(r"</?\s*(\w+)", piece)
            if name and name[1].lower() in _UNLINKED:
                if piece.startswith("</"):
                    inside.pop()
                else:
                    inside.append(name[1])
            told.append(piece)
        else:
            told.append(piece if inside else _linked(piece, left))
    return Markup("".join(told))


def _linked(text: str, left: dict[str, re.Pattern[str]]) -> str:
    """A text with links to the words that are left, which are taken from them."""
    found = [(match, key) for key, pattern in left.items() if (match := pattern.search(text))]
    for match, key in sorted(found, key=lambda one: one[0].start(), reverse=True):
        if any(
            other.start() < match.end() and match.start() < other.end() and other is not match
            for other, _ in found
        ):
            continue  # in a longer one; it comes again
        del left[key]
        link = f'<a class="word" href="#{key}">{match[0]}</a>'
        text = text[: match.start()] + link + text[match.end() :]
    return text
