"""What a narrow screen shows of a picture."""

from matplotlib.text import Text

from cases.base.figures import COLUMN
from cases.report.panels import MARGIN, find_panels

SMALLEST = 7.5
"""Letters, which are 9 pixels high where a panel is as wide as such a screen. [pt]."""


def fits_a_narrow_screen(figure):
    """Whether no panel is wider than its room, and no letters are smaller than can be read."""
    panels = [panel.width for row in find_panels(figure) for panel in row]
    widths = panels or [72 * figure.get_figwidth()]
    sizes = [one.get_fontsize() for one in figure.findobj(Text) if one.get_text().strip()]
    return max(widths) <= 72 * COLUMN + 2 * MARGIN and min(sizes) >= SMALLEST
