"""What is inside the bin at one moment, as plain values."""

from dataclasses import dataclass

import numpy as np

from slowfire.arrays import FloatArray
from slowfire.biology.kinetics import acidity_ph
from slowfire.biology.organisms import worm_suitability
from slowfire.column.contents import layer_carbon
from slowfire.column.draft import (
    AIR_SPACE,
    BULK,
    DRY,
    MOISTURE,
    N_WORK,
    THICKNESS,
    geometry,
)
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    ACCLIMATION,
    ACIDS,
    ADDED_HOUR,
    CARBON_DIOXIDE,
    CENTRE_MINUS_EDGE,
    FILL_HEIGHT,
    HEAD_OXYGEN,
    HEAD_TEMPERATURE,
    HOUR,
    LAYER_NUMBER,
    N_AMMONIACAL,
    N_NITRATE,
    N_RAPID,
    OXYGEN,
    TEMPERATURE,
    TUB_WATER,
    VENT_FLOW,
)
from slowfire.vessel import Vessel


@dataclass(frozen=True)
class LayerView:
    """One layer of the section.

    Attributes
    ----------
    number : int
        The load it came from.
    age_days : float
        Since it was added [day].
    base_height, thickness : float
        Above the floor [m].
    temperature_centre_celsius, temperature_edge_celsius : float
        [degC].
    moisture_content_wet_basis, oxygen, carbon_dioxide, free_air_space : float
        Shares [-].
    bulk_density : float
        [kg/m^3].
    dry_mass : float
        [kg].
    acidity_ph : float
        [-].
    acclimation : float
        Of the community, 0-1 [-].
    c_to_n : float
        Mass of carbon over mass of nitrogen; infinite without nitrogen [-].
    worms : float
        How well worms can live there, 0-1 [-].
    """

    number: int
    age_days: float
    base_height: float
    thickness: float
    temperature_centre_celsius: float
    temperature_edge_celsius: float
    moisture_content_wet_basis: float
    oxygen: float
    carbon_dioxide: float
    free_air_space: float
    bulk_density: float
    dry_mass: float
    acidity_ph: float
    acclimation: float
    c_to_n: float
    worms: float


@dataclass(frozen=True)
class Section:
    """The bin from base to lid.

    Attributes
    ----------
    hour : float
        Since the start of the run [hour].
    layers : tuple of LayerView
        Index 0 at the base.
    lid_celsius : float
        Air under the lid, what a lid dial reads [degC].
    lid_oxygen : float
        Volume fraction under the lid [-].
    fill_height : float
        Top of the stack above the floor [m].
    rim_height : float
        [m].
    draft : float
        Dry air leaving by the vent, negative when it comes in there [kg/s].
    tub_litres : float
        Liquid in the tub [L].
    """

    hour: float
    layers: tuple[LayerView, ...]
    lid_celsius: float
    lid_oxygen: float
    fill_height: float
    rim_height: float
    draft: float
    tub_litres: float

    @property
    def fill_below_rim(self) -> float:
        """Distance from the rim down to the stack [m]."""
        return self.rim_height - self.fill_height

    @property
    def hottest_celsius(self) -> float:
        """Centre of the hottest layer; the lid's air when there is none [degC]."""
        return max(
            (layer.temperature_centre_celsius for layer in self.layers), default=self.lid_celsius
        )

    @property
    def hottest_layer(self) -> int:
        """Index of the hottest layer; -1 when there is none."""
        if not self.layers:
            return -1
        return int(np.argmax([layer.temperature_centre_celsius for layer in self.layers]))


def look(
    state: FloatArray,
    layers: int,
    bin_state: FloatArray,
    vessel: Vessel,
    parameters: Parameters,
) -> Section:
    """Read the arrays of a bin without changing them.

    Parameters
    ----------
    state : ndarray, shape (layers or more, N_STATE)
        Layers from the base up [mixed], in the order and the units of `column.positions`.
    layers : int
        How many rows are in use [-], 0 to 320.
    bin_state : ndarray, shape (N_BIN,)
        The bin as a whole [mixed], in the order and the units of `column.positions`.
    vessel : Vessel
        The container.
    parameters : Parameters
        The parameter set.

    Returns
    -------
    Section
        Values of each layer and of the air under the lid.

    Notes
    -----
    Centre and edge lie half their difference above and below the mean, exact for a round section
    with a parabola across it. Gases and draft are those of the last step.

    Examples
    --------
    >>> from slowfire.column.simulate import Column, constant_air
    >>> from slowfire.materials.library import load_library
    >>> from slowfire.materials.feedstock import Portion
    >>> from slowfire.vessel import box
    >>> bin_ = Column(box(0.5, 0.5, 0.9), constant_air(12.0))
    >>> number = bin_.load([Portion.from_mass(load_library().find("peelings"), 2.0)])
    >>> seen = look(bin_.state, bin_.layers, bin_.bin_state, bin_.vessel, bin_.parameters)
    >>> len(seen.layers), round(seen.layers[0].dry_mass, 3)
    (1, 0.3)
    """
    work = np.zeros((N_WORK, layers + 2))
    around = bin_state.copy()
    geometry(state, layers, around, vessel, parameters, work)
    hour = float(around[HOUR])
    views = []
    height = 0.0
    for i in range(layers):
        row = state[i]
        half = 0.5 * row[CENTRE_MINUS_EDGE]
        nitrogen = float(row[N_RAPID : N_RAPID + 4].sum() + row[N_AMMONIACAL] + row[N_NITRATE])
        dry = float(work[DRY, i])
        ph = acidity_ph(
            float(row[ACIDS]) / max(dry, 1e-12),
            parameters.ph_base,
            parameters.ph_acid,
            parameters.acid_half,
        )
        views.append(
            LayerView(
                number=int(row[LAYER_NUMBER]),
                age_days=(hour - float(row[ADDED_HOUR])) / 24.0,
                base_height=height,
                thickness=float(work[THICKNESS, i]),
                temperature_centre_celsius=float(row[TEMPERATURE] + half),
                temperature_edge_celsius=float(row[TEMPERATURE] - half),
                moisture_content_wet_basis=float(work[MOISTURE, i]),
                oxygen=float(row[OXYGEN]),
                carbon_dioxide=float(row[CARBON_DIOXIDE]),
                free_air_space=float(work[AIR_SPACE, i]),
                bulk_density=float(work[BULK, i]),
                dry_mass=dry,
                acidity_ph=float(ph),
                acclimation=float(row[ACCLIMATION]),
                c_to_n=layer_carbon(row) / nitrogen if nitrogen > 0.0 else float("inf"),
                worms=float(
                    worm_suitability(
                        float(row[TEMPERATURE] + half),
                        float(work[MOISTURE, i]),
                        float(row[OXYGEN]),
                        float(row[N_AMMONIACAL]) / max(dry, 1e-12),
                    )
                ),
            )
        )
        height += float(work[THICKNESS, i])
    return Section(
        hour=hour,
        layers=tuple(views),
        lid_celsius=float(around[HEAD_TEMPERATURE]),
        lid_oxygen=float(around[HEAD_OXYGEN]),
        fill_height=float(around[FILL_HEIGHT]) if layers else 0.0,
        rim_height=vessel.height,
        draft=float(around[VENT_FLOW]),
        tub_litres=float(around[TUB_WATER]),
    )
