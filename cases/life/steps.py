"""The steps of a life, and how much of the metal a step may stress beyond yield."""

PRESSED, HONED, WARM, WARM_GAS, COLD_GAS = (
    "pressed in", "honed", "warm", "warm at gas", "cold at gas",
)  # fmt: skip
"""Steps in the order of life; without heat the warm ones are left out."""

BEFORE = {WARM: PRESSED, WARM_GAS: WARM, COLD_GAS: PRESSED}
"""Step that another starts from."""
TAIL = 0.002
"""Share of the metal's volume that may be stressed higher: edges of contact have no finite peak."""
