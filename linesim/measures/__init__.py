"""Numbers from records: flow, loads, squawks, dates, money, estimates across runs."""

from ..scenario import use_what_is_compiled

use_what_is_compiled("measures", __path__)
