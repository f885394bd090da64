"""A verdict put together by hand, every number another."""

from dataclasses import replace

from cases.verdict.result import (
    FAILS,
    HOLDS,
    Assumption,
    Choice,
    Distortion,
    DropIn,
    FitToMake,
    GoverningPlace,
    Measurement,
    Row,
    Spreading,
    Verdict,
)

PLACES = (
    GoverningPlace(part="barrel", clock="1:25", depth_mm=11.3, x_mm=30.0, y_mm=33.0, share=1.0),
    GoverningPlace(part="tie", clock="12:20", depth_mm=2.6, x_mm=9.0, y_mm=51.0, share=0.83),
)
BARE = Row(
    design="bare", status=FAILS, share=0.23, by="solid", limit_factor=0.62, limit_bar=93.4,
    limit_low_bar=88.2, limit_high_bar=131.7, state="cold", criterion="fatigue",
    places=(replace(PLACES[0], clock="7:35"),), life_cycles=4.31e5, life_hours=2.13,
    life_pulls=615.0, life_state="cold", wanted_cycles=1e5, open_water_mm2=2856.0,
    wetted_barrel_mm2=19_380.0, hottest_barrel_degc=171.0, boost_bar=0.37, power_kw=266.0,
    distortion=Distortion(out_of_round_um=41.2, depth_mm=17.4, state="warm at gas",
                          ring_follows=False, ring_follows_with_gas=False),
)  # fmt: skip
LOCAL = Row(
    design="local", status=HOLDS, share=0.957, by="solid", limit_factor=1.09, limit_bar=163.6,
    limit_low_bar=155.3, limit_high_bar=214.8, state="warm", criterion="fatigue", places=PLACES,
    life_cycles=2.3e7, life_hours=109.0, life_pulls=32_700.0, life_state="warm",
    wanted_cycles=1e7, held="pressed on barrel, clear of ties",
    fit=FitToMake(low_um=6.2, nominal_um=9.4, high_um=12.6, measured="per side", stated_um=14.1,
                  inside=False, limit_bar=171.3),
    open_water_mm2=1204.0, wetted_barrel_mm2=14_620.0, displaced_mm3=23_700.0, pieces=4,
    mass_g=158.0, machined=("faces of the jacket finished to the fit, 16 mm deep",),
    hottest_barrel_degc=176.0, hottest_insert_degc=143.0, boost_bar=1.24, boost_low_bar=1.11,
    boost_high_bar=1.93, power_kw=431.0, power_low_kw=408.0, power_high_kw=None,
    drop_in=DropIn(drops_in=True, block_degc=120.0, insert_degc=-78.5, least_um=13.7,
                   asked_um=10.3),
    distortion=Distortion(out_of_round_um=28.6, depth_mm=33.8, state="warm at gas",
                          ring_follows=True, pressed_um=8.7, hone_takes_um=30.0),
)  # fmt: skip
VERDICT = Verdict(
    choice=Choice(design="local", status=HOLDS),
    rows=(BARE, LOCAL),
    reliability=0.92,
    draws=1700,
    wanted_bar=150.2,
    wanted_kw=405.0,
    spreading=(
        Spreading(input="strength of A356-T6", share=0.61, worth_percent=13.0),
        Spreading(input="gas pressure", share=0.27, worth_percent=4.0),
        Spreading(input="fit", share=0.09, worth_percent=None),
    ),
    assumed=(
        Assumption(
            input="rating.casting_quality",
            stand_in="70 % of the strength of cast metal",
            worth_percent=-43.0,
        ),
        Assumption(input="rating.starts", stand_in="1000 cold starts", worth_percent=None),
    ),
    measure_first=(
        Measurement(what="cracks and pores, by dye and pressure", where="1 barrel 1:25"),
        Measurement(what="wall thickness, by ultrasound", where="barrel 1:25, 11.3 mm down"),
    ),
    flags=(),
)


def changed(row=None, **choice):
    """The verdict with the chosen row or the choice changed."""
    rows = tuple(replace(one, **(row or {})) if one is LOCAL else one for one in VERDICT.rows)
    return replace(VERDICT, rows=rows, choice=replace(VERDICT.choice, **choice))
