"""What is this line? One spot of the knife followed back to the plate it was cut from."""

from billet.where.follow import Plate, followed, framed, plates_at
from billet.where.spot import Spot, Weld, look

__all__ = ["Plate", "Spot", "Weld", "followed", "framed", "look", "plates_at"]
