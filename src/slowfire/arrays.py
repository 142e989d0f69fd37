"""Type names for values that may be one number or an array of them."""

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
FloatOrArray = float | NDArray[np.float64]
