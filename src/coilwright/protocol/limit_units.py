"""The units that a limit may carry. A unit that is not here is taken for a slip."""

LIMIT_UNITS = frozenset(
    {
        # ratios and counts
        "1",
        "%",
        "count",
        "px",
        # lengths, areas, volumes, angles
        "um",
        "mm",
        "cm",
        "m",
        "inch",
        "Fr",
        "G",
        "mm2",
        "cm2",
        "mm3",
        "mL",
        "deg",
        "mm/mm",
        "mm/px",
        # times and rates
        "ms",
        "s",
        "min",
        "h",
        "d",
        "week",
        "month",
        "year",
        "mL/s",
        "mm/s",
        "frames/s",
        "1/s",
        # masses and doses
        "ug",
        "mg",
        "g",
        "kg",
        "mg/kg",
        "mL/kg",
        "kg/inch",
        "kg/m2",
        "mg/mL",
        "mgI/mL",
        "mg/mm",
        # blood and kidney
        "umol/L",
        "mg/dL",
        "g/L",
        "10^9/L",
        "mL/min/1.73m2",
        "mL/min/1.73m2 per cm/(mg/dL)",
        "mL.mg/dL/kg",
        "mL per mL/min/1.73m2",
        "gI per mL/min/1.73m2",
        # semen
        "10^6",
        "10^6/mL",
        # pressures, flow
        "mmHg",
        "cmH2O",
        "Pa",
        "mPa.s",
        # radiation
        "Gy",
        "mGy",
        "Gy.cm2",
        "mSv",
        "mSv per Gy.cm2",
        # fields and magnets
        "T",
        "W/kg",
    }
)
