"""A page to try a case on: ``hoopclock page CASE``.

Dials are read from the file and put back into it (:mod:`cases.dials.dial`, :mod:`cases.dials.turn`,
:mod:`cases.dials.save`); :mod:`cases.dials.state` is all that the page must not lose, kept beside
the case. There are four answers, each told as what it is (:mod:`cases.dials.answer`): the plan,
from the geometry alone; a quick look at the section, one piece and cold; a first answer by the
solid, fitted, at the wanted load alone (:mod:`cases.dials.first`); and that solid rated, which
judges, as :func:`cases.run.solve_case` does. They are computed in processes that can
be ended at any time (:mod:`cases.dials.seat`). :mod:`cases.dials.desk` holds them together and
knows no browser; :mod:`cases.dials.page` shows them, :mod:`cases.dials.serve` lets only this
machine in. The page is by `nicegui`: the server may speak first, which a picture redrawn under a
dragged dial and answers that come later need, and a place on a picture can be pointed at.
"""
