"""Set-ups of the size series: a bottle, an indoor vessel, nested cans."""

from collections.abc import Mapping

from slowfire.column.parameters import Parameters
from slowfire.published.trial import SetUp, Trial, Unknown, litres_of, plain_air
from slowfire.vessel import Fittings, cylinder

# What "a good mix" of the same pages is: about 30:1 and 55 to 60 % water.
GOOD_MIX_WHY = "the pages ask for 25 to 35 parts of carbon and 50 to 60 % water"


def _indoor_vessel(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    fittings = Fittings(
        wall=(("plastic", 0.003),),
        lid=(("plastic", 0.003),),
        vent_slot_length=0.3,
        inlet_area=0.0015,
        roofed=True,
        sun_share=0.0,
        wind_share=0.1,
    )
    vessel = cylinder(0.38, 0.5, fittings)
    trial = Trial.start(vessel, plain_air(given["room"], 8.0, wind=0.1), parameters)
    trial.column.set_vent(0.01)
    food = 12.0 * given["food"]
    trial.column.load(
        [
            litres_of("food_waste_household_mixed", food),
            litres_of("leaves_mixed_autumn", given["leaves"] * food),
            litres_of("wood_shavings", 0.5 * food),
        ],
        temperature_celsius=given["room"],
    )
    trial.run_days(7.0)
    return {"peak_temperature": trial.peak(), "day_of_peak": trial.day_of_peak()}


SET_UPS = (
    SetUp(
        "V23",
        "Indoor vessel of 38 to 60 L with a good mix, one filling.",
        (
            Unknown("room", 18.0, 23.0, "degC", "indoors"),
            Unknown("food", 0.9, 1.2, "-", "how full"),
            Unknown("leaves", 1.0, 2.5, "-", GOOD_MIX_WHY),
        ),
        _indoor_vessel,
    ),
)
