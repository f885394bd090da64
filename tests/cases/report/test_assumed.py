"""What stood for what a case leaves out: told where it counted, and only there."""

from dataclasses import replace

import pytest
from bench import BARE, ENGINE, LINED, RING
from shaken import BAND, with_rating

from cases.crack.result import crack_of
from cases.depth.result import depth_of
from cases.gas.solve import gas_of
from cases.life.liner import stand_in_words
from cases.life.result import service_of
from cases.report.page import write_report
from cases.subjects import SUBJECTS
from fea.crack import IIW_ALUMINIUM
from geometry.clock import format_clock

SIDE = '[design.fit.barrel]\ninterference = "40 um"\nfriction = 0.12\n'
LEFT_OUT = {
    "block": LINED.replace('[gas]\npeak_pressure = "120 bar"\n', ""),
    "engine": ENGINE,
    "heat": '[heat]\ncoolant_film = "5000 W/(m2 K)"\ncoolant_temperature = "90 degC"\n'
    'joint_conductance = "6000 W/(m2 K)"\n',
    "depth": '[depth]\nfloor = "90 mm"\n',
    "crack": '[crack]\nflaw = "0.5 mm"\ngas_in_crack = false\n',
    "rating": "[rating]\n",
    "bare": BARE,
    "deep": RING.replace("ring", "deep"),
    "fit": '[design.fit]\ninterference = "40 um"\n',
    "side": SIDE,
}
USUAL = "(common practice, no source)"


def text(where="", more="", **instead):
    """A case that leaves out all that it may, but for a line more in one of its tables."""
    texts = LEFT_OUT | instead
    if where:
        head, _, rest = texts[where].partition(f"[{'design.fit' if where == 'fit' else where}]\n")
        texts[where] = f"{head}[{'design.fit' if where == 'fit' else where}]\n{more}\n{rest}"
    return "".join(texts.values())


def with_case(result, case):
    """The result as if it had been found of another case."""
    crack = replace(crack_of(result), given=case.given["crack"])
    depth = replace(depth_of(result), chosen=case.given["depth"].clock is not None)
    return replace(result, case=case, found={**result.found, "crack": crack, "depth": depth})


@pytest.fixture(scope="module")
def result(told_result, case_of):
    banded = with_rating(told_result, band=replace(BAND, causes={"wall thickness": 1.0}))
    return with_case(banded, case_of(text()))


def told(result):
    lines = [line for subject in SUBJECTS for line in subject.assumed(result)]
    assert len(dict(lines)) == len(lines)
    return dict(lines)


def engine_film(result):
    film, temperature = gas_of(result).wall_load.film
    return f"the engine's, {1e6 * film:.0f} W/(m2 K) at {temperature:.0f} degC"


def crack_clock(result):
    place = crack_of(result).place
    return f"{format_clock(place.clock_hours)}, {place.chosen}"


def whole_wall(result):
    walls = {f"{one.path.length:.2f}": 0 for one in crack_of(result).series}
    return f"the whole wall, {' or '.join(walls)} mm"


def hardest_pulled(result):
    return f"{format_clock(depth_of(result).clock)}, where the bare block is pulled hardest"


def least_gain(result):
    return f"{100 * depth_of(result).least_gain:g} % per mm {USUAL}"


def liner_held(result):
    return f"none in the load steps; a rating counts {stand_in_words(result.case)}"


LINES = {
    "engine": {'burn_duration = "60 deg"': "burn over 60 degrees"},
    "block": {
        'liner_interference = "60 um"': liner_held,
        'process = "permanent mould"': "permanent mould, as A356-T6 usually is made",
    },
    "rating": {
        'mean_stress = "Goodman"': "Goodman",
        'criterion = "largest principal"': "largest principal",
        "cycles = 1e7": "10 million cycles of the warm engine",
        "cold_cycles = 1e5": f"100,000 before the engine is warm {USUAL}",
        "starts = 1000": f"1000 cold starts {USUAL}",
        'pull = "12 s"': f"12 s {USUAL}",
        'hours_hot = "10000 h"': "10000 h at temperature, the most that tables know",
        'casting_quality = "70 %"': "70 % of the strength of cast metal",
        'reliability = "90 %"': "90 % of the draws carry the limit",
        'wall_tolerance = "0.3 mm"': f"0.3 mm either way {USUAL}",
        'pressure_scatter = "5 %"': f"5 % of the gas load {USUAL}",
        "draws = 2000": "2000",
    },
    "heat": {
        'gas_film = "250 W/(m2 K)"\ngas_temperature = "700 degC"': engine_film,
        'head_film = "1500 W/(m2 K)"\nhead_temperature = "110 degC"': "no heat to the head",
        'outside_film = "20 W/(m2 K)"\noutside_temperature = "60 degC"': "no heat to the air "
        "outside",
        'liner_conductance = "9000 W/(m2 K)"': "heat crosses from liner to barrel as in one piece",
    },
    "fit": {
        'tolerance = "0 um"': "0 um",
        "vibration = 50": f"50 g {USUAL}",
        'most_out_of_round = "30 um"': f"30 um {USUAL}",
        "friction = 0.0": "0 against outer wall, tie",
    },
    "depth": {'clock = "3:00"': hardest_pulled, 'least_gain = "1 %"': least_gain},
    "crack": {
        'part = "barrel"': "barrel",
        'clock = "3:00"': crack_clock,
        'longest = "0.8 mm"': whole_wall,
        'paris_c = "4.5e-7 mm/cycle"\nparis_m = 3.0': f"4.46e-07 mm/cycle, {IIW_ALUMINIUM.source}",
        'threshold = "1.8 MPa sqrt(m)"': "1.79 MPa sqrt(m), less where the least stress is high",
        "walker_gamma = 1.0": "1: the mean stress does not speed growth",
        'toughness = "20 MPa sqrt(m)"': "not known: the rest of the wall never breaks at once",
        'speed = "6000 rpm"': "7000 rpm, the engine's",
    },
}
KEYS = [(table, line, words) for table, lines in LINES.items() for line, words in lines.items()]


def name_of(table, line):
    """As it is told."""
    place = 'design "deep", fit' if table == "fit" else table
    return f"{place}.{line.partition(' ')[0]}"


@pytest.mark.parametrize(
    ("table", "line", "words"), KEYS, ids=[name_of(table, line) for table, line, _ in KEYS]
)
def test_what_stands_for_a_key_is_told_unless_the_case_states_it(
    result, case_of, table, line, words
):
    name = name_of(table, line)
    assert told(result)[name] == (words(result) if callable(words) else words)
    assert name not in told(with_case(result, case_of(text(table, line))))


def test_nothing_else_is_told(result):
    names = {name_of(table, line) for table, line, _ in KEYS} | {"crack.paris_m"}
    names |= {'design "deep", roughness'}
    lines = [name for name in told(result) if name.partition(".")[0] != "engine"]
    assert {*lines, "engine.burn_duration"} == names


def test_what_was_not_solved_is_not_told(result):
    """No rating, no crack, no depth section, no load steps."""
    lived = replace(
        result, found={"gas": gas_of(result)},
        designs=tuple(replace(one, found={"life": service_of(one)}) for one in result.designs),
    )  # fmt: skip
    places = {name.partition(".")[0] for name in told(lived)}
    deep = {'design "deep", fit', 'design "deep", roughness'}
    assert places == {"engine", "block", "heat"} | deep
    bonded = replace(lived, designs=tuple(replace(one, found={}) for one in result.designs))
    assert not [name for name in told(bonded) if name.startswith(("design", "block"))]


def gone(result, other):
    return set(told(result)) - set(told(other))


def test_what_is_drawn_is_told_where_there_is_a_band(result):
    walls = replace(BAND, causes={"gas pressure": 1.0})
    assert gone(result, with_rating(result, band=walls)) == {"rating.wall_tolerance"}
    assert gone(result, with_rating(result, band=None)) == {
        "rating.wall_tolerance", "rating.pressure_scatter", "rating.draws", "rating.reliability",
    }  # fmt: skip


def with_service(result, change):
    deep, bare = result.designs
    found = {**deep.found, "life": change(service_of(deep))}
    return replace(result, designs=(replace(deep, found=found), bare))


def with_joints(result, change):
    """The result with another joint in each step that has one."""

    def changed(service):
        steps = (one if one.joint is None else replace(one, joint=change(one.joint))
                 for one in service.steps)  # fmt: skip
        return replace(service, steps=tuple(steps))

    return with_service(result, changed)


def test_what_a_fit_leaves_out_is_told_where_it_decides(result):
    fit = 'design "deep", fit.'
    bonded = with_joints(
        result,
        lambda joint: replace(
            joint, sides=tuple(replace(side, bonded=True) for side in joint.sides)
        ),
    )
    assert gone(result, bonded) == {f"{fit}friction", f"{fit}vibration"}
    apart = with_joints(result, lambda joint: replace(joint, open_share=1.0))
    assert gone(result, apart) == {f"{fit}vibration"}


def test_a_cold_block_has_no_warm_stand_ins(result, case_of):
    lines = told(with_case(result, case_of(text(heat=""))))
    assert not [name for name in lines if name.startswith("heat")]
    assert "rating.cold_cycles" not in lines
    assert lines["rating.cycles"] == "10 million cycles"


def test_an_insert_without_a_fit_is_one_piece(result, case_of):
    loose = with_case(result, case_of(text(fit="", side="")))
    assert told(loose)['design "deep", fit'] == "one piece with the block"


def test_metal_without_a_fatigue_strength_is_rated_by_less(result, case_of):
    """Wrought metal of the case's own, of which only yield is known."""
    plain = replace(result.case.materials["barrel"], cast=False, fatigue=None)
    designs = []
    for design in result.designs:
        model = design.solution.model
        every = dict.fromkeys(model.materials, plain)
        solution = replace(design.solution, model=Changed(model, every))
        designs.append(replace(design, solution=solution))
    lost = gone(result, replace(result, designs=tuple(designs)))
    assert lost == {
        f"rating.{key}"
        for key in (
            "mean_stress", "criterion", "cycles", "cold_cycles", "casting_quality", "starts",
            "pull",
        )
    }  # fmt: skip


class Changed:
    """A model with other materials."""

    def __init__(self, model, materials):
        self.mesh, self.materials = model.mesh, materials


def test_a_crack_that_does_not_grow_tells_no_constants_of_growth(result):
    crack = crack_of(result)
    stopped = replace(crack, series=crack.series[:1])  # only the last one was made to grow
    assert stopped.series[0].crack_growth.stops
    lost = gone(result, replace(result, found={**result.found, "crack": stopped}))
    keys = ("paris_c", "paris_m", "walker_gamma", "toughness", "speed")
    assert lost == {f"crack.{key}" for key in keys}


def test_a_law_of_the_case_has_no_threshold_but_its_own(result, case_of):
    own = case_of(text("crack", 'paris_c = "4.5e-7 mm/cycle"\nparis_m = 3.0'))
    assert own.given["crack"].law.threshold == 0
    lines = told(with_case(result, own))
    assert lines["crack.threshold"] == "none beside constants of the case's own"
    assert not {"crack.paris_c", "crack.paris_m"} & set(lines)


@pytest.mark.usefixtures("unpictured")
def test_all_of_it_stands_on_the_page(result, tmp_path):
    page = write_report(result, tmp_path).read_text(encoding="utf-8")
    page = page.replace("&#34;", '"').replace("&#39;", "'")
    for name, words in told(result).items():
        assert f"<li>{name}: {words}</li>" in page


def test_what_a_millimetre_must_gain_is_told_where_an_insert_was_tried(result):
    depth = depth_of(result)
    untried = replace(depth, designs=tuple(replace(one, sweep=None) for one in depth.designs))
    other = replace(result, found={**result.found, "depth": untried})
    assert gone(result, other) == {"depth.least_gain"}
