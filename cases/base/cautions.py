"""What every report and every file of results says about its own limits."""

CAUTIONS = (
    "Estimates for comparison, not a certificate.",
    (
        "Stress of the section is the mean over the depth of the metal; the peak in depth is 1.2 "
        "to 3 times that. Where a solid was solved, its figures are the ones to go by."
    ),
    (
        "Casting quality, porosity and machining decide real life: measure, sonic-test and "
        "pressure-test the block."
    ),
    (
        "Hydraulic presses, heated blocks, liquid nitrogen and running engines injure people: "
        "follow the equipment maker's instructions and local safety rules."
    ),
    "Where a rating matters to safety, have a licensed engineer check it.",
)
