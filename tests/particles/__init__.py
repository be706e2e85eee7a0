"""A second workshop, forwards only: material points of the first stack carried through every step to the finished bar.

It shares no map, no flow and no tracing with the project; it reads the recipe's numbers and moves points by mechanics
of its own, as the steps' own words tell them. `workshop` runs a recipe, `laying`, `forging` and `reliefs` move points.
"""
