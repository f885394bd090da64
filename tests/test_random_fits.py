"""Random blocks, fits, gas and heat: contact obeys its laws, or what is not found is named.

Measured with -m slow: of 796 steps of 200 random sections 786 were found, 781 of them by the first
attempt, five by a second or in halves (35 to 46 systems in sum); the other ten stop with an error
that names side and clock position: rings without ties that spring off a press of 0.04 mm with
friction of 0.23 to 0.29, and a joint with neither press nor friction that rattles. Inserts of 5, 7
and 9 mm in a jacket of 10 mm, with 10, 40 and 80 um and friction of 0, 0.12 and 0.3, are all found;
49 of the 54 steps by the first attempt, the others, all with friction of 0.3, by a second (42 to 68
systems in sum). Without friction most of them touch nowhere after the press, which the run says:
what is pressed against the barrel alone has nothing behind it.
"""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from random_blocks import MATERIALS, blocks, inserts, quiet

from fea.contact import Compound, ContactError, Fit, FittedModel, pairs_of
from geometry import DeckSection, SectionError, default_depth
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.parted import parts_off

COLD = {"expansion": 21.5e-6, "softening": ((20.0, 1.0), (120.0, 0.95), (250.0, 0.8))}
ALLOY = replace(MATERIALS["barrel"], **COLD)
INSERTS = (
    replace(MATERIALS["insert"], expansion=23.6e-6),
    replace(MATERIALS["insert"], youngs_modulus=200_000.0, expansion=11e-6),
)
share = st.floats(0, 1)
friction = st.just(0.0) | st.floats(0, 0.5)
strengths = st.tuples(st.floats(0, 40), st.floats(0, 40), st.floats(60, 260)).map(
    lambda drawn: ((20.0, drawn[0]), (drawn[2], min(drawn[:2])))
)
compounds = st.builds(
    Compound, tension=strengths, shear=strengths, fills=st.floats(0, 0.2), friction=friction
)
fits = st.builds(
    Fit,
    overlap=st.floats(-0.05, 0.05),
    friction=friction,
    bonded=st.sampled_from([False, False, False, True]),
)
filled = st.builds(replace, fits.filter(lambda fit: not fit.bonded), compound=compounds)
services = st.fixed_dictionaries(
    {
        "fits": st.fixed_dictionaries(
            dict.fromkeys(("barrel", "tie", "outer wall"), fits | filled)
        ),
        "liner": st.none() | fits.filter(lambda fit: not fit.bonded) | filled,
        "insert": st.sampled_from(INSERTS),
        "line_load": st.floats(0, 600),
        "bore": st.floats(20, 250),
        "outside": st.floats(20, 250),
        "lean": st.floats(-20, 20),
        "warmer": st.floats(-40, 40),
    }
)


def warmth(parted, service):
    x, y = parted.mesh.points.T
    temperature = service["outside"] + (service["bore"] - service["outside"]) * np.exp(
        -(np.hypot(x, y) - 43) / 10
    )
    temperature += service["lean"] * x / 60
    own = [layers[0].part == "insert" for layers in parted.mesh.regions]
    inside = np.unique(parted.mesh.triangles[np.array(own)[parted.mesh.region]])
    temperature[inside] += service["warmer"]
    return np.clip(temperature, 20, 250)


def obeys(model, step, before):
    contact, area = step.contact, model.pairs.area
    mean = np.abs(contact.force).sum() / max(1, contact.closed.sum())
    held = model.bonded | contact.intact
    assert (contact.force >= -0.01 * mean)[~held].all()
    assert contact.gap[~held].min(initial=0) > -1e-4
    assert not contact.force[~contact.closed].any()
    over = np.abs(contact.friction) - model.friction(contact) * contact.force.clip(0)
    assert (over <= 0.02 * mean + 1e-9)[~held].all()
    if before is not None:
        was = before.contact
        assert contact.broken[was.broken].all()
        np.testing.assert_array_equal(contact.intact | contact.broken, was.intact | was.broken)
        tension, shear = model.strengths(model.temperature)
        pulled = -contact.force - 0.01 * mean <= 1.001 * tension * area + 1e-6
        sheared = over - 0.01 * mean <= 1.001 * shear * area + 1e-6
        assert (pulled & sheared)[contact.intact].all()


def serve(block, insert, service, said):
    try:
        section = DeckSection(block=block, depth=default_depth(block, 20), insert=insert)
        mesh = mesh_outline(draw_section(section), element_size=8.0, fineness=1.3)
    except SectionError:
        return
    lined = service["liner"] is not None and block.liner > 0
    parted = parts_off(mesh, ("insert", "liner") if lined else ("insert",))
    sides = set(pairs_of(parted).side)
    materials = {**MATERIALS, "barrel": ALLOY, "tie": ALLOY, "outer wall": ALLOY}
    materials |= {"insert": service["insert"], "liner": replace(MATERIALS["liner"], expansion=1e-5)}
    of = {("insert", part): fit for part, fit in service["fits"].items()}
    of[("liner", "barrel")] = service["liner"]
    of = {side: fit for side, fit in of.items() if side in sides}
    cold = FittedModel(parted, materials, of)
    warm = cold.at(warmth(parted, service))
    q = service["line_load"]
    gas = cold.model.edge_load("bore", lambda _x, _y, nx, ny: -q * np.stack([nx, ny]))
    order = (
        (cold, None, "nothing"),
        (warm, None, "pressed"),
        (warm, gas, "warm"),
        (cold, gas, "pressed"),
    )
    pressed = step = None
    for model, forces, start in order:
        before = pressed if start == "pressed" else step
        if start != "nothing" and before is None:
            continue
        try:
            step = model.solve(forces, before)
        except ContactError as error:
            said["not found"] += 1
            said["names the part"] += f"the {error.part}" in str(error)
            step = None
        else:
            obeys(model, step, before)
            said["found"] += 1
            said["found with compound"] += step.contact.intact.any()
            said["where compound broke"] += step.contact.broken.any()
            said["found with a liner"] += lined
            said["at once"] += step.iterations <= 25
        if start == "nothing":
            pressed = step
    assert said["names the part"] == said["not found"]


no_shrinking = settings(quiet, phases=[Phase.generate])


@pytest.mark.slow
@settings(no_shrinking, max_examples=70)
@given(blocks, inserts.filter(bool), services)
def test_random_fits(block, insert, service):
    serve(block, insert, service, Counter())


@pytest.mark.slow
def test_two_hundred_random_fits():
    said = Counter()

    @settings(no_shrinking, max_examples=4000)
    @given(blocks, inserts.filter(bool), services)
    def study(block, insert, service):
        if said["sections"] < 200:
            before = said["found"]
            serve(block, insert, service, said)
            said["sections"] += said["found"] > before

    study()
    print(dict(said))
    assert said["not found"] < 0.02 * said["found"]
    assert said["at once"] > 0.99 * said["found"]
