"""Physical constants shared by the science; each names its source."""

STANDARD_PRESSURE = 101325.0  # [Pa], standard atmosphere
GAS_CONSTANT = 8.314462618  # [J/(mol*K)], CODATA 2018
ZERO_CELSIUS = 273.15  # [K]
GRAVITY = 9.80665  # [m/s^2], standard gravity
MOLAR_MASS_WATER = 0.018015  # [kg/mol]
MOLAR_MASS_OXYGEN = 0.031998  # [kg/mol]
MOLAR_MASS_CARBON_DIOXIDE = 0.044009  # [kg/mol]
MOLAR_MASS_INERT = 0.028155  # [kg/mol], nitrogen with argon, as in dry air
MOLAR_MASS_DRY_AIR = 0.028965  # [kg/mol]
MOLAR_MASS_NITROGEN_ATOM = 0.014007  # [kg/mol]
OXYGEN_IN_AIR = 0.2095  # [-] by volume of dry air
CARBON_DIOXIDE_IN_AIR = 0.00042  # [-] by volume of dry air
HEAT_CAPACITY_WATER = 4186.0  # [J/(kg*K)]
HEAT_CAPACITY_ICE = 2100.0  # [J/(kg*K)]
HEAT_CAPACITY_VAPOUR = 1860.0  # [J/(kg*K)]
HEAT_CAPACITY_DRY_AIR = 1006.0  # [J/(kg*K)]
LATENT_HEAT_EVAPORATION = 2.501e6  # [J/kg] at 0 C
LATENT_HEAT_FUSION = 3.34e5  # [J/kg]
STEFAN_BOLTZMANN = 5.670374419e-8  # [W/(m^2*K^4)], CODATA 2018
DENSITY_WATER = 1000.0  # [kg/m^3]
