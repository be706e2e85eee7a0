"""Count the layers in a photograph of an etched bar end or bevel."""

from billet.count.estimate import Count, DeclinedError, count_layers
from billet.count.line import Line

__all__ = ["Count", "DeclinedError", "Line", "count_layers"]
