"""Names for the kinds of arrays, by what they hold."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int32]
Shorts = npt.NDArray[np.int16]
Bytes = npt.NDArray[np.uint8]
Longs = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Seeds = npt.NDArray[np.uint64]
