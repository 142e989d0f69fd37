"""Every set-up by its id."""

from slowfire.published import small_vessels
from slowfire.published.trial import SetUp

SET_UPS: dict[str, SetUp] = {
    one.id: one for module in (small_vessels,) for one in module.SET_UPS
}
