"""Count the layers in a photograph of an etched bar end or bevel."""

from billet.count.estimate import Count, Declined, count_layers
from billet.count.line import Line

__all__ = ["Count", "Declined", "Line", "count_layers"]
