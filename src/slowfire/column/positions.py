"""Named positions in the arrays the kernel works on.

Everything extensive is in kilograms for the whole layer; a layer is one row.
"""

# Layer state, one row a layer, index 0 at the base.
RAPID = 0  # rapid organic matter: sugar, starch, protein, fat [kg dry]
SLOW = 1  # cellulose, hemicellulose [kg dry]
RESISTANT = 2  # lignin and humus [kg dry]
WOOD = 3  # organic matter of bulking wood [kg dry]
ASH = 4  # mineral matter [kg dry]
N_RAPID = 5  # organic nitrogen of each pool, part of that pool's mass [kg N]
N_SLOW = 6
N_RESISTANT = 7
N_WOOD = 8
N_AMMONIACAL = 9  # dissolved ammonia and ammonium [kg N]
N_NITRATE = 10  # [kg N]
WATER = 11  # [kg]
PHOSPHORUS = 12  # [kg], part of the ash
POTASSIUM = 13  # [kg], part of the ash
ADDED_SOFT = 14  # dry mass of the soft part as added [kg]
ADDED_WOOD = 15  # dry mass of bulking wood as added [kg]
LOOSE_SOFT = 16  # loose volume of the soft part as added [m^3]
LOOSE_WOOD = 17  # loose volume of bulking wood as added [m^3]
ACIDS = 18  # organic acids, a share of the rapid pool [kg]
N_EXTENSIVE = 19  # columns below this one add up when layers are mixed

ACCLIMATION = 19  # of the community, 0-1 [-]
TEMPERATURE = 20  # mean over the cross-section [C]
TEMPERATURE_BEFORE = 21  # the same, one step earlier [C]
CENTRE_MINUS_EDGE = 22  # [K]
OXYGEN = 23  # volume fraction of the dry pore gas [-]
CARBON_DIOXIDE = 24  # volume fraction of the dry pore gas [-]
SETTLED = 25  # 0 loose as tipped, 1 settled under its load [-]
CHANNELS = 26  # air ways made by poking or stirring, 0-1 [-]
ADDED_HOUR = 27  # when it was added, mass-weighted [h]
GAS_MOLES = 28  # dry gas in the pores at the last step [mol]
DRY_HOURS = 29  # hours too dry for heat to count [h]
LAYER_NUMBER = 30  # identity of the load it came from [-]
SLUMPED = 31  # how far wetness has let it slump, never undone by drying [-]
N_STATE = 32

# The bin as a whole.
HEAD_TEMPERATURE = 0  # head-space, what a lid dial reads [C]
HEAD_OXYGEN = 1  # volume fraction of the dry gas [-]
HEAD_CARBON_DIOXIDE = 2  # [-]
HEAD_GAS_MOLES = 3  # dry gas [mol]
HEAD_HUMIDITY = 4  # [kg water per kg dry air]
VENT_OPENING = 5  # lid vent [m]
INLET_SHARE = 6  # share of the base inlet that is open [-]
COVER_RESISTANCE = 7  # extra insulation on walls and lid [m^2*K/W]
ROOFED = 8  # 1 when no rain reaches the bin [-]
BOTTLE_CAPACITY = 9  # hot-water bottle [J/K]
BOTTLE_TEMPERATURE = 10  # [C]
BOTTLE_LAYER = 11  # layer number it lies in [-]
TUB_WATER = 12  # liquid in the tub [kg]
TUB_NITROGEN = 13  # [kg]
TUB_PHOSPHORUS = 14  # [kg]
TUB_POTASSIUM = 15  # [kg]
FORCED_FLOW = 16  # dry air blown in at the base [kg/s]
HOUR = 17  # time since the start of the run [h]
NEXT_NUMBER = 18  # number the next load gets [-]
LAST_EVENT_HOUR = 19  # [h]
BASE_FLOW = 20  # dry air through the base in the last step, in positive [kg/s]
VENT_FLOW = 21  # dry air through the vent in the last step, out positive [kg/s]
FILL_HEIGHT = 22  # top of the stack above the floor [m]
REVERSED_HOURS = 23  # hours of downward draft [h]
HEAD_TEMPERATURE_BEFORE = 24  # one step earlier [C]
LAST_STEP = 25  # length of the last step, 0 before the first [s]
N_BIN = 26

# Ledger: what crossed the border of the bin since the run began.
L_MASS_LOADED = 0  # [kg]
L_MASS_DUG = 1  # [kg]
L_OXYGEN_USED = 2  # [kg], by the kernel's stoichiometry
L_OXYGEN_DEFECT = 3  # [kg], what its balance of the pore gas leaves open
L_CARBON_DIOXIDE = 4  # made [kg]
L_VAPOUR_OUT = 5  # net [kg]
L_WATER_IN = 6  # rain and watering [kg]
L_LIQUID_OUT = 7  # drained from the base [kg]
L_AMMONIA_OUT = 8  # gas [kg N]
L_NITROGEN_LIQUID = 9  # [kg N]
L_NITROGEN_LOADED = 10  # [kg N]
L_NITROGEN_DUG = 11  # [kg N]
L_HEAT_BIOLOGY = 12  # [J]
L_HEAT_WALL = 13  # out [J]
L_HEAT_LID = 14  # out [J]
L_HEAT_BASE = 15  # out [J]
L_HEAT_GAS = 16  # net out with gas and vapour [J]
L_HEAT_LIQUID = 17  # out with liquid [J]
L_HEAT_LOADED = 18  # in with loads, rain and watering [J]
L_HEAT_DUG = 19  # out with what is dug [J]
L_HEAT_BOTTLE = 20  # in from the bottle [J]
L_WATER_LOADED = 21  # [kg]
L_WATER_DUG = 22  # [kg]
L_WATER_MADE = 23  # metabolic [kg]
L_METHANE = 24  # indicative [kg]
L_NITROUS_OXIDE = 25  # indicative [kg N]
L_PHOSPHORUS_LOADED = 26  # [kg]
L_PHOSPHORUS_OUT = 27  # dug out and drained [kg]
L_POTASSIUM_LOADED = 28  # [kg]
L_POTASSIUM_OUT = 29  # dug out and drained [kg]
L_POOL_LOADED = 30  # five pools: loaded [kg]
L_POOL_DUG = 35  # five pools: dug out [kg]
L_POOL_LOST = 40  # five pools: broken down, humus made counted negative [kg]
L_OXYGEN_OPENED = 45  # let in or out by opening, settling and mixing [kg]
L_OXYGEN_DRAFT = 46  # in by draft and exchange, net [kg]
L_HEAT_OPENED = 47  # [J], reset of the head-space when the lid is opened
L_DENITRIFIED = 48  # gone as dinitrogen [kg N]
N_LEDGER = 49

# Heat history: layer x (centre, edge) x degree x (total, longest run, current run) [h].
DEGREE_LOW = 40
N_DEGREES = 41
CENTRE = 0
EDGE = 1
TOTAL = 0
LONGEST = 1
CURRENT = 2

MAX_LAYERS = 320
