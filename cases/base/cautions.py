"""What every report and every file of results says about its own limits."""

CAUTIONS = (
    "Estimates for comparison, not a certificate.",
    (
        "A section model of the deck: stress is the mean over the depth of the metal. Just below "
        "the underside of an insert that is shallower than a relief cut the true local peak is "
        "about 1.5 times that."
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
