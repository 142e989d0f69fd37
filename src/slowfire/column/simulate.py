"""A bin that can be run, acted on and looked into: the door to the compiled kernel."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from slowfire.arrays import FloatArray
from slowfire.column import acts, kernel
from slowfire.column.contents import load_contents, pool_yields
from slowfire.column.parameters import Parameters, default_parameters
from slowfire.column.positions import (
    BOTTLE_CAPACITY,
    BOTTLE_LAYER,
    BOTTLE_TEMPERATURE,
    COVER_RESISTANCE,
    FORCED_FLOW,
    HEAD_CARBON_DIOXIDE,
    HEAD_OXYGEN,
    HEAD_TEMPERATURE,
    HEAD_TEMPERATURE_BEFORE,
    HOUR,
    INLET_SHARE,
    L_LIQUID_OUT,
    LAST_EVENT_HOUR,
    LAYER_NUMBER,
    MAX_LAYERS,
    N_BIN,
    N_DEGREES,
    N_LEDGER,
    N_STATE,
    NEXT_NUMBER,
    ROOFED,
    TUB_WATER,
    VENT_OPENING,
)
from slowfire.column.section import Section, look
from slowfire.constants import CARBON_DIOXIDE_IN_AIR, HEAT_CAPACITY_WATER, OXYGEN_IN_AIR
from slowfire.errors import InvalidInput, check_range
from slowfire.materials.feedstock import Portion
from slowfire.vessel import Vessel

DEFAULT_STEP = 720.0  # keeps a late start after frost within 0.3 K [s]
EVENT_STEP = 180.0  # in the hours after an event [s]
EVENT_HOURS = 6.0
WALL_SHARE = 0.5  # of the level irradiance that walls get in a year near 40 degrees [-]
HOUSEKEEPING_HOURS = 24.0  # thin layers are joined at this fixed clock time


@dataclass(frozen=True)
class Air:
    """Hourly weather as the kernel reads it.

    Attributes
    ----------
    table : ndarray, shape (hours, 6)
        Temperature [degC], relative humidity [-], wind speed [m/s], rain [mm/h], irradiance on the
        level and its mean on upright walls in the open [W/m^2]. Without the last column walls get
        half of the level.
    """

    table: FloatArray

    def __post_init__(self) -> None:
        if self.table.ndim != 2 or self.table.shape[1] not in (5, 6) or self.table.shape[0] < 1:
            raise InvalidInput("Weather needs five or six columns and at least one hour.")
        if not np.isfinite(self.table).all():
            raise InvalidInput("Weather holds a value that is not a number; fill or drop the gap.")
        if self.table.shape[1] == 5:
            walls = WALL_SHARE * self.table[:, 4:]
            object.__setattr__(self, "table", np.hstack([self.table, walls]))

    def temperature_celsius(self, hour: float) -> float:
        """Air temperature at an hour of the run [degC]."""
        hours = np.arange(self.table.shape[0])
        return float(np.interp(hour, hours, self.table[:, 0]))


def constant_air(
    temperature_celsius: float,
    relative_humidity: float = 0.75,
    wind_speed: float = 1.0,
    rain: float = 0.0,
    irradiance: float = 0.0,
) -> Air:
    """Weather that never changes.

    Parameters
    ----------
    temperature_celsius : float
        Air temperature, -60 to 60 [degC].
    relative_humidity : float
        0-1 [-].
    wind_speed : float
        0-60 [m/s].
    rain : float
        0-200 [mm/hour].
    irradiance : float
        On a horizontal plane, 0-1400 [W/m^2].

    Returns
    -------
    Air
    """
    check_range("Air temperature", temperature_celsius, -60.0, 60.0, "C")
    check_range("Relative humidity", relative_humidity, 0.0, 1.0)
    return Air(np.array([[temperature_celsius, relative_humidity, wind_speed, rain, irradiance]]))


@dataclass
class Column:
    """One bin in simulation: state, books and the acts that change it.

    Acts take effect at the present hour; `run_to` moves the hour on.
    """

    vessel: Vessel
    air: Air
    parameters: Parameters = field(default_factory=default_parameters)
    time_step: float = DEFAULT_STEP
    event_step: float = EVENT_STEP

    def __post_init__(self) -> None:
        check_range("Time step", self.time_step, 1.0, 3600.0, "s")
        check_range("Time step after an event", self.event_step, 1.0, 3600.0, "s")
        self.state: FloatArray = np.zeros((MAX_LAYERS, N_STATE))
        self.layers = 0
        self.bin_state: FloatArray = np.zeros(N_BIN)
        self.history = np.zeros((MAX_LAYERS, 2, N_DEGREES, 3), dtype=np.float32)
        self.ledger: FloatArray = np.zeros(N_LEDGER)
        self.yields = pool_yields()
        self.bin_state[HEAD_TEMPERATURE] = self.air.temperature_celsius(0.0)
        self.bin_state[HEAD_TEMPERATURE_BEFORE] = self.bin_state[HEAD_TEMPERATURE]
        self.bin_state[HEAD_OXYGEN] = OXYGEN_IN_AIR
        self.bin_state[HEAD_CARBON_DIOXIDE] = CARBON_DIOXIDE_IN_AIR
        self.bin_state[VENT_OPENING] = 0.0015
        self.bin_state[INLET_SHARE] = 1.0
        self.bin_state[LAST_EVENT_HOUR] = -1e9

    @property
    def hour(self) -> float:
        """Hours since the start of the run."""
        return float(self.bin_state[HOUR])

    def copy(self) -> "Column":
        """An independent bin in the same state."""
        twin = Column(self.vessel, self.air, self.parameters, self.time_step, self.event_step)
        twin.state = self.state.copy()
        twin.layers = self.layers
        twin.bin_state = self.bin_state.copy()
        twin.history = self.history.copy()
        twin.ledger = self.ledger.copy()
        return twin

    def _parts(
        self,
    ) -> tuple[FloatArray, int, FloatArray, NDArray[np.float32], Vessel, Parameters]:
        """What most compiled functions take first, in their order."""
        return (
            self.state,
            self.layers,
            self.bin_state,
            self.history,
            self.vessel,
            self.parameters,
        )

    def run_to(self, hour: float) -> None:
        """Let time pass until `hour`, in short steps after an event.

        Raises
        ------
        InvalidInput
            If `hour` lies before the present.
        """
        if hour < self.hour - 1e-9:
            raise InvalidInput(f"Cannot run back from hour {self.hour:g} to hour {hour:g}.")
        while self.hour < hour - 1e-9:
            midnight = (np.floor(self.hour / HOUSEKEEPING_HOURS + 1e-9) + 1.0) * HOUSEKEEPING_HOURS
            fine_until = self.bin_state[LAST_EVENT_HOUR] + EVENT_HOURS
            fine = self.hour < fine_until - 1e-9
            end = min(hour, midnight, fine_until if fine else np.inf)
            kernel.advance(
                *self._parts(),
                self.yields,
                self.air.table,
                float(end - self.hour),
                self.event_step if fine else self.time_step,
                self.ledger,
            )
            self.bin_state[HOUR] = end
            if abs(end - midnight) < 1e-9:
                self.layers = acts.merge_thin(
                    *self._parts(),
                )

    def _event(self) -> None:
        self.bin_state[LAST_EVENT_HOUR] = self.hour

    def open_lid(self) -> None:
        """Open the lid: the head-space fills with outside air."""
        air = self.air.temperature_celsius(self.hour)
        acts.open_lid(self.bin_state, self.vessel, self.parameters, air, self.ledger)
        self._event()

    def load(
        self,
        portions: Sequence[Portion],
        temperature_celsius: float | None = None,
        days_in_caddy: float = 2.0,
    ) -> int:
        """Tip a load in at the top; it takes the air's temperature unless one is given.

        Returns the number the load's layers carry.
        """
        if temperature_celsius is None:
            temperature_celsius = max(self.air.temperature_celsius(self.hour), 2.0)
        return self.load_row(
            load_contents(portions, self.parameters, temperature_celsius, days_in_caddy)
        )

    def load_row(self, contents: FloatArray) -> int:
        """Tip in contents given as a state row, such as those dug out of another bin."""
        self.open_lid()
        number = int(self.bin_state[NEXT_NUMBER])
        self.layers = acts.add_load(
            *self._parts(),
            contents,
            self.ledger,
        )
        self.layers = acts.merge_thin(*self._parts())
        self._event()
        return number

    def stir(self, depth: float, extent: float = 0.7) -> None:
        """Stir the layers within `depth` [m] of the surface; `extent` 0 nothing to 1 even."""
        check_range("Stirring depth", depth, 0.0, 5.0, "m")
        check_range("Extent of stirring", extent, 0.0, 1.0)
        self.open_lid()
        acts.stir(
            *self._parts(),
            depth,
            extent,
            self.ledger,
        )
        self._event()

    def poke(self) -> None:
        """Poke air ways through the stack with a rod."""
        self.open_lid()
        acts.poke(self.state, self.layers)
        self._event()

    def turn(self) -> None:
        """Turn the whole stack over and mix it."""
        self.open_lid()
        acts.turn(
            *self._parts(),
            self.ledger,
        )
        self._event()

    def water(self, litres: float, depth: float = 0.2, temperature_celsius: float = 12.0) -> None:
        """Pour water on; it wets the layers within `depth` [m] of the surface."""
        check_range("Water", litres, 0.0, 1000.0, "L")
        check_range("Depth", depth, 0.0, 5.0, "m")
        check_range("Temperature of the water", temperature_celsius, 0.0, 90.0, "C")
        self.open_lid()
        acts.add_water(
            self.state,
            self.layers,
            self.vessel,
            self.parameters,
            litres,
            depth,
            temperature_celsius,
            self.ledger,
        )
        self._event()

    def set_vent(self, opening: float) -> None:
        """Set the lid vent to an opening [m], 0 shut to 0.5."""
        self.bin_state[VENT_OPENING] = check_range("Vent opening", opening, 0.0, 0.5, "m")
        self._event()

    def set_inlet(self, share: float) -> None:
        """Set the share of the base inlet that is open, 0-1."""
        self.bin_state[INLET_SHARE] = check_range("Open share of the inlet", share, 0.0, 1.0)
        self._event()

    def set_cover(self, resistance: float, roofed: bool = False) -> None:
        """Lay extra insulation over walls and lid [m^2*K/W], or put a roof over the bin."""
        check_range("Resistance of the cover", resistance, 0.0, 10.0, "m2 K/W")
        self.bin_state[COVER_RESISTANCE] = resistance
        self.bin_state[ROOFED] = 1.0 if roofed else 0.0
        self._event()

    def set_forced_air(self, flow: float) -> None:
        """Blow air in at the base [kg/s of dry air], 0-1."""
        self.bin_state[FORCED_FLOW] = check_range("Blown air", flow, 0.0, 1.0, "kg/s")
        self._event()

    def place_bottle(self, litres: float, temperature_celsius: float, depth: float = 0.1) -> None:
        """Bury a hot-water bottle at `depth` [m]; with 0 litres it is taken out."""
        check_range("Bottle", litres, 0.0, 20.0, "L")
        check_range("Temperature of the bottle", temperature_celsius, 0.0, 100.0, "C")
        check_range("Depth", depth, 0.0, 5.0, "m")
        self.open_lid()
        self.bin_state[BOTTLE_CAPACITY] = litres * HEAT_CAPACITY_WATER
        self.bin_state[BOTTLE_TEMPERATURE] = temperature_celsius
        index = acts.lowest_within(self.state, self.layers, self.vessel, depth)
        self.bin_state[BOTTLE_LAYER] = self.state[index, LAYER_NUMBER]
        self._event()

    def dig_out(self, litres: float | None = None, kilograms: float | None = None) -> FloatArray:
        """Take material out at the base door, by volume as it lies or by wet mass.

        Returns
        -------
        ndarray, shape (N_STATE,)
            What came out, as a state row; more than there is takes everything.
        """
        if (litres is None) == (kilograms is None):
            raise InvalidInput("Give either litres or kilograms to dig out, not both.")
        amount = litres / 1000.0 if litres is not None else float(kilograms or 0.0)
        check_range("Amount dug out", amount, 0.0, 1e5)
        dug = np.zeros(N_STATE)
        self.layers = acts.dig_out(
            *self._parts(),
            amount,
            kilograms is not None,
            dug,
            self.ledger,
        )
        # what is left of a layer cut through may be too thin to stand by itself
        self.layers = acts.merge_thin(*self._parts())
        self._event()
        return dug

    def drain_tub(self, litres: float) -> float:
        """Draw liquid off the tub; returns the litres that were there to draw."""
        check_range("Liquid drawn off", litres, 0.0, 1000.0, "L")
        drawn = min(litres, float(self.bin_state[TUB_WATER]))
        share = drawn / self.bin_state[TUB_WATER] if drawn > 0.0 else 0.0
        self.bin_state[TUB_WATER : TUB_WATER + 4] *= 1.0 - share
        return drawn

    def liquid_litres(self) -> float:
        """Liquid that has left the base since the start [L]."""
        return float(self.ledger[L_LIQUID_OUT])

    def room_litres(self) -> float:
        """Volume left below the rim [L]; negative when heaped above it."""
        return 1000.0 * float(acts.capacity_left(self.state, self.layers, self.vessel))

    def section(self) -> Section:
        """Look inside: every layer from the base up, and the bin around it."""
        return look(self.state, self.layers, self.bin_state, self.vessel, self.parameters)
