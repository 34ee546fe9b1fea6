"""What happens on the floor: the SimPy model and the records it writes."""

from ..scenario import use_what_is_compiled

use_what_is_compiled("line", __path__)
