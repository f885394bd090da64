"""What has to be said of the fits of a result, put together from the objects."""

from readback import Quantity, told

from cases.fit.advice import advice_of, advise
from cases.fit.result import sweep_of
from cases.rating.result import rating_of


def q(value, unit=""):
    return Quantity(float(value), unit)


def unfit_sentences(result):
    """Those of designs whose stated fit will not do."""
    by_name = dict(zip(swept_names(result), fit_sentences(result), strict=True))
    outside = [design for design in result.designs
               if design.name in by_name and not advice_of(result, design).inside]  # fmt: skip
    return [by_name[design.name] for design in outside]


def swept_names(result):
    return [design.name for design in result.designs if sweep_of(design)]


def fit_sentences(result):
    """A sentence a swept design."""
    (bare,) = (one for one in result.designs if one.name == "bare")
    limit = rating_of(bare).limit.factor
    for design in result.designs:
        sweep = sweep_of(design)
        if sweep is None:
            continue
        advice = advise(sweep, limit)
        window = advice.window
        asked, numbers = "the asked interference of #", [q(sweep.asked_um, "um")]
        if sweep.per_side:
            asked += " (# per side)"
            numbers.append(q(sweep.asked_um / 2, "um"))
        if window is None:
            yield told(f"{design.name}: {asked} will not do: ", *numbers)
            continue
        low, high = window.low_um, window.high_um
        where = "lies in" if low <= sweep.asked_um <= high else "LIES OUTSIDE"
        words = (
            f"{design.name}: {asked} {where} the window of # to # ({by(window.low_by)}; "
            f"{by(window.high_by)}); make # (# per side), # of tolerance in all"
        )
        numbers += [q(low), q(high, "um")]
        numbers += [q(0.05)] * words[: words.index("make")].count("# below")
        numbers += [q((low + high) / 2, "um"), q((low + high) / 4, "um"), q(high - low, "um")]
        if sweep.rated:
            words += ", and it stands # the asked gas load (# as asked, bare #)"
            asked_limit = min(
                sweep.points, key=lambda one: abs(one.interference_um - sweep.asked_um)
            )
            found = asked_limit.tried if asked_limit.limit is None else asked_limit.limit
            found = found if asked_limit.within is None else asked_limit.within
            numbers += [q(advice.limit_at_nominal, "times"), q(found), q(limit)]
        else:
            words += ", by hold and yield only"
        if sweep.ring_mm:
            words += f"; nearest ISO fit {advice.iso}"
        milled = 2 * sweep.tolerance_um or 40.0
        if high - low < milled:
            words += "; machine to match, as milling to size leaves #"
            numbers.append(q(milled, "um"))
        yield told(words, *numbers)


def by(words):
    """What ends a window, a number in it as one."""
    return words.replace("5 %", "#")
