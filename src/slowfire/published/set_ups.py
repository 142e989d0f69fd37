"""Every set-up by its id."""

from slowfire.published import heaps, home_bins, reactors, small_vessels, winter_bins
from slowfire.published.trial import SetUp

SET_UPS: dict[str, SetUp] = {
    one.id: one
    for module in (heaps, home_bins, reactors, small_vessels, winter_bins)
    for one in module.SET_UPS
}
