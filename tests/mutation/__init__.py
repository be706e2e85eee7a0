"""Small damages done to the code in a copy of the tree, and which tests notice: worked by `tests/benchmarks/mutants.py`."""
